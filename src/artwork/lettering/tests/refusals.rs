//! What is missing, too much, or laid out differently by different readers.

use kurbo::Affine;

use super::*;

#[test]
fn missing_faces_and_characters_are_named_and_still_drawn() {
    let out = set(r#"<text font-family="Brackenhand" font-weight="bold">Anna</text>"#);
    let missing = &out.chunks[0].lettering.missing;
    assert_eq!(missing.len(), 1);
    assert_eq!(
        (missing[0].family.as_str(), missing[0].style.as_str()),
        ("Brackenhand", "bold")
    );
    assert_eq!(missing[0].instead.as_deref(), Some("Ubuntu light"));
    assert_eq!(out.letters().len(), 4);

    let out = set(r#"<text font-weight="bold">Anna</text>"#);
    let missing = &out.chunks[0].lettering.missing;
    assert_eq!(
        (missing[0].family.as_str(), missing[0].style.as_str()),
        ("Hack", "bold")
    );

    // Hack has the first and not the second; neither has the third.
    let out = set("<text>a\u{256C}\u{B5}\u{FB02}\u{4E2D}b</text>");
    let missing = &out.chunks[0].lettering.missing;
    assert!(
        missing
            .iter()
            .all(|m| m.family == "Hack" && m.style.is_empty()),
        "{missing:?}"
    );
    let lacking: String = missing.iter().map(|m| m.characters.as_str()).collect();
    assert!(
        lacking.contains('\u{4E2D}') && !lacking.contains('a'),
        "{missing:?}"
    );
    let nowhere = missing
        .iter()
        .find(|m| m.characters.contains('\u{4E2D}'))
        .unwrap();
    assert_eq!(nowhere.instead, None);

    // One character that another face has: it alone is reported.
    let out = set("<text font-family=\"Ubuntu Light\">ab\u{256C}c</text>");
    let missing = &out.chunks[0].lettering.missing;
    assert_eq!(missing.len(), 1, "{missing:?}");
    assert_eq!(missing[0].characters, "\u{256C}");
    assert_eq!(missing[0].instead.as_deref(), Some("Hack"));
    assert_eq!(out.texts(), ["ab\u{256C}c"]);
}

#[test]
fn nesting_is_capped() {
    let nested = |depth: usize| {
        format!(
            "<text>{}Anna{}</text>",
            "<tspan>".repeat(depth),
            "</tspan>".repeat(depth)
        )
    };
    assert_eq!(set(&nested(50)).texts(), ["Anna"]);
    assert_eq!(set(&nested(DEEPEST)).texts(), ["Anna"]);
    assert!(refused(&nested(DEEPEST + 1)).contains("nested"));
}

#[test]
fn size_is_capped() {
    assert!(
        refused(&format!("<text>{}</text>", "a".repeat(MOST_CHARACTERS + 1))).contains("50000")
    );
    refused(&format!("<text>{}</text>", "a".repeat(MOST_ON_A_LINE + 1)));
    refused(&format!(
        "<text>{}</text>",
        "<tspan>a</tspan>b".repeat(2000)
    ));
    let out = set(&format!(
        "<text>{}</text>",
        "<tspan>ab</tspan>c".repeat(100)
    ));
    assert_eq!(out.letters().len(), 300);
    refused("<text x=\"2e7\">a</text>");
    refused("<text x=\"1e99\">a</text>");
    refused("<text font-size=\"1e9\">a</text>");
    assert!(try_set("<text>a</text>", Affine::scale(1e9)).is_err());
    assert!(try_set("<text>a</text>", Affine::scale(f64::NAN)).is_err());
}

#[test]
fn what_readers_dispute_is_refused() {
    let path = r#"<path id="p" d="M0 0H200"/>"#;
    for body in [
        r#"<text style="inline-size:50px">a</text>"#,
        r#"<text style="shape-inside:url(#p)">a</text>"#,
        r#"<text>a<tspan direction="rtl">b</tspan></text>"#,
        r#"<text direction="rtl" writing-mode="tb">a</text>"#,
        r#"<text text-decoration="underline" writing-mode="tb">a</text>"#,
        r#"<text style="text-transform:uppercase">a</text>"#,
        r#"<text style="font-feature-settings:'ss01'">a</text>"#,
        r#"<text font-variant="small-caps">a</text>"#,
        r#"<text font-family="Brought Along, Hack">a</text>"#,
        r##"<text><tref xlink:href="#p"/></text>"##,
        "<text><altGlyph>a</altGlyph></text>",
        "<text>a<odd:note>b</odd:note></text>",
        r#"<text><tspan systemLanguage="en">a</tspan></text>"#,
        r#"<text x="1 2 three">abc</text>"#,
        r#"<text x="5ex">abc</text>"#,
        r##"<text><textPath href="#q">a</textPath></text>"##,
        r##"<text><textPath href="#p" side="right">a</textPath></text>"##,
        r##"<text><textPath href="#p" method="stretch">a</textPath></text>"##,
        r##"<text><textPath href="#p" path="M0 0H9">a</textPath></text>"##,
        r##"<text><tspan><textPath href="#p">a</textPath></tspan></text>"##,
        r##"<text x="7"><textPath href="#p">a</textPath></text>"##,
        r##"<text><textPath href="#p">a<tspan x="9">b</tspan></textPath></text>"##,
        r##"<text><textPath href="#p">a</textPath>b</text>"##,
        r##"<text><textPath href="#p">ab<tspan dx="-9">c</tspan></textPath></text>"##,
        r#"<text font-family="Ubuntu Light">f<tspan>i</tspan></text>"#,
        r#"<text font-family="Ubuntu Light" dx="0 1">fin</text>"#,
        r#"<text writing-mode="sideways-rl">a</text>"#,
        "<text>&#x202E;Anna</text>",
        "<text>An<tspan>&#x202D;n</tspan>a</text>",
    ] {
        refused(&format!("{path}{body}"));
    }
    // Values that change nothing are no reason to stop.
    let out = set(
        r##"<path id="p" d="M0 0H200"/><text style="inline-size:0;shape-inside:none;direction:ltr;font-variant:normal;font-feature-settings:normal;text-orientation:mixed;text-decoration:none;letter-spacing:normal;text-decoration-line:none;text-decoration-style:solid;text-decoration-color:#000000"><odd:note/><textPath href="#p">a</textPath>
        </text>"##,
    );
    assert_eq!(out.texts(), ["a"]);
}

#[test]
fn letters_past_the_end_of_a_curve_are_missed() {
    let what =
        refused(r##"<path id="p" d="M0 0H20"/><text><textPath href="#p">oval</textPath></text>"##);
    assert!(what.contains("by 1 of"), "{what}");
    refused(r##"<path id="p" d="M0 0H2"/><text><textPath href="#p">oval</textPath></text>"##);
}
