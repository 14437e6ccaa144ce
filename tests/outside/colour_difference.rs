//! CIEDE2000 against the test pairs published by Sharma, Wu and Dalal, "The CIEDE2000
//! color-difference formula: Implementation notes, supplementary test data, and mathematical
//! observations", Color Research and Application 30 (2005), table 1. The pairs are from memory; that
//! all of them agree to the last published digit speaks for both.

use crate::common::chance::Chance;
use jigwarden::tested::artwork::colour::{distance, lab, lab_distance};
use jigwarden::tested::artwork::mark::Colour;

type Lab = [f64; 3];

const PAIRS: [(Lab, Lab, f64); 34] = [
    ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
    ([50.0, 3.1571, -77.2803], [50.0, 0.0, -82.7485], 2.8615),
    ([50.0, 2.8361, -74.0200], [50.0, 0.0, -82.7485], 3.4412),
    ([50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0),
    ([50.0, -1.1848, -84.8006], [50.0, 0.0, -82.7485], 1.0),
    ([50.0, -0.9009, -85.5211], [50.0, 0.0, -82.7485], 1.0),
    ([50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
    ([50.0, -1.0, 2.0], [50.0, 0.0, 0.0], 2.3669),
    ([50.0, 2.4900, -0.0010], [50.0, -2.4900, 0.0009], 7.1792),
    ([50.0, 2.4900, -0.0010], [50.0, -2.4900, 0.0010], 7.1792),
    ([50.0, 2.4900, -0.0010], [50.0, -2.4900, 0.0011], 7.2195),
    ([50.0, 2.4900, -0.0010], [50.0, -2.4900, 0.0012], 7.2195),
    ([50.0, -0.0010, 2.4900], [50.0, 0.0009, -2.4900], 4.8045),
    ([50.0, -0.0010, 2.4900], [50.0, 0.0010, -2.4900], 4.8045),
    ([50.0, -0.0010, 2.4900], [50.0, 0.0011, -2.4900], 4.7461),
    ([50.0, 2.5, 0.0], [50.0, 0.0, -2.5], 4.3065),
    ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
    ([50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
    ([50.0, 2.5, 0.0], [56.0, -27.0, -3.0], 31.9030),
    ([50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
    ([50.0, 2.5, 0.0], [50.0, 3.1736, 0.5854], 1.0),
    ([50.0, 2.5, 0.0], [50.0, 3.2972, 0.0], 1.0),
    ([50.0, 2.5, 0.0], [50.0, 1.8634, 0.5757], 1.0),
    ([50.0, 2.5, 0.0], [50.0, 3.2592, 0.3350], 1.0),
    (
        [60.2574, -34.0099, 36.2677],
        [60.4626, -34.1751, 39.4387],
        1.2644,
    ),
    (
        [63.0109, -31.0961, -5.8663],
        [62.8187, -29.7946, -4.0864],
        1.2630,
    ),
    (
        [61.2901, 3.7196, -5.3901],
        [61.4292, 2.2480, -4.9620],
        1.8731,
    ),
    (
        [35.0831, -44.1164, 3.7933],
        [35.0232, -40.0716, 1.5901],
        1.8645,
    ),
    (
        [22.7233, 20.0904, -46.6940],
        [23.0331, 14.9730, -42.5619],
        2.0373,
    ),
    (
        [36.4612, 47.8580, 18.3852],
        [36.2715, 50.5065, 21.2231],
        1.4146,
    ),
    (
        [90.8027, -2.0831, 1.4410],
        [91.1528, -1.6435, 0.0447],
        1.4441,
    ),
    (
        [90.9257, -0.5406, -0.9208],
        [88.6381, -0.8985, -0.7239],
        1.5381,
    ),
    (
        [6.7747, -0.2908, -2.4247],
        [5.8714, -0.0985, -2.2286],
        0.6377,
    ),
    (
        [2.0776, 0.0795, -1.1350],
        [0.9033, -0.0636, -0.5514],
        0.9082,
    ),
];

#[test]
fn the_published_pairs_come_out() {
    for (a, b, expected) in PAIRS {
        for (a, b) in [(a, b), (b, a)] {
            let actual = lab_distance(a, b);
            assert!(
                (actual - expected).abs() <= 0.000_05,
                "{a:?} {b:?}: {actual}, expected {expected}"
            );
        }
    }
}

#[test]
fn lab_has_its_fixed_points() {
    let grey = |v| Colour { r: v, g: v, b: v };
    // CIE 15: white is L* 100, black 0, and greys have no a* and b*.
    for (colour, lightness) in [(grey(255), 100.0), (grey(0), 0.0)] {
        let [l, a, b] = lab(colour);
        assert!(
            (l - lightness).abs() < 1e-9 && a.abs() < 1e-9 && b.abs() < 1e-9,
            "{colour}: {l} {a} {b}"
        );
    }
    assert!((distance(grey(0), grey(255)) - 100.0).abs() < 1e-6);
}

/// Tristimulus values of a chromaticity at luminance 1 (CIE 15).
fn tristimulus([x, y]: [f64; 2]) -> [f64; 3] {
    [x / y, 1.0, (1.0 - x - y) / y]
}

fn determinant([a, b, c]: [[f64; 3]; 3]) -> f64 {
    a[0] * (b[1] * c[2] - b[2] * c[1])
        + a[1] * (b[2] * c[0] - b[0] * c[2])
        + a[2] * (b[0] * c[1] - b[1] * c[0])
}

#[test]
fn the_matrix_follows_from_the_primaries() {
    // IEC 61966-2-1: red, green and blue of ITU-R BT.709, and D65.
    let primaries = [[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]].map(tristimulus);
    let white = tristimulus([0.3127, 0.3290]);
    // Each primary is as bright as it must be for all three together to be white (Cramer's rule).
    let all = determinant(primaries);
    let lab_of = |[x, y, z]: [f64; 3]| {
        let [x, y, z] = [x / white[0], y / white[1], z / white[2]].map(|t: f64| {
            if t > (6.0_f64 / 29.0).powi(3) {
                t.cbrt()
            } else {
                t / (3.0 * (6.0_f64 / 29.0).powi(2)) + 4.0 / 29.0
            }
        });
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    };
    for (i, primary) in primaries.iter().enumerate() {
        let mut others = primaries;
        others[i] = white;
        let bright = determinant(others) / all;
        let expected = lab_of(primary.map(|v| v * bright));
        let on = |k| if k == i { 255 } else { 0 };
        let actual = lab(Colour {
            r: on(0),
            g: on(1),
            b: on(2),
        });
        for (actual, expected) in actual.iter().zip(expected) {
            assert!(
                (actual - expected).abs() < 0.05,
                "primary {i}: {actual}, expected {expected}"
            );
        }
    }
}

#[test]
fn a_distance_is_one() {
    let mut chance = Chance::new(7);
    let mut next = || Colour {
        r: chance.below(256) as u8,
        g: chance.below(256) as u8,
        b: chance.below(256) as u8,
    };
    for _ in 0..2_000 {
        let (a, b) = (next(), next());
        let there = distance(a, b);
        assert!(there.is_finite() && there >= 0.0, "{a} {b}: {there}");
        assert!((there - distance(b, a)).abs() < 1e-9, "{a} {b}");
        assert!(distance(a, a) == 0.0, "{a}");
        assert!(a == b || there > 0.0, "{a} {b}");
    }
}
