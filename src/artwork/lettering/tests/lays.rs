//! What readers lay out differently, each way against numbers: the browser's were measured with
//! Chromium 148 over the sans of `DejaVu` (`tests/ci/browser_text.sh` measures them anew), the formulas hold for
//! any face.

use kurbo::{Affine, Rect, Shape};

use super::*;

fn both(body: &str) -> (Out, Out) {
    let as_lay = |lay| try_set_as(faces(), body, Affine::IDENTITY, lay).unwrap();
    (as_lay(Lay::Browser), as_lay(Lay::Other))
}

fn box_of(out: &Out) -> Rect {
    out.chunks
        .iter()
        .map(|c| c.path.bounding_box())
        .reduce(|a, b| a.union(b))
        .unwrap()
}

/// How far the browser's ink lies from the other readers', right and down.
fn off(body: &str) -> (f64, f64) {
    let (browser, other) = both(body);
    let (a, b) = (box_of(&browser), box_of(&other));
    (a.x0 - b.x0, a.y0 - b.y0)
}

#[track_caller]
fn same(actual: (f64, f64), expected: (f64, f64), what: &str) {
    let close = (actual.0 - expected.0).abs() < CLOSE && (actual.1 - expected.1).abs() < CLOSE;
    assert!(close, "{what}: {actual:?} should be {expected:?}");
}

#[test]
fn browsers_count_the_space_after_the_last_letter() {
    for (anchor, left) in [("start", 0.0), ("middle", 2.0), ("end", 4.0)] {
        for spaced in [
            format!("<text text-anchor='{anchor}' letter-spacing='4'>Anna</text>"),
            format!("<text text-anchor='{anchor}' letter-spacing='4'>An na</text>"),
            format!("<text text-anchor='{anchor}'>An<tspan letter-spacing='4'>na</tspan></text>"),
            format!(
                "<path id='p' d='M0 0H200'/><text text-anchor='{anchor}' letter-spacing='4'><textPath href='#p' startOffset='90'>Anna</textPath></text>"
            ),
        ] {
            same(off(&spaced), (-left, 0.0), &spaced);
            let disputed = !both(&spaced).0.disputed.is_empty();
            assert_eq!(disputed, anchor != "start", "{spaced}");
        }
        // The space after an inner piece is between letters, and no reader leaves it out.
        let inner =
            format!("<text text-anchor='{anchor}'><tspan letter-spacing='4'>An</tspan>na</text>");
        same(off(&inner), (0.0, 0.0), &inner);
        assert!(both(&inner).0.disputed.is_empty());
    }
    // A run that goes on without a place starts after the space in browsers.
    let next = "<text letter-spacing='4'>An<tspan y='30'>na</tspan></text>";
    let (browser, other) = both(next);
    let foot = |out: &Out| out.letters()[2].foot.x;
    assert!((foot(&browser) - foot(&other) - 4.0).abs() < CLOSE);
}

#[test]
fn tight_letters_are_as_tight_as_they_are_asked_to_be() {
    let step = advance(&hack(), "A", 10.0);
    for body in [
        "<text x='50' letter-spacing='-1'>AAAA</text>",
        "<path id='p' d='M50 0H200'/><text letter-spacing='-1'><textPath href='#p'>AAAA</textPath></text>",
        "<path id='p' d='M0 0H200'/><text letter-spacing='-1' text-anchor='end'><textPath href='#p' startOffset='100'>AAAA</textPath></text>",
    ] {
        let out = set(body);
        let feet: Vec<f64> = out.letters().iter().map(|l| l.foot.x).collect();
        for (i, foot) in feet.iter().enumerate() {
            let from = if body.contains("end") {
                104.0 - 4.0 * step
            } else {
                50.0
            };
            let expected = from + (step - 1.0) * i as f64;
            assert!(
                (foot - expected).abs() < CLOSE,
                "{body}: {feet:?} {expected}"
            );
        }
    }
    // A curve counts moves but the first, as a line does.
    let moved = "<path id='p' d='M0 0H200'/><text text-anchor='middle'><textPath href='#p' startOffset='90'>An<tspan dx='6'>na</tspan></textPath></text>";
    same(off(moved), (-3.0, 0.0), moved);
}

