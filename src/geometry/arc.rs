//! Arcs, ellipses and round corners as cubic curves, to a stated accuracy.
//!
//! Ready-made conversions are off by 2.7e-4 of the radius (one cubic a quarter turn), 0.04 mm on a
//! radius of 150 mm. Here the number of cubics follows from the error wanted. Sines come from
//! `libm`, so that a lock written on one machine holds on another.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use kurbo::{BezPath, Point, Vec2};

/// Most cubics to one arc: a full turn of the largest measurable radius needs fewer than this for a
/// micrometre.
const MOST_CUBICS: usize = 512;

/// Adds the arc of a path's `A` command from `from` to `to`.
///
/// Follows SVG 2, appendix "Implementation notes", section B.2 (F.6 in SVG 1.1): equal ends draw
/// nothing, a zero radius a straight line, radii too small are scaled up, the sign of a radius does
/// not matter. `path` is at `from` already, or empty and then started there. `tolerance` is in the units of the coordinates; a
/// larger one saves curves. Radii or angles that are not numbers draw a straight line, as the
/// ends are all that is known; the reader reports them.
#[allow(clippy::too_many_arguments)] // The arc command has these parameters.
pub fn arc_to(
    path: &mut BezPath,
    from: Point,
    rx: f64,
    ry: f64,
    x_rotation_deg: f64,
    large: bool,
    sweep: bool,
    to: Point,
    tolerance: f64,
) {
    if path.elements().is_empty() {
        path.move_to(from);
    }
    if from == to {
        return;
    }
    match centre_form(from, rx, ry, x_rotation_deg, large, sweep, to) {
        Some(arc) => arc.draw(path, to, tolerance),
        None => path.line_to(to),
    }
}

/// An arc by its centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CentreArc {
    /// The centre.
    pub centre: Point,
    /// The radii, scaled up where they were too small.
    pub radii: Vec2,
    /// Turn of the first radius from the x axis, in radians.
    pub rotation: f64,
    /// Where it starts, in radians in the ellipse's own frame.
    pub start: f64,
    /// How far it goes, positive towards y.
    pub turn: f64,
}

/// From ends to centre; `None` where the command draws a straight line.
pub fn centre_form(
    from: Point,
    rx: f64,
    ry: f64,
    x_rotation_deg: f64,
    large: bool,
    sweep: bool,
    to: Point,
) -> Option<CentreArc> {
    let (mut rx, mut ry) = (rx.abs(), ry.abs());
    let numbers = rx.is_finite() && ry.is_finite() && x_rotation_deg.is_finite();
    if rx == 0.0 || ry == 0.0 || !numbers || !from.is_finite() || !to.is_finite() {
        return None;
    }
    let rotation = (x_rotation_deg % 360.0) * PI / 180.0;
    let (sin, cos) = (libm::sin(rotation), libm::cos(rotation));
    // Step 1: halfway frame.
    let half = (from - to) / 2.0;
    let x = cos * half.x + sin * half.y;
    let y = cos * half.y - sin * half.x;
    // Radii too small: (F.6.6.2) and (F.6.6.3).
    let lambda = (x / rx) * (x / rx) + (y / ry) * (y / ry);
    if lambda > 1.0 {
        rx *= lambda.sqrt();
        ry *= lambda.sqrt();
    }
    // Step 2: the centre in that frame. In units of the radii the numerator is 1 − λ.
    let (u, v) = (x / rx, y / ry);
    let lambda = u * u + v * v;
    let root = if lambda > 0.0 {
        ((1.0 - lambda) / lambda).max(0.0).sqrt()
    } else {
        0.0
    };
    let root = if large == sweep { -root } else { root };
    let (cu, cv) = (root * v, -root * u);
    // Step 3: back.
    let (cx, cy) = (cu * rx, cv * ry);
    let middle = from.midpoint(to);
    let centre = Point::new(
        cos * cx - sin * cy + middle.x,
        sin * cx + cos * cy + middle.y,
    );
    // Step 4: the angles.
    let start = libm::atan2(v - cv, u - cu);
    let end = libm::atan2(-v - cv, -u - cu);
    let mut turn = end - start;
    if sweep && turn < 0.0 {
        turn += TAU;
    } else if !sweep && turn > 0.0 {
        turn -= TAU;
    }
    let arc = CentreArc {
        centre,
        radii: Vec2::new(rx, ry),
        rotation,
        start,
        turn,
    };
    (centre.is_finite() && turn != 0.0 && rx.is_finite() && ry.is_finite()).then_some(arc)
}

