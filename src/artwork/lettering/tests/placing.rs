//! Where letters are and which way they stand.

use kurbo::{Affine, Point, Shape, Vec2};

use super::*;

#[test]
fn an_upright_line_is_where_the_face_says() {
    let out = compare(
        r#"<text x="12.5" y="30">Anna Bell</text>"#,
        Affine::IDENTITY,
        "Anna Bell",
        |_, pen| Affine::translate((12.5 + pen, 30.0)),
    );
    assert_eq!(out.texts(), ["Anna Bell"]);
    for letter in out.letters() {
        same_vector(letter.up, Vec2::new(0.0, -1.0), "up");
        assert!(!letter.mirrored);
        assert!((letter.size - 10.0).abs() < 1e-6);
    }
    let face = hack();
    let k = 10.0 / f64::from(face.units_per_em());
    let letters = out.letters();
    assert!((letters[0].cap_height - k * f64::from(face.capital_height().unwrap())).abs() < 1e-6);
    assert!((letters[0].x_height - k * f64::from(face.x_height().unwrap())).abs() < 1e-6);
    assert!(
        letters[1]
            .foot
            .distance(Point::new(12.5 + advance(&face, "A", 10.0), 30.0))
            < CLOSE
    );
    let all: usize = letters.iter().map(|l| l.path.elements().len()).sum();
    assert_eq!(all, out.chunks[0].path.elements().len());
}

#[test]
fn tops_follow_every_transform() {
    let up = Vec2::new(0.0, -1.0);
    for (name, ctm, expected, mirrored) in [
        ("as it is", Affine::IDENTITY, up, false),
        (
            "half turn",
            Affine::new([-1.0, 0.0, 0.0, -1.0, 80.0, 60.0]),
            -up,
            false,
        ),
        (
            "left to right",
            Affine::new([-1.0, 0.0, 0.0, 1.0, 80.0, 0.0]),
            up,
            true,
        ),
        (
            "back to front",
            Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 60.0]),
            -up,
            true,
        ),
        (
            "quarter turn",
            Affine::rotate(std::f64::consts::FRAC_PI_2),
            Vec2::new(1.0, 0.0),
            false,
        ),
        ("inches", Affine::scale(25.4 / 96.0), up, false),
        (
            "nested",
            Affine::translate((100.0, 50.0))
                * Affine::rotate(0.3)
                * Affine::scale(0.5)
                * Affine::rotate(0.4),
            Vec2::new(0.7_f64.sin(), -0.7_f64.cos()),
            false,
        ),
    ] {
        let body = r#"<text x="5" y="7">Kiln</text>"#;
        let out = compare(body, ctm, "Kiln", |_, pen| {
            Affine::translate((5.0 + pen, 7.0))
        });
        let scale = ctm.determinant().abs().sqrt();
        for letter in out.letters() {
            same_vector(letter.up, expected, name);
            assert_eq!(letter.mirrored, mirrored, "{name}");
            assert!(
                (letter.size - 10.0 * scale).abs() < 1e-5,
                "{name}: {}",
                letter.size
            );
        }
    }
}

#[test]
fn tops_follow_a_list_of_angles() {
    let body = r#"<text x="5" y="40" rotate="0 90 -45">Kiln</text>"#;
    let angles = [0.0, 90.0, -45.0, -45.0_f64];
    let out = compare(body, Affine::IDENTITY, "Kiln", |i, pen| {
        Affine::translate((5.0 + pen, 40.0)) * Affine::rotate(angles[i].to_radians())
    });
    for (letter, angle) in out.letters().iter().zip(angles) {
        let angle = angle.to_radians();
        same_vector(
            letter.up,
            Vec2::new(angle.sin(), -angle.cos()),
            &letter.text,
        );
    }
}

#[test]
fn an_angle_goes_on_into_inner_elements_and_theirs_go_first() {
    let body = r#"<text x="5" y="40" rotate="10 20">ab<tspan rotate="-30">c</tspan><tspan>d</tspan></text>"#;
    let angles = [10.0, 20.0, -30.0, 20.0_f64];
    compare(body, Affine::IDENTITY, "abcd", |i, pen| {
        Affine::translate((5.0 + pen, 40.0)) * Affine::rotate(angles[i].to_radians())
    });
}

