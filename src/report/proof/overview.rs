//! The whole bed, as the operator stands at it, and what frames it: stops, directions, scale.

use kurbo::{Point, Rect, Vec2};

use super::badge;
use super::palette::{INK, PAPER};
use super::parts::Parts;
use super::pen::num;
use super::scene::Scene;
use super::signs::BADGE;
use crate::finding::{Finding, Severity};
use crate::fixture::settings::{Bed, Stops};
use crate::matching::Job;
use crate::report::Run;
use crate::units::{MM_PER_INCH, Shown, trimmed};

/// Thin lines across the bed: the drawing of it is about this many pixels wide on a screen, and a
/// fifth as many millimetres on A4.
const ACROSS: f64 = 800.0;

/// Room round the bed for words, in thin lines: left and right, back, front.
const ROOM: (f64, f64, f64) = (36.0, 24.0, 40.0);

/// How far the drawing follows findings beyond the bed, as a share of the bed. With a larger share,
/// one stray speck would make everything else tiny.
const BEYOND: f64 = 0.5;

/// The drawing of the whole bed.
pub(super) fn scene<'a>(job: &'a Job<'a>, run: &'a Run, parts: &'a Parts, name: &str) -> Scene<'a> {
    let bed = &job.fixture.settings.bed;
    let unit = bed.width.max(bed.height) / ACROSS;
    let edge = edge(bed);
    let most = edge.inflate(BEYOND * bed.width, BEYOND * bed.height);
    let seen = run
        .told()
        .iter()
        .filter_map(|f| f.bed)
        .chain([job.artwork.page.rect])
        .filter(Rect::is_finite)
        .map(|r| r.inflate(14.0 * unit, 14.0 * unit).intersect(most))
        .filter(|r| r.width() > 0.0 && r.height() > 0.0)
        .fold(edge, |all, r| all.union(r));
    Scene {
        job,
        run,
        parts,
        view: Rect::new(
            seen.x0 - ROOM.0 * unit,
            seen.y0 - ROOM.1 * unit,
            seen.x1 + ROOM.0 * unit,
            seen.y1 + ROOM.2 * unit,
        ),
        unit,
        name: name.to_owned(),
    }
}

fn edge(bed: &Bed) -> Rect {
    Rect::new(0.0, 0.0, bed.width, bed.height)
}