#[test]
fn kerning_that_is_switched_off_is_off() {
    let body = |how: &str| format!("<text font-family='Ubuntu Light' {how}>AVAVA To</text>");
    let end = |how: &str| set(&body(how)).letters().last().unwrap().foot.x;
    let face = ubuntu();
    let plain = advance(&face, "AVAVA T", 10.0);
    assert!((end("style='font-kerning:none'") - plain).abs() < CLOSE);
    assert!(end("") < plain - 0.5, "the face kerns");
    assert!((end("") - end("style='font-kerning:normal'")).abs() < CLOSE);
    for how in [
        "font-feature-settings:'kern' 0",
        "font-feature-settings:'liga' 0",
        "font-variant-numeric:tabular-nums",
        "font-variant-position:super",
        "font-variant-caps:all-small-caps",
        "font-variant-east-asian:ruby",
        "font-variant-alternates:historical-forms",
        "font-variant-ligatures:discretionary-ligatures",
        "font-variant:ordinal",
        "font-variant:small-caps ordinal",
    ] {
        refused(&body(&format!("style=\"{how}\"")));
    }
}

#[test]
fn words_that_run_backwards_start_where_the_line_is_placed() {
    let step = advance(&hack(), "A", 10.0);
    for (anchor, share) in [("start", 0.0), ("middle", 0.5), ("end", 1.0)] {
        let body = format!("<text x='100' text-anchor='{anchor}' word-spacing='-30'>AA AA</text>");
        let (browser, _) = both(&body);
        let length = 5.0 * step - 30.0;
        let expected = 100.0 - share * length.max(0.0);
        let first = browser.letters()[0].foot.x;
        assert!(
            (first - expected).abs() < CLOSE,
            "{body}: {first} {expected}"
        );
        assert!(!browser.disputed.is_empty());
    }
}

#[test]
fn small_letters_are_raised_by_half_the_height_of_their_face() {
    let face = hack();
    let half = f64::from(face.ascender() - face.descender()) / 2.0 / f64::from(face.units_per_em());
    for (shift, up) in [
        ("super", half * 5.0),
        ("sub", -half * 5.0),
        ("3", 3.0),
        ("30%", 1.5),
    ] {
        let body = format!("<text><tspan font-size='5' baseline-shift='{shift}'>H</tspan></text>");
        same(off(&body), (0.0, -up), &body);
        let whole = format!("<text font-size='5' baseline-shift='{shift}'>H</text>");
        same(off(&whole), (0.0, -up), &whole);
        assert_eq!(both(&whole).0.disputed, ["`baseline-shift`"]);
    }
    let nested =
        "<text><tspan baseline-shift='2'><tspan baseline-shift='-3'>H</tspan></tspan></text>";
    same(off(nested), (0.0, 1.0), nested);
}

#[test]
fn a_span_is_aligned_by_its_own_face_or_not_at_all() {
    let half = f64::from(hack().x_height().unwrap()) / 2.0 / f64::from(hack().units_per_em());
    let body = "<text><tspan font-size='6' alignment-baseline='middle'>H</tspan></text>";
    same(off(body), (0.0, 6.0 * half), body);
    // Not inherited by what is inside.
    let inner = "<text><tspan alignment-baseline='middle'><tspan>H</tspan></tspan></text>";
    same(off(inner), (0.0, 0.0), inner);
    let auto = "<text dominant-baseline='middle'><tspan dominant-baseline='auto'>H</tspan></text>";
    same(off(auto), (0.0, 10.0 * half), auto);
    let script =
        "<text dominant-baseline='middle'><tspan dominant-baseline='use-script'>H</tspan></text>";
    same(off(script), (0.0, 0.0), script);
}