#[test]
fn letters_stand_on_a_curve_and_hang_from_it_reversed() {
    let face = hack();
    let step = advance(&face, "o", 10.0);
    // A straight stretch to the right, then the same one back.
    for (d, start, direction) in [
        ("M 10 50 L 110 50", 10.0, 1.0),
        ("M 110 50 L 10 50", 110.0, -1.0),
    ] {
        let body = format!(
            r##"<path id="p" d="{d}"/><text><textPath href="#p" startOffset="10%">oval</textPath></text>"##
        );
        let out = compare(&body, Affine::IDENTITY, "oval", |_, pen| {
            let at = start + direction * (10.0 + pen);
            Affine::new([direction, 0.0, 0.0, direction, at, 50.0])
        });
        for letter in out.letters() {
            same_vector(letter.up, Vec2::new(0.0, -direction), d);
            assert!(!letter.mirrored);
        }
    }
    // On a circle every letter points away from the middle (or to it, the other way round).
    for outwards in [1.0, -1.0] {
        let d = outwards;
        let body = format!(
            r##"<arc xmlns="" id="p" r="40" sweep="{d}"/><text text-anchor="middle"><textPath xlink:href="#p" startOffset="50%">ring</textPath></text>"##
        );
        let out = try_set(&body, Affine::scale(0.25)).unwrap();
        let letters = out.letters();
        assert_eq!(letters.len(), 4);
        for (i, letter) in letters.iter().enumerate() {
            // The middle of a letter's advance is what stands on the curve.
            let along = (i as f64 - 1.5) * step / 40.0;
            let expected = Vec2::new(along.sin(), -along.cos() * outwards) * outwards;
            assert!(
                (letter.up - expected).hypot() < 1e-4,
                "{d} {i}: {:?} {expected:?}",
                letter.up
            );
            let middle = letter.foot + Vec2::new(-letter.up.y, letter.up.x) * (0.5 * 0.25 * step);
            let radius = middle.distance(Point::new(10.0, 10.0));
            assert!((radius - 10.0).abs() < CLOSE, "{d} {i}: {radius}");
        }
    }
}

#[test]
fn letters_on_a_curve_are_true_whatever_the_unit() {
    // Metres: usvg alone would measure this curve to half a metre.
    let d = "M 0 0 C 0.02 -0.03 0.06 -0.03 0.08 0";
    let metres = format!(
        r##"<path id="p" d="{d}"/><text font-size="0.01"><textPath href="#p" startOffset="0.03">wave</textPath></text>"##
    );
    let thousand = r##"<path id="p" d="M 0 0 C 20 -30 60 -30 80 0"/><text font-size="10"><textPath href="#p" startOffset="30">wave</textPath></text>"##;
    let a = try_set(&metres, Affine::scale(1000.0)).unwrap();
    let b = try_set(thousand, Affine::IDENTITY).unwrap();
    let curve = kurbo::CubicBez::new((0.0, 0.0), (20.0, -30.0), (60.0, -30.0), (80.0, 0.0));
    for (i, (p, q)) in a.letters().iter().zip(b.letters()).enumerate() {
        same_outline(&p.path, &q.path, &p.text);
        let step = advance(&hack(), "w", 10.0);
        let t = kurbo::ParamCurveArclen::inv_arclen(&curve, 30.0 + (i as f64 + 0.5) * step, 1e-9);
        let at = kurbo::ParamCurve::eval(&curve, t);
        let middle = p.foot + Vec2::new(-p.up.y, p.up.x) * (0.5 * step);
        assert!(middle.distance(at) < CLOSE, "{i}: {middle:?} {at:?}");
    }
}

