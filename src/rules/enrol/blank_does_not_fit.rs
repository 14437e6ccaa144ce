//! `blank-does-not-fit`: a pocket that is too tight or too loose for its blank.

use kurbo::Affine;

use super::Drawing;
use crate::finding::Finding;
use crate::finding::Info;
use crate::geometry::chords::chords;
use crate::geometry::contour::Contour;
use crate::ids::At;
use crate::rules::info;

pub(crate) static INFO: Info = info!("blank-does-not-fit", Caution, Blank);

/// A pocket may be smaller than its blank by this, in millimetres: files are rounded. A smaller value
/// takes pockets for too tight that are drawn at the blank's own size.
const ROUNDING: f64 = 0.02;

/// Play beyond this, in millimetres, both sides together, lets art land visibly off (common
/// practice, no source).
const LOOSE: f64 = 1.0;

/// Chords across the middle half of a pocket that are measured.
const CHORDS: u32 = 41;

pub(super) fn check(drawing: &Drawing<'_>, out: &mut Vec<Finding>) {
    for pocket in &drawing.pockets {
        let Some((across, along)) = pocket.settings.size else {
            continue;
        };
        let upright = pocket
            .contour
            .transformed(Affine::rotate(-pocket.settings.head.to_radians()));
        let Some(upright) = upright else { continue };
        let (width, length) = (upright.bounds.width(), upright.bounds.height());
        let shown = drawing.shown();
        // The beam runs along the line and takes half of this on either side.
        let burn = drawing.settings.burn_width;
        let pocket_is = if burn > 0.0 {
            format!("the pocket, with the burn width of {},", shown.length(burn))
        } else {
            "the pocket".to_owned()
        };
        let sides = [
            ("across", width, across, median_chord(&upright, false)),
            ("along", length, along, median_chord(&upright, true)),
        ];
        let swapped = (width - along).abs() <= LOOSE && (length - across).abs() <= LOOSE;
        for (which, room, blank, chord) in sides {
            let (room, chord) = (room + burn, chord + burn);
            let clearance = room - blank;
            // A thumb notch widens the box and not the fit: the usual chord tells the play.
            let play = clearance.min(chord - blank);
            let (message, value, limit) = if clearance < -ROUNDING {
                (
                    format!(
                        "The blank is {} {which} and {pocket_is} {}: it is {} too large to go in",
                        shown.length(blank),
                        shown.length(room),
                        shown.length(-clearance)
                    ),
                    clearance,
                    0.0,
                )
            } else if play > LOOSE {
                (
                    format!(
                        "The blank is {} {which} and {pocket_is} {}: it has {} of play, and {} is usual at most",
                        shown.length(blank),
                        shown.length(blank + play),
                        shown.length(play),
                        shown.length(LOOSE)
                    ),
                    play,
                    LOOSE,
                )
            } else {
                continue;
            };
            let help = if swapped {
                "across and along look exchanged: check [blank] size and head in fixture.toml"
            } else {
                "measure a blank; then correct [blank] size, or the pocket's outline"
            };
            out.push(
                Finding::new(&INFO, &drawing.place_of(pocket.contour), message, help)
                    .in_pocket(Some(pocket.name))
                    .measured("clearance", value, limit, "mm"),
            );
        }
    }
}

/// The median of the chords over the middle half of a curve: along y if `along`, else along x.
fn median_chord(contour: &Contour, along: bool) -> f64 {
    let mut chords = chords(contour, !along, 0.25..0.75, CHORDS);
    chords.sort_by(f64::total_cmp);
    *chords.at(chords.len() / 2)
}
