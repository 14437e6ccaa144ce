//! Colours against CSS Color Level 4 (<https://www.w3.org/TR/css-color-4/>; its rules and examples
//! from memory) and SVG 2's `<paint>`, and against `svgtypes` where that is right.

use jigwarden::tested::artwork::colour::{ColourRead, colour, local_url, paint};
use jigwarden::tested::artwork::mark::Colour;
use proptest::prelude::*;

fn hex(text: &str) -> String {
    colour(text).map_or_else(
        || "unread".to_owned(),
        |(colour, alpha)| {
            if alpha == 1.0 {
                colour.to_string()
            } else {
                format!("{colour}@{alpha}")
            }
        },
    )
}

#[test]
fn every_syntax_is_read() {
    for (text, expected) in [
        ("#f80", "#ff8800"),
        ("#F80", "#ff8800"),
        ("#ff8800", "#ff8800"),
        ("#f808", "#ff8800@0.5333333333333333"),
        ("#ff880080", "#ff8800@0.5019607843137255"),
        ("#ff8800ff", "#ff8800"),
        ("rgb(255, 136, 0)", "#ff8800"),
        ("rgb(255,136,0)", "#ff8800"),
        ("RGB(255 136 0)", "#ff8800"),
        ("rgb( 255  136  0 / 50% )", "#ff8800@0.5"),
        ("rgb(255 136 0/0.25)", "#ff8800@0.25"),
        ("rgba(255, 136, 0, 0.5)", "#ff8800@0.5"),
        ("rgba(255, 136, 0, 50%)", "#ff8800@0.5"),
        ("rgb(255, 136, 0, 1)", "#ff8800"),
        ("rgb(100%, 50%, 0%)", "#ff8000"),
        ("rgb(100% 136 0)", "#ff8800"),
        ("rgb(none 136 0)", "#008800"),
        // Beyond the range is clamped, fractions are rounded, halves up.
        ("rgb(300, -20, 127.5)", "#ff0080"),
        ("rgb(1e2 0 0)", "#640000"),
        ("rgb(0 0 0 / 7)", "#000000"),
        ("rgb(0 0 0 / -1)", "#000000@0"),
        ("hsl(120, 100%, 25%)", "#008000"),
        ("hsl(120deg 100% 25%)", "#008000"),
        ("hsl(120 100 25)", "#008000"),
        ("hsl(480, 100%, 25%)", "#008000"),
        ("hsl(-240, 100%, 25%)", "#008000"),
        ("hsl(0.33333333turn 100% 25%)", "#008000"),
        ("hsl(133.33333333grad 100% 25%)", "#008000"),
        ("hsl(2.0943951rad 100% 25%)", "#008000"),
        ("hsla(120, 100%, 25%, 0.5)", "#008000@0.5"),
        ("hsl(0 0% 120%)", "#ffffff"),
        ("hwb(120 0% 50%)", "#008000"),
        ("hwb(0 100% 100%)", "#808080"),
        ("hwb(0 20% 20% / 50%)", "#cc3333@0.5"),
        ("color(srgb 1 0.5 0)", "#ff8000"),
        ("color(srgb 100% 50% 0% / 0.5)", "#ff8000@0.5"),
        ("color(srgb-linear 1 0.2158605 0)", "#ff8000"),
        ("rebeccapurple", "#663399"),
        ("RebeccaPurple", "#663399"),
        ("transparent", "#000000@0"),
        ("DarkSlateGrey", "#2f4f4f"),
        ("  red\n", "#ff0000"),
    ] {
        assert_eq!(hex(text), expected, "{text}");
    }
}

