#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use kurbo::BezPath;

use super::*;

fn patch(d: &str, by: Affine) -> Patch {
    Patch::new(Region::from_path(
        &(by * BezPath::from_svg(d).unwrap()),
        false,
        0.001,
    ))
    .unwrap()
}

const FLAG: &str = "M0,0 H3 V20 H0 Z M3,0 H14 V8 H3 Z";
const ESS: &str = "M0,0 H10 V3 H3 V6 H10 V15 H0 V12 H7 V9 H0 Z";
const OBLONG: &str = "M0,0 H20 V6 H0 Z";

#[test]
fn moments_of_a_rectangle_are_exact() {
    let r = Region::from_rect(Rect::new(-1.0, -2.0, 1.0, 2.0));
    // The integrals of x² − y² and of Re z⁴ = x⁴ − 6x²y² + y⁴.
    let second = sum(&r, Point::ORIGIN, |z| mul(z, z)).0;
    let fourth = sum(&r, Point::ORIGIN, |z| mul(mul(z, z), mul(z, z))).0;
    let expected = (
        8.0 / 3.0 - 2.0 * 16.0 / 3.0,
        4.0 * 2.0 / 5.0 - 6.0 * (2.0 / 3.0) * (16.0 / 3.0) + 2.0 * 2.0 * 32.0 / 5.0,
    );
    assert!((second - expected.0).abs() < 1e-6, "{second} {expected:?}");
    assert!((fourth - expected.1).abs() < 1e-6, "{fourth} {expected:?}");
}

#[test]
fn turns_and_flips_are_found() {
    let a = patch(FLAG, Affine::IDENTITY);
    for (degrees, mirrored) in [
        (0.0, false),
        (30.0, false),
        (180.0, false),
        (-92.0, false),
        (0.0, true),
        (170.0, true),
    ] {
        let flip = if mirrored {
            Affine::FLIP_X
        } else {
            Affine::IDENTITY
        };
        let by = Affine::translate((200.0, 90.0)) * Affine::rotate(f64::to_radians(degrees)) * flip;
        let got = a.motions(&patch(FLAG, by));
        assert_eq!(got.len(), 1, "{degrees} {mirrored} {got:?}");
        assert!(
            (got[0].turn - degrees).abs() < 0.1 && got[0].mirrored == mirrored,
            "actual {got:?}, expected {degrees} {mirrored}"
        );
    }
}

#[test]
fn the_quick_look_never_turns_down_what_lies() {
    // Dented a little more each time, turned a little beside the right turn.
    let mut passed = [0, 0];
    for dent in 0..40 {
        let d = FLAG.replace("V8 H3", &format!("V{} H3", 8.0 - 0.004 * f64::from(dent)));
        for degrees in [0.0, 0.3, 1.0, 90.0, 180.0] {
            for flip in [Affine::IDENTITY, Affine::FLIP_X] {
                let (a, b) = (patch(&d, Affine::IDENTITY), patch(FLAG, flip));
                let turn = f64::to_radians(degrees);
                for mirrored in [false, true] {
                    let own = if mirrored {
                        Affine::FLIP_X
                    } else {
                        Affine::IDENTITY
                    };
                    let affine = Affine::translate(b.centre.to_vec2())
                        * Affine::rotate(turn)
                        * own
                        * Affine::translate(-a.centre.to_vec2());
                    let could = a.could_lie(&b, turn, mirrored, affine);
                    let lies = a.lies(&b, affine);
                    assert!(could || !lies, "{dent} {degrees} {mirrored}");
                    passed[0] += usize::from(could);
                    passed[1] += usize::from(lies);
                }
            }
        }
    }
    assert!(passed[1] > 50 && passed[0] < 300, "{passed:?}");
}

