//! Lines of very many points, thinned before they are widened.
//!
//! Every corner of a line gets its own join. Where corners lie far closer than the line is wide, each
//! join overlaps thousands of others, and their union takes the square of that.

use kurbo::{BezPath, Line, ParamCurveNearest, PathEl, Point};

/// Lines of fewer points than this are left as they are: widening them is quick enough.
const MANY: usize = 5_000;

/// Points that one straight piece may stand for in one pass.
const LONGEST: usize = 64;

/// How many passes are made; each may shorten the line to a sixty-fourth.
const PASSES: usize = 3;

/// `path` with straight pieces put together where no point between lies more than `tolerance` off;
/// `None` where it is short enough as it is. A larger tolerance thins more and moves the line by as
/// much. Curves, and the ends of straight runs, stay.
pub(crate) fn thinned(path: &BezPath, tolerance: f64) -> Option<BezPath> {
    let lines = |path: &BezPath| {
        path.elements()
            .iter()
            .filter(|e| matches!(e, PathEl::LineTo(_)))
            .count()
    };
    if lines(path) < MANY {
        return None;
    }
    let mut thin = path.clone();
    for _ in 0..PASSES {
        thin = pass(&thin, tolerance / PASSES as f64);
    }
    Some(thin)
}

fn pass(path: &BezPath, tolerance: f64) -> BezPath {
    let mut out = BezPath::new();
    let mut start = Point::ZERO;
    // Points since the last one that was kept, the last of them not yet drawn.
    let mut run: Vec<Point> = Vec::new();
    for element in path.elements() {
        if let PathEl::LineTo(to) = *element {
            let chord = Line::new(start, to);
            let near = run
                .iter()
                .all(|p| chord.nearest(*p, 1e-9).distance_sq <= tolerance * tolerance);
            if !near || run.len() >= LONGEST {
                start = run.pop().unwrap_or(start);
                out.line_to(start);
                run.clear();
            }
            run.push(to);
            continue;
        }
        if let Some(last) = run.pop() {
            out.line_to(last);
            start = last;
            run.clear();
        }
        out.push(*element);
        match *element {
            PathEl::MoveTo(p) | PathEl::QuadTo(_, p) | PathEl::CurveTo(_, _, p) => start = p,
            PathEl::LineTo(_) | PathEl::ClosePath => {}
        }
    }
    if let Some(last) = run.pop() {
        out.line_to(last);
    }
    out
}

#[cfg(test)]
mod tests {
    use kurbo::{Circle, Shape as _};

    use super::*;

    fn circle(points: usize) -> BezPath {
        let mut path = BezPath::new();
        for i in 0..points {
            let angle = std::f64::consts::TAU * i as f64 / points as f64;
            let p = Point::new(40.0 + 8.0 * angle.cos(), 50.0 + 8.0 * angle.sin());
            if i == 0 {
                path.move_to(p);
            } else {
                path.line_to(p);
            }
        }
        path.close_path();
        path
    }

    #[test]
    fn a_dense_circle_keeps_its_shape_with_few_points() {
        for tolerance in [1e-2, 1e-3, 1e-4] {
            let thin = thinned(&circle(200_000), tolerance).unwrap_or_default();
            let ring = Circle::new((40.0, 50.0), 8.0);
            let off = thin
                .segments()
                .map(|s| (kurbo::ParamCurve::eval(&s, 0.5).distance(ring.center) - 8.0).abs())
                .fold(0.0, f64::max);
            assert!(off <= tolerance, "{off} is more than {tolerance}");
            assert!(thin.elements().len() < 5_000, "{}", thin.elements().len());
            assert!((thin.area().abs() - ring.area()).abs() < 60.0 * tolerance);
        }
        assert_eq!(thinned(&circle(100), 1.0), None);
    }

    #[test]
    fn a_line_that_runs_there_and_back_keeps_its_far_end() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        for i in 0..MANY {
            path.line_to((i as f64 * 1e-3, 0.0));
        }
        for i in (0..MANY).rev() {
            path.line_to((i as f64 * 1e-3, 0.0));
        }
        let thin = thinned(&path, 1e-3).unwrap_or_default();
        let far = (MANY - 1) as f64 * 1e-3;
        assert!(
            (thin.bounding_box().x1 - far).abs() < 1e-3,
            "{} for {far}",
            thin.bounding_box().x1
        );
        assert!(thin.elements().len() < 600, "{}", thin.elements().len());
    }
}
