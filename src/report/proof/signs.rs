//! What a finding looks like on the bed: its picture, its ring, its number.

use kurbo::{BezPath, PathEl, Point, Rect, Shape as _, Vec2};

use super::labels::{ARROW, BADGE, MEASURE, RING, RULE, Sign, beyond_words, corners, plate_half};
use super::palette::{INK, PAPER, RIGHT, WRONG};
use super::pen::{self, frame, num};
use super::room::Spot;
use super::scene::Scene;
use crate::finding::{self, Finding, Severity};
use crate::geometry::region::Region;
use crate::matching::art::Art;
use crate::remedy::What;
use crate::wording::escape;

/// Length of the sign for what is to be flipped, in thin lines.
const FLIP: f64 = 34.0;

/// Most hatched boxes to a finding; a filled-in map has thousands of pieces.
const MOST_BANDS: usize = 200;

impl Scene<'_> {
    /// What lies behind the art: the ghost of how it should be.
    pub(super) fn behind(&self, f: &Finding) -> String {
        match &f.picture {
            finding::Picture::Ghost { right, .. } => {
                // A hatch over a whole fixture would hide the art in it.
                let one = right
                    .iter()
                    .filter(|e| matches!(e, PathEl::MoveTo(_)))
                    .count()
                    == 1;
                let fill = if one {
                    self.paint("ghost")
                } else {
                    "none".to_owned()
                };
                self.ghost(right, 2.0, &format!("fill=\"{fill}\""))
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
    pub(super) fn over(&self, sign: &Sign<'_>) -> String {
        match &sign.finding.picture {
            finding::Picture::Ring => String::new(),
            finding::Picture::Ghost { .. } => self.move_back(sign),
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
            finding::Picture::Turn { .. } => self.turn(sign.finding),
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
    fn move_back(&self, sign: &Sign<'_>) -> String {
        let Some(m) = &sign.measure else {
            return String::new();
        };
        format!(
            "{}<g class=\"measure\"><rect {} rx=\"{}\" fill=\"{PAPER}\" stroke=\"{RIGHT}\" stroke-width=\"{}\"/>{}{}</g>",
            self.leader(&m.spot, RIGHT),
            frame(m.spot.plate),
            self.u(2.0),
            self.u(0.8),
            self.arrow(m.from, m.to, RIGHT, false),
            self.words(m.at, MEASURE, RIGHT, &m.words)
        )
    }

    /// The line from a label to its thing, where it stands farther off.
    fn leader(&self, spot: &Spot, colour: &str) -> String {
        let Some((from, to)) = spot.leader() else {
            return String::new();
        };
        let line = |colour: &str, width: f64| {
            format!(
                "<path d=\"M{} {}L{} {}\" stroke=\"{colour}\" stroke-width=\"{}\"/>",
                num(from.x),
                num(from.y),
                num(to.x),
                num(to.y),
                self.u(width)
            )
        };
        format!(
            "<g class=\"leader\">{}{}</g>",
            line(PAPER, 4.0),
            line(colour, 1.6)
        )
    }

    /// The way of an arrow round the art, from where its tops point to where they should; a short way
    /// across its tops where they point right and it is mirrored.
    pub(super) fn arc(&self, f: &Finding) -> Vec<Point> {
        let finding::Picture::Turn { centre, is, should } = f.picture else {
            return Vec::new();
        };
        let bed = f.bed.unwrap_or_default();
        if is == should {
            let (s, c) = (libm::sin(is.to_radians()), libm::cos(is.to_radians()));
            let (up, side) = (Vec2::new(s, -c), Vec2::new(c, s));
            let reach = f64::midpoint((up.x * bed.width()).abs(), (up.y * bed.height()).abs());
            let above = centre + up * (reach + RING + 9.0 * self.unit);
            return vec![
                above - side * (FLIP / 2.0 * self.unit),
                above + side * (FLIP / 2.0 * self.unit),
            ];
        }
        let (size, least) = (bed.width().max(bed.height()), bed.width().min(bed.height()));
        // Within what takes most of the drawing, about what does not.
        let radius = if least > 0.3 * self.view.width().min(self.view.height()) {
            0.3 * least
        } else {
            (size * 0.5 + 5.0 * self.unit).max(14.0 * self.unit)
        };
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
        (0..=steps)
            .map(|i| spot(is + by * f64::from(i) / f64::from(steps)))
            .collect()
    }

    fn turn(&self, f: &Finding) -> String {
        let points = self.arc(f);
        if let [a, b] = points.as_slice() {
            let middle = a.midpoint(*b);
            return self.arrow(middle, *a, RIGHT, false) + &self.arrow(middle, *b, RIGHT, false);
        }
        let ([from, ..], [.., a, _, b]) = (points.as_slice(), points.as_slice()) else {
            return String::new();
        };
        let line: Vec<String> = points
            .iter()
            .take(points.len().saturating_sub(2))
            .map(|p| format!("{} {}", num(p.x), num(p.y)))
            .collect();
        let mut out = String::new();
        for (colour, width) in [(PAPER, 5.0), (RIGHT, 2.4)] {
            out.push_str(&format!(
                "<path d=\"M{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"/>",
                line.join("L"),
                self.u(width)
            ));
        }
        let head = (*b - *a).normalize() * (15.0 * self.unit);
        out.push_str(&self.arrow(*b - head, *b, RIGHT, false));
        out.push_str(&format!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{PAPER}\" stroke=\"{RIGHT}\" stroke-width=\"{}\"/>",
            num(from.x),
            num(from.y),
            self.u(3.2),
            self.u(2.0)
        ));
        out
    }

    /// The ring and the number of a finding; where it lies beyond the drawing, the words for that. With
    /// `linked`, a link to the finding in the list.
    pub(super) fn ring(&self, sign: &Sign<'_>, linked: bool) -> String {
        let (number, f) = (sign.number, sign.finding);
        let Some(spot) = &sign.badge else {
            return self.beyond(sign);
        };
        let mut inner = format!("<title>{}</title>", escape(&label(number, f)));
        if let Some(bed) = f.bed {
            inner.push_str(&self.framed(f, bed));
        }
        inner.push_str(&self.leader(spot, INK));
        inner.push_str(&self.number(sign, spot.plate));
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

    /// The ring about a finding's place, and the corners of its further places.
    fn framed(&self, f: &Finding, bed: Rect) -> String {
        let ring = bed.inflate(RING, RING);
        let dashes = match f.severity {
            _ if f.waived.is_some() => format!("{} {}", self.u(1.5), self.u(4.0)),
            Severity::Hold => String::new(),
            Severity::Caution => format!("{} {}", self.u(8.0), self.u(3.0)),
            Severity::Note => format!("{} {}", self.u(2.0), self.u(3.0)),
        };
        let mut out = String::new();
        for (colour, width, class) in [(PAPER, 3.8, "rim"), (WRONG, 2.2, "ring")] {
            out.push_str(&format!(
                "<rect {} rx=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" stroke-dasharray=\"{}\" class=\"{class}\"/>",
                frame(ring),
                num(RING),
                self.u(width),
                if dashes.is_empty() || class == "rim" { "none" } else { &dashes }
            ));
        }
        for (_, place) in &f.also {
            let corners = self.cornered(place.inflate(RING, RING));
            out.push_str(&format!("<g class=\"also\">{corners}</g>"));
        }
        out
    }

    /// Marks at the corners of a further place: as many rings as places would hide what they are about.
    pub(super) fn cornered(&self, r: Rect) -> String {
        let long = (7.0 * self.unit).min(r.width().min(r.height()) / 3.0);
        let mut line = String::new();
        for at in corners(r) {
            let inwards = r.center() - at;
            line.push_str(&format!(
                "M{} {}V{}H{}",
                num(at.x),
                num(at.y + long.copysign(inwards.y)),
                num(at.y),
                num(at.x + long.copysign(inwards.x))
            ));
        }
        format!(
            "<path d=\"{line}\" fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"{}\"/>",
            self.u(1.6)
        )
    }

    /// A finding beyond the drawing: its number at the edge, with an arrow that way.
    fn beyond(&self, sign: &Sign<'_>) -> String {
        let (Some(bed), Some(spot)) = (sign.finding.bed, &sign.beyond) else {
            return String::new();
        };
        let (plate, to) = (spot.plate, bed.center());
        let from = Point::new(
            to.x.clamp(plate.x0, plate.x1),
            to.y.clamp(plate.y0, plate.y1),
        );
        let way = to - from;
        let end = from + way / way.hypot().max(1e-9) * (ARROW * self.unit);
        format!(
            "<g class=\"beyond\" data-beyond=\"{}\">{}{}</g>",
            sign.number,
            self.words(
                plate.center(),
                MEASURE,
                INK,
                &beyond_words(sign.number, sign.finding)
            ),
            self.arrow(from, end, INK, false)
        )
    }

    /// The number: a full disc for a hold, a frame for a caution, a thin disc for a note, a dashed
    /// one for what a waiver excuses.
    fn number(&self, sign: &Sign<'_>, plate: Rect) -> String {
        let (number, f, r) = (sign.number, sign.finding, BADGE * self.unit);
        let disc = plate_half(number, self.unit);
        let middle = plate.center().y;
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
        let words = |x: f64, size: f64, how: &str, text: &str| {
            format!(
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{colour}\" {how}>{text}</text>",
                num(x),
                num(middle + 0.36 * size * self.unit),
                self.u(size)
            )
        };
        let how = "font-weight=\"600\" text-anchor=\"middle\" class=\"number\"";
        let digits = words(plate.x0 + disc, 11.5, how, &number.to_string());
        let rule = if sign.named {
            words(plate.x0 + 2.0 * disc, RULE, "", f.rule)
        } else {
            String::new()
        };
        format!(
            "<g class=\"badge\"><rect {} rx=\"{}\" fill=\"{fill}\" stroke=\"{colour}\" stroke-width=\"{}\"{dashes}/>{digits}{rule}</g>",
            frame(plate),
            num(corner),
            self.u(width)
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
        f.sentence()
    )
}
