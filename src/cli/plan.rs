//! `plan`: measures from the command line to the two files of a fixture.

use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::{PossibleValuesParser, TypedValueParser};

use super::say;
use crate::artwork::fonts::Faces;
use crate::artwork::length::RootUnits;
use crate::artwork::resolve::{ReadOptions, resolve};
use crate::artwork::source::Source;
use crate::fixture::settings::{Stops, Tops};
use crate::fixture::{self, lock, shorthand};
use crate::inspect::{self, Failure};
use crate::paths::{self, Printable as _};
use crate::planning::blank::Blank;
use crate::planning::layout::Layout;
use crate::planning::{self, Head, Planned, Wanted};
use crate::units::{self, Shown, Unit};
use crate::wording::counted;

/// A length as typed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Length {
    mm: f64,
    unit: Unit,
}

fn length(text: &str) -> Result<Length, String> {
    match units::length(text) {
        Ok((mm, unit)) if (0.0..=units::LONGEST_MM).contains(&mm) => Ok(Length { mm, unit }),
        Ok(_) => Err("a length is zero or more, and no longer than any bed".to_owned()),
        Err(_) => {
            Err("a length is a number with its unit: 28mm, 28.5mm, 1.19in, 1-3/16in".to_owned())
        }
    }
}

#[derive(Debug, Args)]
#[command(after_help = HOW_TO_MEASURE)]
pub(super) struct PlanArgs {
    /// The folder of the new fixture; its name is the fixture's, unless --name says otherwise.
    #[arg(long, short, value_name = "FOLDER")]
    output: PathBuf,
    /// The blank: how wide it is across, and how long from head to tail, ring included.
    #[arg(long, num_args = 2, value_names = ["ACROSS", "ALONG"], value_parser = length, required_unless_present_any = ["round", "outline"], conflicts_with_all = ["round", "outline"])]
    size: Option<Vec<Length>>,
    /// A round blank: its diameter.
    #[arg(long, value_name = "DIAMETER", value_parser = length, conflicts_with = "outline")]
    round: Option<Length>,
    /// A drawing of the blank at its size, its head to the back (the top of the page): its largest
    /// closed outline is taken.
    #[arg(long, value_name = "BLANK.svg")]
    outline: Option<PathBuf>,
    /// How much of the blank may be engraved, measured from its tail, ring left out; all by default.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    body: Option<Length>,
    /// The radius of a rectangular blank's corners.
    #[arg(long, value_name = "RADIUS", value_parser = length)]
    corner: Option<Length>,
    /// The bed, from left to right and from back to front.
    #[arg(long, required = true, num_args = 2, value_names = ["WIDTH", "HEIGHT"], value_parser = length)]
    bed: Vec<Length>,
    /// The corner of the bed with the stops.
    #[arg(long, value_parser = one_of(Stops::ALL, Stops::word), default_value = "front-left")]
    stops: Stops,
    /// How many blanks; as many as fit by default.
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    count: Option<u32>,
    /// How they lie: in rows and columns, with alternating heads, or with every other row moved by
    /// half a step.
    #[arg(long, value_parser = one_of(Layout::ALL, Layout::word), default_value = "rows")]
    layout: Layout,
    /// Where the heads point.
    #[arg(long, value_parser = one_of(Head::ALL, Head::word), default_value = "back")]
    head: Head,
    /// Where the tops of letters point.
    #[arg(long, value_parser = one_of(Tops::ALL, Tops::word), default_value = "head")]
    tops: Tops,
    /// The gap all round between blank and opening [default: 0.2mm].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    clearance: Option<Length>,
    /// The width that the beam burns away [default: 0.15mm].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    burn: Option<Length>,
    /// The width of sheet between openings; the safe width by default.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    web: Option<Length>,
    /// How far engraving stays from the edge of the body [default: 2mm].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    margin: Option<Length>,
    /// The sheet, from left to right and from back to front; as large as needed by default.
    #[arg(long, num_args = 2, value_names = ["WIDTH", "HEIGHT"], value_parser = length)]
    sheet: Option<Vec<Length>>,
    /// The thickness of the sheet [default: 3mm].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    board: Option<Length>,
    /// The radius of relief in the openings' square corners; none by default.
    #[arg(long, value_name = "RADIUS", value_parser = length)]
    relief: Option<Length>,
    /// The border of the bed that nothing may be burnt in; none by default.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    keep_clear: Option<Length>,
    /// The travel that engraving needs left and right; none by default.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    run_out: Option<Length>,
    /// What the fixture is called.
    #[arg(long)]
    name: Option<String>,
    /// What is being engraved.
    #[arg(long)]
    stock: Option<String>,
}

