//! The key: the meaning of the signs that a drawing contains.

use kurbo::{Point, Rect};

use super::palette::{BLANK, BURNT, GREY, INK, PAPER, RIGHT, SHEET, WRONG};
use super::pen::{frame, num};
use super::scene::Scene;
use crate::artwork::mark::{Content, Operation};
use crate::finding::{Picture, Severity};

/// Size of a sample, in thin lines.
pub(super) const SAMPLE: (f64, f64) = (34.0, 16.0);

/// A sign and what it means.
pub(super) struct Entry {
    /// The sample, drawn with its back-left corner at the point asked for.
    pub(super) sample: String,
    /// What it means.
    pub(super) words: &'static str,
}

/// The entries for the drawing of `scene`, samples at the places that `at` gives by their number.
pub(super) fn entries(scene: &Scene<'_>, at: impl Fn(usize) -> Point) -> Vec<Entry> {
    let mut out: Vec<Entry> = Vec::new();
    let job = scene.job;
    let findings = &scene.run.told();
    let bed = &job.fixture.settings.bed;
    let k = bed.keep_clear;
    let mut add = |present: bool, words: &'static str, draw: &dyn Fn(Rect) -> String| {
        if present {
            let p = at(out.len());
            let box_ = Rect::new(
                p.x,
                p.y,
                p.x + SAMPLE.0 * scene.unit,
                p.y + SAMPLE.1 * scene.unit,
            );
            out.push(Entry {
                sample: draw(box_),
                words,
            });
        }
    };
    let rect = |r: Rect, fill: &str, stroke: &str, width: f64, dashes: &str| {
        format!(
            "<rect {} fill=\"{fill}\" stroke=\"{stroke}\" stroke-width=\"{}\"{}/>",
            frame(r.inflate(-scene.unit, -scene.unit)),
            scene.u(width),
            if dashes.is_empty() {
                String::new()
            } else {
                format!(" stroke-dasharray=\"{dashes}\" stroke-linecap=\"round\"")
            }
        )
    };
    let dots = format!("{} {}", scene.u(0.1), scene.u(2.6));
    let dash = |a: f64, b: f64| format!("{} {}", scene.u(a), scene.u(b));
    let held = |s: Severity| {
        findings
            .iter()
            .any(|f| f.severity == s && f.waived.is_none())
    };
    let plate = |r: Rect, severity: Severity, waived: bool| {
        let half = r.height() / 2.0 - scene.unit;
        let c = r.center();
        let square = Rect::new(c.x - half, c.y - half, c.x + half, c.y + half);
        let solid = severity == Severity::Hold && !waived;
        format!(
            "<rect {} rx=\"{}\" fill=\"{}\" stroke=\"{INK}\" stroke-width=\"{}\"{}/>",
            frame(square),
            num(if severity == Severity::Caution {
                half * 0.25
            } else {
                half
            }),
            if solid { INK } else { PAPER },
            scene.u(1.8),
            if waived {
                format!(" stroke-dasharray=\"{}\"", dash(2.5, 2.0))
            } else {
                String::new()
            }
        )
    };
    add(held(Severity::Hold), "number of a hold", &|r| {
        plate(r, Severity::Hold, false)
    });
    add(held(Severity::Caution), "number of a caution", &|r| {
        plate(r, Severity::Caution, false)
    });
    add(held(Severity::Note), "number of a note", &|r| {
        plate(r, Severity::Note, false)
    });
    add(
        findings.iter().any(|f| f.waived.is_some()),
        "number of one excused by a waiver",
        &|r| plate(r, Severity::Note, true),
    );
    add(
        findings.iter().any(|f| f.bed.is_some()),
        "what a number is about",
        &|r| rect(r, "none", WRONG, 2.2, ""),
    );
    add(
        findings.iter().any(|f| !f.also.is_empty()),
        "further places of the same",
        &|r| scene.cornered(r.inflate(-scene.unit, -scene.unit)),
    );
    let any = |want: fn(&Picture) -> bool| findings.iter().any(|f| want(&f.picture));
    add(
        any(|p| matches!(p, Picture::Ghost { .. } | Picture::Turn { .. }))
            || findings.iter().any(|f| f.remedy.moves()),
        "how it should be; short arrows enlarged",
        &|r| rect(r, &scene.paint("ghost"), RIGHT, 2.0, &dash(6.0, 3.0)),
    );
    add(
        any(|p| matches!(p, Picture::Hatch(_))),
        "too much, or in the wrong place",
        &|r| rect(r, &scene.paint("too-much"), WRONG, 1.4, ""),
    );
    add(
        scene.parts.lines.iter().any(|l| l.off_place && !l.live),
        "fixture line as this file has it",
        &|r| rect(r, "none", WRONG, 1.8, &dash(6.0, 3.0)),
    );
    add(
        scene.parts.lines.iter().any(|l| l.live) || !scene.parts.cuts.is_empty(),
        "line that would be run or cut",
        &|r| {
            rect(
                r,
                "none",
                WRONG,
                2.6,
                &format!("{} {}", dash(9.0, 2.5), dash(2.0, 2.5)),
            )
        },
    );
    let ink = |want: fn(&Content) -> bool| job.art.iter().any(|a| want(&job.mark(a.mark).content));
    add(
        scene.unproven().next().is_some(),
        "cannot be seen or measured",
        &|r| scene.question(r.inflate(-scene.unit, -scene.unit)),
    );
    add(
        scene.lines_absent(),
        "enrolled line, not in this file",
        &|r| rect(r, BLANK, INK, 1.4, &dash(4.0, 4.0)),
    );
    add(
        ink(|c| !matches!(c, Content::Picture(_))),
        "what is burnt",
        &|r| {
            rect(
                r.inflate(-4.0 * scene.unit, -4.0 * scene.unit),
                BURNT,
                BURNT,
                0.5,
                "",
            )
        },
    );
    add(
        ink(|c| matches!(c, Content::Picture(_))),
        "a picture, its frame and its top",
        &|r| rect(r, &scene.paint("picture"), BURNT, 1.2, ""),
    );
    add(
        scene
            .parts
            .ink
            .iter()
            .any(|i| i.operation == Operation::Unknown),
        "paint that no operation claims",
        &|r| rect(r, &scene.paint("unknown"), BURNT, 1.0, ""),
    );
    add(true, "zone: engraving may go here", &|r| {
        rect(r, BLANK, RIGHT, 1.1, &dots)
    });
    add(true, "head end of a pocket", &|r| {
        let c = r.center();
        let ring = |radius: f64, fill: &str| {
            format!(
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"{}\"/>",
                num(c.x),
                num(c.y),
                scene.u(radius),
                scene.u(0.8)
            )
        };
        ring(6.5, SHEET) + &ring(3.6, "none")
    });
    add(
        job.loaded.iter().any(|loaded| !loaded),
        "pocket without a blank",
        &|r| {
            let cross = format!(
                "<path d=\"M{} {}L{} {}M{} {}L{} {}\" stroke=\"{GREY}\" stroke-width=\"{}\"/>",
                num(r.x0),
                num(r.y0),
                num(r.x1),
                num(r.y1),
                num(r.x1),
                num(r.y0),
                num(r.x0),
                num(r.y1),
                scene.u(1.6)
            );
            rect(r, &scene.paint("empty"), INK, 1.0, "") + &cross
        },
    );
    add(bed.run_out > 0.0, "run-out: no engraving", &|r| {
        rect(r, &scene.paint("run-out"), INK, 0.8, "")
    });
    add(
        k.left + k.right + k.front + k.back > 0.0,
        "border that stays clear",
        &|r| rect(r, "none", GREY, 1.0, &dash(7.0, 4.0)),
    );
    out
}
