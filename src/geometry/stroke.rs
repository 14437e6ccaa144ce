//! The ink of a line: what its width covers.

use kurbo::{Affine, BezPath, ParamCurve, PathSeg, Point, Vec2};

use super::flatten::{
    Polyline, Subpath, direction_at_start, measurable, measurable_point, steps, subpaths,
};
use super::region::Region;
use super::sweep::{self, Corner, Nib, unit};
use super::thin::thinned;
use crate::ids::At;

/// How a line is drawn. `width` and `dashes` are in the mark's own units; `pen` carries them to
/// bed millimetres, so that a line under a non-uniform scale is as wide as the browser draws it.
#[derive(Debug, Clone, PartialEq)]
pub struct LineStyle {
    /// Width in units of `pen`'s source frame. Zero draws nothing, yet may still be cut.
    pub width: f64,
    /// Ends.
    pub cap: kurbo::Cap,
    /// Corners.
    pub join: kurbo::Join,
    /// Miter limit.
    pub miter_limit: f64,
    /// Dash lengths, empty for a solid line.
    pub dashes: Vec<f64>,
    /// Where in the dash pattern the line starts.
    pub dash_offset: f64,
    /// From the frame in which the pen is round to bed millimetres.
    pub pen: Affine,
}

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
pub fn ink_of_line(path: &BezPath, line: &LineStyle, tolerance: f64) -> Region {
    let sane = measurable(path) && line.pen.is_finite() && line.width.is_finite();
    if !sane {
        return Region::everywhere();
    }
    let pen = line.pen;
    let reach = pen.spectral_norm();
    if line.width <= 0.0 || reach <= 0.0 || pen.determinant().abs() <= 1e-12 * reach * reach {
        return Region::default();
    }
    let own = Nib {
        radius: line.width / 2.0,
        join: line.join,
        miter_limit: line.miter_limit,
        cap: line.cap,
        tolerance: tolerance / 2.0 / reach,
        side: sweep::Side::Both,
    };
    let to_pen = pen.inverse();
    let mut polygons = Vec::new();
    let thin = thinned(path, tolerance / 4.0);
    let (path, tolerance) = match &thin {
        Some(thin) => (thin, tolerance * 0.75),
        None => (path, tolerance),
    };
    for sub in subpaths(path) {
        let trail = Trail::new(&sub, to_pen, tolerance / 2.0, &own);
        match pattern(&line.dashes, trail.length()) {
            None => trail.draw(&own, &mut polygons),
            Some(dashes) => {
                for dash in trail.dashed(&dashes, line.dash_offset) {
                    dash.draw(&own, &mut polygons);
                }
            }
        }
    }
    for point in polygons.iter_mut().flatten() {
        *point = pen * *point;
    }
    if !polygons.iter().flatten().all(|&p| measurable_point(p)) {
        return Region::everywhere();
    }
    Region::union_of(polygons)
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
    fn new(sub: &Subpath, to_pen: Affine, tolerance: f64, pen: &Nib) -> Self {
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
        // A line of many short straight pieces is a curve to the pen, whatever its joins: each corner by itself
        // would overlap its neighbours, and their union take the square of that.
        let inner = corners.len() - usize::from(!sub.closed);
        for corner in corners.iter_mut().take(inner).skip(1) {
            corner.smooth |= pen.is_gentle(corner.before.dot(corner.after));
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

    fn draw(&self, pen: &Nib, out: &mut Vec<Vec<Point>>) {
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
        // Between joints the line is one chain of pieces.
        let mut run: Vec<Point> = Vec::new();
        for corner in self.corners.iter().chain(self.closed.then_some(first)) {
            run.push(corner.at);
            if !corner.smooth {
                sweep::chain(&run, pen, out);
                run = vec![corner.at];
            }
        }
        let n = self.corners.len();
        for (i, corner) in self.corners.iter().enumerate().filter(|(_, c)| !c.smooth) {
            let around = |j: usize| self.corners.at(j % n).at;
            let chord_in = unit(corner.at - around(i + n - 1));
            let chord_out = unit(around(i + 1) - corner.at);
            let open_start = !self.closed && i == 0;
            let open_end = !self.closed && i + 1 == n;
            let round = |before, after| Corner {
                at: corner.at,
                before,
                after,
                smooth: true,
            };
            // At a joint the true tangents meet, and the small wedges between tangent and chord are
            // filled.
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
    fn dashed(&self, dashes: &[f64], offset: f64) -> Vec<Self> {
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
fn parameters(seg: &PathSeg, tolerance: f64, pen: &Nib, to_pen: Affine) -> Vec<f64> {
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
mod tests;
