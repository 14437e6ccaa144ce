//! Whatever keeps a fixture's geometry keeps the verdict, however the lines are written; and any
//! move of one pocket above the limit holds with that pocket.

use crate::common;

use std::fmt::Write as _;

use common::run::{self, Motion, RunFile, Shape, Step, n};
use common::{inspect_text, of, short, weighty};
use jigwarden::tested::report::Verdict;
use proptest::prelude::*;

/// One way of writing a run file that keeps its geometry.
#[derive(Debug, Clone)]
struct Writing {
    /// Drawing units to a millimetre, with the unit of the page's size.
    unit: (f64, &'static str),
    /// Where the page's back-left corner lies in the drawing.
    origin: (f64, f64),
    /// For each of fourteen outlines: at which step it starts, whether it runs backwards, whether
    /// it is written as one path, as lines and arcs by themselves, or with its transform.
    outlines: Vec<(usize, bool, Form)>,
    /// How many outlines go into one path.
    together: usize,
    /// Digits of a millimetre that are kept.
    rounded: bool,
    /// The order of the outlines: rotated by this many.
    from: usize,
    /// Another paint that is off, or hidden lines in the paint that cuts.
    hidden: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    Path,
    /// Every step a path of its own; they meet end to end.
    Open,
    /// Dragged and put back by a transform.
    Transformed,
    /// As a polygon or rectangle, where it has no arcs.
    Basic,
}

fn writing() -> impl Strategy<Value = Writing> {
    let unit = prop::sample::select(vec![
        (1.0, "mm"),
        (0.1, "cm"),
        (96.0 / 25.4, "px"),
        (96.0 / 25.4, ""),
        (72.0 / 25.4, "pt"),
        (1.0 / 25.4, "in"),
    ]);
    let form = prop::sample::select(vec![Form::Path, Form::Open, Form::Transformed, Form::Basic]);
    let outlines = prop::collection::vec((0_usize..12, any::<bool>(), form), 14);
    (
        unit,
        (-500.0..500.0, -500.0..500.0),
        outlines,
        1_usize..15,
        any::<bool>(),
        0_usize..14,
        any::<bool>(),
    )
        .prop_map(
            |(unit, origin, outlines, together, rounded, from, hidden)| Writing {
                unit,
                origin,
                outlines,
                together,
                rounded,
                from,
                hidden,
            },
        )
}

/// Where each step of a closed shape ends, with the step.
fn ends(shape: &[Step]) -> Vec<((f64, f64), Step)> {
    let mut all = Vec::new();
    let mut start = (0.0, 0.0);
    for step in shape {
        match *step {
            Step::Move(x, y) => start = (x, y),
            Step::Line(x, y) | Step::Arc(_, _, x, y) => all.push(((x, y), *step)),
            Step::Close => {
                let last = all.last().map_or(start, |(at, _)| *at);
                if (last.0 - start.0).hypot(last.1 - start.1) > 1e-9 {
                    all.push((start, Step::Line(start.0, start.1)));
                }
            }
        }
    }
    all
}

/// The same closed curve, begun at another corner and perhaps run the other way.
fn rewound(shape: &[Step], start: usize, backwards: bool) -> Shape {
    let mut steps = ends(shape);
    let count = steps.len();
    steps.rotate_left(start % count);
    let first = steps[count - 1].0;
    let mut out = vec![Step::Move(first.0, first.1)];
    if backwards {
        for i in (0..count).rev() {
            let to = if i == 0 { first } else { steps[i - 1].0 };
            out.push(match steps[i].1 {
                Step::Arc(r, clockwise, ..) => Step::Arc(r, !clockwise, to.0, to.1),
                _ => Step::Line(to.0, to.1),
            });
        }
    } else {
        out.extend(steps.iter().map(|(_, step)| *step));
    }
    out.push(Step::Close);
    out
}

fn rounded(shape: &[Step], digit: f64) -> Shape {
    let r = |v: f64| (v / digit).round() * digit;
    shape
        .iter()
        .map(|step| match *step {
            Step::Move(x, y) => Step::Move(r(x), r(y)),
            Step::Line(x, y) => Step::Line(r(x), r(y)),
            Step::Arc(radius, clockwise, x, y) => Step::Arc(radius, clockwise, r(x), r(y)),
            Step::Close => Step::Close,
        })
        .collect()
}

/// Every step of a closed shape as a shape of its own.
fn opened(shape: &[Step]) -> Vec<Shape> {
    let steps = ends(shape);
    let mut at = steps.last().unwrap().0;
    steps
        .into_iter()
        .map(|(to, step)| {
            let piece = vec![Step::Move(at.0, at.1), step];
            at = to;
            piece
        })
        .collect()
}

fn written(run: &RunFile, how: &Writing) -> String {
    let (k, unit) = how.unit;
    let to_units = |shape: &[Step]| {
        let shape = if how.rounded {
            rounded(shape, 0.01)
        } else {
            shape.to_vec()
        };
        Motion {
            by: how.origin,
            ..Motion::scale(k)
        }
        .shape(&shape)
    };
    let mut lines: Vec<(usize, &Shape)> = run.lines().into_iter().enumerate().collect();
    let from = how.from % lines.len();
    lines.rotate_left(from);
    let mut body = String::new();
    let mut path = String::new();
    let mut in_path = 0;
    for (i, shape) in lines {
        let (start, backwards, form) = how.outlines[i % how.outlines.len()];
        let shape = rewound(shape, start, backwards);
        let straight = shape.iter().all(|s| !matches!(s, Step::Arc(..)));
        match form {
            Form::Open => {
                for piece in opened(&shape) {
                    writeln!(body, "<path d=\"{}\"/>", run::data(&to_units(&piece))).unwrap();
                }
            }
            Form::Transformed => {
                let away = Motion::by(-7.0, 11.0).shape(&to_units(&shape));
                writeln!(
                    body,
                    "<g transform=\"translate(7)\"><path transform=\"matrix(1,0,0,1,0,-11)\" d=\"{}\"/></g>",
                    run::data(&away)
                )
                .unwrap();
            }
            Form::Basic if straight => {
                let points: Vec<String> = to_units(&shape)
                    .iter()
                    .filter_map(|s| match *s {
                        Step::Move(x, y) | Step::Line(x, y) => Some(format!("{},{}", n(x), n(y))),
                        _ => None,
                    })
                    .collect();
                writeln!(body, "<polygon points=\"{}\"/>", points.join(" ")).unwrap();
            }
            Form::Path | Form::Basic => {
                path.push_str(&run::data(&to_units(&shape)));
                in_path += 1;
                if in_path >= how.together {
                    writeln!(body, "<path d=\"{path}\"/>").unwrap();
                    path.clear();
                    in_path = 0;
                }
            }
        }
    }
    if !path.is_empty() {
        writeln!(body, "<path d=\"{path}\"/>").unwrap();
    }
    let (paint, display) = if how.hidden {
        (run::CUT, " display=\"none\"")
    } else {
        (run::OFF, "")
    };
    let names = run
        .moved(Motion {
            by: how.origin,
            ..Motion::scale(k)
        })
        .names_group();
    let (w, h) = (n(600.0 * k), n(400.0 * k));
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}{unit}\" height=\"{h}{unit}\" viewBox=\"{} {} {w} {h}\"><g fill=\"none\" stroke=\"{paint}\" stroke-width=\"{}\"{display}>\n{body}</g>{names}</svg>",
        n(how.origin.0),
        n(how.origin.1),
        n(0.1 * k)
    )
}

