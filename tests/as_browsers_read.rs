//! What a browser inks is measured where the browser has it, or it is named: the cases that once passed
//! unseen or were held for nothing. `tests/ci/features` holds thousands of their kind against a browser.

use super::common::bench::{Bench, name, others, page, read};
use kurbo::Rect;

/// Ink of the marks that show, as one box.
fn ink(art: &str) -> Option<Rect> {
    let read = read(art);
    assert!(read.unproven.is_empty(), "{art}: {:?}", read.unproven);
    read.marks
        .iter()
        .filter(|m| m.hidden.is_none() && m.paint != jigwarden::tested::artwork::mark::Paint::None)
        .filter_map(|m| m.ink().bounds())
        .reduce(|a, b| a.union(b))
}

fn named(art: &str) -> bool {
    !read(art).unproven.is_empty()
}

#[track_caller]
fn inked(art: &str, x0: f64, y0: f64, x1: f64, y1: f64) {
    let found = ink(art);
    let expected = Rect::new(x0, y0, x1, y1);
    let off = found.map_or(f64::INFINITY, |f| {
        [f.x0 - x0, f.y0 - y0, f.x1 - x1, f.y1 - y1]
            .iter()
            .fold(0.0, |most: f64, d| most.max(d.abs()))
    });
    assert!(off < 0.01, "{art}: ink {found:?}, expected {expected:?}");
}

/// SVG 2, 9.3.3 and 13.5.4.
#[test]
fn a_subpath_without_length_is_a_dot_under_a_round_or_square_cap() {
    for d in [
        "M20 30z",
        "M20 30Z",
        "m20 30l0 0",
        "M20 30a1 1 0 0 0 0 0",
        "M20 30a1 1 0 0 0 0 0z",
        "M20 30h0v0",
        "M20 30c0 0 0 0 0 0",
    ] {
        for cap in ["round", "square"] {
            let art = format!(
                "<path d='{d}' fill='none' stroke='#1b1b1b' stroke-width='4' stroke-linecap='{cap}'/>"
            );
            inked(&art, 18.0, 28.0, 22.0, 32.0);
        }
    }
    // Inside a longer path.
    let long = "<path d='M20 30h4v4zm40 0z' fill='none' stroke='#1b1b1b' stroke-width='2' stroke-linecap='round' stroke-linejoin='bevel'/>";
    let found = ink(long).unwrap();
    assert!((found.x1 - 61.0).abs() < 0.01, "{found:?}");
    // A butt cap draws nothing, and an optimiser's leftovers are no finding.
    let butt = "<path d='M20 30z' fill='none' stroke='#1b1b1b' stroke-width='4'/>";
    assert_eq!(ink(butt), None);
}

#[test]
fn a_dot_is_judged_in_every_paint() {
    let bench = Bench::new();
    let dot = |x: f64, paint: &str, d: &str| {
        format!(
            "<path d='M{x} 100{d}' fill='none' stroke='{paint}' stroke-width='3' stroke-linecap='round'/>{}",
            others(&[])
        )
    };
    for d in ["z", "a1 1 0 0 0 0 0", "l0 0"] {
        // On the line between two blanks.
        let astray = bench.rules(&dot(70.0, "#1b1b1b", d));
        assert!(astray.contains(&"off-blank".to_owned()), "{d}: {astray:?}");
        let cut = bench.rules(&dot(40.0, "#7b2d8b", d));
        assert!(cut.contains(&"stray-cut A1".to_owned()), "{d}: {cut:?}");
        let unlisted = bench.rules(&dot(40.0, "#abcdef", d));
        assert!(
            unlisted.contains(&"paint-unknown A1".to_owned()),
            "{d}: {unlisted:?}"
        );
        assert_eq!(bench.rules(&dot(40.0, "#9aa0a6", d)), [""; 0], "{d}");
    }
}

