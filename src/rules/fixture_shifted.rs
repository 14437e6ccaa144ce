//! `fixture-shifted`: all fixture outlines share one move, turn, scale or flip.

use super::{Info, change, info};
use crate::finding::{Finding, Location, Picture};
use crate::fixture::lock::OutlineKind;
use crate::geometry::bed_words::offset_words;
use crate::matching::company::Company;
use crate::matching::shift::Shift;
use crate::matching::{Job, OutlineMatch};
use crate::remedy::{Change, Remedy, Way, What};
use crate::units::{angle, trimmed};

pub(crate) static INFO: Info = info!("fixture-shifted", Hold, Blank);

/// Units to an inch that files are saved with: CSS says 96, PostScript's point is 72, and 90 was
/// common before 96 became the rule (common practice, no source).
const UNITS: [f64; 3] = [72.0, 90.0, 96.0];

/// A scale this near to a known ratio is that ratio: files keep four digits or more.
const SAME_RATIO: f64 = 5e-4;

/// A turn below this, in degrees, is the rounding of the fit.
const NO_TURN: f64 = 0.02;

/// A turn from this on, in degrees, is drawn as one: the way that one pocket went would be taken for a
/// move. Below it, an arrow round the fixture could not be seen.
const SEEN_TURN: f64 = 10.0;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
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
        .flat_map(OutlineMatch::found)
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
        if shift.company.is_certain() {
            help.clone()
        } else {
            undecided(job, shift)
        },
    )
    .measured("off its place", shift.worst, limit, "mm")
    .remedied(remedy(job, shift, &help));
    if shift.turn.abs() > SEEN_TURN {
        finding = finding.drawn(Picture::Turn {
            centre: bed.center(),
            is: shift.turn,
            should: 0.0,
        });
    } else {
        // As the words have it: all pockets, and the way that their middle went.
        let outlines = job.fixture.lock.outlines.iter();
        let pockets = outlines.filter(|o| o.kind == OutlineKind::Pocket);
        finding = finding.drawn(Picture::Ghost {
            right: pockets.flat_map(|o| &o.contour.path).collect(),
            from: shift.middle + shift.move_by,
            to: shift.middle,
        });
    }
    out.push(finding);
}

/// The lines alone put back, or everything: the art tells which, where it tells.
fn remedy(job: &Job<'_>, shift: &Shift, everything: &str) -> Remedy {
    let lines = Way::new("lines", lines_back(job, shift), lines(job, shift));
    let all = job.artwork.marks.ids().collect();
    // On a page without a size nothing has one, wherever it is carried.
    let carried =
        (job.artwork.page.physical).then(|| Change::of(all, back(shift)).called("everything"));
    let page = change::enrolled_page(job).filter(|_| page_differs(job) || scaled(shift));
    let whole: Vec<Way> = page
        .into_iter()
        .chain(carried)
        .map(|c| Way::new("everything", everything.to_owned(), vec![c]))
        .collect();
    match shift.company {
        Company::Stayed => Remedy::certain([lines]),
        Company::Went => Remedy::certain(whole),
        Company::LikelyStayed | Company::LikelyWent => Remedy::choose(
            [lines.assuming("only the lines were moved")]
                .into_iter()
                .chain(
                    whole
                        .into_iter()
                        .take(1)
                        .map(|w| w.assuming("everything was moved together")),
                ),
        ),
    }
}

/// The displacement undone.
fn back(shift: &Shift) -> What {
    let plain = !scaled(shift) && !shift.mirrored && shift.turn.abs() <= NO_TURN;
    if plain {
        What::Move(-shift.move_by)
    } else {
        What::Carry(shift.motion.inverse())
    }
}

/// The lines that share the displacement, put back.
fn lines(job: &Job<'_>, shift: &Shift) -> Vec<Change> {
    let mut whole = Vec::new();
    let mut parts = Vec::new();
    let found = job
        .outlines
        .iter()
        .filter(|o| matches!(o, OutlineMatch::InPlace(_)))
        .flat_map(OutlineMatch::found);
    for change in found.map(|c| change::of_contour(job, *c, back(shift))) {
        if change.part.is_some() {
            parts.push(change);
        } else {
            whole.extend(change.marks);
        }
    }
    let mut changes = Vec::new();
    if !whole.is_empty() {
        changes.push(Change::of(whole, back(shift)).called("the fixture's lines"));
    }
    changes.extend(parts);
    changes
}

fn lines_back(job: &Job<'_>, shift: &Shift) -> String {
    match back(shift) {
        What::Move(by) => format!(
            "move the fixture's lines {}, and leave the art where it is: it lies right in the enrolled pockets",
            offset_words(by, job.shown())
        ),
        _ => "put the fixture's lines back from the fixture drawing, and leave the art where it is: it lies right in the enrolled pockets".to_owned(),
    }
}

/// What a person must know where the art does not tell.
fn undecided(job: &Job<'_>, shift: &Shift) -> String {
    let by = match back(shift) {
        What::Move(by) => format!(" {}", offset_words(by, job.shown())),
        _ => " to where the fixture drawing has them".to_owned(),
    };
    format!(
        "if only the fixture's lines were moved, move them back{by} and leave the art; if everything was moved together, move everything back: look at the proof whether the art lies in the middle of the ghosted pockets or of the drawn ones"
    )
}

fn scaled(shift: &Shift) -> bool {
    (shift.scale - 1.0).abs() >= 1e-4
}

/// Whether the page is another one than was enrolled, in size or origin.
fn page_differs(job: &Job<'_>) -> bool {
    let (page, enrolled) = (&job.artwork.page, &job.fixture.lock.page);
    (page.rect.width() - enrolled.rect.width()).abs() > 0.1
        || (page.rect.height() - enrolled.rect.height()).abs() > 0.1
        || (page.origin - enrolled.origin).hypot() > 0.05
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
    if scaled(shift) {
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
    if shift.company == Company::Stayed {
        return (
            ": they alone were most likely dragged, since the art lies where the pockets were enrolled"
                .to_owned(),
            String::new(),
        );
    }
    if !shift.company.is_certain() {
        return (
            String::new(),
            "move everything back by this much".to_owned(),
        );
    }
    (
        ": everything was most likely dragged together".to_owned(),
        "undo the move, or select everything and move it back by this much".to_owned(),
    )
}
