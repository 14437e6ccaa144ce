//! The fixture on the bed, as the operator stands at it, and what frames it: stops, directions, scale.

use kurbo::{Point, Rect, Vec2};

use super::labels::Sign;
use super::layout::{About, Layout};
use super::palette::{BLANK, INK, PAPER, SHEET};
use super::parts::Parts;
use super::pen::{frame, num};
use super::scene::Scene;
use crate::finding::Finding;
use crate::fixture::settings::{Bed, Stops};
use crate::matching::Job;
use crate::report::Run;
use crate::units::{MM_PER_INCH, Shown, trimmed};

/// Thin lines across what is drawn. Labels are so many lines high: with more of them, they could not be
/// read on a small screen; with fewer, they would find no room.
const ACROSS: f64 = 500.0;

/// Room round the bed for words, in thin lines: left and right, back, front.
const ROOM: (f64, f64, f64) = (36.0, 24.0, 40.0);

/// How far the drawing follows findings beyond the bed, as a share of the bed. With a larger share,
/// one stray speck would make everything else tiny.
const BEYOND: f64 = 0.5;

/// Room in front for the inset of the whole bed, and its height, in thin lines.
const INSET: (f64, f64) = (84.0, 60.0);

/// The rule that is about the limits of the bed.
const OUTSIDE_BED: &str = "outside-bed";

/// Room for the scale with its words, in thin lines.
const SCALE: f64 = 210.0;

/// How much bed is drawn about the fixture, as a share of its longer side.
const ABOUT: f64 = 0.04;

/// A fixture that takes more than this share of the bed's width or depth would be drawn hardly larger by
/// itself: the whole bed is drawn.
const MOST_OF_BED: f64 = 0.8;

/// The drawing: the fixture as large as it can be; the whole bed where a finding lies elsewhere.
pub(super) fn scene<'a>(job: &'a Job<'a>, run: &'a Run, parts: &'a Parts, name: &str) -> Scene<'a> {
    let bed = &job.fixture.settings.bed;
    let (seen, front) = match fixture(bed, run, parts) {
        Some(about) => (about, ROOM.2 + INSET.0),
        None => (whole(job, run), ROOM.2),
    };
    let unit = seen.width().max(seen.height()) / ACROSS;
    Scene {
        job,
        run,
        parts,
        view: Rect::new(
            seen.x0 - ROOM.0 * unit,
            seen.y0 - ROOM.1 * unit,
            seen.x1 + ROOM.0 * unit,
            seen.y1 + front * unit,
        ),
        unit,
        name: name.to_owned(),
    }
}

/// The fixture with a little bed about it, where that is all there is to see.
fn fixture(bed: &Bed, run: &Run, parts: &Parts) -> Option<Rect> {
    let all = parts.fixture()?;
    let margin = ABOUT * all.width().max(all.height());
    let mut seen = all.inflate(margin, margin);
    // The words above and below need a line's length.
    let narrow = (seen.height() - seen.width()).max(0.0);
    seen = seen.inflate(narrow / 2.0, 0.0);
    let worth = seen.width() < MOST_OF_BED * bed.width && seen.height() < MOST_OF_BED * bed.height;
    let inside = |f: &Finding| f.bed.is_none_or(|r| seen.contains_rect(r));
    (worth && run.told().iter().all(inside)).then_some(seen)
}

/// The bed with what lies on it and beside it.
fn whole(job: &Job<'_>, run: &Run) -> Rect {
    let bed = &job.fixture.settings.bed;
    let unit = bed.width.max(bed.height) / ACROSS;
    let edge = edge(bed);
    let most = edge.inflate(BEYOND * bed.width, BEYOND * bed.height);
    run.told()
        .iter()
        .filter_map(|f| f.bed)
        .chain([job.artwork.page.rect])
        .filter(Rect::is_finite)
        .map(|r| r.inflate(14.0 * unit, 14.0 * unit).intersect(most))
        .filter(|r| r.width() > 0.0 && r.height() > 0.0)
        .fold(edge, |all, r| all.union(r))
}

fn edge(bed: &Bed) -> Rect {
    Rect::new(0.0, 0.0, bed.width, bed.height)
}