/// Keywords are read in any case; a value that the property does not have leaves the one below it (CSS
/// Cascade 4, section 4; CSS Values 4, section 2.4).
#[test]
fn keywords_are_read_in_any_case_and_other_values_left_out() {
    let line = |more: &str| {
        format!("<path d='M20 30h10' fill='none' stroke='#1b1b1b' stroke-width='4' {more}/>")
    };
    for cap in ["SQUARE", "Square", "square"] {
        inked(
            &line(&format!("stroke-linecap='{cap}'")),
            18.0,
            28.0,
            32.0,
            32.0,
        );
        inked(
            &line(&format!("style='stroke-linecap:{cap}'")),
            18.0,
            28.0,
            32.0,
            32.0,
        );
    }
    inked(&line("stroke-linecap='rounded'"), 20.0, 28.0, 30.0, 32.0);
    // The inherited value, and the attribute under a style, stay.
    let inherits = format!(
        "<g stroke-linecap='square'>{}</g>",
        line("stroke-linecap='foo'")
    );
    inked(&inherits, 18.0, 28.0, 32.0, 32.0);
    inked(
        &line("stroke-linecap='square' style='stroke-linecap:foo'"),
        18.0,
        28.0,
        32.0,
        32.0,
    );
    let sheet = format!(
        "<style>path{{stroke-linecap:SQUARE;stroke-linecap:foo}}</style>{}",
        line("")
    );
    inked(&sheet, 18.0, 28.0, 32.0, 32.0);
    let back = format!(
        "<g stroke-linecap='square'>{}</g>",
        line("stroke-linecap='INITIAL'")
    );
    inked(&back, 20.0, 28.0, 30.0, 32.0);

    let plate =
        |more: &str| format!("<rect x='20' y='30' width='4' height='4' fill='#1b1b1b' {more}/>");
    for hidden in [
        "display='NONE'",
        "visibility='Hidden'",
        "style='visibility:COLLAPSE'",
    ] {
        assert_eq!(ink(&plate(hidden)), None, "{hidden}");
    }
    inked(&plate("display='gone'"), 20.0, 30.0, 24.0, 34.0);
    inked(
        &format!(
            "<g visibility='hidden'>{}</g>",
            plate("visibility='VISIBLE'")
        ),
        20.0,
        30.0,
        24.0,
        34.0,
    );
    let ring = "<path d='M20 30h9v9h-9zM22 32h5v5h-5z' fill='#1b1b1b' fill-rule='EvenOdd'/>";
    let area: f64 = read(ring).marks.iter().map(|m| m.ink().area()).sum();
    assert!((area - 56.0).abs() < 0.1, "{area}");
}

#[test]
fn an_anchor_is_read_in_any_case() {
    let at = |anchor: &str| {
        ink(&name("Bo", 60.0, 100.0, "").replace("'middle'", &format!("'{anchor}'"))).unwrap()
    };
    assert_eq!(at("Middle"), at("middle"));
    assert_eq!(at("END"), at("end"));
    assert_eq!(at("centre"), at("start"));
    let around = |anchor: &str| {
        let text = name("Bo", 60.0, 100.0, "")
            .replace("text-anchor='middle'", &format!("text-anchor='{anchor}'"));
        ink(&format!("<g text-anchor='End'>{text}</g>")).unwrap()
    };
    assert_eq!(around("centre"), at("end"), "the inherited one stays");
}

/// A number that only some readers read is never half read.
#[test]
fn a_number_that_readers_read_differently_is_named() {
    let plate = "<rect x='2' y='3' width='4' height='4' fill='#1b1b1b'/>";
    for view_box in [
        "0 0 20 20 5",
        "0 0 20. 20",
        "0 0 20 20,",
        "0 0 20 20 foo",
        "0 0 400. 20",
        "0,,0 20 20",
    ] {
        for art in [
            format!("<svg width='40' height='40' viewBox='{view_box}'>{plate}</svg>"),
            format!(
                "<symbol id='s' viewBox='{view_box}'>{plate}</symbol><use href='#s' width='40' height='40'/>"
            ),
        ] {
            assert!(named(&art), "{art}");
        }
        let file = page(plate).replace("0 0 200 150", view_box);
        let run = Bench::new().file(&file);
        assert!(
            run.findings.iter().any(|f| f.rule == "not-proven"),
            "{view_box}"
        );
    }
    for art in [
        "<path d='M20 30h10.v9z' fill='#1b1b1b'/>",
        "<path d='M20. 30h10v9z' fill='#1b1b1b'/>",
        "<polygon points='20,30 29. 30 29 39' fill='#1b1b1b'/>",
        "<rect x='20' y='30' width='4' height='4' fill='#1b1b1b' transform='translate(4. 4)'/>",
        "<rect x='20' y='30' width='4' height='4' fill='#1b1b1b' transform='translate(4,)'/>",
        "<rect x='20' y='30' width='4' height='4' fill='#1b1b1b' style='transform:rotate(20)'/>",
        "<rect x='20' y='30' width='4' height='4' fill='#1b1b1b' opacity='0.'/>",
        "<rect x='20' y='30' width='9' height='9' rx='2' ry='auto' fill='#1b1b1b'/>",
        "<path d='M20 30h9' fill='none' stroke='#1b1b1b' stroke-dasharray='4,,2'/>",
        "<svg width='9' height='9' viewBox='0 0 4 9' preserveAspectRatio='xMidYMid meet slice'><path d='M0 0h4v4z'/></svg>",
    ] {
        assert!(named(art), "{art}");
    }
    // What everybody reads is nothing to name.
    inked(
        "<svg width='40' height='40' viewBox=' 0,0 , 2e1 20 '><rect width='4' height='4'/></svg>",
        0.0,
        0.0,
        8.0,
        8.0,
    );
    inked(
        "<path d='M20,30h.5e1v+5z' fill='#1b1b1b'/>",
        20.0,
        30.0,
        25.0,
        35.0,
    );
}

