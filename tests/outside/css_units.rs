//! Lengths against the table of absolute units in CSS Values and Units Level 4, section 6.2
//! (<https://www.w3.org/TR/css-values-4/#absolute-lengths>): 1 in = 2.54 cm = 25.4 mm = 101.6 Q =
//! 72 pt = 6 pc = 96 px. And against `svgtypes`, where that reads the same language.

use jigwarden::tested::artwork::length::{
    LengthContext, LengthError, RootLength, RootUnits, length, number, root_length,
};
use proptest::prelude::*;

/// How many of each unit make an inch, as the table has it.
const TABLE: [(&str, f64); 7] = [
    ("in", 1.0),
    ("cm", 2.54),
    ("mm", 25.4),
    ("Q", 101.6),
    ("pt", 72.0),
    ("pc", 6.0),
    ("px", 96.0),
];

fn close(actual: f64, expected: f64, input: &str) {
    let error = (actual - expected).abs();
    assert!(
        error <= expected.abs() * 1e-12,
        "{input}: {actual}, expected {expected}"
    );
}

#[test]
fn an_inch_is_an_inch_in_every_unit() {
    for (unit, count) in TABLE {
        for unit in [unit.to_owned(), unit.to_uppercase(), unit.to_lowercase()] {
            let text = format!("{count}{unit}");
            close(
                length(&text, &LengthContext::default()).unwrap(),
                96.0,
                &text,
            );
            // At the root too, whatever a length without a unit means there.
            match root_length(&text, sender(72.0, Some(96.0))) {
                RootLength::Mm(mm) => close(mm, 25.4, &text),
                other => panic!("{text}: {other:?}"),
            }
        }
    }
}

fn sender(per_inch: f64, px_per_inch: Option<f64>) -> RootUnits {
    RootUnits {
        per_inch,
        px_per_inch,
    }
}

#[test]
fn a_root_without_a_unit_follows_the_sender() {
    for (units, per_inch, mm) in [(96.0, 96.0, 25.4), (72.0, 72.0, 25.4), (90.0, 72.0, 31.75)] {
        let text = format!("{units}");
        match root_length(&text, sender(per_inch, None)) {
            RootLength::Mm(read) => close(read, mm, &text),
            other => panic!("{text}: {other:?}"),
        }
    }
}

