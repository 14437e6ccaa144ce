//! What a finding looks like on the bed: its picture, its ring, its number.

use kurbo::{BezPath, Point, Rect, Shape as _, Vec2};

use super::badge::RING;
use super::palette::{INK, PAPER, RIGHT, WRONG};
use super::pen::{self, frame, num};
use super::scene::Scene;
use crate::finding::{self, Finding, Severity};
use crate::geometry::region::Region;
use crate::matching::art::Art;
use crate::remedy::What;
use crate::wording::escape;

/// Arrows shorter than this many thin lines are drawn this long (the key says so): a shift of a tenth of a
/// millimetre ruins blanks and cannot be seen to scale.
const SHORTEST: f64 = 26.0;

/// How far from the front edge of what it is about an enlarged arrow stands, as a share of its size
/// front to back.
const LOW: f64 = 0.2;

/// Most hatched boxes to a finding; a filled-in map has thousands of pieces.
const MOST_BANDS: usize = 200;

/// Half the height of a number's plate, in thin lines.
pub(super) const BADGE: f64 = 7.8;

impl Scene<'_> {
    /// What lies behind the art: the ghost of how it should be.
    pub(super) fn behind(&self, f: &Finding) -> String {
        match &f.picture {
            finding::Picture::Ghost { right, .. } => {
                self.ghost(right, 2.0, &format!("fill=\"{}\"", self.paint("ghost")))
            }
            finding::Picture::Hatch(path) => self.put_right(f) + &self.bands(path),
            finding::Picture::Turn { .. } | finding::Picture::Ring => self.put_right(f),
        }
    }

    /// The art as the finding's remedy leaves it: the room that it takes, or the art itself where it is
    /// turned or flipped. Plain, since a hatch would be lost in letters.
    fn put_right(&self, f: &Finding) -> String {
        let fill = format!("fill=\"{RIGHT}\" fill-opacity=\".25\"");
        let changes = f.remedy.drawn().map_or(&[][..], |way| &way.changes);
        let mut out = String::new();
        for change in changes {
            let Some(motion) = change.motion() else {
                continue;
            };
            let meant = |art: &&Art<'_>| {
                change.marks.contains(&art.mark)
                    && (change.part).is_none_or(|part| part.bounds.contains(art.bounds().center()))
            };
            for art in self.job.art.iter().filter(meant) {
                let (shape, fill) = match change.what {
                    What::Turn { .. } | What::Flip { .. } => {
                        (motion * art.ink().to_path(), fill.as_str())
                    }
                    _ => (motion * art.bounds().to_path(0.1), "fill=\"none\""),
                };
                out.push_str(&self.ghost(&shape, 0.7, fill));
            }
        }
        out
    }

    /// A hatched box behind each piece that is too much: slivers of letters are too thin to show a
    /// hatch of their own.
    fn bands(&self, path: &BezPath) -> String {
        let mut out = String::new();
        for piece in Region::from_path(path, false, 0.05)
            .pieces()
            .iter()
            .take(MOST_BANDS)
        {
            let Some(b) = piece.bounds().filter(|b| self.sees(*b)) else {
                continue;
            };
            // A frame is mostly what lies inside it, and that is not too much.
            if piece.area() < 0.15 * b.area() {
                continue;
            }
            let b = b.inflate(1.5 * self.unit, 1.5 * self.unit);
            out.push_str(&format!(
                "<rect {} fill=\"{}\" class=\"too-much\"/>",
                frame(b),
                self.paint("too-much")
            ));
        }
        out
    }

    /// What lies over the art: hatches and arrows.
    pub(super) fn over(&self, f: &Finding) -> String {
        match &f.picture {
            finding::Picture::Ring => String::new(),
            finding::Picture::Ghost { right, from, to } => self.move_back(right, *from, *to),
            finding::Picture::Hatch(path) => {
                if !self.sees(path.bounding_box()) {
                    return String::new();
                }
                format!(
                    "<path d=\"{}\" fill=\"{}\" stroke=\"{WRONG}\" stroke-width=\"{}\" class=\"too-much\"/>",
                    pen::path(path),
                    self.paint("too-much"),
                    self.u(1.4)
                )
            }
            finding::Picture::Turn {
                centre, is, should, ..
            } => self.turn(f, *centre, *is, *should),
        }
    }

    fn ghost(&self, right: &BezPath, width: f64, fill: &str) -> String {
        if !self.sees(right.bounding_box()) {
            return String::new();
        }
        format!(
            "<path d=\"{}\" {fill} stroke=\"{RIGHT}\" stroke-width=\"{}\" stroke-dasharray=\"{} {}\" class=\"ghost\"/>",
            pen::path(right),
            self.u(width),
            self.u(3.0 * width),
            self.u(1.5 * width)
        )
    }

    /// The arrow from where something lies to where it belongs, with the distance.
    fn move_back(&self, right: &BezPath, from: Point, to: Point) -> String {
        let way = to - from;
        if way.hypot() < 0.005 {
            return String::new();
        }
        let shown = self.run.shown;
        let short = way.hypot() < SHORTEST * self.unit;
        let (from, to) = if short {
            let half = way / way.hypot() * (SHORTEST * self.unit / 2.0);
            // Towards the front edge: the middle is where the name stands.
            let b = right.bounding_box();
            let middle = Point::new(to.x, to.y.max(b.y1 - LOW * b.height()));
            (middle - half, middle + half)
        } else {
            (from, to)
        };
        let mut out = self.arrow(from, to, RIGHT, false);
        let words = shown.length(way.hypot());
        // Below a level arrow, beside an upright one; below the whole where they are wider than it.
        let middle = from.midpoint(to);
        let b = right.bounding_box();
        let at = if short && 6.4 * words.len() as f64 * self.unit > b.width() {
            Point::new(b.center().x, b.y1 + 15.0 * self.unit)
        } else if way.x.abs() >= way.y.abs() {
            middle + Vec2::new(0.0, 13.0 * self.unit)
        } else {
            middle + Vec2::new((10.0 + 3.2 * words.len() as f64) * self.unit, 0.0)
        };
        let at = self.inside(at, words.len());
        out.push_str(&self.words(at, 12.0, RIGHT, &words));
        out
    }

    /// `at`, moved so that a line of words about it stays in view.
    fn inside(&self, at: Point, letters: usize) -> Point {
        let half = 3.2 * letters as f64 * self.unit;
        let v = self.view.inflate(-half, -9.0 * self.unit);
        if v.width() <= 0.0 || v.height() <= 0.0 {
            return at;
        }
        Point::new(at.x.clamp(v.x0, v.x1), at.y.clamp(v.y0, v.y1))
    }

    fn turn(&self, f: &Finding, centre: Point, is: f64, should: f64) -> String {
        let mut out = String::new();
        let size = f.bed.map_or(0.0, |b| b.width().max(b.height()));
        let radius = (size * 0.5 + 5.0 * self.unit).max(14.0 * self.unit);
        let spot = |bearing: f64| {
            let (s, c) = (
                libm::sin(bearing.to_radians()),
                libm::cos(bearing.to_radians()),
            );
            centre + Vec2::new(s, -c) * radius
        };
        // The shorter way round, clockwise for a half turn.
        let by = (should - is + 540.0).rem_euclid(360.0) - 180.0;
        let by = if (by + 180.0).abs() < 1e-6 { 180.0 } else { by };
        let steps = 24;
        let points: Vec<Point> = (0..=steps)
            .map(|i| spot(is + by * f64::from(i) / f64::from(steps)))
            .collect();
        let line: Vec<String> = points
            .iter()
            .take(points.len().saturating_sub(2))
            .map(|p| format!("{} {}", num(p.x), num(p.y)))
            .collect();
        for (colour, width) in [(PAPER, 5.0), (RIGHT, 2.4)] {
            out.push_str(&format!(
                "<path d=\"M{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"/>",
                line.join("L"),
                self.u(width)
            ));
        }
        if let [.., a, _, b] = points.as_slice() {
            let head = (*b - *a).normalize() * (15.0 * self.unit);
            out.push_str(&self.arrow(*b - head, *b, RIGHT, false));
        }
        let from = spot(is);
        out.push_str(&format!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{PAPER}\" stroke=\"{RIGHT}\" stroke-width=\"{}\"/>",
            num(from.x),
            num(from.y),
            self.u(3.2),
            self.u(2.0)
        ));
        out
    }

    /// The ring and the number of finding `number`, its number standing at `at`. With `linked`, a
    /// link to the finding in the list.
    pub(super) fn ring(&self, number: usize, f: &Finding, at: Point, linked: bool) -> String {
        let Some(bed) = f.bed else {
            return String::new();
        };
        let ring = bed.inflate(RING, RING);
        let dashes = match f.severity {
            _ if f.waived.is_some() => format!("{} {}", self.u(1.5), self.u(4.0)),
            Severity::Hold => String::new(),
            Severity::Caution => format!("{} {}", self.u(8.0), self.u(3.0)),
            Severity::Note => format!("{} {}", self.u(2.0), self.u(3.0)),
        };
        let mut inner = format!("<title>{}</title>", escape(&label(number, f)));
        for (colour, width, class) in [(PAPER, 5.0, "rim"), (WRONG, 2.2, "ring")] {
            inner.push_str(&format!(
                "<rect {} rx=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" stroke-dasharray=\"{}\" class=\"{class}\"/>",
                frame(ring),
                num(RING),
                self.u(width),
                if dashes.is_empty() || class == "rim" { "none" } else { &dashes }
            ));
        }
        for (_, place) in &f.also {
            inner.push_str(&format!(
                "<rect {} rx=\"{}\" fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"{}\" class=\"ring\"/>",
                frame(place.inflate(RING, RING)),
                num(RING),
                self.u(2.2)
            ));
        }
        inner.push_str(&self.number(number, f, at));
        let how = format!(
            "class=\"place {}\" data-finding=\"{number}\"",
            f.severity.word()
        );
        if linked {
            format!(
                "<a href=\"#finding-{number}\" id=\"place-{number}\" aria-label=\"{}\" {how}>{inner}</a>",
                escape(&label(number, f))
            )
        } else {
            format!("<g {how}>{inner}</g>")
        }
    }

    /// The number: a full disc for a hold, a frame for a caution, a thin disc for a note, a dashed
    /// one for what a waiver excuses.
    fn number(&self, number: usize, f: &Finding, at: Point) -> String {
        let digits = number.to_string();
        let r = BADGE * self.unit;
        // A disc for one digit; each more makes it longer, or it would stand out of it.
        let half = r * (0.65 + 0.35 * digits.len() as f64);
        let held = f.severity == Severity::Hold && f.waived.is_none();
        let corner = if f.severity == Severity::Caution {
            r * 0.25
        } else {
            r
        };
        let (fill, colour, width) = if held {
            (INK, PAPER, 1.6)
        } else {
            (PAPER, INK, 1.8)
        };
        let dashes = if f.waived.is_some() {
            format!(" stroke-dasharray=\"{} {}\"", self.u(2.5), self.u(2.0))
        } else {
            String::new()
        };
        let plate = Rect::new(at.x - half, at.y - r, at.x + half, at.y + r);
        format!(
            "<g class=\"badge\"><rect {} rx=\"{}\" fill=\"{fill}\" stroke=\"{colour}\" stroke-width=\"{}\"{dashes}/><text x=\"{}\" y=\"{}\" font-size=\"{}\" font-weight=\"600\" text-anchor=\"middle\" fill=\"{colour}\" class=\"number\">{digits}</text></g>",
            frame(plate),
            num(corner),
            self.u(width),
            num(at.x),
            num(at.y + 4.1 * self.unit),
            self.u(11.5)
        )
    }
}

/// A finding in a line, for those who hear the drawing.
pub(super) fn label(number: usize, f: &Finding) -> String {
    let pocket = f
        .pocket
        .as_ref()
        .map(|p| format!("pocket {p}: "))
        .unwrap_or_default();
    format!(
        "Finding {number}, {}: {pocket}{}",
        f.severity.word(),
        f.message
    )
}