#[test]
fn a_clip_in_the_box_of_what_it_clips_is_moved_in_the_drawings_units() {
    let art = |units: &str, inner: &str, more: &str| {
        format!(
            "<clipPath id='c' clipPathUnits='{units}' {more}>{inner}</clipPath><rect x='20' y='30' width='20' height='10' fill='#1b1b1b' clip-path='url(#c)'/>"
        )
    };
    let half = "<rect width='.5' height='1'/>";
    inked(
        &art("objectBoundingBox", half, "transform='translate(4 2)'"),
        24.0,
        32.0,
        34.0,
        40.0,
    );
    inked(&art("objectBoundingBox", half, ""), 20.0, 30.0, 30.0, 40.0);
    // Its own clip is not moved with it.
    let own = "<clipPath id='o'><rect width='28' height='60'/></clipPath>".to_owned()
        + &art(
            "userSpaceOnUse",
            "<rect x='10' y='30' width='30' height='60'/>",
            "transform='translate(12 0)' clip-path='url(#o)'",
        );
    inked(&own, 22.0, 30.0, 28.0, 40.0);
    for doubtful in [
        art("userSpaceOnUse", "<rect width='30' height='60'/>", "transform='scale(.5)' transform-origin='40 40'"),
        art("userSpaceOnUse", "<rect width='30' height='60' transform='scale(.5)' style='transform-origin:9px 9px'/>", ""),
        art("objectBoundingBox", "<rect width='50%' height='1'/>", ""),
        "<clipPath id='c'><rect width='30' height='60'/></clipPath><defs><path id='p' d='M20 30h9v9z'/></defs><use href='#p' x='4' clip-path='url(#c)' fill='#1b1b1b'/>".to_owned(),
    ] {
        assert!(named(&doubtful), "{doubtful}");
    }
}

#[test]
fn a_page_that_is_not_displayed_is_named() {
    let bench = Bench::new();
    let file = page(&(super::common::bench::off_outlines() + &others(&[])));
    for hidden in ["display='none'", "style='display:None'"] {
        let run = bench.file(&file.replacen("<svg ", &format!("<svg {hidden} "), 1));
        assert!(
            run.findings
                .iter()
                .any(|f| f.rule == "not-proven" && f.message.starts_with("The page ")),
            "{:?}",
            run.findings
        );
    }
}

fn embedded(root: &str, inner: &str) -> String {
    use base64::Engine as _;
    let svg = format!("<svg xmlns='http://www.w3.org/2000/svg' {root}>{inner}</svg>");
    let data = base64::engine::general_purpose::STANDARD.encode(svg);
    format!("data:image/svg+xml;base64,{data}")
}

#[test]
fn a_drawing_placed_as_a_picture_without_a_size_is_named_where_it_may_be_fitted_twice() {
    let plate = "<rect width='10' height='5' fill='#1b1b1b'/>";
    let image = |root: &str, more: &str| {
        format!(
            "<image x='30' y='90' width='20' height='20' href='{}' {more}/>",
            embedded(root, plate)
        )
    };
    assert!(named(&image(
        "viewBox='0 0 10 5' preserveAspectRatio='none'",
        ""
    )));
    assert!(named(&image(
        "viewBox='0 0 10 5'",
        "preserveAspectRatio='none'"
    )));
    assert!(named(&image("", "")));
    assert!(!named(&image("viewBox='0 0 10 5'", "")));
    assert!(!named(&image(
        "viewBox='0 0 10 5' width='10' height='5'",
        "preserveAspectRatio='none'"
    )));
}

