//! Against the worked example of Umeyama, "Least-squares estimation of transformation parameters
//! between two point patterns", IEEE Transactions on Pattern Analysis and Machine Intelligence 13
//! (4), 1991, section IV. The printed numbers are quoted from memory: rotation 0.832, 0.555, scale
//! 0.721, translation (−0.800, 0.400). What is left over is worked out here by hand.

use jigwarden::tested::geometry::similarity::{Kind, fit};
use kurbo::Point;

fn points() -> ([Point; 3], [Point; 3]) {
    (
        [(0.0, 0.0), (1.0, 0.0), (0.0, 2.0)].map(Point::from),
        [(0.0, 0.0), (-1.0, 0.0), (0.0, 2.0)].map(Point::from),
    )
}

#[test]
fn the_paper_s_example() {
    let (from, to) = points();
    let got = fit(&from, &to, Kind::Similar, false).unwrap();
    let c = got.affine.as_coeffs();
    let printed = [
        ("rotation 11", c[0] / got.scale, 0.832),
        ("rotation 21", c[1] / got.scale, -0.555),
        ("rotation 12", c[2] / got.scale, 0.555),
        ("rotation 22", c[3] / got.scale, 0.832),
        ("scale", got.scale, 0.721),
        ("translation x", c[4], -0.800),
        ("translation y", c[5], 0.400),
    ];
    for (what, actual, expected) in printed {
        assert!(
            (actual - expected).abs() < 0.000_6,
            "{what}: actual {actual}, expected {expected}"
        );
    }
    // By hand: both patterns have the mean square spread 10/9 about their centres; the sums of products
    // are 2 along and −4/3 across, so scale = √(4 + 16/9) / (10/3), scale² = 13/25, and what is left is
    // 10/9 · (1 − 13/25) = 8/15.
    let left = got.rms * got.rms;
    let expected = 8.0 / 15.0;
    assert!(
        (left - expected).abs() < 1e-12,
        "actual {left}, expected {expected}"
    );
}

#[test]
fn with_reflection_the_example_fits_exactly() {
    // The second pattern is the first one flipped left to right.
    let (from, to) = points();
    let got = fit(&from, &to, Kind::Similar, true).unwrap();
    assert!(
        got.mirrored && got.rms < 1e-12 && (got.scale - 1.0).abs() < 1e-12,
        "{got:?}"
    );
    assert!(got.turn_deg.abs() < 1e-9, "{got:?}");
}