#[test]
fn what_is_not_read_is_never_a_colour() {
    for text in [
        "",
        "#",
        "#f",
        "#ff",
        "#fffff",
        "#fffffff",
        "#ggg",
        "#é80",
        "rgb()",
        "rgb(1,2)",
        "rgb(1 2 3 4)",
        "rgb(1,2,3,4,5)",
        "rgb(1, 2 3)",
        "rgb(1,2,3 / 4)",
        "rgb(100%, 50, 0)",
        "rgb(none, 1, 2)",
        "rgb(1 2 3",
        "rgb 1 2 3",
        "rgb(1 2 3) x",
        "rgb(1px 2 3)",
        "rgb(1deg 2 3)",
        "rgb(1 2 3 / 1deg)",
        "hsl(120, 100, 25)",
        "hsl(120%, 1%, 1%)",
        "hwb(0, 0%, 0%)",
        "hsl(red 1% 1%)",
        "color(srgb 1.2 0 0)",
        "color(srgb -0.1 0 0)",
        "color(display-p3 1 0 0)",
        "color(srgb 1 0)",
        "lab(50% 20 30)",
        "lch(50% 20 30)",
        "oklab(0.5 0.1 0.1)",
        "oklch(0.5 0.1 30)",
        "color-mix(in srgb, red, blue)",
        "device-cmyk(0 1 1 0)",
        "CanvasText",
        "ButtonFace",
        "windowtext",
        "currentColor",
        "none",
        "inherit",
        "initial",
        "unset",
        "var(--x)",
        "reds",
        "light blue",
        "red;",
        "rgb(1e999 0 0)",
        "rgb(var(--r) 0 0)",
        "rgb(calc(1) 2 3)",
        "url(#a)",
        "#ff8800 !important",
    ] {
        assert_eq!(hex(text), "unread", "{text}");
    }
}

#[test]
fn paints_are_read() {
    let plain = |r, g, b| ColourRead::Colour {
        colour: Colour { r, g, b },
        alpha: 1.0,
    };
    let server = |id: &str, fallback: Option<ColourRead>| ColourRead::Server {
        id: id.to_owned(),
        fallback: fallback.map(Box::new),
    };
    for (text, expected) in [
        ("none", ColourRead::None),
        (" none ", ColourRead::None),
        ("currentColor", ColourRead::Current),
        ("CURRENTCOLOR", ColourRead::Current),
        ("context-fill", ColourRead::ContextFill),
        ("context-stroke", ColourRead::ContextStroke),
        ("#f00", plain(255, 0, 0)),
        (
            "#CD853F icc-color(acmecmyk, 0.11, 0.48, 0.83, 0.00)",
            plain(205, 133, 63),
        ),
        ("url(#a)", server("a", None)),
        ("URL( #a )", server("a", None)),
        ("url('#a') none", server("a", Some(ColourRead::None))),
        ("url(\"#a\")#f00", server("a", Some(plain(255, 0, 0)))),
        (
            "url(#a) currentColor",
            server("a", Some(ColourRead::Current)),
        ),
        (
            "url(#a) nonsense",
            server("a", Some(ColourRead::Unread("nonsense".into()))),
        ),
    ] {
        assert_eq!(paint(text), expected, "{text}");
    }
    for text in [
        "",
        "NONE",
        "None",
        "inherit",
        "initial",
        "unset",
        "child",
        "url(other.svg#a)",
        "url(#)",
        "url()",
        "url(#a",
        "url('#a)",
        "url(#a b)",
        "icc-color(x, 1)",
        "#f00icc-color(x, 1)",
        "#f00 icc-color(x, 1) x",
        "rgb(1 2 3 / 4 5)",
        "color(display-p3 1 0 0)",
        "context-value",
        "var(--x)",
    ] {
        assert_eq!(paint(text), ColourRead::Unread(text.to_owned()), "{text}");
    }
    assert_eq!(local_url(" url( '#a' ) rest"), Some(("a", " rest")));
    assert_eq!(local_url("none"), None);
}