#[test]
fn even_shapes_say_so() {
    let tops = |turn: f64| Vec2::new(turn.sin(), -turn.cos());
    assert!(!patch(FLAG, Affine::IDENTITY).even(tops(0.0)));
    for turn in [0.0, 0.3, 1.0, -2.0] {
        let by = Affine::rotate(turn);
        assert!(patch(OBLONG, by).even(tops(turn)), "{turn}");
        // The same half turned, and another one in a mirror.
        assert!(!patch(ESS, by).even(tops(turn)), "{turn}");
        assert!(patch(ESS, by).fits(&patch(ESS, by), std::f64::consts::PI, false));
    }
    // Of an oblong across its pocket's line nobody can say more; one aslant is another in a mirror.
    assert!(patch(OBLONG, Affine::IDENTITY).even(Vec2::new(1.0, 0.0)));
    assert!(!patch(OBLONG, Affine::rotate(0.5)).even(tops(0.0)));
    let both = patch(OBLONG, Affine::IDENTITY).motions(&patch(OBLONG, Affine::rotate(0.2)));
    assert_eq!(both.len(), 4, "{both:?}");
    assert_eq!(
        patch(ESS, Affine::IDENTITY)
            .motions(&patch(ESS, Affine::IDENTITY))
            .len(),
        2
    );
}

#[test]
fn other_shapes_do_not_pass() {
    let a = patch(FLAG, Affine::IDENTITY);
    assert!(a.motions(&patch(ESS, Affine::IDENTITY)).is_empty());
    assert!(a.motions(&patch(FLAG, Affine::scale(1.1))).is_empty());
    let dented = FLAG.replace("V8 H3", "V7 H3");
    assert!(a.motions(&patch(&dented, Affine::IDENTITY)).is_empty());
}

/// Two thin frames whose corners were saved a hundredth off: their centres are a tenth apart.
#[test]
fn thin_frames_lie_on_each_other_every_way() {
    let one = "M83.001 250.011 L105.001 250.011 L105.007 259.991 L83.001 260.005 Z M83.448 250.396 L83.444 259.598 L104.567 259.605 L104.57 250.41 Z";
    let other = "M119.008 349.997 L141.012 349.996 L140.993 360.004 L118.989 359.996 Z M119.447 350.406 L119.428 359.592 L140.548 359.607 L140.557 350.401 Z";
    let (one, other) = (patch(one, Affine::IDENTITY), patch(other, Affine::IDENTITY));
    assert_eq!(one.motions(&other).len(), 4, "{:?}", one.motions(&other));
}

#[test]
fn a_small_hole_makes_another_shape() {
    let disc = kurbo::Shape::to_path(&kurbo::Circle::new((0.0, 0.0), 9.0), 1e-3).to_svg();
    let with = |d: &str| patch(&format!("{disc} {d}"), Affine::IDENTITY);
    // A hundredth of the area, beside the middle.
    let holed = with("M3,-0.5 h-1.6 v1 h1.6 z");
    assert!(!holed.even(Vec2::new(0.0, -1.0)));
    let other = with("M3.2,-0.4 h-2 v0.8 h2 z");
    assert!(
        holed.motions(&other).is_empty(),
        "{:?}",
        holed.motions(&other)
    );
    assert_eq!(holed.motions(&holed).len(), 2, "as it is, and flipped");
}

#[test]
fn shapes_that_no_moment_tells_are_tried_by_quarters() {
    let ring = |n: u32| -> String {
        let corners = (0..n).map(|k| {
            let a = std::f64::consts::TAU * f64::from(k) / f64::from(n);
            format!("{} {}", 6.0 * a.sin(), -6.0 * a.cos())
        });
        format!("M{} Z", corners.collect::<Vec<_>>().join(" L"))
    };
    for (n, half) in [(6, true), (8, true), (5, false), (7, false)] {
        let a = patch(&ring(n), Affine::IDENTITY);
        assert_eq!(a.fits(&a, std::f64::consts::PI, false), half, "{n}");
        let turned = patch(&ring(n), Affine::rotate(std::f64::consts::PI));
        let found = a.motions(&turned);
        assert!(found.iter().any(|m| m.turn.abs() > 179.0), "{n} {found:?}");
        assert_eq!(
            found.iter().any(|m| m.turn == 0.0 && !m.mirrored),
            half,
            "{n} {found:?}"
        );
    }
}