#[test]
fn vertical_lines_lie_on_their_side() {
    let out = set(r#"<text x="20" y="10" writing-mode="tb">Ab</text>"#);
    let letters = out.letters();
    same_vector(letters[0].up, Vec2::new(1.0, 0.0), "A");
    let step = letters[1].foot - letters[0].foot;
    same_vector(
        step,
        Vec2::new(0.0, advance(&hack(), "A", 10.0)),
        "downwards",
    );
}

#[test]
fn lines_are_anchored_by_their_width() {
    let width = advance(&hack(), "Bell", 10.0);
    for (anchor, shift) in [("start", 0.0), ("middle", width / 2.0), ("end", width)] {
        let body = format!(r#"<text x="50" y="20" text-anchor="{anchor}">Bell</text>"#);
        compare(&body, Affine::IDENTITY, "Bell", |_, pen| {
            Affine::translate((50.0 - shift + pen, 20.0))
        });
    }
}

#[test]
fn spacing_widens_and_never_joins() {
    // Ubuntu joins f and i unless they are spaced.
    let plain = set(r#"<text x="0" y="20" font-family="Ubuntu Light">fin</text>"#);
    assert_eq!(plain.letters()[0].text, "fi");
    for more in [r#"letter-spacing="2""#, r#"font-variant-ligatures="none""#] {
        let body = format!(
            r#"<text x="0" y="20" font-family="Ubuntu Light" font-kerning="none" {more}>fin</text>"#
        );
        let out = set(&body);
        let face = ubuntu();
        let extra = if more.starts_with("letter") { 2.0 } else { 0.0 };
        let mut pen = 0.0;
        assert_eq!(out.texts(), ["fin"]);
        assert_eq!(out.letters().len(), 3, "{more}");
        for (letter, c) in out.letters().iter().zip("fin".chars()) {
            assert_eq!(letter.text, c.to_string());
            let expected = ink(&face, c, 10.0, Affine::translate((pen, 20.0)));
            same_outline(&letter.path, &expected, more);
            pen += advance(&face, &c.to_string(), 10.0) + extra;
        }
    }
    let out = set(r#"<text x="0" y="20" word-spacing="3">a b</text>"#);
    let expected = advance(&hack(), "a ", 10.0) + 3.0;
    assert!((out.letters()[1].foot.x - expected).abs() < CLOSE);
}

#[test]
fn a_fixed_length_is_kept() {
    let spaced = set(r#"<text x="10" y="20" textLength="60">Bell</text>"#);
    let step = advance(&hack(), "B", 10.0) + (60.0 - advance(&hack(), "Bell", 10.0)) / 3.0;
    for (i, letter) in spaced.letters().iter().enumerate() {
        assert!((letter.foot.x - 10.0 - step * i as f64).abs() < CLOSE);
    }
    let body = r#"<text x="50" y="20" textLength="60" lengthAdjust="spacingAndGlyphs" text-anchor="middle">Bell</text>"#;
    let stretched = set(body);
    let factor = 60.0 / advance(&hack(), "Bell", 10.0);
    for (i, letter) in stretched.letters().iter().enumerate() {
        let x = 20.0 + 15.0 * i as f64;
        assert!((letter.foot.x - x).abs() < CLOSE, "{} {x}", letter.foot.x);
        let plain = ink(
            &hack(),
            "Bell".chars().nth(i).unwrap(),
            10.0,
            Affine::IDENTITY,
        )
        .bounding_box();
        assert!((letter.bounds.width() - plain.width() * factor).abs() < CLOSE);
        assert!((letter.size - 10.0).abs() < 1e-6);
    }
    refused(r#"<text textLength="60">Be<tspan>ll</tspan></text>"#);
    refused(r#"<text textLength="60" letter-spacing="1">Bell</text>"#);
    refused(r#"<text textLength="60">Bell<tspan x="5" y="5">Ann</tspan></text>"#);
    // On an inner element that is a line by itself it is fine.
    let out = set(
        r#"<text><tspan x="0" y="9" textLength="30">An</tspan> <tspan x="0" y="30">Bo</tspan></text>"#,
    );
    assert_eq!(out.texts(), ["An", "Bo"]);
}

#[test]
fn shifts_add_up() {
    let out = set(
        r#"<text y="20">a<tspan baseline-shift="2">b<tspan baseline-shift="-3">c</tspan></tspan><tspan baseline-shift="10%">d</tspan><tspan baseline-shift="super">e</tspan></text>"#,
    );
    let feet: Vec<f64> = out.letters().iter().map(|l| l.foot.y).collect();
    for (foot, expected) in feet.iter().zip([20.0, 18.0, 21.0, 19.0]) {
        assert!((foot - expected).abs() < CLOSE, "{feet:?}");
    }
    assert!(feet[4] < 19.0);
}

#[test]
fn far_from_the_origin_nothing_is_lost() {
    // 50 m away, as some exports put it, brought back by a transform.
    let far = 50_000.0;
    let body = format!(
        r#"<text x="{}" y="{}">Anna<tspan x="{}" y="{}">Bell</tspan></text>"#,
        far + 10.0,
        far + 20.0,
        far + 15.0,
        far + 40.0
    );
    let ctm = Affine::translate((-far, -far));
    let near = set(r#"<text x="10" y="20">Anna<tspan x="15" y="40">Bell</tspan></text>"#);
    let out = try_set(&body, ctm).unwrap();
    for (a, b) in out.letters().iter().zip(near.letters()) {
        for (p, q) in a.path.elements().iter().zip(b.path.elements()) {
            if let (Some(p), Some(q)) = (p.end_point(), q.end_point()) {
                assert!(p.distance(q) < 1e-8, "{p:?} {q:?}");
            }
        }
    }
    let body = format!(
        r##"<path id="p" d="M {0} {0} L {1} {0}"/><text><textPath href="#p">oval</textPath></text>"##,
        far,
        far + 100.0
    );
    let out = try_set(&body, ctm).unwrap();
    let expected = ink(&hack(), 'o', 10.0, Affine::IDENTITY);
    same_outline(&out.letters()[0].path, &expected, "on a curve");
}

#[test]
fn percentages_and_units_are_resolved() {
    let out = set(r#"<text x="50%" y="10%" dx="1em">a</text>"#);
    assert!(out.letters()[0].foot.distance(Point::new(110.0, 10.0)) < CLOSE);
    let out = set(r#"<text x="10mm" y="0.5in">a</text>"#);
    assert!(
        out.letters()[0]
            .foot
            .distance(Point::new(960.0 / 25.4, 48.0))
            < CLOSE
    );
}
