//! What a pen touches as it follows straight pieces, as overlapping convex polygons.
//!
//! A curve's outline by offsetting is wrong where the pen is wider than the bend; the union of what
//! every piece and every corner touches is right everywhere, so that is what is built. Round parts
//! are drawn outside the circle, never inside: ink may be over-stated by the tolerance, not under.

use std::f64::consts::PI;

use kurbo::{Cap, Join, Point, Vec2};

/// How the pen behaves at corners and ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Nib {
    /// Half the line's width.
    pub radius: f64,
    /// Corners.
    pub join: Join,
    /// Longest miter, in line widths.
    pub miter_limit: f64,
    /// Ends.
    pub cap: Cap,
    /// How far a round part may lie outside the circle.
    pub tolerance: f64,
    /// What it draws of what it touches.
    pub side: Side,
}

/// What of a line's width is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// All of it.
    Both,
    /// Only what lies to the left of travel, as seen with y to the front: inside an outline that runs
    /// against the clock. Half as many edges cross as many fewer.
    Left,
    /// Only what lies to the right.
    Right,
}

impl Nib {
    /// How far neighbouring polygons reach into each other: far above the grid, far below what the
    /// tolerance allows.
    fn overlap(&self) -> f64 {
        (self.tolerance.max(0.0).min(self.radius)) / 16.0
    }

    /// Whether the rim outside a corner lies within the tolerance of its round one, whatever the join is: the
    /// miter is longest. `dot` is the cosine of the corner's turn.
    pub(crate) fn is_gentle(&self, dot: f64) -> bool {
        dot > 0.0 && self.radius * ((2.0 / (1.0 + dot)).sqrt() - 1.0) <= self.tolerance
    }

    /// How far it reaches to the left and to the right. On a side that is not drawn it reaches across the
    /// line a little, as polygons into their neighbours.
    fn reach(&self) -> (f64, f64) {
        match self.side {
            Side::Both => (self.radius, self.radius),
            Side::Left => (self.radius, self.overlap()),
            Side::Right => (self.overlap(), self.radius),
        }
    }
}

/// A place on the line with the directions of the line before and after it, unit vectors.
///
/// Directions are given apart from the points so that a curve's true tangent, not its first chord,
/// turns the cap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Corner {
    /// The place.
    pub at: Point,
    /// Direction of travel on arrival.
    pub before: Vec2,
    /// Direction of travel on departure.
    pub after: Vec2,
    /// True inside a curve, and where a bend is as gentle: every corner is round there whatever the line's joins are.
    pub smooth: bool,
}

/// The band of radius `radius` about `points`, or its part on one side of them, added to `out`.
pub(crate) fn round(
    points: &[Point],
    closed: bool,
    radius: f64,
    tolerance: f64,
    side: Side,
    out: &mut Vec<Vec<Point>>,
) {
    let pen = Nib {
        side,
        radius,
        join: Join::Round,
        miter_limit: 4.0,
        cap: Cap::Round,
        tolerance,
    };
    let ring: Vec<Point> = points
        .iter()
        .chain(points.first().filter(|_| closed))
        .copied()
        .collect();
    let pieces = chain(&ring, &pen, out);
    match (pieces, points.first()) {
        (Some(Ends { first, last, .. }), Some(&at)) if closed => {
            corner(
                &Corner {
                    at,
                    before: last,
                    after: first,
                    smooth: true,
                },
                &pen,
                out,
            );
        }
        (
            Some(Ends {
                first,
                last,
                end: place,
            }),
            Some(&at),
        ) => {
            end(at, -first, &pen, out);
            end(place, last, &pen, out);
        }
        (None, Some(&at)) => dot(at, Vec2::new(1.0, 0.0), &pen, out),
        (_, None) => {}
    }
}

/// How a chain of pieces starts and ends: unit directions, and the last place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ends {
    /// Direction of the first piece.
    pub first: Vec2,
    /// Direction of the last piece.
    pub last: Vec2,
    /// Where the last piece ends.
    pub end: Point,
}