#[test]
fn lines_along_letters_are_the_browsers_or_the_faces() {
    let (face, em) = (hack(), f64::from(hack().units_per_em()));
    let ascent = f64::from(face.ascender()) / em * 10.0;
    let under = face.underline_metrics().unwrap();
    let strike = face.strikeout_metrics().unwrap();
    let to = |v: i16| f64::from(v) / em * 10.0;
    for (line, browser, other) in [
        (
            "underline",
            (0.5, 1.5),
            (
                -to(under.position),
                -to(under.position) + to(under.thickness),
            ),
        ),
        (
            "overline",
            (-ascent - 1.0, -ascent),
            (
                -ascent - to(under.thickness) / 2.0,
                -ascent + to(under.thickness) / 2.0,
            ),
        ),
        (
            "line-through",
            (-ascent / 3.0 - 0.5, -ascent / 3.0 + 0.5),
            (
                -to(strike.position),
                -to(strike.position) + to(strike.thickness),
            ),
        ),
    ] {
        let body = format!("<text id='t' text-decoration='{line}'><tspan id='s'>HH</tspan></text>");
        let (a, b) = both(&body);
        for (out, expected) in [(a, browser), (b, other)] {
            let bounds = out.chunks[1].path.bounding_box();
            same((bounds.y0, bounds.y1), expected, &body);
            assert_eq!(out.names[1], "t");
            assert!((bounds.width() - advance(&face, "HH", 10.0)).abs() < CLOSE);
        }
    }
    // Each stretch is as thick as its own letters ask for, and is raised with them.
    let mixed = "<text id='t' text-decoration='underline'>H<tspan font-size='20' baseline-shift='4'>H</tspan></text>";
    let lines = both(mixed).0;
    let bottom = lines.chunks.last().unwrap().path.bounding_box().y1;
    let lowest = lines
        .chunks
        .iter()
        .map(|c| c.path.bounding_box().y1)
        .fold(f64::MIN, f64::max);
    assert!((lowest - 1.5).abs() < CLOSE, "{bottom} {lowest}");
}

#[test]
fn a_letter_turned_on_a_curve_turns_about_its_middle_in_browsers() {
    let body = "<path id='p' d='M0 0H200'/><text><textPath href='#p'><tspan rotate='30'>HIII</tspan></textPath></text>";
    let (browser, other) = both(body);
    let half = advance(&hack(), "H", 10.0) / 2.0;
    let foot = |out: &Out| out.letters()[0].foot;
    let (sin, cos) = 30f64.to_radians().sin_cos();
    // The foot of a letter that turns about (half, 0).
    let expected = (half - half * cos, -half * sin);
    same((foot(&browser).x, foot(&browser).y), expected, body);
    same((foot(&other).x, foot(&other).y), (0.0, 0.0), body);
    assert_eq!(browser.disputed, ["`rotate` along a curve"]);
}

#[test]
fn lettering_that_runs_to_the_left_starts_at_its_right_end() {
    let step = advance(&hack(), "A", 10.0);
    // Two scripts in one spaced line are named: readers differ about where the space goes.
    refused("<text direction='rtl' letter-spacing='4'>AAAA</text>");
    refused("<text letter-spacing='4'>A\u{5D0}</text>");
    refused("<text letter-spacing='4'>\u{633}\u{644} 1</text>");
    for (anchor, left) in [("start", 4.0), ("middle", 2.0), ("end", 0.0)] {
        let body = format!("<text x='100' direction='rtl' text-anchor='{anchor}'>AAAA</text>");
        let out = set(&body);
        assert_eq!(out.texts(), ["AAAA"]);
        let first = out.letters()[0].foot.x;
        assert!(
            (first - (100.0 - left * step)).abs() < CLOSE,
            "{body}: {first}"
        );
        assert!(out.disputed.is_empty(), "{body}");
        // The mark at the end of such a line stands at its left.
        let marked = set(&format!(
            "<text x='100' direction='rtl' text-anchor='{anchor}'>AAA!</text>"
        ));
        let mark = marked
            .letters()
            .into_iter()
            .find(|l| l.text == "!")
            .unwrap()
            .foot
            .x;
        assert!(
            (mark - (100.0 - left * step)).abs() < CLOSE,
            "{body}: {mark}"
        );
    }
    // Spaced: the space after the rightmost letter counts, as in any line.
    let spaced = "<text x='100' direction='rtl' letter-spacing='4'>1234</text>";
    same(off(spaced), (-4.0, 0.0), spaced);
    // Each place of a list is where a letter starts.
    let listed = set("<text x='100 50' direction='rtl'>AAA</text>");
    let mut feet: Vec<f64> = listed.letters().iter().map(|l| l.foot.x).collect();
    feet.sort_by(f64::total_cmp);
    for (foot, expected) in feet
        .iter()
        .zip([50.0 - 2.0 * step, 50.0 - step, 100.0 - step])
    {
        assert!((foot - expected).abs() < CLOSE, "{feet:?}");
    }
    assert!(set("<text direction='rtl'>  </text>").chunks.is_empty());
}
