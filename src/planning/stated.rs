//! The settings of a planned fixture: complete, so that `enrol` has nothing to ask.

use std::fmt::Write as _;

use toml_edit::Value;

use super::drawing::paint;
use super::layout::Place;
use super::{DRAWING, Head, Wanted};

/// Writes `fixture.toml`.
pub(crate) fn text(wanted: &Wanted, pockets: &[(String, Place)]) -> String {
    let mm = |v: f64| format!("\"{}\"", wanted.shown.written(v));
    let (across, along) = wanted.blank.size();
    let name = Value::from(wanted.name.as_str());
    let mut out = format!(
        "# Planned with `jigwarden plan`. Clearance between blank and opening: {} all round.
# Web: see the drawing. Board: {}.

[fixture]
name = {name}
drawing = \"{DRAWING}\"
stops = \"{}\"
label = \"{}\"                    # the name and code on the sheet: no part of the code
burn-width = {}                # an opening is wider than it is drawn by this

[bed]
width = {}
height = {}
",
        wanted.shown.written(wanted.clearance),
        wanted.shown.written(wanted.board),
        wanted.stops.word(),
        paint::LABEL,
        mm(wanted.burn),
        mm(wanted.bed.0),
        mm(wanted.bed.1),
    );
    if wanted.keep_clear > 0.0 {
        let _ = writeln!(out, "keep-clear = {}", mm(wanted.keep_clear));
    }
    if wanted.run_out > 0.0 {
        let _ = writeln!(out, "run-out = {}", mm(wanted.run_out));
    }
    let _ = write!(
        out,
        "
[paints]
cut = [\"{}\"]
score = [\"{}\", \"{}\"]
engrave = [\"{}\"]                # add the colours that your art is drawn in
off = [\"{}\", \"{}\"]

[blank]
size = [{}, {}]
",
        paint::CUT,
        paint::SCORE,
        paint::LABEL,
        paint::ENGRAVE,
        paint::OFF,
        paint::SHEET,
        mm(across),
        mm(along),
    );
    if let Some(body) = wanted.body {
        let _ = writeln!(out, "body = {}", mm(body));
    }
    let _ = writeln!(out, "head = \"{}\"", wanted.head.word());
    if let Some(stock) = &wanted.stock {
        let _ = writeln!(out, "stock = {}", Value::from(stock.as_str()));
    }
    let _ = write!(
        out,
        "
[zone]
margin = {}
tops = \"{}\"
",
        mm(wanted.margin),
        wanted.tops.word()
    );
    let turned: Vec<String> = pockets
        .iter()
        .filter(|(_, place)| place.head != wanted.head)
        .map(|(name, _)| format!("\"{name}\""))
        .collect();
    if !turned.is_empty() {
        let other: Head = wanted.head.turned();
        let _ = write!(
            out,
            "\n[[pocket]]\nnames = [{}]\nhead = \"{}\"\n",
            turned.join(", "),
            other.word()
        );
    }
    out
}
