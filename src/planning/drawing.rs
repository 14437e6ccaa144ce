//! The fixture's drawing, written as text.

use std::fmt::Write as _;

use kurbo::{Affine, BezPath, Rect};

use super::{Wanted, marks, signs};
use crate::fixture::lock::path_text;
use crate::units::trimmed;
use crate::wording::markup;

/// The paints of a planned drawing. None means anything by itself: `[paints]` in its settings says
/// what each does.
pub(crate) mod paint {
    /// Openings.
    pub(crate) const CUT: &str = "#7b2d8b";
    /// Loading marks and stop marks.
    pub(crate) const SCORE: &str = "#0a7d55";
    /// The fixture's name and code.
    pub(crate) const LABEL: &str = "#2f5fa8";
    /// Art of runs.
    pub(crate) const ENGRAVE: &str = "#1b1b1b";
    /// Guides: the zones.
    pub(crate) const OFF: &str = "#9aa0a6";
    /// The sheet's edge, a guide too. A paint of its own, so that whoever drafts settings for the drawing
    /// alone is not led to take the zones for openings.
    pub(crate) const SHEET: &str = "#c8b48c";
}

/// What is drawn, in bed millimetres.
#[derive(Debug, Default)]
pub(crate) struct Parts {
    /// The openings with their names.
    pub openings: Vec<(String, BezPath)>,
    /// A loading mark each.
    pub loading: Vec<BezPath>,
    /// The marks on the edges that touch the stops.
    pub stops: Vec<BezPath>,
    /// The name and the code, as strokes.
    pub label: Option<BezPath>,
    /// Where engraving may go.
    pub zones: Vec<BezPath>,
    /// The sheet.
    pub sheet: Rect,
}

/// Height of the label's capitals, in millimetres; what the strip along the stops leaves room for.
const CAPITALS: f64 = 3.0;

/// The smallest capitals of a label, in millimetres: smaller ones cannot be read when scored.
const SMALLEST: f64 = 1.8;

/// The label's strokes in their place along the stops' front or back edge, in as large letters as the
/// sheet leaves room for.
///
/// # Errors
///
/// Why it cannot be drawn: a sign without strokes, or no room on the sheet.
pub(crate) fn label(text: &str, wanted: &Wanted, sheet: Rect) -> Result<BezPath, String> {
    let strokes = |cap: f64| {
        signs::strokes(text, cap)
            .map_err(|c| format!("there are no strokes for \"{}\"", c.escape_debug()))
    };
    let room = sheet.width() - 2.0 * wanted.keep_clear - marks::PAST_STOP_MARK - 2.0;
    let (_, wide) = strokes(CAPITALS)?;
    let cap = CAPITALS * (room / wide).min(1.0);
    if cap < SMALLEST {
        return Err("the sheet is too short for it".to_owned());
    }
    let (path, wide) = strokes(cap)?;
    let (front, right) = marks::edges(wanted.stops);
    let clear = wanted.keep_clear + 1.0;
    let x = if right {
        sheet.x1 - wanted.keep_clear - marks::PAST_STOP_MARK - wide
    } else {
        sheet.x0 + wanted.keep_clear + marks::PAST_STOP_MARK
    };
    let baseline = if front {
        sheet.y1 - clear
    } else {
        sheet.y0 + clear + cap
    };
    Ok(Affine::translate((x, baseline)) * path)
}

/// The drawing's text.
pub(crate) fn text(wanted: &Wanted, parts: &Parts) -> String {
    let mut out = String::new();
    let (w, h) = (trimmed(wanted.bed.0, 4), trimmed(wanted.bed.1, 4));
    let _ = write!(
        out,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n  <title>{}</title>\n",
        markup(&wanted.name)
    );
    let group = |out: &mut String, id: &str, paint: &str, paths: &[(Option<&str>, &BezPath)]| {
        if paths.is_empty() {
            return;
        }
        let _ = writeln!(
            out,
            "  <g id=\"{id}\" fill=\"none\" stroke=\"{paint}\" stroke-width=\"0.1\">"
        );
        for (name, path) in paths {
            let id = name.map_or(String::new(), |n| format!("id=\"{n}\" "));
            let _ = writeln!(out, "    <path {id}d=\"{}\"/>", path_text(path));
        }
        out.push_str("  </g>\n");
    };
    let sheet = kurbo::Shape::to_path(&parts.sheet, 0.1);
    group(&mut out, "sheet", paint::SHEET, &[(None, &sheet)]);
    let zones: Vec<_> = parts.zones.iter().map(|z| (None, z)).collect();
    group(&mut out, "zones", paint::OFF, &zones);
    let openings: Vec<_> = parts
        .openings
        .iter()
        .map(|(name, path)| (Some(name.as_str()), path))
        .collect();
    group(&mut out, "openings", paint::CUT, &openings);
    for (id, paths) in [
        ("loading-marks", &parts.loading),
        ("stop-marks", &parts.stops),
    ] {
        let paths: Vec<_> = paths.iter().map(|p| (None, p)).collect();
        group(&mut out, id, paint::SCORE, &paths);
    }
    if let Some(label) = &parts.label {
        group(&mut out, "label", paint::LABEL, &[(None, label)]);
    }
    out.push_str("</svg>\n");
    out
}