#[test]
fn what_only_some_readers_see_in_a_file_is_named() {
    let bench = Bench::new();
    let shape = "<path d='M30 95h20v10h-20z' fill='#1b1b1b'/>";
    let dtd = |list: &str| {
        format!(
            "<!DOCTYPE svg [{list}]>{}",
            page(
                &(super::common::bench::off_outlines()
                    + &format!("<g>{shape}</g>")
                    + &others(&[1]))
            )
        )
    };
    let held = |file: &str| {
        bench
            .file(file)
            .findings
            .iter()
            .any(|f| f.rule == "not-proven")
    };
    assert!(held(&dtd(
        "<!ATTLIST g style CDATA #FIXED \"stroke:#7b2d8b\">"
    )));
    assert!(held(&dtd(
        "<!ATTLIST path stroke CDATA '#7b2d8b' id ID #IMPLIED>"
    )));
    // Namespaces, elements that are not there, and attributes that all have say nothing.
    assert!(!held(&dtd(
        "<!ATTLIST svg xmlns:xlink CDATA #FIXED 'http://www.w3.org/1999/xlink'><!ATTLIST circle fill CDATA 'red'><!ATTLIST path fill CDATA 'red' id ID #IMPLIED>"
    )));
    let clear = |art: &str| bench.rules(&format!("{art}{}", others(&[1])));
    for art in [
        "<g xmlns=''><path d='M30 95h20v10h-20z' fill='#1b1b1b'/></g>",
        "<path xmlns='' d='M30 95h20v10h-20z' fill='#1b1b1b'/>",
        "<style xmlns=''>path{display:none}</style><path d='M30 95h20v10h-20z' fill='#1b1b1b'/>",
        "<symbol id='s' refX='5'><path d='M30 95h20v10h-20z' fill='#1b1b1b'/></symbol><use href='#s'/>",
        "<style>#q{stroke:#7b2d8b}</style><path xml:id='q' d='M30 95h20v10h-20z' fill='#1b1b1b'/>",
    ] {
        assert!(
            clear(art).iter().any(|r| r.starts_with("not-proven")),
            "{art}"
        );
    }
    for art in [
        "<metadata><x xmlns=''><path d='M0 0h9'/></x></metadata><path d='M30 95h20v10h-20z' fill='#1b1b1b'/>",
        "<symbol id='s' viewBox='0 0 200 150' refX='0' refY='0'><path d='M30 95h20v10h-20z' fill='#1b1b1b'/></symbol><use href='#s' width='200' height='150'/>",
        "<path xml:id='q' d='M30 95h20v10h-20z' fill='#1b1b1b'/>",
    ] {
        assert_eq!(clear(art), [""; 0], "{art}");
    }
}

#[test]
fn a_cut_line_inside_a_picture_or_a_pattern_is_named() {
    let bench = Bench::with("other = \"engrave\"\n");
    let inside = |paint: &str| format!("<g stroke='{paint}'><path d='M0 0h10v9' fill='none'/></g>");
    let picture = |paint: &str| {
        format!(
            "<image x='30' y='90' width='20' height='20' href='{}'/>",
            embedded("width='10' height='10' viewBox='0 0 10 10'", &inside(paint))
        )
    };
    let pattern = |paint: &str| {
        format!(
            "<pattern id='p' width='4' height='4' patternUnits='userSpaceOnUse'>{}</pattern><path d='M30 95h20v10h-20z' fill='url(#p)'/>",
            inside(paint)
        )
    };
    let held = |art: String| {
        bench
            .run(&(art + &others(&[1])))
            .findings
            .iter()
            .any(|f| f.rule == "not-proven" && f.pocket.as_deref() == Some("A1"))
    };
    for paint in ["#7b2d8b", "#0a7d55"] {
        assert!(held(picture(paint)) && held(pattern(paint)), "{paint}");
    }
    for paint in ["#1b1b1b", "#204060"] {
        assert!(!held(picture(paint)) && !held(pattern(paint)), "{paint}");
    }
}