impl Scene<'_> {
    /// Everything on the bed, with what lies behind the art of the findings.
    pub(super) fn ground(&self, layout: &Layout<'_>) -> String {
        // The sheet lies on the limits of the bed, but where they are what is overstepped.
        let overstepped = |s: &Sign<'_>| s.finding.rule == OUTSIDE_BED;
        let mut out = if layout.signs.iter().any(overstepped) {
            [self.bed(), self.fixture(), self.limits(), self.page()].concat()
        } else {
            [self.bed(), self.limits(), self.fixture(), self.page()].concat()
        };
        // The worst last, on top.
        let loud = layout.signs.iter().rev().filter(|s| !s.quiet);
        out.extend(loud.map(|s| self.behind(s.finding)));
        out.push_str(&self.lines());
        out.push_str(&self.art());
        out.push_str(&self.named(&layout.names));
        out
    }

    /// The rings and numbers of the findings, over them their arrows and hatches, and the words
    /// about the drawing.
    pub(super) fn signs(&self, layout: &Layout<'_>, linked: bool) -> String {
        // Keyboards and screen readers go through them from 1.
        let rings = layout.signs.iter().map(|s| self.ring(s, linked));
        let loud = layout.signs.iter().rev().filter(|s| !s.quiet);
        let over = loud.map(|s| self.over(s));
        let words = layout.words.iter();
        let words = words.map(|w| self.words(w.at, w.size, INK, w.text));
        rings.chain(over).chain(words).collect()
    }

    /// The whole drawing of the bed.
    pub(super) fn overview(&self, linked: bool) -> String {
        let findings = self.run.told().iter().enumerate();
        let findings = findings.map(|(i, f)| (i + 1, f));
        let layout = Layout::of(self, findings, &self.about());
        let ground = self.ground(&layout);
        let mut out = match self.about_fixture() {
            // The bed goes on beyond the drawing, and must not lie under the words about it.
            Some(seen) => format!(
                "<clipPath id=\"seen-{0}\"><rect {1}/></clipPath><g clip-path=\"url(#seen-{0})\">{ground}</g>",
                self.name,
                frame(seen)
            ),
            None => ground,
        };
        out.push_str(&self.surroundings());
        out.push_str(&self.signs(&layout, linked));
        out
    }

    /// What is drawn of the bed, where that is the fixture and what lies about it.
    pub(super) fn about_fixture(&self) -> Option<Rect> {
        let u = self.unit;
        let v = self.view;
        let front = ROOM.2 + INSET.0;
        let seen = Rect::new(
            v.x0 + ROOM.0 * u,
            v.y0 + ROOM.1 * u,
            v.x1 - ROOM.0 * u,
            v.y1 - front * u,
        );
        let edge = edge(&self.job.fixture.settings.bed);
        (!v.contains_rect(edge)).then_some(seen)
    }

    /// Stops, scale, and the whole bed small where only the fixture is drawn.
    fn surroundings(&self) -> String {
        let bed = edge(&self.job.fixture.settings.bed);
        let mut out = match self.about_fixture() {
            Some(seen) => self.inset(bed, seen),
            None => self.stops(bed),
        };
        out.push_str(&self.scale_bar(self.scale_end()));
        out
    }

    /// What is drawn, without the words about it.
    fn inner(&self) -> Rect {
        let whole = edge(&self.job.fixture.settings.bed);
        self.about_fixture().unwrap_or(whole)
    }

    /// The words for the directions: back and front at the edges of the drawing, left and right beside
    /// the fixture.
    fn directions(&self) -> Vec<(&'static str, Vec<Point>)> {
        let (u, r) = (self.unit, self.inner());
        let sheet = self.about_fixture().and_then(|_| self.parts.fixture());
        let beside = sheet.unwrap_or(r);
        let level = |y: f64| {
            [0.5, 0.3, 0.7]
                .map(|x| Point::new(r.x0 + x * r.width(), y))
                .to_vec()
        };
        let upright = |near: f64, far: f64| {
            let at =
                |x: f64| [0.5, 0.3, 0.7].map(|y| Point::new(x, beside.y0 + y * beside.height()));
            [at(near), at(far)].concat()
        };
        let (side, far) = (19.0 * u, 16.0 * u);
        vec![
            ("back", level(r.y0 - 12.0 * u)),
            ("front: you stand here", level(r.y1 + 13.0 * u)),
            ("left", upright(beside.x0 - side, r.x0 - far)),
            ("right", upright(beside.x1 + side, r.x1 + far)),
        ]
    }

    fn scale_end(&self) -> Point {
        let r = self.inner();
        Point::new(r.x1, r.y1 + 28.0 * self.unit)
    }

    /// What stands about the drawing.
    fn about(&self) -> About {
        let (u, r, end) = (self.unit, self.inner(), self.scale_end());
        let scale = Rect::new(end.x - SCALE * u, end.y - 6.0 * u, end.x, end.y + 8.0 * u);
        let mut taken = vec![scale];
        if let Some(seen) = self.about_fixture() {
            taken.push(Rect::new(
                seen.x0,
                seen.y1 + 28.0 * u,
                seen.x1,
                self.view.y1,
            ));
        } else {
            // Two bars, and the word in front of one.
            let corner = self.stops_corner(r).0;
            taken.extend(
                [(18.0, 100.0), (100.0, 46.0)]
                    .map(|(wide, high)| Rect::from_center_size(corner, (wide * u, high * u))),
            );
        }
        About {
            taken,
            words: self.directions(),
        }
    }

    /// The whole bed in front of the drawing: its stops, the sheet, and a frame about what is drawn.
    fn inset(&self, bed: Rect, seen: Rect) -> String {
        let u = self.unit;
        let scale = INSET.1 * u / bed.height().max(bed.width() / 3.0);
        let origin = Point::new(seen.x0, seen.y1 + 30.0 * u);
        let at = |p: Point| origin + (p - bed.origin()) * scale;
        let small =
            |r: Rect| Rect::from_points(at(Point::new(r.x0, r.y0)), at(Point::new(r.x1, r.y1)));
        let sheet = self.parts.fixture().unwrap_or(seen);
        let mut out = String::new();
        for (r, fill, width, dash) in [
            (bed, BLANK, 1.2, None),
            (sheet, SHEET, 0.8, None),
            (seen.intersect(bed), "none", 1.2, Some(3.0)),
        ] {
            let dash = dash.map_or_else(String::new, |d| {
                format!(" stroke-dasharray=\"{}\"", self.u(d))
            });
            out.push_str(&format!(
                "<rect {} fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"{}\"{dash}/>",
                frame(small(r)),
                self.u(width)
            ));
        }
        let b = small(bed);
        let (corner, x, y) = self.stops_corner(b);
        let long = 20.0 * u;
        out.push_str(&format!(
            "<path d=\"M{} {}H{}V{}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"{}\"/>",
            num(corner.x - x * long),
            num(corner.y),
            num(corner.x),
            num(corner.y - y * long),
            self.u(4.0)
        ));
        let words = "the whole bed; heavy corner: the stops";
        let beside = Point::new(b.x1 + (10.0 + 3.2 * words.len() as f64) * u, b.y1 - 8.0 * u);
        out.push_str(&self.words(beside, 12.0, INK, words));
        format!("<g class=\"inset\">{out}</g>")
    }

    /// The corner of a box that the stops stand at, and which way is out of it.
    fn stops_corner(&self, r: Rect) -> (Point, f64, f64) {
        match self.job.fixture.settings.stops {
            Stops::FrontLeft => (Point::new(r.x0, r.y1), -1.0, 1.0),
            Stops::FrontRight => (Point::new(r.x1, r.y1), 1.0, 1.0),
            Stops::BackLeft => (Point::new(r.x0, r.y0), -1.0, -1.0),
            Stops::BackRight => (Point::new(r.x1, r.y0), 1.0, -1.0),
        }
    }

    /// The stops: two bars with a hook, outside the corner they stand at.
    pub(super) fn stops(&self, bed: Rect) -> String {
        let u = self.unit;
        let (corner, x, y) = self.stops_corner(bed);
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
        let most = 0.65 * SCALE * u / one;
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