impl CentreArc {
    fn place(&self, x: f64, y: f64) -> Point {
        let (sin, cos) = (libm::sin(self.rotation), libm::cos(self.rotation));
        let (x, y) = (x * self.radii.x, y * self.radii.y);
        self.centre + Vec2::new(cos * x - sin * y, sin * x + cos * y)
    }

    fn draw(&self, path: &mut BezPath, to: Point, tolerance: f64) {
        let n = cubics(self.turn, self.radii.x.max(self.radii.y), tolerance);
        let step = self.turn / n as f64;
        let arm = arm(step);
        for i in 0..n {
            let (a, b) = (
                self.start + step * i as f64,
                self.start + step * (i + 1) as f64,
            );
            let (sa, ca) = (libm::sin(a), libm::cos(a));
            let (sb, cb) = (libm::sin(b), libm::cos(b));
            let end = if i + 1 == n { to } else { self.place(cb, sb) };
            path.curve_to(
                self.place(ca - arm * sa, sa + arm * ca),
                self.place(cb + arm * sb, sb - arm * cb),
                end,
            );
        }
    }
}

/// How long a cubic's arms are for an arc of `angle` on the unit circle: 4/3 tan(angle/4), which puts
/// the curve's middle on the circle.
fn arm(angle: f64) -> f64 {
    4.0 / 3.0 * libm::tan(angle / 4.0)
}

/// The largest error of one such cubic on the unit circle.
///
/// 2/27 · sin⁶(θ/4) / cos²(θ/4): the curve only ever bulges outwards. Goldapp, "Approximation of
/// circular arcs by cubic polynomials" (Computer Aided Geometric Design 8, 1991); a test sweeps the
/// angle and finds the same numbers.
pub(crate) fn cubic_error(angle: f64) -> f64 {
    let (s, c) = (libm::sin(angle / 4.0), libm::cos(angle / 4.0));
    let s2 = s * s;
    2.0 / 27.0 * s2 * s2 * s2 / (c * c)
}

/// How many cubics keep an arc of `turn` radians within `tolerance`, none longer than a quarter.
///
/// For an ellipse the error is at most the unit circle's times the larger radius, since stretching
/// stretches no distance by more.
pub(crate) fn cubics(turn: f64, radius: f64, tolerance: f64) -> usize {
    // A quarter turn computed from coordinates may be slightly more than a quarter.
    let least = ((turn.abs() / FRAC_PI_2) - 1e-9).ceil().max(1.0) as usize;
    (least..MOST_CUBICS)
        .find(|&n| cubic_error(turn / n as f64) * radius <= tolerance)
        .unwrap_or(MOST_CUBICS)
}

/// An ellipse as SVG 2 draws it (section 10.4): from the right-most point through the front, the
/// left and the back, closed. Empty if a radius is not positive.
pub fn ellipse(cx: f64, cy: f64, rx: f64, ry: f64, tolerance: f64) -> BezPath {
    let mut path = BezPath::new();
    // Not a number is not positive either.
    if !(rx > 0.0 && ry > 0.0) {
        return path;
    }
    let at = |x: f64, y: f64| Point::new(cx + x * rx, cy + y * ry);
    let corners = [
        at(1.0, 0.0),
        at(0.0, 1.0),
        at(-1.0, 0.0),
        at(0.0, -1.0),
        at(1.0, 0.0),
    ];
    path.move_to(at(1.0, 0.0));
    for (i, (_, &to)) in corners.iter().zip(corners.iter().skip(1)).enumerate() {
        let arc = CentreArc {
            centre: Point::new(cx, cy),
            radii: Vec2::new(rx, ry),
            rotation: 0.0,
            start: FRAC_PI_2 * i as f64,
            turn: FRAC_PI_2,
        };
        arc.draw(&mut path, to, tolerance);
    }
    path.close_path();
    path
}