const HOW_TO_MEASURE: &str = "Clearance 0.2 mm and burn width 0.15 mm are common practice, without a source. To measure your own:\n\
burn width: cut ten 10 mm squares side by side out of one strip, push them together and measure the row; what is missing of 100 mm, divided by ten, is the burn width.\n\
clearance: cut openings with 0.1, 0.2 and 0.3 mm; the first that a blank drops into without force, and lies in without play, is yours.";

/// Takes the word of one of these, and gives what it stands for.
fn one_of<T: Copy + Send + Sync + 'static, const N: usize>(
    all: [T; N],
    word: fn(T) -> &'static str,
) -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(all.map(word)).try_map(move |said| {
        let meant = all.into_iter().find(|one| word(*one) == said);
        meant.ok_or("it is none of the words")
    })
}

/// The board's thickness where none is stated, in millimetres: the usual sheet (common practice, no
/// source).
const BOARD: f64 = 3.0;

pub(super) fn plan(args: &PlanArgs) -> Result<u8, Failure> {
    let wanted = wanted(args)?;
    nothing_there(&args.output)?;
    let planned = planning::plan(&wanted).map_err(Failure::plain)?;
    written(&args.output, &planned)?;
    say(&told(&args.output, &planned, &wanted));
    Ok(0)
}

/// The fixture's own files must not be there yet, and no fixture above.
fn nothing_there(folder: &Path) -> Result<(), Failure> {
    for name in [fixture::SETTINGS, planning::DRAWING, lock::FILE] {
        let file = folder.join(name);
        if file.exists() {
            return Err(Failure::plain(format!(
                "{} is already there, and a plan writes over nothing: name a new folder",
                file.printable()
            )));
        }
    }
    Ok(())
}

