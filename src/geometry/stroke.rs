//! The ink of a line: what its width covers.

use kurbo::{Affine, BezPath, ParamCurve, PathSeg, Point, Vec2};

use super::flatten::{Polyline, Subpath, direction_at_start, steps, subpaths};
use super::region::Region;
use super::sweep::{self, Corner, Pen, unit};
use crate::artwork::mark::Line;

/// Most dashes one line is cut into. Past it the line is taken as solid, which covers the dashes:
/// a dash of a thousandth of a millimetre along a whole bed is no dash a laser could burn.
const MOST_DASHES: f64 = 200_000.0;

/// What a line covers on the bed.
///
/// `path` is the centre-line in bed millimetres. It is carried to the frame in which the pen is round,
/// dashed and widened there, and carried back. Never short of the true ink by more than
/// `tolerance` and at most that much past it (more only at the ends of tight dashes); a larger
/// tolerance is faster and rounds more coarsely.
///
/// Empty where the width is zero or the pen has no area (SVG 2, section 13.5.2: a zero width paints
/// nothing). A negative width is an error to SVG and paints nothing either. Where a coordinate, the
/// width or the pen cannot be measured, the ink is [`Region::everywhere`].
///
/// The dash pattern follows SVG 2, section 13.5.6: odd lists are repeated, a negative entry or a sum
/// of zero means solid.
pub fn ink_of_line(path: &BezPath, line: &Line, tolerance: f64) -> Region {
    let sane = super::flatten::measurable(path) && line.pen.is_finite() && line.width.is_finite();
    if !sane {
        return Region::everywhere();
    }
    let pen = line.pen;
    let reach = pen.spectral_norm();
    if line.width <= 0.0 || reach <= 0.0 || pen.determinant().abs() <= 1e-12 * reach * reach {
        return Region::default();
    }
    let own = Pen {
        radius: line.width / 2.0,
        join: line.join,
        miter_limit: line.miter_limit,
        cap: line.cap,
        tolerance: tolerance / 2.0 / reach,
    };
    let to_pen = pen.inverse();
    let mut polygons = Vec::new();
    for sub in subpaths(path) {
        let mut trail = Trail::new(&sub, to_pen, tolerance / 2.0, &own);
        match pattern(&line.dashes, trail.length()) {
            None => trail.draw(&own, &mut polygons),
            Some(dashes) => {
                for dash in trail.dashed(&dashes, line.dash_offset) {
                    dash.draw(&own, &mut polygons);
                }
            }
        }
    }
    Region::union_of(
        polygons
            .into_iter()
            .map(|polygon| polygon.into_iter().map(|p| pen * p).collect()),
    )
}

/// The dash list to use, `None` for a solid line.
fn pattern(dashes: &[f64], length: f64) -> Option<Vec<f64>> {
    let sum: f64 = dashes.iter().sum();
    let plain = dashes.is_empty()
        || dashes.iter().any(|d| !d.is_finite() || *d < 0.0)
        || sum <= 0.0
        || length / sum * dashes.len() as f64 > MOST_DASHES;
    (!plain).then(|| {
        if dashes.len() % 2 == 1 {
            [dashes, dashes].concat()
        } else {
            dashes.to_vec()
        }
    })
}

/// A line as the pen follows it, in the pen's frame: corners with the directions before and after.
#[derive(Debug, Clone, Default)]
struct Trail {
    corners: Vec<Corner>,
    closed: bool,
    /// A subpath that is a lone moveto draws nothing.
    drawn: bool,
}