/// A rectangle as SVG 2 draws it (section 10.2): from the left end of its back side to the right,
/// round by the front, closed. Radii are capped at half the sides; a zero one makes sharp corners.
/// Resolving `auto` radii is the reader's affair. Empty if a side is not positive.
pub fn rounded_rect(x: f64, y: f64, w: f64, h: f64, rx: f64, ry: f64, tolerance: f64) -> BezPath {
    let mut path = BezPath::new();
    if !(w > 0.0 && h > 0.0) {
        return path;
    }
    let (rx, ry) = (rx.min(w / 2.0), ry.min(h / 2.0));
    let round = rx > 0.0 && ry > 0.0;
    let (rx, ry) = if round { (rx, ry) } else { (0.0, 0.0) };
    let mut at = Point::new(x + rx, y);
    path.move_to(at);
    let sides = [
        (
            Point::new(x + w - rx, y),
            Point::new(x + w, y + ry),
            Point::new(x + w - rx, y + ry),
            3.0,
        ),
        (
            Point::new(x + w, y + h - ry),
            Point::new(x + w - rx, y + h),
            Point::new(x + w - rx, y + h - ry),
            0.0,
        ),
        (
            Point::new(x + rx, y + h),
            Point::new(x, y + h - ry),
            Point::new(x + rx, y + h - ry),
            1.0,
        ),
        (
            Point::new(x, y + ry),
            Point::new(x + rx, y),
            Point::new(x + rx, y + ry),
            2.0,
        ),
    ];
    for (side_end, corner_end, centre, quarter) in sides {
        // A side without length (a stadium's end) is left out.
        if side_end != at && (round || quarter != 2.0) {
            path.line_to(side_end);
        }
        at = corner_end;
        if round {
            let radii = Vec2::new(rx, ry);
            let start = FRAC_PI_2 * quarter;
            let arc = CentreArc {
                centre,
                radii,
                rotation: 0.0,
                start,
                turn: FRAC_PI_2,
            };
            arc.draw(&mut path, corner_end, tolerance);
        }
    }
    path.close_path();
    path
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use kurbo::{ParamCurve, PathEl, Shape};

    #[test]
    fn the_error_formula_is_what_a_sweep_measures() {
        for degrees in [5.0_f64, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0] {
            let angle = degrees.to_radians();
            let mut path = BezPath::new();
            path.move_to((1.0, 0.0));
            let end = Point::new(libm::cos(angle), libm::sin(angle));
            let unit = CentreArc {
                centre: Point::ORIGIN,
                radii: Vec2::new(1.0, 1.0),
                rotation: 0.0,
                start: 0.0,
                turn: angle,
            };
            unit.draw(&mut path, end, 1.0);
            let seg = path.segments().next().unwrap();
            let (mut worst, mut least) = (0.0_f64, 0.0_f64);
            for i in 0..=20_000 {
                let off = seg.eval(f64::from(i) / 20_000.0).to_vec2().hypot() - 1.0;
                worst = worst.max(off);
                least = least.min(off);
            }
            let formula = cubic_error(angle);
            // The formula is the first term of the error; the rest is below a tenth of it at 90 degrees.
            assert!(
                (worst - formula).abs() <= 0.02 * formula + 1e-14 && least > -1e-14,
                "{degrees}: actual {worst} ({least}), expected {formula}"
            );
        }
    }

    #[test]
    fn circles_stay_within_what_is_asked() {
        for radius in [0.5, 50.0, 150.0, 5000.0] {
            for tolerance in [0.1, 0.01, 0.001, 1e-6] {
                let path = ellipse(300.0, 200.0, radius, radius, tolerance);
                let mut worst = 0.0_f64;
                for seg in path.segments() {
                    for i in 0..=64 {
                        let r = seg
                            .eval(f64::from(i) / 64.0)
                            .distance(Point::new(300.0, 200.0));
                        worst = worst.max((r - radius).abs());
                    }
                }
                assert!(
                    worst <= tolerance + 1e-9,
                    "r {radius}, tolerance {tolerance}: {worst}"
                );
            }
        }
        // And not more curves than needed: a quarter each where that is enough.
        assert_eq!(ellipse(0.0, 0.0, 1.0, 1.0, 0.001).segments().count(), 4);
    }

    #[test]
    fn shapes_start_and_run_as_prescribed() {
        let e = ellipse(10.0, 20.0, 3.0, 2.0, 0.001);
        assert_eq!(e.elements()[0], PathEl::MoveTo(Point::new(13.0, 20.0)));
        assert_eq!(e.get_seg(1).unwrap().end(), Point::new(10.0, 22.0));
        let r = rounded_rect(1.0, 2.0, 10.0, 6.0, 2.0, 1.0, 0.001);
        assert_eq!(r.elements()[0], PathEl::MoveTo(Point::new(3.0, 2.0)));
        assert_eq!(r.elements()[1], PathEl::LineTo(Point::new(9.0, 2.0)));
        assert_eq!(r.get_seg(2).unwrap().end(), Point::new(11.0, 3.0));
        let exact = 60.0 - (4.0 - PI) * 2.0;
        assert!((r.area() - exact).abs() < 0.02, "{} {exact}", r.area());
        assert_eq!(
            rounded_rect(0.0, 0.0, 4.0, 3.0, 0.0, 9.0, 0.1).to_svg(),
            "M0,0 L4,0 L4,3 L0,3 Z"
        );
        let stadium = rounded_rect(0.0, 0.0, 10.0, 4.0, 99.0, 99.0, 0.001);
        assert!(
            (stadium.area() - (PI * 10.0)).abs() < 0.05,
            "capped to an ellipse: {stadium:?}"
        );
        assert!(stadium.segments().all(|s| s.start() != s.end()));
        assert!(
            ellipse(0.0, 0.0, 0.0, 1.0, 0.1).is_empty()
                && ellipse(0.0, 0.0, f64::NAN, 1.0, 0.1).is_empty()
        );
        assert!(rounded_rect(0.0, 0.0, -1.0, 1.0, 0.0, 0.0, 0.1).is_empty());
    }

    #[test]
    fn the_four_arcs_through_two_points() {
        // Radius 5 from (0,0) to (8,0): centres at (4, 3) and (4, -3).
        for (large, sweep, centre, turn_over_half) in [
            (false, false, (4.0, -3.0), false),
            (false, true, (4.0, 3.0), false),
            (true, false, (4.0, 3.0), true),
            (true, true, (4.0, -3.0), true),
        ] {
            let arc = centre_form(
                Point::ORIGIN,
                5.0,
                5.0,
                30.0,
                large,
                sweep,
                Point::new(8.0, 0.0),
            )
            .unwrap();
            assert!(
                arc.centre.distance(centre.into()) < 1e-12,
                "{large} {sweep}: {arc:?}"
            );
            assert_eq!(
                arc.turn.abs() > PI,
                turn_over_half,
                "{large} {sweep}: {arc:?}"
            );
            assert_eq!(arc.turn > 0.0, sweep, "{large} {sweep}: {arc:?}");
            assert!(
                arc.place(libm::cos(arc.start), libm::sin(arc.start))
                    .distance(Point::ORIGIN)
                    < 1e-12
            );
        }
    }

    #[test]
    fn odd_arcs_draw_what_the_notes_say() {
        let draw = |rx: f64, ry: f64, rot: f64, to: (f64, f64)| {
            let mut path = BezPath::new();
            path.move_to((0.0, 0.0));
            arc_to(
                &mut path,
                Point::ORIGIN,
                rx,
                ry,
                rot,
                false,
                true,
                to.into(),
                0.001,
            );
            path
        };
        assert_eq!(
            draw(5.0, 5.0, 0.0, (0.0, 0.0)).elements().len(),
            1,
            "equal ends"
        );
        assert_eq!(draw(0.0, 5.0, 0.0, (4.0, 0.0)).to_svg(), "M0,0 L4,0");
        assert_eq!(draw(f64::NAN, 5.0, 0.0, (4.0, 0.0)).to_svg(), "M0,0 L4,0");
        assert_eq!(
            draw(-5.0, 5.0, 0.0, (8.0, 0.0)).to_svg(),
            draw(5.0, 5.0, 0.0, (8.0, 0.0)).to_svg()
        );
        // Radii too small: a half circle on the chord.
        let half = draw(1.0, 1.0, 0.0, (8.0, 0.0));
        let b = half.bounding_box();
        assert!(
            (b.height() - 4.0).abs() < 0.001 && (b.width() - 8.0).abs() < 0.001,
            "{b:?}"
        );
        let ends = draw(3.0, 2.0, 400.0, (2.0, 1.0));
        assert_eq!(ends.segments().last().unwrap().end(), Point::new(2.0, 1.0));
    }
}