#[test]
fn a_gradient_of_one_listed_paint_is_that_paint() {
    let bench = Bench::new();
    let art = |stops: &str| {
        format!(
            "<linearGradient id='h'>{stops}</linearGradient><linearGradient id='g' xlink:href='#h'/><path d='M30 95h20v10h-20z' fill='url(#g)'/>{}",
            others(&[1])
        )
    };
    let same = "<stop stop-color='#1b1b1b'/><stop offset='1' style='stop-color:rgb(27,27,27)'/>";
    assert_eq!(bench.rules(&art(same)), [""; 0]);
    let cut = "<stop stop-color='#7b2d8b'/>";
    assert_eq!(bench.rules(&art(cut)), ["stray-cut A1"]);
    for mixed in [
        "<stop stop-color='#1b1b1b'/><stop offset='1' stop-color='#7b2d8b'/>",
        "<stop stop-color='#1b1b1b'/><stop offset='1' stop-color='#1b1b1b' stop-opacity='.5'/>",
        "<stop stop-color='currentColor'/>",
        "",
    ] {
        assert_eq!(bench.rules(&art(mixed)), ["paint-unknown A1"], "{mixed}");
    }
}

#[test]
fn a_miter_limit_that_cannot_be_read_is_measured_with_the_default() {
    let art = "<path d='M30 90h9l-9 4' fill='none' stroke='#1b1b1b' stroke-miterlimit='wide'/>";
    let read = read(art);
    assert_eq!(read.unproven.len(), 0, "{:?}", read.unproven);
    assert_eq!(read.marks.len(), 1);
    let run = Bench::new().run(&(art.to_owned() + art + &name("Ada", 100.0, 100.0, "")));
    let said = run.notes.iter().filter(|n| n.contains("stroke-miterlimit"));
    assert_eq!(said.count(), 1, "{:?}", run.notes);
    assert!(run.findings.iter().all(|f| f.rule != "not-proven"));
}

/// SVG 2, 13.6: a head of 3 × 3 line widths, its tip on the line's end.
#[test]
fn markers_are_measured() {
    let head = "<marker id='m' orient='auto' viewBox='0 0 10 10' refX='10' refY='5'><path d='M0 0l10 5-10 5z' fill='#1b1b1b'/></marker>";
    let line = |d: &str| {
        format!("{head}<path d='{d}' fill='none' stroke='#1b1b1b' marker-end='url(#m)'/>")
    };
    inked(&line("M20 30h20"), 20.0, 28.5, 40.0, 31.5);
    inked(&line("M20 30v20"), 18.5, 30.0, 21.5, 50.0);
    let bench = Bench::new();
    let rules = bench.rules(&(line("M30 100h20") + &others(&[1])));
    assert!(
        !rules.iter().any(|r| r.starts_with("not-proven")),
        "{rules:?}"
    );
    // The head alone leaves the zone.
    let past = format!(
        "{}{}",
        line("M30 100h20").replace("refX='10'", "refX='-20'"),
        others(&[1])
    );
    assert!(bench.rules(&past).contains(&"past-zone A1".to_owned()));
    // And it is run in its own paint.
    let cut = format!(
        "{}{}",
        line("M30 100h20").replacen("#1b1b1b", "#7b2d8b", 1),
        others(&[1])
    );
    assert!(bench.rules(&cut).contains(&"stray-cut A1".to_owned()));
    for doubtful in [
        format!("{head}<path d='M20 30h9h0' stroke='#1b1b1b' marker-end='url(#m)'/>"),
        line("M20 30h9").replace("orient='auto'", "orient='inwards'"),
        "<path d='M20 30h9' stroke='#1b1b1b' marker-end='url(#nowhere)'/>".to_owned(),
    ] {
        assert!(named(&doubtful), "{doubtful}");
    }
}

/// Browsers stretch or move a picture by these (CSS Images 3, 5.5 and 5.6); readers of SVG alone do not.
#[test]
fn a_picture_that_its_style_places_is_named() {
    let bench = Bench::new();
    let picture = |style: &str| {
        format!(
            "<image x='30' y='90' width='20' height='10' style='{style}' href=\"data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' width='9' height='18'%3E%3Crect width='9' height='18' fill='%231b1b1b'/%3E%3C/svg%3E\"/>{}",
            others(&[1])
        )
    };
    for style in ["object-fit:fill", "object-position:0 0"] {
        let found = bench.of("not-proven", &picture(style));
        assert!(
            found.iter().any(|f| f.message.contains("object-fit")),
            "{style}: {found:?}"
        );
    }
    assert!(bench.of("not-proven", &picture("")).is_empty());
}