/// What the pen sweeps along straight pieces with round corners between them, square at both ends.
///
/// As long as the line bends gently one strip covers many pieces, which spares the union most of its
/// work. `None` for a chain without length.
pub(crate) fn chain(points: &[Point], pen: &Nib, out: &mut Vec<Vec<Point>>) -> Option<Ends> {
    let mut ends: Option<Ends> = None;
    let mut strip: Option<Strip> = None;
    for (&a, &b) in points.iter().zip(points.iter().skip(1)) {
        let Some(d) = unit(b - a) else { continue };
        let length = a.distance(b);
        ends = Some(Ends {
            first: ends.map_or(d, |e| e.first),
            last: d,
            end: b,
        });
        let bent = strip.as_mut().is_some_and(|s| s.bend(a, d, length, pen));
        if !bent {
            if let Some(done) = strip.take() {
                corner(
                    &Corner {
                        at: a,
                        before: done.last,
                        after: d,
                        smooth: true,
                    },
                    pen,
                    out,
                );
                out.push(done.closed(a, pen));
            }
            strip = Some(Strip::new(a, d, length, pen));
        }
    }
    if let (Some(done), Some(ends)) = (strip, ends) {
        out.push(done.closed(ends.end, pen));
    }
    ends
}

/// Pieces swept as one polygon: both rims, and what is needed to go on.
struct Strip {
    left: Vec<Point>,
    right: Vec<Point>,
    first: Vec2,
    last: Vec2,
    length: f64,
}

impl Strip {
    /// All directions of a strip are within 40 degrees of its first, so that both rims run forwards
    /// along it and cannot cross.
    const WIDEST: f64 = 0.766;

    fn new(a: Point, d: Vec2, length: f64, pen: &Nib) -> Self {
        let (n, (to_left, to_right)) = (left(d), pen.reach());
        Self {
            left: vec![a + n * to_left],
            right: vec![a - n * to_right],
            first: d,
            last: d,
            length,
        }
    }

    /// Goes on round the corner at `at`; false where a strip cannot: the rim outside would lie more
    /// than the tolerance off the round corner, or the one inside would fold back on a piece shorter
    /// than the bend.
    fn bend(&mut self, at: Point, d: Vec2, length: f64, pen: &Nib) -> bool {
        let dot = self.last.dot(d);
        if !pen.is_gentle(dot) || self.first.dot(d) < Self::WIDEST {
            return false;
        }
        let half = ((1.0 - dot) / (1.0 + dot)).max(0.0).sqrt();
        if pen.radius * half > self.length.min(length) / 2.0 {
            return false;
        }
        let n = (left(self.last) + left(d)) / (1.0 + dot);
        let (to_left, to_right) = pen.reach();
        self.left.push(at + n * to_left);
        self.right.push(at - n * to_right);
        (self.last, self.length) = (d, length);
        true
    }

    fn closed(mut self, at: Point, pen: &Nib) -> Vec<Point> {
        let (n, (to_left, to_right)) = (left(self.last), pen.reach());
        self.left.push(at + n * to_left);
        self.right.push(at - n * to_right);
        self.left.extend(self.right.into_iter().rev());
        positive(self.left)
    }
}