#[test]
fn a_root_in_px_is_css_or_as_stated_and_open_where_nobody_has_said() {
    for (per_inch, px, mm) in [
        (96.0, None, 25.4),
        (72.0, Some(96.0), 25.4),
        (72.0, Some(72.0), 96.0 / 72.0 * 25.4),
        (96.0, Some(90.0), 96.0 / 90.0 * 25.4),
    ] {
        for text in ["96px", "96PX"] {
            match root_length(text, sender(per_inch, px)) {
                RootLength::Mm(read) => close(read, mm, text),
                other => panic!("{text} {per_inch} {px:?}: {other:?}"),
            }
        }
    }
    match root_length("96px", sender(72.0, None)) {
        RootLength::Px(read) => close(read, 25.4, "96px"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_root_without_a_size_of_its_own_says_so() {
    assert_eq!(
        root_length("100%", RootUnits::CSS),
        RootLength::Percent(100.0)
    );
    assert_eq!(
        root_length(" auto ", RootUnits::CSS),
        RootLength::Percent(100.0)
    );
    assert_eq!(root_length("0", RootUnits::CSS), RootLength::Mm(0.0));
    for text in [
        "600 mm",
        "10em",
        "3rem",
        "5ex",
        "50vw",
        "-3mm",
        "calc(1mm + 2mm)",
        "",
        "wide",
        "600m",
        "6e999mm",
        "1,5mm",
        "600mm;",
        "1.mm",
    ] {
        assert!(
            matches!(root_length(text, RootUnits::CSS), RootLength::Unread(_)),
            "{text}: {:?}",
            root_length(text, RootUnits::CSS)
        );
    }
}

#[test]
fn relative_units_need_what_they_refer_to() {
    let bare = LengthContext::default();
    let full = LengthContext {
        font_size: Some(20.0),
        root_font_size: Some(16.0),
        x_height: Some(9.0),
        zero_width: Some(11.0),
        whole: Some(400.0),
        ..bare
    };
    for (text, expected) in [
        ("2em", 40.0),
        ("2rem", 32.0),
        ("2ex", 18.0),
        ("2ch", 22.0),
        ("25%", 100.0),
        ("-25%", -100.0),
    ] {
        close(length(text, &full).unwrap(), expected, text);
        assert!(
            matches!(length(text, &bare), Err(LengthError::Unsettled(_))),
            "{text}"
        );
    }
    for text in ["1vw", "1vh", "1lh", "1cap", "1dvmin"] {
        assert!(
            matches!(length(text, &full), Err(LengthError::Unsettled(_))),
            "{text}"
        );
    }
}

#[test]
fn numbers_are_read_as_css_writes_them() {
    for (text, expected) in [
        ("1e2", 100.0),
        ("1E+2", 100.0),
        ("1e-2", 0.01),
        (".5", 0.5),
        ("+.5", 0.5),
        ("-0.5", -0.5),
        ("00012", 12.0),
        (" 12\n", 12.0),
        ("1e2px", 100.0),
        ("-1e1", -10.0),
    ] {
        assert_eq!(
            length(text, &LengthContext::default()),
            Ok(expected),
            "{text}"
        );
    }
    // An e that no digit follows begins a unit.
    let em = LengthContext {
        font_size: Some(10.0),
        ..LengthContext::default()
    };
    assert_eq!(length("1em", &em), Ok(10.0));
    assert_eq!(length("1e1em", &em), Ok(100.0));
    assert_eq!(number("3.5"), Some(3.5));
    assert_eq!(number("3.5px"), None);
}

#[test]
fn what_is_no_length_says_why() {
    let read = |text: &str| length(text, &LengthContext::default()).unwrap_err();
    assert_eq!(read(""), LengthError::Empty);
    assert_eq!(read("  "), LengthError::Empty);
    assert!(matches!(read("12 px"), LengthError::Spaced(_)));
    assert!(matches!(read("12 13"), LengthError::UnknownUnit(_)));
    assert!(matches!(read("12furlongs"), LengthError::UnknownUnit(_)));
    assert!(matches!(read("12\u{a0}px"), LengthError::UnknownUnit(_)));
    assert!(matches!(read("px"), LengthError::NotANumber(_)));
    assert!(matches!(read("1."), LengthError::UnknownUnit(_)));
    assert!(matches!(read("--1"), LengthError::NotANumber(_)));
    assert!(matches!(read("NaN"), LengthError::NotANumber(_)));
    assert!(matches!(read("inf"), LengthError::NotANumber(_)));
    assert!(matches!(
        read("calc(1px + 2px)"),
        LengthError::Calculation(_)
    ));
    assert!(matches!(read("1e400"), LengthError::OutOfRange(_)));
    assert!(matches!(read("1e308in"), LengthError::OutOfRange(_)));
    // A message is short, whatever the file holds.
    assert!(read(&"x".repeat(100_000)).to_string().len() < 200);
}

proptest! {
    #[test]
    fn svgtypes_agrees_where_it_reads_the_same(value in -1e6_f64..1e6, unit in prop::sample::select(vec!["", "px", "in", "cm", "mm", "pt", "pc"])) {
        let text = format!("{value}{unit}");
        let oracle: svgtypes::Length = text.parse().unwrap();
        let per_unit = match oracle.unit {
            svgtypes::LengthUnit::None | svgtypes::LengthUnit::Px => 1.0,
            svgtypes::LengthUnit::In => 96.0,
            svgtypes::LengthUnit::Cm => 96.0 / 2.54,
            svgtypes::LengthUnit::Mm => 96.0 / 25.4,
            svgtypes::LengthUnit::Pt => 96.0 / 72.0,
            svgtypes::LengthUnit::Pc => 16.0,
            other => panic!("{other:?}"),
        };
        let read = length(&text, &LengthContext::default()).unwrap();
        prop_assert!((read - oracle.number * per_unit).abs() <= read.abs() * 1e-12 + 1e-12);
    }

    #[test]
    fn nothing_makes_it_panic(text in "\\PC*") {
        let _ = length(&text, &LengthContext::default());
        let _ = root_length(&text, RootUnits::CSS);
    }
}

/// Where `svgtypes` is not to be followed, and is not.
#[test]
fn svgtypes_is_not_followed_where_it_is_wrong() {
    // It takes no capital units, and no Q.
    assert!("600MM".parse::<svgtypes::Length>().is_err());
    assert!(
        matches!(root_length("600MM", RootUnits::CSS), RootLength::Mm(mm) if (mm - 600.0).abs() < 1e-9)
    );
    assert!("40Q".parse::<svgtypes::Length>().is_err());
}