/// The names of CSS Color 4, section 6.1: 148 with both spellings of grey.
#[test]
fn all_the_names_are_known() {
    let names = "aliceblue antiquewhite aqua aquamarine azure beige bisque black blanchedalmond blue blueviolet brown \
        burlywood cadetblue chartreuse chocolate coral cornflowerblue cornsilk crimson cyan darkblue darkcyan \
        darkgoldenrod darkgray darkgreen darkgrey darkkhaki darkmagenta darkolivegreen darkorange darkorchid darkred \
        darksalmon darkseagreen darkslateblue darkslategray darkslategrey darkturquoise darkviolet deeppink deepskyblue \
        dimgray dimgrey dodgerblue firebrick floralwhite forestgreen fuchsia gainsboro ghostwhite gold goldenrod gray \
        green greenyellow grey honeydew hotpink indianred indigo ivory khaki lavender lavenderblush lawngreen \
        lemonchiffon lightblue lightcoral lightcyan lightgoldenrodyellow lightgray lightgreen lightgrey lightpink \
        lightsalmon lightseagreen lightskyblue lightslategray lightslategrey lightsteelblue lightyellow lime limegreen \
        linen magenta maroon mediumaquamarine mediumblue mediumorchid mediumpurple mediumseagreen mediumslateblue \
        mediumspringgreen mediumturquoise mediumvioletred midnightblue mintcream mistyrose moccasin navajowhite navy \
        oldlace olive olivedrab orange orangered orchid palegoldenrod palegreen paleturquoise palevioletred papayawhip \
        peachpuff peru pink plum powderblue purple rebeccapurple red rosybrown royalblue saddlebrown salmon sandybrown \
        seagreen seashell sienna silver skyblue slateblue slategray slategrey snow springgreen steelblue tan teal \
        thistle tomato turquoise violet wheat white whitesmoke yellow yellowgreen";
    let names: Vec<_> = names.split_whitespace().collect();
    assert_eq!(names.len(), 148);
    for name in names {
        assert!(colour(name).is_some(), "{name}");
        assert_eq!(colour(name), colour(&name.to_uppercase()), "{name}");
    }
    // The sixteen of HTML, from memory.
    for (name, expected) in [
        ("black", "#000000"),
        ("silver", "#c0c0c0"),
        ("gray", "#808080"),
        ("white", "#ffffff"),
        ("maroon", "#800000"),
        ("red", "#ff0000"),
        ("purple", "#800080"),
        ("fuchsia", "#ff00ff"),
        ("green", "#008000"),
        ("lime", "#00ff00"),
        ("olive", "#808000"),
        ("yellow", "#ffff00"),
        ("navy", "#000080"),
        ("blue", "#0000ff"),
        ("teal", "#008080"),
        ("aqua", "#00ffff"),
    ] {
        assert_eq!(hex(name), expected);
    }
}

proptest! {
    #[test]
    fn svgtypes_agrees_on_hex_and_rgb(r: u8, g: u8, b: u8, a: u8) {
        for text in [format!("#{r:02x}{g:02X}{b:02x}"), format!("rgb({r}, {g},{b})"), format!("rgb({r} {g} {b})"), format!("#{r:02x}{g:02x}{b:02x}{a:02x}")] {
            let oracle: svgtypes::Color = text.parse().unwrap();
            let (read, alpha) = colour(&text).unwrap();
            prop_assert_eq!((read.r, read.g, read.b), (oracle.red, oracle.green, oracle.blue), "{}", text);
            prop_assert_eq!((alpha * 255.0).round() as u8, oracle.alpha, "{}", text);
        }
    }

    /// Within one step: `svgtypes` works in single precision.
    #[test]
    fn svgtypes_agrees_on_hsl_and_hwb(h in -720_i32..720, s in 0_u8..=100, l in 0_u8..=100) {
        for text in [format!("hsl({h}, {s}%, {l}%)"), format!("hwb({h} {s}% {l}%)")] {
            let oracle: svgtypes::Color = text.parse().unwrap();
            let (read, _) = colour(&text).unwrap();
            for (read, oracle) in [(read.r, oracle.red), (read.g, oracle.green), (read.b, oracle.blue)] {
                prop_assert!(read.abs_diff(oracle) <= 1, "{}: {} {}", text, read, oracle);
            }
        }
    }

    #[test]
    fn a_colour_reads_as_it_is_shown(r: u8, g: u8, b: u8) {
        let shown = Colour { r, g, b };
        prop_assert_eq!(colour(&shown.to_string()), Some((shown, 1.0)));
    }

    #[test]
    fn nothing_makes_it_panic(text in "(rgb|hsl|hwb|color|url|#|icc-color)?[(]?\\PC*[)]?") {
        let _ = paint(&text);
    }
}

/// Where `svgtypes` is not to be followed, and is not.
#[test]
fn svgtypes_is_not_followed_where_it_is_wrong() {
    assert!("rgb(1 2 3 / 50%)".parse::<svgtypes::Color>().is_err());
    assert_eq!(hex("rgb(1 2 3 / 50%)"), "#010203@0.5");
    assert!("rebeccapurple".parse::<svgtypes::Color>().is_err());
    // It takes `icc-color()` after a colour for an error.
    assert!("#f00 icc-color(a)".parse::<svgtypes::Color>().is_err());
    // A comma and a space where the one excludes the other.
    assert!("rgb(1, 2 3)".parse::<svgtypes::Color>().is_ok());
    assert_eq!(hex("rgb(1, 2 3)"), "unread");
}
