//! How different two colours look.

use crate::artwork::mark::Colour;

/// sRGB's curve, from code to light: IEC 61966-2-1.
fn light(code: u8) -> f64 {
    let code = f64::from(code) / 255.0;
    if code <= 0.040_45 {
        code / 12.92
    } else {
        libm::pow((code + 0.055) / 1.055, 2.4)
    }
}

/// How different two colours look, by CIEDE2000: 0 for the same, about 1 for a difference that is
/// just seen, 100 for black against white.
pub fn distance(a: Colour, b: Colour) -> f64 {
    lab_distance(lab(a), lab(b))
}

/// CIE L*a*b* under D65. The matrix is IEC 61966-2-1's; the white point is the sum of its rows, so
/// that greys come out without a tint. A test derives the matrix from the chromaticities of the sRGB
/// primaries and D65.
pub fn lab(colour: Colour) -> [f64; 3] {
    const MATRIX: [[f64; 3]; 3] = [
        [0.412_4, 0.357_6, 0.180_5],
        [0.212_6, 0.715_2, 0.072_2],
        [0.019_3, 0.119_2, 0.950_5],
    ];
    let [r, g, b] = [light(colour.r), light(colour.g), light(colour.b)];
    let [x, y, z] = MATRIX.map(|[p, q, s]| {
        let t = (p * r + q * g + s * b) / (p + q + s);
        // CIE 15: the cube root, and a straight line below (6/29)³ where its slope would run away.
        if t > 216.0 / 24_389.0 {
            libm::cbrt(t)
        } else {
            (t * 24_389.0 / 27.0 + 16.0) / 116.0
        }
    });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// CIEDE2000 as written out by Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula" (Color
/// Research and Application 30, 2005), whose test pairs check it.
pub fn lab_distance([l1, a1, b1]: [f64; 3], [l2, a2, b2]: [f64; 3]) -> f64 {
    let seventh = |c: f64| {
        let c7 = libm::pow(c, 7.0);
        libm::sqrt(c7 / (c7 + 25.0_f64.powi(7)))
    };
    let sin = |degrees: f64| libm::sin(degrees.to_radians());
    let cos = |degrees: f64| libm::cos(degrees.to_radians());
    let hue = |b: f64, a: f64| {
        if a == 0.0 && b == 0.0 {
            0.0
        } else {
            libm::atan2(b, a).to_degrees().rem_euclid(360.0)
        }
    };

    let g = 0.5 * (1.0 - seventh(f64::midpoint(libm::hypot(a1, b1), libm::hypot(a2, b2))));
    let (a1, a2) = (a1 * (1.0 + g), a2 * (1.0 + g));
    let (c1, c2) = (libm::hypot(a1, b1), libm::hypot(a2, b2));
    let (h1, h2) = (hue(b1, a1), hue(b2, a2));

    let grey = c1 * c2 == 0.0;
    let turn = if grey {
        0.0
    } else if h2 - h1 > 180.0 {
        h2 - h1 - 360.0
    } else if h2 - h1 < -180.0 {
        h2 - h1 + 360.0
    } else {
        h2 - h1
    };
    let dl = l2 - l1;
    let dc = c2 - c1;
    let dh = 2.0 * libm::sqrt(c1 * c2) * sin(turn / 2.0);

    let l = f64::midpoint(l1, l2);
    let c = f64::midpoint(c1, c2);
    let h = if grey {
        h1 + h2
    } else if (h1 - h2).abs() <= 180.0 {
        f64::midpoint(h1, h2)
    } else if h1 + h2 < 360.0 {
        f64::midpoint(h1, h2) + 180.0
    } else {
        f64::midpoint(h1, h2) - 180.0
    };
    let t = 1.0 - 0.17 * cos(h - 30.0) + 0.24 * cos(2.0 * h) + 0.32 * cos(3.0 * h + 6.0)
        - 0.20 * cos(4.0 * h - 63.0);
    let off = (l - 50.0) * (l - 50.0);
    let sl = 1.0 + 0.015 * off / libm::sqrt(20.0 + off);
    let sc = 1.0 + 0.045 * c;
    let sh = 1.0 + 0.015 * c * t;
    let lean = 30.0 * libm::exp(-((h - 275.0) / 25.0) * ((h - 275.0) / 25.0));
    let rt = -sin(2.0 * lean) * 2.0 * seventh(c);
    let (l, c, h) = (dl / sl, dc / sc, dh / sh);
    libm::sqrt((l * l + c * c + h * h + rt * c * h).max(0.0))
}