/// The wedge on the outer side of a corner.
pub(crate) fn corner(c: &Corner, pen: &Nib, out: &mut Vec<Vec<Point>>) {
    let cross = c.before.cross(c.after);
    let dot = c.before.dot(c.after);
    if cross == 0.0 && dot >= 0.0 {
        return;
    }
    // The outer side is away from the turn. A line that doubles back has no outer side: either will
    // do, as long as the arc then runs through the front.
    let side = if cross < 0.0 { -1.0 } else { 1.0 };
    let other = if cross < 0.0 { Side::Left } else { Side::Right };
    if cross != 0.0 && pen.side == other {
        return;
    }
    let from = left(c.before) * (side * pen.radius);
    let to = left(c.after) * (side * pen.radius);
    // Reaching a little into the pieces on both sides: polygons that only touch leave hair-thin
    // holes once their corners are rounded to the grid.
    let (into_before, into_after) = (c.before * -pen.overlap(), c.after * pen.overlap());
    // On the inner side too, as deep as the two sides do not cross yet (they would at overlap over
    // tan(turn/2)): a crossed wedge would wind backwards there and cancel a piece.
    let lean = ((1.0 - dot) / (1.0 + dot)).max(0.0).sqrt();
    let inwards = if lean > 0.0 {
        (0.9 * pen.overlap() / lean / pen.radius).min(0.5)
    } else {
        0.0
    };
    let mut wedge = vec![
        c.at + into_before - from * inwards,
        c.at + from + into_before,
        c.at + from,
    ];
    if c.smooth || pen.join == Join::Round {
        arc(
            c.at,
            from,
            side * libm::atan2(cross.abs(), dot),
            pen,
            &mut wedge,
        );
    } else if pen.join == Join::Miter {
        // Miter length over line width is 1 / sin(θ/2), θ the angle between the pieces
        // (SVG 2, section 13.5.5); 1 + dot = 2 sin²(θ/2).
        let half = 1.0 + dot;
        if half > 0.0 && (2.0 / half).sqrt() <= pen.miter_limit {
            wedge.push(c.at + (from + to) / half);
        }
    }
    wedge.extend([
        c.at + to,
        c.at + to + into_after,
        c.at + into_after - to * inwards,
    ]);
    out.push(positive(wedge));
}

/// The cap at an end, `outwards` being the unit direction away from the line.
pub(crate) fn end(at: Point, outwards: Vec2, pen: &Nib, out: &mut Vec<Vec<Point>>) {
    let n = left(outwards) * pen.radius;
    let inwards = outwards * -pen.overlap();
    match pen.cap {
        Cap::Butt => {}
        Cap::Square => {
            let o = outwards * pen.radius;
            out.push(positive(vec![
                at + n + inwards,
                at - n + inwards,
                at - n + o,
                at + n + o,
            ]));
        }
        Cap::Round => {
            let mut half = vec![at + n + inwards, at + n];
            // From the left round the front to the right.
            arc(at, n, PI, pen, &mut half);
            half.extend([at - n, at - n + inwards]);
            out.push(positive(half));
        }
    }
}

/// What a line without length draws: nothing under a butt cap, else a square or a disc
/// (SVG 2, section 13.5.4).
pub(crate) fn dot(at: Point, direction: Vec2, pen: &Nib, out: &mut Vec<Vec<Point>>) {
    end(at, direction, pen, out);
    end(at, -direction, pen, out);
}

/// Corners of a polygon around the arc that starts at `centre + from` and turns by `turn` radians:
/// where the tangents of equal steps meet, so that no part of the disc is left out.
fn arc(centre: Point, from: Vec2, turn: f64, pen: &Nib, out: &mut Vec<Point>) {
    // The corner is r (1/cos(s/2) − 1) off the circle for steps of s.
    let reach = (pen.tolerance / pen.radius).max(1e-9);
    let widest = (2.0 * libm::acos(1.0 / (1.0 + reach))).clamp(1e-3, PI / 2.0);
    let n = (turn.abs() / widest).ceil().max(1.0);
    let step = turn / n;
    let stretch = 1.0 / libm::cos(step / 2.0);
    for i in 0..n as usize {
        let angle = step * (i as f64 + 0.5);
        let (s, c) = (libm::sin(angle), libm::cos(angle));
        out.push(centre + Vec2::new(from.x * c - from.y * s, from.x * s + from.y * c) * stretch);
    }
}

/// The unit vector along `v`, `None` for no direction.
pub(crate) fn unit(v: Vec2) -> Option<Vec2> {
    let length = v.hypot();
    (length > 0.0 && length.is_finite()).then(|| v / length)
}

/// Turned a quarter to the left of travel as seen with y to the front.
fn left(d: Vec2) -> Vec2 {
    Vec2::new(d.y, -d.x)
}

fn positive(mut polygon: Vec<Point>) -> Vec<Point> {
    if super::flatten::signed_area(&polygon) < 0.0 {
        polygon.reverse();
    }
    polygon
}
