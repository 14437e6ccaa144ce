//! One drawing: a part of the bed, at a size, with some of the findings on it.

use kurbo::{Point, Rect, Vec2};

use super::labels::Words;
use super::palette::{BLANK, BURNT, GREY, INK, PAPER, RIGHT, SHEET, WRONG};
use super::parts::{Part, Parts};
use super::pen::{frame, matrix, num};
use crate::artwork::mark::{Content, Operation, Picture};
use crate::fixture::Pocket;
use crate::fixture::lock::OutlineKind;
use crate::matching::Job;
use crate::report::Run;
use crate::wording::escape;

/// One drawing.
pub(super) struct Scene<'a> {
    /// What is drawn.
    pub(super) job: &'a Job<'a>,
    /// What was found.
    pub(super) run: &'a Run,
    /// Its shapes.
    pub(super) parts: &'a Parts,
    /// The part of the bed that is seen, in millimetres.
    pub(super) view: Rect,
    /// Millimetres to a thin line: everything that is not to scale is a multiple of it.
    pub(super) unit: f64,
    /// Tells the ids of this drawing from those of others in the same document.
    pub(super) name: String,
}

impl Scene<'_> {
    /// Whether any of `r` may be seen. A page may give a drawing a frame of another shape than its
    /// view and shows what lies beside the view, up to its longer side: what was left out there would
    /// make a neighbouring pocket look empty.
    pub(super) fn sees(&self, r: Rect) -> bool {
        let beside = self.view.width().max(self.view.height());
        let v = self.view.inflate(beside, beside);
        r.x1 >= v.x0 && r.x0 <= v.x1 && r.y1 >= v.y0 && r.y0 <= v.y1
    }

    /// `n` thin lines, in millimetres.
    pub(super) fn u(&self, n: f64) -> String {
        num(n * self.unit)
    }

    /// A hatch or the like as a paint.
    pub(super) fn paint(&self, hatch: &str) -> String {
        format!("url(#{hatch}-{})", self.name)
    }

    /// A shape that is defined elsewhere.
    pub(super) fn shape(&self, part: &Part, how: &str) -> String {
        if self.sees(part.bounds) {
            format!("<use href=\"#{}\" {how}/>", part.id)
        } else {
            String::new()
        }
    }

    /// Words, their middle at `at`, `size` thin lines high, with a rim that keeps them readable on
    /// anything.
    pub(super) fn words(&self, at: Point, size: f64, colour: &str, text: &str) -> String {
        format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"middle\" fill=\"{colour}\" stroke=\"{PAPER}\" stroke-width=\"{}\" stroke-linejoin=\"round\" paint-order=\"stroke\">{}</text>",
            num(at.x),
            num(at.y + 0.35 * size * self.unit),
            self.u(size),
            self.u(size * 0.25),
            escape(text)
        )
    }

    /// The hatches of this drawing.
    pub(super) fn hatches(&self) -> String {
        let mut out = String::new();
        for (name, gap, width, turn, colour) in [
            ("too-much", 5.0, 2.2, 45, WRONG),
            ("ghost", 9.0, 0.9, -45, RIGHT),
            ("empty", 5.0, 1.0, 90, GREY),
            ("run-out", 4.0, 0.6, 0, GREY),
            ("picture", 4.0, 1.4, -30, BURNT),
            ("unknown", 6.0, 3.0, 60, BURNT),
        ] {
            let dashed = if name == "unknown" {
                format!(" stroke-dasharray=\"{}\"", self.u(3.0))
            } else {
                String::new()
            };
            out.push_str(&format!(
                "<pattern id=\"{name}-{}\" width=\"{gap}\" height=\"{gap}\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate({turn}) scale({})\"><path d=\"M{} 0V{gap}\" stroke=\"{colour}\" stroke-width=\"{width}\"{dashed} fill=\"none\"/></pattern>",
                self.name,
                crate::units::trimmed(self.unit, 4),
                num(gap / 2.0),
                gap = num(gap),
            ));
        }
        out
    }

    /// The bed's edge.
    pub(super) fn bed(&self) -> String {
        let bed = &self.job.fixture.settings.bed;
        let edge = Rect::new(0.0, 0.0, bed.width, bed.height);
        format!(
            "<rect {} fill=\"{BLANK}\" stroke=\"{INK}\" stroke-width=\"{}\"/>",
            frame(edge),
            self.u(1.6)
        )
    }

    /// The strips for the run-out, and the border that stays clear.
    pub(super) fn limits(&self) -> String {
        let bed = &self.job.fixture.settings.bed;
        let edge = Rect::new(0.0, 0.0, bed.width, bed.height);
        let mut out = String::new();
        if bed.run_out > 0.0 {
            for x in [0.0, bed.width - bed.run_out] {
                let strip = Rect::new(x, 0.0, x + bed.run_out, bed.height);
                out.push_str(&format!(
                    "<rect {} fill=\"{}\"/>",
                    frame(strip),
                    self.paint("run-out")
                ));
            }
        }
        let k = bed.keep_clear;
        let usable = Rect::new(k.left, k.back, bed.width - k.right, bed.height - k.front);
        if usable != edge && usable.width() > 0.0 && usable.height() > 0.0 {
            out.push_str(&format!(
                "<rect {} fill=\"none\" stroke=\"{GREY}\" stroke-width=\"{}\" stroke-dasharray=\"{} {}\"/>",
                frame(usable),
                self.u(1.0),
                self.u(7.0),
                self.u(4.0)
            ));
        }
        out
    }

    /// Whether the file has none of the fixture's lines.
    pub(super) fn lines_absent(&self) -> bool {
        !self.job.has_fixture() && self.job.shift.is_none()
    }

    /// What cannot be seen or measured, where its place is known.
    pub(super) fn unproven(&self) -> impl Iterator<Item = Rect> {
        let sent = self.job.fixture.settings.run.hidden_sent;
        let unproven = self.job.artwork.unproven.iter();
        unproven
            .filter(move |u| !u.hidden || sent)
            .filter_map(|u| u.bed)
    }

    /// The fixture as it lies on the bed: sheet, pockets, zones, head ends, loading marks.
    pub(super) fn fixture(&self) -> String {
        let mut out = String::new();
        // What is not in the file is not drawn as if it were.
        let dashes = if self.lines_absent() {
            format!(" stroke-dasharray=\"{} {}\"", self.u(4.0), self.u(4.0))
        } else {
            String::new()
        };
        let of = |kind| self.parts.outlines.iter().filter(move |o| o.kind == kind);
        let edges = of(OutlineKind::Edge).map(|edge| &edge.part);
        for sheet in edges.chain(&self.parts.sheet) {
            let how = format!(
                "fill=\"{SHEET}\" stroke=\"{INK}\" stroke-width=\"{}\"{dashes}",
                self.u(1.2)
            );
            out.push_str(&self.shape(sheet, &how));
        }
        for (i, pocket) in self.job.fixture.pockets.pairs() {
            let outline = &self.parts.outlines[pocket.outline];
            let how = format!(
                "fill=\"{BLANK}\" stroke=\"{INK}\" stroke-width=\"{}\"{dashes}",
                self.u(1.4)
            );
            out.push_str(&self.shape(&outline.part, &how));
            if self.job.loaded[i] {
                let zone = &self.parts.zones[i];
                let how = format!(
                    "fill=\"none\" stroke=\"{RIGHT}\" stroke-width=\"{}\" stroke-dasharray=\"{} {}\" stroke-linecap=\"round\"",
                    self.u(1.1),
                    self.u(0.1),
                    self.u(2.6)
                );
                out.push_str(&self.shape(zone, &how));
            } else {
                out.push_str(&self.crossed(pocket, &outline.part, true));
            }
            out.push_str(&self.head(pocket));
        }
        for mark in of(OutlineKind::Mark) {
            let how = format!(
                "fill=\"none\" stroke=\"{GREY}\" stroke-width=\"{}\"",
                self.u(0.9)
            );
            out.push_str(&self.shape(&mark.part, &how));
        }
        out
    }

    /// A pocket that is left out: greyed where it holds no blank, crossed.
    pub(super) fn crossed(&self, pocket: &Pocket, part: &Part, grey: bool) -> String {
        let mut out = String::new();
        if grey {
            let how = format!("fill=\"{}\"", self.paint("empty"));
            out.push_str(&self.shape(part, &how));
        }
        let Some(b) = pocket.region.bounds().filter(|b| self.sees(*b)) else {
            return out;
        };
        let b = b.inset(-0.04 * b.width().min(b.height()));
        out.push_str(&format!(
            "<path d=\"M{} {}L{} {}M{} {}L{} {}\" stroke=\"{GREY}\" stroke-width=\"{}\" fill=\"none\"/>",
            num(b.x0),
            num(b.y0),
            num(b.x1),
            num(b.y1),
            num(b.x1),
            num(b.y0),
            num(b.x0),
            num(b.y1),
            self.u(2.0)
        ));
        out
    }

    /// The ring at the head end: its middle and how large it is.
    pub(super) fn head_ring(&self, pocket: &Pocket) -> Option<(Point, f64)> {
        let (end, across, _) = extent(pocket)?;
        let radius = (across * 0.11).min(7.0 * self.unit);
        Some((end - pocket.head * (radius * 1.9), radius))
    }

    fn head(&self, pocket: &Pocket) -> String {
        let Some((centre, radius)) = self.head_ring(pocket) else {
            return String::new();
        };
        if !self.sees(pocket.region.bounds().unwrap_or_default()) {
            return String::new();
        }
        format!(
            "<circle cx=\"{0}\" cy=\"{1}\" r=\"{2}\" fill=\"{SHEET}\" stroke=\"{INK}\" stroke-width=\"{3}\"/><circle cx=\"{0}\" cy=\"{1}\" r=\"{4}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"{3}\"/>",
            num(centre.x),
            num(centre.y),
            num(radius),
            self.u(0.8),
            num(radius * 0.55)
        )
    }

    /// The names of pockets.
    pub(super) fn named(&self, names: &[Words<'_>]) -> String {
        let one = |w: &Words<'_>| self.words(w.at, w.size, GREY, w.text);
        names.iter().map(one).collect()
    }

    /// The page of the file, where it is not the fixture's.
    pub(super) fn other_page(&self) -> Option<Rect> {
        let (p, e) = (self.job.artwork.page.rect, self.job.fixture.lock.page.rect);
        let same = |a: f64, b: f64| (a - b).abs() < 0.05;
        let all = same(p.x0, e.x0) && same(p.y0, e.y0) && same(p.x1, e.x1) && same(p.y1, e.y1);
        (!all).then_some(p)
    }

    /// The edge of that page.
    pub(super) fn page(&self) -> String {
        self.other_page().map_or_else(String::new, |page| {
            format!(
                "<rect {} fill=\"none\" stroke=\"{INK}\" stroke-width=\"{}\" stroke-dasharray=\"{} {} {} {}\"/>",
                frame(page),
                self.u(1.4),
                self.u(14.0),
                self.u(3.0),
                self.u(3.0),
                self.u(3.0)
            )
        })
    }

    /// The fixture's lines as the file has them, where they lie elsewhere or would be run.
    pub(super) fn lines(&self) -> String {
        let mut out = String::new();
        for line in &self.parts.lines {
            let (width, dashes) = if line.live {
                (2.6, [9.0, 2.5, 2.0, 2.5])
            } else {
                (1.8, [6.0, 3.0, 6.0, 3.0])
            };
            let dashes: Vec<String> = dashes.iter().map(|d| self.u(*d)).collect();
            let how = format!(
                "fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"{}\" stroke-dasharray=\"{}\" class=\"{}\"",
                self.u(width),
                dashes.join(" "),
                if line.off_place { "off_place" } else { "live" }
            );
            out.push_str(&self.shape(&line.part, &how));
        }
        out
    }

    /// What would be burnt.
    pub(super) fn art(&self) -> String {
        let mut out = String::new();
        for ink in &self.parts.ink {
            let art = &self.job.art[ink.art];
            if !self.sees(art.bounds()) {
                continue;
            }
            match &self.job.mark(art.mark).content {
                Content::Picture(picture) => out.push_str(&self.picture(picture)),
                _ => {
                    let how = if ink.operation == Operation::Unknown {
                        format!(
                            "fill=\"{}\" stroke=\"{BURNT}\" stroke-width=\"{}\"",
                            self.paint("unknown"),
                            self.u(1.0)
                        )
                    } else {
                        // The rim keeps a hair line visible; it is thinner than a laser's beam in
                        // a close-up and as wide as the thinnest line in the drawing of the bed.
                        format!(
                            "fill=\"{BURNT}\" stroke=\"{BURNT}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
                            self.u(0.25)
                        )
                    };
                    out.push_str(&self.shape(&ink.part, &how));
                }
            }
        }
        for place in self.unproven().filter(|r| self.sees(*r)) {
            out.push_str(&self.question(place));
        }
        for cut in &self.parts.cuts {
            let how = format!(
                "fill=\"none\" stroke=\"{WRONG}\" stroke-width=\"{}\" stroke-dasharray=\"{} {} {} {}\" class=\"live\"",
                self.u(2.6),
                self.u(9.0),
                self.u(2.5),
                self.u(2.0),
                self.u(2.5)
            );
            out.push_str(&self.shape(cut, &how));
        }
        out
    }

    /// A dashed frame about what cannot be seen or measured, with a question mark.
    pub(super) fn question(&self, r: Rect) -> String {
        let size = (0.7 * r.width().min(r.height()) / self.unit).min(24.0);
        format!(
            "<rect {} fill=\"{BLANK}\" stroke=\"{BURNT}\" stroke-width=\"{}\" stroke-dasharray=\"{} {}\"/>{}",
            frame(r),
            self.u(1.2),
            self.u(4.0),
            self.u(2.5),
            self.words(r.center(), size, BURNT, "?")
        )
    }

    /// A picture: its frame, hatched, with an arrow to its top.
    fn picture(&self, picture: &Picture) -> String {
        let mirrored = if picture.mirrored() {
            "picture, mirrored"
        } else {
            "picture"
        };
        let centre = picture.placed * Point::new(0.5, 0.5);
        let across =
            (picture.placed * Point::new(1.0, 0.5) - picture.placed * Point::new(0.0, 0.5)).hypot();
        let up = picture.up();
        let down =
            (picture.placed * Point::new(0.5, 1.0) - picture.placed * Point::new(0.5, 0.0)).hypot();
        let mut out = format!(
            "<path transform=\"{}\" d=\"M0 0H1V1H0Z\" fill=\"{BLANK}\"/>",
            matrix(picture.placed)
        );
        let corners: Vec<String> = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
            .iter()
            .map(|(x, y)| {
                let p = picture.placed * Point::new(*x, *y);
                format!("{} {}", num(p.x), num(p.y))
            })
            .collect();
        out.push_str(&format!(
            "<path d=\"M{}Z\" fill=\"{}\" stroke=\"{BURNT}\" stroke-width=\"{}\"/>",
            corners.join("L"),
            self.paint("picture"),
            self.u(1.2)
        ));
        let size = (across / 9.0 / self.unit).clamp(2.0, 11.0);
        out.push_str(&self.words(centre - up * (-0.18 * down), size, INK, mirrored));
        out.push_str(&self.arrow(
            centre - up * (0.05 * down),
            centre + up * (0.4 * down),
            INK,
            false,
        ));
        out
    }

    /// An arrow.
    pub(super) fn arrow(&self, from: Point, to: Point, colour: &str, dashed: bool) -> String {
        let way = to - from;
        let length = way.hypot();
        if length < 1e-9 {
            return String::new();
        }
        let along = way / length;
        let side = Vec2::new(-along.y, along.x);
        let head = (9.0 * self.unit).min(length * 0.6);
        let neck = to - along * head;
        let (a, b) = (neck + side * (head * 0.42), neck - side * (head * 0.42));
        let dashes = if dashed {
            format!(" stroke-dasharray=\"{} {}\"", self.u(4.0), self.u(2.5))
        } else {
            String::new()
        };
        let line = format!(
            "M{} {}L{} {}",
            num(from.x),
            num(from.y),
            num(neck.x),
            num(neck.y)
        );
        format!(
            "<path d=\"{line}\" stroke=\"{PAPER}\" stroke-width=\"{}\" fill=\"none\"/><path d=\"{line}\" stroke=\"{colour}\" stroke-width=\"{}\" fill=\"none\"{dashes}/><path d=\"M{} {}L{} {}L{} {}Z\" fill=\"{colour}\" stroke=\"{PAPER}\" stroke-width=\"{}\"/>",
            self.u(5.0),
            self.u(2.4),
            num(to.x),
            num(to.y),
            num(a.x),
            num(a.y),
            num(b.x),
            num(b.y),
            self.u(0.7)
        )
    }
}

/// The middle of a pocket's head edge, its size across the head direction, and along it.
pub(super) fn extent(pocket: &Pocket) -> Option<(Point, f64, f64)> {
    let head = pocket.head;
    let side = Vec2::new(-head.y, head.x);
    let mut span = [(f64::INFINITY, f64::NEG_INFINITY); 2];
    for p in pocket.region.rings.iter().flatten() {
        for (s, axis) in span.iter_mut().zip([head, side]) {
            let at = p.to_vec2().dot(axis);
            *s = (s.0.min(at), s.1.max(at));
        }
    }
    let [along, across] = span;
    (along.1 > along.0).then(|| {
        let middle = head * along.1 + side * (f64::midpoint(across.0, across.1));
        (middle.to_point(), across.1 - across.0, along.1 - along.0)
    })
}
