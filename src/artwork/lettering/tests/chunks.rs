//! Which letters belong together, and that none is lost.

use kurbo::{Affine, Point, Shape};

use super::*;

#[test]
fn twelve_names_are_twelve_chunks() {
    let names = [
        "Ada", "Ben", "Cleo", "Dan", "Eve", "Finn", "Gwen", "Hal", "Ida", "Jon", "Kim", "Leo",
    ];
    let mut body = String::from("<text text-anchor=\"middle\">\n");
    for (i, name) in names.iter().enumerate() {
        let (x, y) = (30 * (i % 4), 20 * (i / 4));
        let line = format!("  <tspan id=\"n{i}\" x=\"{x}\" y=\"{y}\">{name}</tspan>\n");
        body.push_str(&line);
    }
    body += "</text>";
    let out = set(&body);
    assert_eq!(out.texts(), names);
    for (i, chunk) in out.chunks.iter().enumerate() {
        assert_eq!(out.names[i], format!("n{i}"));
        assert_eq!((chunk.line, chunk.spaced, chunk.dropped), (i, false, false));
        // The space before the next tspan is anchored with this one, in every reader.
        let space = if i == 11 { "" } else { " " };
        let width = advance(&hack(), &format!("{}{space}", names[i]), 10.0);
        let foot = chunk.lettering.letters[0].foot;
        let expected = Point::new(30.0 * (i % 4) as f64 - width / 2.0, 20.0 * (i / 4) as f64);
        assert!(
            foot.distance(expected) < CLOSE,
            "{i}: {foot:?} {expected:?}"
        );
    }
}

#[test]
fn a_change_of_style_starts_a_chunk_but_not_a_line() {
    let out = set(
        r#"<text id="t" x="1" y="9">Jo <tspan id="b" fill="red">Ann</tspan>a<tspan id="c" dx="3">by</tspan></text>"#,
    );
    assert_eq!(out.texts(), ["Jo", "Ann", "a", "by"]);
    assert_eq!(out.names, ["t", "b", "t", "c"]);
    let line: Vec<_> = out.chunks.iter().map(|c| (c.line, c.spaced)).collect();
    assert_eq!(line, [(0, false), (0, true), (0, false), (0, false)]);
    let expected = 1.0 + advance(&hack(), "Jo Anna", 10.0) + 3.0;
    assert!((out.letters()[6].foot.x - expected).abs() < CLOSE);
}

