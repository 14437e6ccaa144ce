//! `fixture-shifted`: all fixture outlines share one move, turn, scale or flip.

use super::{Info, Rule, info};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::lock::OutlineKind;
use crate::geometry::bed_words::offset_words;
use crate::matching::Job;
use crate::matching::shift::Shift;
use crate::units::{angle, trimmed};

/// See the module's page.
pub struct FixtureShifted;

static INFO: Info = info!("fixture-shifted", Hold, Blank);

/// Units to an inch that files are saved with: CSS says 96, PostScript's point is 72, and 90 was
/// common before 96 became the rule (common practice, no source).
const UNITS: [f64; 3] = [72.0, 90.0, 96.0];

/// A scale this near to a known ratio is that ratio: files keep four digits or more.
const SAME_RATIO: f64 = 5e-4;

/// A turn below this, in degrees, is the rounding of the fit.
const NO_TURN: f64 = 0.02;

impl Rule for FixtureShifted {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        let Some(shift) = &job.shift else { return };
        let limit = job.fixture.settings.limits.place;
        let (cause, help) = cause(job, shift);
        let repeats = if shift.also_in_place > 0 {
            format!(
                " ({} of the pockets then {} on a neighbour's place, since the pockets repeat; the other lines show the move)",
                shift.also_in_place,
                if shift.also_in_place == 1 {
                    "lies"
                } else {
                    "lie"
                }
            )
        } else {
            String::new()
        };
        let first = job
            .fixture
            .lock
            .outlines
            .iter()
            .find(|o| o.kind == OutlineKind::Pocket);
        let first = first.or(job.fixture.lock.outlines.iter().next());
        let boxes = job
            .fixture
            .lock
            .outlines
            .iter()
            .map(|o| shift.motion.transform_rect_bbox(o.contour.bounds));
        let Some(bed) = boxes.reduce(|a, b| a.union(b)) else {
            return;
        };
        let place = job
            .outlines
            .iter()
            .flat_map(super::super::matching::OutlineMatch::found)
            .map(|i| &job.contours.all[*i])
            .flat_map(|f| &f.marks)
            .map(|m| job.mark(*m))
            .next()
            .map_or(Location::Bed(bed), |mark| Location::Mark(&mark.origin, bed));
        let mut finding = Finding::new(
            &INFO,
            &place,
            format!(
                "{} {}{repeats}{cause}",
                which(job, shift),
                motion(job, shift)
            ),
            help,
        )
        .measured("off its place", shift.worst, limit, "mm");
        if let Some(outline) = first {
            let belongs = outline.contour.centroid;
            finding = finding.drawn(Picture::Ghost {
                right: outline.contour.path.clone(),
                from: shift.motion * belongs,
                to: belongs,
            });
        }
        out.push(finding);
    }
}

/// The outlines that share the shift, as the subject of the sentence.
fn which(job: &Job<'_>, shift: &Shift) -> String {
    let there = job
        .outlines
        .iter()
        .filter(|s| !s.found().is_empty())
        .count();
    if shift.explains >= there {
        "All of the fixture's lines".to_owned()
    } else {
        format!("{} of the fixture's {there} lines", shift.explains)
    }
}

/// What happened to the outlines, in words: "lie 3 mm to the right of their place".
fn motion(job: &Job<'_>, shift: &Shift) -> String {
    let mut parts = Vec::new();
    if shift.mirrored {
        parts.push("are mirrored".to_owned());
    }
    if (shift.scale - 1.0).abs() >= 1e-4 {
        parts.push(format!(
            "are {} % of their size",
            trimmed(100.0 * shift.scale, 2)
        ));
    }
    if !shift.mirrored && shift.turn.abs() > NO_TURN {
        parts.push(if (shift.turn.abs() - 180.0).abs() < NO_TURN {
            "are turned half round".to_owned()
        } else {
            let way = if shift.turn > 0.0 {
                "clockwise"
            } else {
                "anticlockwise"
            };
            format!("are turned {} {way}", angle(shift.turn.abs()))
        });
    }
    let plain = parts.is_empty();
    if shift.move_by.hypot() > job.fixture.settings.limits.place / 2.0 || plain {
        let words = offset_words(shift.move_by, job.shown());
        parts.push(if plain {
            format!("lie {words} of where they belong")
        } else {
            format!("lie {words}")
        });
    }
    match parts.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

/// The likely cause, as the end of a sentence, and what to do about it.
fn cause(job: &Job<'_>, shift: &Shift) -> (String, String) {
    let scaled = (shift.scale - 1.0).abs() >= 1e-4;
    if scaled {
        for saved in UNITS {
            for read in UNITS {
                if (saved - read).abs() > 0.5
                    && (shift.scale / (saved / read) - 1.0).abs() < SAME_RATIO
                {
                    return (
                        format!(
                            ": the file was most likely saved at {saved} units to the inch and is read at {read}"
                        ),
                        format!(
                            "save the file again at {read} units to the inch, or with its page size in mm; do not scale the drawing by hand"
                        ),
                    );
                }
            }
        }
        for (ratio, words) in [
            (1.0 / 25.4, "inches were read as millimetres"),
            (25.4, "millimetres were read as inches"),
            (25.4 / 72.0, "millimetres were read as points"),
            (72.0 / 25.4, "points were read as millimetres"),
            (25.4 / 96.0, "millimetres were read as pixels"),
            (96.0 / 25.4, "pixels were read as millimetres"),
        ] {
            if (shift.scale / ratio - 1.0).abs() < SAME_RATIO {
                return (
                    format!(": most likely {words}"),
                    "set the document's unit to that of the fixture drawing and save again; do not scale the drawing by hand".to_owned(),
                );
            }
        }
        return (
            ": the drawing was most likely scaled as a whole".to_owned(),
            "undo the scaling, or start from the fixture drawing again".to_owned(),
        );
    }
    let (page, enrolled) = (&job.artwork.page, &job.fixture.lock.page);
    let cropped = (page.rect.width() - enrolled.rect.width()).abs() > 0.1
        || (page.rect.height() - enrolled.rect.height()).abs() > 0.1;
    if cropped && page.physical {
        return (
            ": the page was most likely cropped to what is drawn on it".to_owned(),
            "set the page back to the fixture drawing's size and origin, and leave the drawing where it is".to_owned(),
        );
    }
    let origin = page.origin - enrolled.origin;
    if origin.hypot() > 0.05 && (origin - shift.move_by).hypot() < 0.05 {
        return (
            ": the page's origin was most likely moved".to_owned(),
            "set the page's origin back to where the fixture drawing has it".to_owned(),
        );
    }
    if shift.mirrored {
        return (
            ": everything was most likely flipped together".to_owned(),
            "undo the flip, or start from the fixture drawing again".to_owned(),
        );
    }
    if shift.turn.abs() > NO_TURN {
        return (
            ": everything was most likely turned together".to_owned(),
            "undo the turn, or start from the fixture drawing again".to_owned(),
        );
    }
    (
        ": everything was most likely dragged together".to_owned(),
        "undo the move, or select everything and move it back by this much".to_owned(),
    )
}