fn wanted(args: &PlanArgs) -> Result<Wanted, Failure> {
    let mm = |length: Option<Length>, or: f64| length.map_or(or, |l| l.mm);
    let two = |lengths: &[Length]| match lengths {
        [a, b] if a.mm > 0.0 && b.mm > 0.0 => Ok((a.mm, b.mm)),
        _ => Err(Failure::plain("a size is two lengths, each more than zero")),
    };
    let bed = two(&args.bed)?;
    let shown = args.bed.first().map_or(Shown::Mm, |l| l.unit.shown());
    let corner = mm(args.corner, 0.0);
    let blank = match (&args.size, args.round, &args.outline) {
        (Some(size), ..) => {
            let (across, along) = two(size)?;
            if 2.0 * corner > across.min(along) {
                return Err(Failure::plain(
                    "the corners' radius is more than half the blank's width",
                ));
            }
            Blank::Rectangle {
                across,
                along,
                corner,
            }
        }
        (None, Some(round), _) if round.mm > 0.0 => Blank::Round { across: round.mm },
        (None, None, Some(file)) => outline(file)?,
        _ => return Err(Failure::plain("the blank's size must be more than zero")),
    };
    let body = args.body.map(|l| l.mm);
    let (across, along) = blank.size();
    if let Some(body) = body.filter(|b| *b > along || *b <= 0.0) {
        return Err(Failure::plain(format!(
            "the body is {} and the blank {} long: the body is measured from the tail and leaves the ring out",
            shown.length(body),
            shown.length(along)
        )));
    }
    let margin = mm(args.margin, planning::MARGIN);
    if 2.0 * margin >= across.min(body.unwrap_or(along)) {
        return Err(Failure::plain(format!(
            "a margin of {} all round leaves nothing of the body: give a smaller --margin",
            shown.length(margin)
        )));
    }
    let name = args.name.clone().unwrap_or_else(|| {
        std::path::absolute(&args.output)
            .ok()
            .and_then(|p| p.file_name().map(|n| n.to_string_lossy().into_owned()))
            .unwrap_or_else(|| "fixture".to_owned())
    });
    let sheet = args.sheet.as_deref().map(two).transpose()?;
    if sheet.is_some_and(|(w, h)| w > bed.0 + 0.01 || h > bed.1 + 0.01) {
        return Err(Failure::plain("the sheet is larger than the bed"));
    }
    Ok(Wanted {
        name,
        blank,
        body,
        head: args.head,
        count: args.count.map(|n| n as usize),
        layout: args.layout,
        bed,
        shown,
        stops: args.stops,
        keep_clear: mm(args.keep_clear, 0.0),
        run_out: mm(args.run_out, 0.0),
        sheet,
        clearance: mm(args.clearance, planning::CLEARANCE),
        burn: mm(args.burn, planning::BURN),
        board: mm(args.board, BOARD),
        web: args.web.map(|l| l.mm),
        margin,
        tops: args.tops,
        relief: mm(args.relief, 0.0),
        stock: args.stock.clone(),
    })
}

fn outline(file: &Path) -> Result<Blank, Failure> {
    let source = Source::read(file).map_err(|e| inspect::unreadable(&e))?;
    let faces = Faces::new(Vec::new(), false);
    let reading = ReadOptions {
        units: RootUnits::CSS,
        placing: None,
        faces: &faces,
    };
    let artwork = resolve(&source, &reading).map_err(|e| inspect::unreadable(&e))?;
    Blank::of(&artwork).map_err(|e| Failure::plain(format!("{}: {e}", file.printable())))
}

fn written(folder: &Path, planned: &Planned) -> Result<(), Failure> {
    let failed = |path: &Path, e: &std::io::Error| {
        Failure::plain(format!("{} cannot be written: {e}", path.printable()))
    };
    std::fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
    for (name, text) in [
        (planning::DRAWING, &planned.drawing),
        (fixture::SETTINGS, &planned.settings),
    ] {
        let file = folder.join(name);
        paths::replace(&file, text.as_bytes()).map_err(|e| failed(&file, &e))?;
    }
    Ok(())
}

fn told(folder: &Path, planned: &Planned, wanted: &Wanted) -> String {
    let names: Vec<String> = planned.pockets.iter().map(|(n, _)| n.clone()).collect();
    let shown = wanted.shown;
    let mut out = format!(
        "planned: \"{}\" {}\n  {}: {}\n  sheet: {}, against the stops: have the board that size, its edge is a guide and is not cut\n",
        wanted.name,
        planned.code,
        counted(names.len(), "pocket", "pockets"),
        shorthand::list(&names),
        shown.size(planned.sheet.width(), planned.sheet.height()),
    );
    for line in &planned.said {
        out.push_str(&format!("  {line}\n"));
    }
    let stated = if wanted.clearance == planning::CLEARANCE || wanted.burn == planning::BURN {
        "; where you did not state them, common practice without a source: `jigwarden plan --help` says how to measure your own"
    } else {
        ""
    };
    out.push_str(&format!(
        "  clearance {} all round, burn width {}{stated}\n  written: {} and {}\nlook at the drawing, then run `jigwarden enrol {}`\n",
        shown.length(wanted.clearance),
        shown.length(wanted.burn),
        folder.join(planning::DRAWING).printable(),
        folder.join(fixture::SETTINGS).printable(),
        folder.printable()
    ));
    out
}