#[test]
fn a_word_placed_letter_by_letter_stays_a_word() {
    let out = set(r#"<text x="10 16.5 23 29.5 42" y="20">Anna!</text>"#);
    assert_eq!(out.texts(), ["Anna", "!"]);
    for (letter, x) in out.letters().iter().zip([10.0, 16.5, 23.0, 29.5, 42.0]) {
        assert!(letter.foot.distance(Point::new(x, 20.0)) < CLOSE);
    }
    let out = set(r#"<text x="10 16 22 28 34 40 46" y="20 20 20 20 20 20 20">An Bell</text>"#);
    assert_eq!(out.texts(), ["An Bell"]);
    assert_eq!(out.chunks[0].lettering.letters.len(), 6);
    // One list may still put letters into different pockets.
    let out = set(r#"<text x="10 60 110" y="20 20 50">ABC</text>"#);
    assert_eq!(out.texts(), ["A", "B", "C"]);
    let lines: Vec<_> = out.chunks.iter().map(|c| c.line).collect();
    assert_eq!(lines, [0, 1, 2]);
}

#[test]
fn white_space_is_folded_as_browsers_fold_it() {
    for (body, expected) in [
        ("<text>\n  Anna\t\n Bell \n</text>", vec!["Anna Bell"]),
        (
            "<text>Anna<tspan> Bell</tspan></text>",
            vec!["Anna", "Bell"],
        ),
        ("<text xml:space=\"preserve\">  A  b </text>", vec!["A b"]),
        ("<text>An<!-- note -->na</text>", vec!["Anna"]),
        ("<text>A<![CDATA[<&>]]>b</text>", vec!["A<&>b"]),
        ("<text>so\u{AD}ft\u{200B}</text>", vec!["soft"]),
    ] {
        assert_eq!(set(body).texts(), expected, "{body}");
    }
    let spaced = set("<text>Anna<tspan> Bell</tspan></text>");
    assert!(spaced.chunks[1].spaced);
    let expected = advance(&hack(), "Anna ", 10.0);
    assert!((spaced.letters()[4].foot.x - expected).abs() < CLOSE);
    let kept = set("<text xml:space=\"preserve\">  A  b </text>");
    assert!((kept.letters()[1].foot.x - advance(&hack(), "  A  ", 10.0)).abs() < CLOSE);
    let style = set("<text style=\"white-space:pre\">  A</text>");
    assert!((style.letters()[0].foot.x - advance(&hack(), "  ", 10.0)).abs() < CLOSE);
    refused("<text style=\"white-space:pre\">A\nB</text>");
}

#[test]
fn text_without_ink_is_no_chunk() {
    for body in [
        "<text/>",
        "<text>   </text>",
        "<text xml:space=\"preserve\">   </text>",
        "<text><tspan x=\"5\" y=\"5\"/></text>",
        "<text font-size=\"0\">Anna</text>",
        "<text>\u{200B}\u{AD}</text>",
        "<text><title>Anna</title></text>",
        "<text x=\"1 2 3\" y=\"4 5 6\" xml:space=\"preserve\">   </text>",
    ] {
        assert!(set(body).chunks.is_empty(), "{body}");
    }
    let out = set(r#"<text>a<tspan font-size="0">bc</tspan><tspan dx="0 2">de</tspan></text>"#);
    assert_eq!(out.texts(), ["a", "de"]);
    let step = advance(&hack(), "d", 10.0);
    let letters = out.letters();
    assert!((letters[2].foot.x - letters[1].foot.x - step - 2.0).abs() < CLOSE);
}

#[test]
fn what_is_not_displayed_is_laid_out_apart() {
    let out = set(
        r#"<text id="t" x="0" y="9">ab<tspan id="h" style="display:none">cd<tspan id="i">e</tspan></tspan>fg</text>"#,
    );
    assert_eq!(out.texts(), ["abfg", "cd", "e"]);
    let dropped: Vec<_> = out.chunks.iter().map(|c| c.dropped).collect();
    assert_eq!(dropped, [false, true, true]);
    assert_eq!(out.names, ["t", "h", "i"]);
    let step = advance(&hack(), "a", 10.0);
    let feet: Vec<f64> = out
        .letters()
        .iter()
        .map(|l| (l.foot.x / step).round())
        .collect();
    assert_eq!(feet, [0.0, 1.0, 2.0, 3.0, 2.0, 3.0, 4.0]);
}

#[test]
fn an_accent_is_part_of_its_letter() {
    let out = set("<text font-family=\"Ubuntu Light\">Zoe\u{308} No\u{EB}l</text>");
    let texts: Vec<_> = out.letters().iter().map(|l| l.text.clone()).collect();
    assert_eq!(texts, ["Z", "o", "e\u{308}", "N", "o", "\u{EB}", "l"]);
    assert!(out.chunks[0].lettering.missing.is_empty());
    // Two marks that no single glyph stands for.
    let out = set("<text>x\u{301}y</text>");
    assert_eq!(out.letters()[0].text, "x\u{301}");
    let alone = ink(&hack(), 'x', 10.0, Affine::IDENTITY).bounding_box();
    assert!(out.letters()[0].bounds.height() > alone.height() + 1.0);
    refused("<text x=\"1 2 9\">x\u{301}y</text>");
}

#[test]
fn decoration_lines_go_to_the_element_that_declares_them() {
    let plain = set(r#"<text y="20">Anna</text>"#);
    let under = set(r#"<text y="20" text-decoration="underline">Anna</text>"#);
    assert_eq!(under.chunks.len(), 1);
    let (p, u) = (
        plain.chunks[0].path.bounding_box(),
        under.chunks[0].path.bounding_box(),
    );
    assert!(u.y1 > p.y1 + 0.2 && u.width() > p.width(), "{p:?} {u:?}");
    assert!((u.width() - advance(&hack(), "Anna", 10.0)).abs() < CLOSE);
    let body = r#"<text id="t" y="20" text-decoration="line-through">An<tspan id="s" text-decoration="underline">na</tspan></text>"#;
    let out = try_set_as(faces(), body, Affine::IDENTITY, Lay::Other).unwrap();
    assert_eq!(out.names, ["t", "s"]);
    // The stroke through the second half is the first element's.
    let through = out.chunks[0].path.bounding_box();
    assert!((through.width() - advance(&hack(), "Anna", 10.0)).abs() < CLOSE);
    // In a browser both lines of the second half are the second element's.
    let browser = set(body);
    let through = browser.chunks[0].path.bounding_box();
    assert!((through.width() - advance(&hack(), "An", 10.0)).abs() < CLOSE);
    let out =
        set(r#"<text id="t" y="20" text-decoration="underline"><tspan id="s">An</tspan></text>"#);
    assert_eq!(out.names, ["s", "t"]);
    assert!(
        out.chunks[1].lettering.letters.is_empty() && !out.chunks[1].path.elements().is_empty()
    );
    // Spaces are underlined too.
    let out = set(r#"<text xml:space="preserve" text-decoration="underline">  </text>"#);
    assert_eq!(out.chunks.len(), 1);
    assert!(
        (out.chunks[0].path.bounding_box().width() - advance(&hack(), "  ", 10.0)).abs() < CLOSE
    );
}

#[test]
fn text_that_runs_to_the_left_is_read_from_the_right() {
    // Hack has no Hebrew, so every letter is missing; the order is still the reader's.
    let out = set("<text>\u{5D0}\u{5D1}\u{5D2}</text>");
    let lettering = &out.chunks[0].lettering;
    assert_eq!(lettering.text, "\u{5D0}\u{5D1}\u{5D2}");
    assert_eq!(lettering.missing[0].characters, "\u{5D0}\u{5D1}\u{5D2}");
    assert!(
        lettering
            .letters
            .windows(2)
            .all(|w| w[0].foot.x > w[1].foot.x)
    );
}

#[test]
fn the_same_input_gives_the_same_output() {
    let body = "<text font-family=\"nowhere, serif\" text-decoration=\"underline\">Zoe\u{308} \u{256C}\u{4E2D}<tspan>fi</tspan></text>";
    let (a, b) = (set(body), set(body));
    assert_eq!(a.chunks, b.chunks);
}

#[test]
fn a_text_that_is_not_displayed_is_laid_out_whole() {
    // The caller may well hand `display: none` down to every part of it.
    let out =
        set(r#"<text style="display:none">ab<tspan style="display:none">cd</tspan>ef</text>"#);
    assert_eq!(out.texts(), ["ab", "cd", "ef"]);
    assert!(out.chunks.iter().all(|chunk| !chunk.dropped));
    let expected = advance(&hack(), "abcd", 10.0);
    assert!((out.letters()[4].foot.x - expected).abs() < CLOSE);
}