impl Trail {
    /// Straightens a subpath. Besides the distance, the turn a piece hides is kept so small that the
    /// pen's rim is within `tolerance` too; a bend tighter than the pen is followed as well.
    fn new(sub: &Subpath, to_pen: Affine, tolerance: f64, pen: &Pen) -> Self {
        let linear = to_pen.with_translation(Vec2::ZERO);
        let carry = |v: Vec2| unit((linear * v.to_point()).to_vec2());
        let mut corners: Vec<Corner> = Vec::new();
        let still = Vec2::new(1.0, 0.0);
        let mut last = to_pen * sub.start;
        let begins = sub
            .segments
            .first()
            .and_then(|s| carry(direction_at_start(s)))
            .unwrap_or(still);
        corners.push(Corner {
            at: last,
            before: begins,
            after: begins,
            smooth: false,
        });
        for seg in &sub.segments {
            let ends = carry(-direction_at_start(&seg.reverse())).unwrap_or(still);
            let starts = carry(direction_at_start(seg)).unwrap_or(still);
            if let Some(corner) = corners.last_mut() {
                corner.after = starts;
            }
            for t in parameters(seg, tolerance, pen, to_pen) {
                let at = to_pen * if t < 1.0 { seg.eval(t) } else { seg.end() };
                if at == last && t < 1.0 {
                    continue;
                }
                corners.push(Corner {
                    at,
                    before: ends,
                    after: ends,
                    smooth: t < 1.0,
                });
                last = at;
            }
        }
        if sub.closed && corners.len() > 1 {
            // The last corner is the first one come round again.
            if let (Some(end), Some(first)) = (corners.pop(), corners.first_mut()) {
                first.before = end.before;
            }
        }
        Self {
            corners,
            closed: sub.closed,
            drawn: sub.drawn,
        }
    }

    fn polyline(&self) -> Polyline {
        let points = self.corners.iter().map(|c| c.at).collect();
        Polyline {
            points,
            closed: self.closed,
        }
    }

    fn length(&self) -> f64 {
        self.polyline().edges().map(|(a, b)| a.distance(b)).sum()
    }

    fn draw(&self, pen: &Pen, out: &mut Vec<Vec<Point>>) {
        if !self.drawn {
            return;
        }
        let Some((first, last)) = self.corners.first().zip(self.corners.last()) else {
            return;
        };
        if self.corners.len() == 1 {
            sweep::dot(first.at, first.after, pen, out);
            return;
        }
        let line = self.polyline();
        line.edges().for_each(|(a, b)| sweep::piece(a, b, pen, out));
        let n = self.corners.len();
        for (i, corner) in self.corners.iter().enumerate() {
            let around = |j: usize| self.corners.get(j % n).map(|c| c.at);
            let chord_in = around(i + n - 1).and_then(|p| unit(corner.at - p));
            let chord_out = around(i + 1).and_then(|p| unit(p - corner.at));
            let open_start = !self.closed && i == 0;
            let open_end = !self.closed && i + 1 == n;
            let round = |before, after| Corner {
                at: corner.at,
                before,
                after,
                smooth: true,
            };
            // Inside a curve chord meets chord. At a joint the true tangents meet, and the small
            // wedges between tangent and chord are filled.
            if corner.smooth {
                if let (Some(before), Some(after)) = (chord_in, chord_out) {
                    sweep::corner(&round(before, after), pen, out);
                }
                continue;
            }
            if let Some(chord) = chord_in.filter(|_| !open_start) {
                sweep::corner(&round(chord, corner.before), pen, out);
            }
            if let Some(chord) = chord_out.filter(|_| !open_end) {
                sweep::corner(&round(corner.after, chord), pen, out);
            }
            if !open_start && !open_end {
                sweep::corner(corner, pen, out);
            }
        }
        if !self.closed {
            sweep::end(first.at, -first.after, pen, out);
            sweep::end(last.at, last.before, pen, out);
        }
    }

    /// Cuts the line into dashes. A closed line's last dash runs on into its first.
    fn dashed(&mut self, dashes: &[f64], offset: f64) -> Vec<Self> {
        if !self.drawn || self.corners.len() < 2 {
            return vec![self.clone()];
        }
        let total: f64 = dashes.iter().sum();
        let mut left = if offset.is_finite() {
            offset.rem_euclid(total)
        } else {
            0.0
        };
        let mut lengths = dashes.iter().copied().cycle();
        let mut on = true;
        let mut room = lengths.next().unwrap_or(total);
        // Strictly past, so that an empty dash at the very start still draws its dot.
        while left > room || (left == room && left > 0.0) {
            left -= room;
            on = !on;
            room = lengths.next().unwrap_or(total);
        }
        room -= left;
        let began_on = on;
        let mut corners = self.corners.clone();
        if self.closed {
            corners.extend(self.corners.first().copied());
        }
        let mut all: Vec<Self> = Vec::new();
        let mut dash: Vec<Corner> = if on {
            corners.first().copied().into_iter().collect()
        } else {
            Vec::new()
        };
        for (a, b) in corners.iter().zip(corners.iter().skip(1)) {
            let Some(d) = unit(b.at - a.at) else { continue };
            let length = a.at.distance(b.at);
            let mut at = 0.0;
            while length - at > room {
                at += room;
                let cut = Corner {
                    at: a.at + d * at,
                    before: d,
                    after: d,
                    smooth: false,
                };
                dash.push(cut);
                if on {
                    all.push(Self::dash(std::mem::take(&mut dash)));
                }
                on = !on;
                room = lengths.next().unwrap_or(total);
            }
            room -= length - at;
            if on {
                dash.push(*b);
            }
        }
        if self.closed && all.is_empty() && began_on {
            return vec![self.clone()];
        }
        if on && !dash.is_empty() {
            all.push(Self::dash(dash));
        }
        if self.closed && on && began_on && all.len() > 1 {
            let tail = all.pop();
            if let (Some(mut tail), Some(head)) = (tail, all.first_mut()) {
                // The seam corner ends the tail and starts the head.
                tail.corners.pop();
                tail.corners.append(&mut head.corners);
                *head = tail;
            }
        }
        all
    }