impl Scene<'_> {
    /// Everything on the bed, with the pictures of `findings`, without their rings.
    pub(super) fn ground(&self, findings: &[&Finding]) -> String {
        let mut out = [self.bed(), self.fixture(), self.page()].concat();
        out.extend(findings.iter().map(|f| self.behind(f)));
        out.push_str(&self.lines());
        out.push_str(&self.art());
        out.extend(findings.iter().map(|f| self.over(f)));
        out
    }

    /// The whole drawing of the bed.
    pub(super) fn overview(&self, linked: bool) -> String {
        // The worst last, on top.
        let worst_last: Vec<&Finding> = self.run.told().iter().rev().collect();
        let mut out = self.ground(&worst_last);
        out.push_str(&self.surroundings());
        let boxes: Vec<Option<Rect>> = self.run.told().iter().map(|f| f.bed).collect();
        let places = badge::places(&boxes, BADGE * self.unit, self.view);
        // Keyboards and screen readers go through them from 1; a later one never hides an earlier
        // number.
        for (i, (f, place)) in self.run.told().iter().zip(places).enumerate() {
            if let Some(at) = place {
                out.push_str(&self.ring(i + 1, f, at, linked));
            } else if let Some(rect) = f.bed {
                out.push_str(&self.beyond(i + 1, rect, f.severity));
            }
        }
        out
    }

    /// A finding beyond the drawing: its number at the edge, with an arrow that way.
    fn beyond(&self, number: usize, rect: Rect, severity: Severity) -> String {
        let v = self.view.inflate(-20.0 * self.unit, -20.0 * self.unit);
        let c = rect.center();
        if !c.is_finite() {
            return String::new();
        }
        let at = Point::new(c.x.clamp(v.x0, v.x1), c.y.clamp(v.y0, v.y1));
        let way = c - at;
        let end = if way.hypot() > 0.0 {
            at + way / way.hypot() * (18.0 * self.unit)
        } else {
            at
        };
        format!(
            "<g class=\"beyond\" data-beyond=\"{number}\">{}{}</g>",
            self.words(
                at,
                12.0,
                INK,
                &format!("{number} ({}, beyond this drawing)", severity.word())
            ),
            self.arrow(at, end, INK, false)
        )
    }

    /// Stops, directions, scale.
    fn surroundings(&self) -> String {
        let bed = &self.job.fixture.settings.bed;
        let u = self.unit;
        let r = edge(bed);
        let mut out = self.stops(r);
        let mid = r.center();
        let word = |at: Point, text: &str| self.words(at, 12.0, INK, text);
        out.push_str(&word(Point::new(mid.x, r.y0 - 12.0 * u), "back"));
        out.push_str(&word(
            Point::new(mid.x, r.y1 + 13.0 * u),
            "front: you stand here",
        ));
        out.push_str(&format!(
            "<g class=\"sides\">{}{}</g>",
            word(Point::new(r.x0 - 19.0 * u, mid.y), "left"),
            word(Point::new(r.x1 + 19.0 * u, mid.y), "right")
        ));
        out.push_str(&self.scale_bar(Point::new(r.x1, r.y1 + 24.0 * u)));
        out
    }

    /// The stops: two bars with a hook, outside the corner they stand at.
    pub(super) fn stops(&self, bed: Rect) -> String {
        let u = self.unit;
        let (corner, x, y) = match self.job.fixture.settings.stops {
            Stops::FrontLeft => (Point::new(bed.x0, bed.y1), -1.0, 1.0),
            Stops::FrontRight => (Point::new(bed.x1, bed.y1), 1.0, 1.0),
            Stops::BackLeft => (Point::new(bed.x0, bed.y0), -1.0, -1.0),
            Stops::BackRight => (Point::new(bed.x1, bed.y0), 1.0, -1.0),
        };
        let at = |a: f64, b: f64| {
            let p = corner + Vec2::new(a * x * u, b * y * u);
            format!("{} {}", num(p.x), num(p.y))
        };
        let (thick, long) = (7.0, 46.0);
        let mut out = format!(
            "<path d=\"M{}L{}L{}L{}L{}L{}Z\" fill=\"{INK}\" class=\"stops\"/>",
            at(0.0, 0.0),
            at(0.0, -long),
            at(thick, -long),
            at(thick, thick),
            at(-long, thick),
            at(-long, 0.0)
        );
        // Studs, so that it does not read as a heavy frame.
        for (a, b) in [
            (thick / 2.0, -long * 0.8),
            (thick / 2.0, thick / 2.0),
            (-long * 0.8, thick / 2.0),
        ] {
            let p = corner + Vec2::new(a * x * u, b * y * u);
            out.push_str(&format!(
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{PAPER}\"/>",
                num(p.x),
                num(p.y),
                self.u(1.9)
            ));
        }
        let word = corner + Vec2::new(-x * 20.0 * u, y * 17.0 * u);
        out.push_str(&self.words(word, 12.0, INK, "stops"));
        out
    }

    /// A scale bar that ends at `end`, in the unit that messages use.
    fn scale_bar(&self, end: Point) -> String {
        let u = self.unit;
        let one = match self.run.shown {
            Shown::Mm => 1.0,
            Shown::Inch => MM_PER_INCH,
        };
        let most = 180.0 * u / one;
        let step = nice(most);
        let length = step * one;
        let parts = 4.0;
        let mut out = String::new();
        for i in 0..4 {
            let x = end.x - length + length / parts * f64::from(i);
            out.push_str(&format!(
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" stroke=\"{INK}\" stroke-width=\"{}\"/>",
                num(x),
                num(end.y),
                num(length / parts),
                self.u(5.0),
                if i % 2 == 0 { INK } else { PAPER },
                self.u(0.8)
            ));
        }
        let unit = match self.run.shown {
            Shown::Mm => "mm",
            Shown::Inch => "in",
        };
        let words = format!("{} {unit}", trimmed(step, 3));
        let at = Point::new(
            end.x - length - (8.0 + 3.4 * words.len() as f64) * u,
            end.y + 2.5 * u,
        );
        out.push_str(&self.words(at, 12.0, INK, &words));
        format!("<g class=\"scale\">{out}</g>")
    }
}

/// The largest of 1, 2 or 5 times a power of ten that is not above `most`.
fn nice(most: f64) -> f64 {
    let mut step = 1e-6;
    for power in -6..7 {
        for first in [1.0, 2.0, 5.0] {
            let s = first * 10_f64.powi(power);
            if s <= most {
                step = s;
            }
        }
    }
    step
}

#[cfg(test)]
mod tests {
    use super::nice;

    #[test]
    fn steps_are_round() {
        for (most, step) in [(180.0, 100.0), (99.0, 50.0), (49.0, 20.0), (1.9, 1.0)] {
            assert!((nice(most) - step).abs() < 1e-9, "{most}");
        }
    }
}