proptest! {
    // Each case is a whole inspection; more of them find no more and take minutes.
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_writing_of_the_same_geometry_is_clear(how in writing()) {
        let svg = written(&RunFile::clear(), &how);
        let is = inspect_text(&svg, "hive-tags");
        prop_assert_eq!(weighty(&is), [], "{}", svg);
        prop_assert_eq!(is.verdict, Verdict::Clear);
        // Clear because the lines were recognised, not because none was found: take one pocket away.
        let mut without = RunFile::clear();
        without.pockets[5] = None;
        let is = inspect_text(&written(&without, &how), "hive-tags");
        prop_assert_eq!(weighty(&is), [short("pocket-missing", "A6")]);
    }

    #[test]
    fn any_move_of_one_pocket_above_the_limit_holds_with_that_pocket(
        pocket in 0_usize..12,
        // From a little above the limit, since rounding to 0.01 mm may take some of it back.
        away in 0.12..4.0_f64,
        direction in 0.0..360.0_f64,
        how in writing(),
    ) {
        let (s, c) = direction.to_radians().sin_cos();
        let mut run = RunFile::clear();
        run.move_pocket(run::POCKETS[pocket], Motion::by(away * c, away * s));
        let is = inspect_text(&written(&run, &how), "hive-tags");
        prop_assert_eq!(weighty(&is), [short("pocket-moved", run::POCKETS[pocket])]);
        let measured = of(&is, "pocket-moved").measured.as_ref().unwrap().value;
        prop_assert!((measured - away).abs() < 0.02, "{} for {}", measured, away);
    }

    #[test]
    fn any_move_of_one_pocket_below_the_limit_is_clear(
        pocket in 0_usize..12,
        away in 0.0..0.08_f64,
        direction in 0.0..360.0_f64,
        how in writing(),
    ) {
        let (s, c) = direction.to_radians().sin_cos();
        let mut run = RunFile::clear();
        run.move_pocket(run::POCKETS[pocket], Motion::by(away * c, away * s));
        let is = inspect_text(&written(&run, &how), "hive-tags");
        prop_assert_eq!(weighty(&is), []);
    }
}