    fn dash(mut corners: Vec<Corner>) -> Self {
        if let [first, second] = corners.as_slice()
            && first.at == second.at
        {
            corners.pop();
        }
        Self {
            corners,
            closed: false,
            drawn: true,
        }
    }
}

/// Parameters at which a segment is cut, the end last.
///
/// Near both ends steps are halved until the first chord turns away from the tangent by no more than
/// the pen's rim may be off: caps and joins stand on tangents, the swept pieces on chords.
fn parameters(seg: &PathSeg, tolerance: f64, pen: &Pen, to_pen: Affine) -> Vec<f64> {
    if matches!(seg, PathSeg::Line(_)) {
        return vec![1.0];
    }
    let n = steps(seg, tolerance);
    let step = 1.0 / n as f64;
    let halvings = |seg: &PathSeg| {
        let linear = to_pen.with_translation(Vec2::ZERO);
        let carried = |v: Vec2| unit((linear * v.to_point()).to_vec2()).unwrap_or(Vec2::ZERO);
        let tangent = carried(direction_at_start(seg));
        let chord = carried(seg.eval(step) - seg.start());
        let mut off = pen.radius * tangent.cross(chord).abs();
        let mut halvings = 0;
        while off > pen.tolerance && halvings < 8 {
            off /= 2.0;
            halvings += 1;
        }
        halvings
    };
    let at_start = (1..=halvings(seg)).rev().map(|h| step / f64::from(1 << h));
    let at_end = (1..=halvings(&seg.reverse())).map(|h| 1.0 - step / f64::from(1 << h));
    let inner = (1..n).map(|i| i as f64 * step);
    let mut all: Vec<f64> = at_start.chain(inner).chain(at_end).chain([1.0]).collect();
    // With a single step both ends halve the same one.
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use kurbo::{Cap, Join};
    use std::f64::consts::PI;

    fn pen(width: f64, cap: Cap, join: Join) -> Line {
        Line {
            width,
            cap,
            join,
            miter_limit: 4.0,
            dashes: Vec::new(),
            dash_offset: 0.0,
            pen: Affine::IDENTITY,
        }
    }

    fn ink(d: &str, line: &Line, tolerance: f64) -> Region {
        ink_of_line(&BezPath::from_svg(d).unwrap(), line, tolerance)
    }

    #[track_caller]
    fn near(actual: f64, expected: f64, within: f64, input: &str) {
        assert!(
            (actual - expected).abs() <= within,
            "{input}: actual {actual}, expected {expected} within {within}"
        );
    }

    #[test]
    fn caps_and_joins_have_the_areas_worked_out_by_hand() {
        let corner = "M0,0 H10 V10";
        // Two arms of 10 × 2, less the square they share, plus what the join adds outside.
        let arms = 40.0 - 1.0;
        for (join, extra) in [
            (Join::Bevel, 0.5),
            (Join::Miter, 1.0),
            (Join::Round, PI / 4.0),
        ] {
            let area = ink(corner, &pen(2.0, Cap::Butt, join), 0.001).area();
            near(area, arms + extra, 0.01, &format!("{join:?}"));
        }
        for (cap, extra) in [(Cap::Butt, 0.0), (Cap::Square, 4.0), (Cap::Round, PI)] {
            let area = ink("M0,0 H10", &pen(2.0, cap, Join::Miter), 0.001).area();
            near(area, 20.0 + extra, 0.01, &format!("{cap:?}"));
        }
        // Closed: a frame with joins on every corner and no caps.
        let frame = ink(
            "M0,0 H10 V10 H0 Z",
            &pen(2.0, Cap::Square, Join::Miter),
            0.001,
        )
        .area();
        near(frame, 144.0 - 64.0, 1e-4, "frame");
    }

    #[test]
    fn a_miter_past_its_limit_is_a_bevel() {
        // A corner of 28.955 degrees has a miter of 4 line widths: SVG 2, 13.5.5, 1/sin(θ/2).
        let spike = |degrees: f64| {
            let (s, c) = libm::sincos(degrees.to_radians());
            ink(
                &format!("M0,0 L100,0 L{},{}", 100.0 - 100.0 * c, 100.0 * s),
                &pen(1.0, Cap::Butt, Join::Miter),
                0.001,
            )
        };
        let (sharp, blunt) = (spike(28.9).bounds().unwrap(), spike(29.0).bounds().unwrap());
        assert!(sharp.x1 < 100.6, "{sharp:?}");
        near(
            blunt.x1,
            100.0 + 0.5 / libm::tan(14.5_f64.to_radians()),
            1e-3,
            "miter tip",
        );
    }

    #[test]
    fn lines_without_length_draw_dots_and_lone_movetos_nothing() {
        for (d, cap, area) in [
            ("M5,5 L5,5", Cap::Round, PI),
            ("M5,5 Z", Cap::Square, 4.0),
            ("M5,5 L5,5", Cap::Butt, 0.0),
            ("M5,5", Cap::Round, 0.0),
        ] {
            near(
                ink(d, &pen(2.0, cap, Join::Miter), 0.001).area(),
                area,
                0.01,
                d,
            );
        }
    }

    #[test]
    fn dashes_follow_the_pattern_round_corners_and_over_the_seam() {
        let mut line = pen(1.0, Cap::Butt, Join::Miter);
        line.dashes = vec![3.0, 1.0];
        let r = ink("M0,0 H10", &line, 0.01);
        near(r.area(), 8.0, 1e-4, "3 1 over 10: 3 + 3 + 2");
        assert_eq!(r.pieces().len(), 3);
        line.dash_offset = 3.5;
        near(
            ink("M0,0 H10", &line, 0.01).area(),
            3.0 + 3.0 + 1.5,
            1e-4,
            "offset into the gap",
        );
        line.dash_offset = -1.0;
        near(
            ink("M0,0 H10", &line, 0.01).area(),
            3.0 + 3.0 + 1.0,
            1e-4,
            "negative offset",
        );
        // Odd lists are repeated: 2 on, 1 off, 3 on, 2 off, 1 on, 3 off.
        line.dashes = vec![2.0, 1.0, 3.0];
        line.dash_offset = 0.0;
        near(ink("M0,0 H12", &line, 0.01).area(), 6.0, 1e-4, "odd list");
        // A closed square of 40 with 6 on, 6 off from its first corner: the fourth dash starts at 36,
        // runs into the first and keeps its corner: 6+6+6 and 4 joined to the first.
        line.dashes = vec![6.0, 6.0];
        let r = ink("M0,0 H10 V10 H0 Z", &line, 0.01);
        assert_eq!(r.pieces().len(), 3, "{r:?}");
        // A dash longer than the line leaves it closed, corners and all.
        line.dashes = vec![500.0, 1.0];
        assert_eq!(
            ink("M0,0 H10 V10 H0 Z", &line, 0.01),
            ink("M0,0 H10 V10 H0 Z", &pen(1.0, Cap::Butt, Join::Miter), 0.01)
        );
        // Dots by empty dashes with round caps.
        line.dashes = vec![0.0, 2.0];
        line.cap = Cap::Round;
        let dots = ink("M0,0 H10", &line, 0.001);
        assert_eq!(
            dots.pieces().len(),
            5,
            "at 0, 2, 4, 6 and 8; at 10 the line has ended"
        );
        // Nonsense is solid.
        for bad in [
            vec![0.0, 0.0],
            vec![-1.0, 2.0],
            vec![f64::NAN, 1.0],
            vec![1e-9, 1e-9],
        ] {
            line.dashes = bad;
            assert_eq!(
                ink("M0,0 H10", &line, 0.01).pieces().len(),
                1,
                "{:?}",
                line.dashes
            );
        }
    }

    #[test]
    fn the_pen_may_be_squashed_turned_or_mirrored() {
        let mut line = pen(1.0, Cap::Butt, Join::Miter);
        line.pen = Affine::new([4.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
        near(
            ink("M0,0 V10", &line, 0.01).area(),
            40.0,
            1e-4,
            "across the stretch",
        );
        near(
            ink("M0,0 H10", &line, 0.01).area(),
            10.0,
            1e-4,
            "along the stretch",
        );
        line.pen = Affine::new([0.0, -2.0, -2.0, 0.0, 9.0, 9.0]);
        near(ink("M0,0 H10", &line, 0.01).area(), 20.0, 1e-4, "mirrored");
        line.cap = Cap::Round;
        line.pen = Affine::new([4.0, 0.0, 0.0, 1.0, 3.0, 0.0]);
        let dot = ink("M5,5 L5,5", &line, 0.001);
        near(dot.area(), PI, 0.02, "an ellipse of 2 by 0.5");
        near(dot.bounds().unwrap().width(), 4.0, 0.01, "its width");
        for singular in [
            Affine::scale(0.0),
            Affine::new([1.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        ] {
            line.pen = singular;
            assert!(ink("M0,0 H10", &line, 0.01).is_empty(), "{singular:?}");
        }
    }

    #[test]
    fn nothing_measurable_is_everywhere_and_no_width_is_nothing() {
        let mut line = pen(f64::NAN, Cap::Butt, Join::Miter);
        assert_eq!(ink("M0,0 H10", &line, 0.01), Region::everywhere());
        line.width = 0.0;
        assert!(ink("M0,0 H10", &line, 0.01).is_empty());
        line.width = -1.0;
        assert!(ink("M0,0 H10", &line, 0.01).is_empty());
        line.width = 1.0;
        assert_eq!(ink("M0,0 H1e9", &line, 0.01), Region::everywhere());
    }

    #[test]
    fn curves_are_as_good_as_the_tolerance() {
        // A ring of radius 10 and width 4.
        let circle = "M10,0 C10,5.5228474983 5.5228474983,10 0,10 -5.5228474983,10 -10,5.5228474983 -10,0 \
                      -10,-5.5228474983 -5.5228474983,-10 0,-10 5.5228474983,-10 10,-5.5228474983 10,0 Z";
        for tolerance in [0.1, 0.01, 0.001] {
            let ring = ink(circle, &pen(4.0, Cap::Butt, Join::Miter), tolerance);
            // The four cubics are up to 2.7e-4 of the radius off a circle.
            let slack = tolerance + 0.003;
            for p in ring.rings.iter().flatten() {
                let r = p.to_vec2().hypot();
                let off = (r - 12.0).abs().min((r - 8.0).abs());
                assert!(off <= slack, "{tolerance}: {p:?} at {r}");
            }
        }
        // A bend tighter than the pen: no hole, and every point of the rim a pen's radius away.
        let line = pen(6.0, Cap::Round, Join::Round);
        let tight = ink("M0,0 C10,0 10,2 0,2", &line, 0.01);
        assert_eq!(tight.rings.len(), 1, "{tight:?}");
        let centre =
            super::super::contour::contours(&BezPath::from_svg("M0,0 C10,0 10,2 0,2").unwrap());
        let index = super::super::edges::Edges::new(centre.iter().flat_map(|c| c.edges()));
        for p in tight.rings.iter().flatten() {
            let (d, _) = index.nearest_point(*p).unwrap();
            assert!((d - 3.0).abs() < 0.02, "{p:?} is {d} from the line");
        }
    }

    #[test]
    fn caps_stand_square_to_the_curve_and_not_to_its_first_chord() {
        // Quarter bend, wide pen: the butt cap of the end lies on y = 0 exactly.
        let r = ink(
            "M0,10 C5.5,10 10,5.5 10,0",
            &pen(8.0, Cap::Butt, Join::Miter),
            0.02,
        );
        let b = r.bounds().unwrap();
        assert!(b.y0 > -0.021 && b.x0 > -0.021, "{b:?}");
        near(b.x1, 14.0, 0.021, "outer rim");
    }
}
