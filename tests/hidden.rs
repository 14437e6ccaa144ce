//! What looks invisible and would be run is held, whatever hides it; what shows is not.

use crate::common::bench;

use bench::{Bench, name, named, off_outlines, others, page, png};

/// What `hidden-but-live` says about A1, where the rest of the run is sound.
fn said(bench: &Bench, art: &str) -> Option<String> {
    let found = bench.of("hidden-but-live", &format!("{art}{}", others(&[1])));
    assert!(found.len() < 2, "{found:#?}");
    found.into_iter().next().map(|f| {
        assert_eq!(f.pocket.as_deref(), Some("A1"), "{art}");
        f.message
    })
}

#[test]
fn art_that_shows_is_clear() {
    let bench = Bench::new();
    assert_eq!(bench.rules(&others(&[])), Vec::<String>::new());
    for sound in [
        // Half of it, and a tint over all of it.
        name("Ada", 40.0, 100.0, "opacity='0.5'"),
        name("Ada", 40.0, 100.0, "")
            + "<rect x='22' y='72' width='36' height='56' fill='#9aa0a6' opacity='0.3'/>",
        // A box beside it, and one under it.
        name("Ada", 40.0, 100.0, "")
            + "<rect x='30' y='105' width='20' height='6' fill='#9aa0a6'/>",
        String::from("<rect x='30' y='90' width='20' height='16' fill='#9aa0a6'/>")
            + &name("Ada", 40.0, 100.0, ""),
        // A shape with its own line around it.
        String::from(
            "<circle cx='40' cy='100' r='0.3' fill='#1b1b1b' stroke='#1b1b1b' stroke-width='2'/>",
        ),
        // A clip that leaves all of it.
        String::from("<clipPath id='c'><rect x='20' y='70' width='40' height='60'/></clipPath>")
            + &name("Ada", 40.0, 100.0, "clip-path='url(#c)'"),
        // Off is off, whatever hides it.
        String::from("<rect x='30' y='90' width='20' height='16' fill='#9aa0a6' opacity='0'/>")
            + &name("Ada", 40.0, 100.0, ""),
        // Not sent by this fixture's sender.
        name("Ada", 40.0, 100.0, "") + &name("Old", 40.0, 90.0, "display='none'"),
    ] {
        assert_eq!(said(&bench, &sound), None, "{sound}");
    }
}

#[test]
fn every_way_to_hide_a_mark_is_named() {
    let bench = Bench::new();
    let clip = "<clipPath id='c'><rect x='150' y='70' width='9' height='9'/></clipPath>";
    let white = "<rect x='25' y='90' width='30' height='16' fill='#9aa0a6'/>";
    for (art, words) in [
        (name("Ada", 40.0, 100.0, "opacity='0'"), "fully transparent"),
        (
            name("Ada", 40.0, 100.0, "fill-opacity='0'"),
            "fully transparent",
        ),
        (
            format!(
                "<g opacity='0.2'><g opacity='0.2'>{}</g></g>",
                name("Ada", 40.0, 100.0, "")
            ),
            "(4 %)",
        ),
        (
            name("Ada", 40.0, 100.0, "style='fill:rgba(27,27,27,0)'"),
            "fully transparent",
        ),
        (
            "<path d='M30 100h20' fill='none' stroke='#1b1b1b' stroke-opacity='0'/>".into(),
            "A line is fully transparent",
        ),
        (
            name("Ada", 40.0, 100.0, "style='fill:#ffffff'"),
            "is white (#ffffff): you cannot see it on this page, and it would still be run",
        ),
        (name("Ada", 40.0, 100.0, "") + white, "covered"),
        (
            format!(
                "{clip}<g clip-path='url(#c)'>{}</g>",
                name("Ada", 40.0, 100.0, "")
            ),
            "clipped away",
        ),
        (
            "<path d='M30 100h20' fill='none' stroke='#1b1b1b' stroke-width='0'/>".into(),
            "no line width",
        ),
        ("<path d='M30 100h20' fill='#1b1b1b'/>".into(), "no area"),
    ] {
        let said = said(&bench, &art).unwrap_or_default();
        assert!(said.contains(words), "{said:?} lacks {words:?}\n{art}");
    }
}

#[test]
fn a_name_at_zero_opacity_in_the_cut_paint_and_a_clipped_pocket_outline_hold() {
    let bench = Bench::new();
    let cut = name("Ada", 40.0, 100.0, "style='fill:#7b2d8b' opacity='0'");
    assert!(said(&bench, &cut).is_some());
    let outline = "<clipPath id='c'><rect x='0' y='0' width='5' height='5'/></clipPath><g clip-path='url(#c)'><rect x='20' y='70' width='40' height='60' rx='3' fill='none' stroke='#7b2d8b' stroke-width='0.1'/></g>";
    let rules = bench.rules(&(outline.to_owned() + &others(&[])));
    assert!(
        rules.contains(&"hidden-but-live A1".to_owned()),
        "{rules:?}"
    );
    // No clip stops a sender that does not know clips: the line is still a fixture line in a live paint.
    assert!(
        rules.contains(&"fixture-still-cut A1".to_owned()),
        "{rules:?}"
    );
}

#[test]
fn covers_count_together_and_a_gap_shows() {
    let bench = Bench::new();
    let ada = name("Ada", 40.0, 100.0, "");
    let left = "<rect x='25' y='90' width='15' height='16' fill='#9aa0a6'/>";
    let right = "<rect x='40' y='90' width='15' height='16' fill='#9aa0a6'/>";
    assert!(said(&bench, &format!("{ada}{left}{right}")).is_some());
    // One letter under the box is one too many.
    let one = said(
        &bench,
        &format!("{ada}<rect x='25' y='90' width='13.3' height='16' fill='#9aa0a6'/>"),
    );
    assert!(one.is_some_and(|m| m.starts_with("Part of \"Ada\" is covered")));
    // A frame covers nothing that lies in its middle.
    assert_eq!(
        said(
            &bench,
            &format!(
                "{ada}<rect x='25' y='90' width='30' height='16' fill='none' stroke='#9aa0a6' stroke-width='1'/>"
            )
        ),
        None
    );
    // A live line under a guide line of its own width.
    let line = |paint: &str| {
        format!("<path d='M30 105h20' fill='none' stroke='{paint}' stroke-width='0.4'/>")
    };
    assert!(said(&bench, &(line("#0a7d55") + &line("#9aa0a6") + &ada)).is_some());
    assert_eq!(
        said(&bench, &(line("#9aa0a6") + &line("#0a7d55") + &ada)),
        None
    );
}

/// What is seen is what is burnt: nothing is lost under the letters' own line, nor of a pattern under a name.
#[test]
fn what_is_burnt_as_it_is_seen_is_clear() {
    let bench = Bench::new();
    let bar = |x: f64, y: f64, w: f64, h: f64| format!("M{x} {y}h{w}v{h}h-{w}z");
    // Thin letters, as bars, under a line round them that is wider than they are.
    let thin = bar(30.0, 95.0, 0.3, 8.0) + &bar(34.0, 95.0, 0.3, 8.0) + &bar(34.0, 99.0, 4.0, 0.3);
    let fill = format!("<path fill='#1b1b1b' d='{thin}'/>");
    let line = |paint: &str, width: f64| {
        format!("<path fill='none' stroke='{paint}' stroke-width='{width}' d='{thin}'/>")
    };
    // Bars of a hatch that end under the line of their letter, and dots of a pattern under a name.
    let bars: String = (0..20)
        .map(|i| bar(30.0, 95.0 + 0.3 * f64::from(i), 1.2, 0.1))
        .collect();
    let hatch = format!("<path fill='#1b1b1b' d='{bars}'/>");
    let round = format!(
        "<path fill='none' stroke='#1b1b1b' stroke-width='0.7' d='{}'/>",
        bar(30.0, 95.0, 1.2, 6.0)
    );
    let dots: String = (0..100)
        .map(|i| {
            bar(
                25.0 + f64::from(i % 20),
                94.0 + 2.0 * f64::from(i / 20),
                0.3,
                0.3,
            )
        })
        .collect();
    let dots = format!("<path fill='#0a7d55' d='{dots}'/>");
    let plate = format!("<path fill='#1b1b1b' d='{}'/>", bar(30.0, 95.0, 12.0, 5.0));
    let across = "<path fill='none' stroke='#1b1b1b' stroke-width='9' d='M28 99h14'/>";
    for shown in [
        fill.clone() + &line("#1b1b1b", 0.6),
        hatch + &round,
        dots.clone() + &plate,
    ] {
        assert_eq!(said(&bench, &shown), None, "{shown}");
    }
    // Closed, in the same paint and thin, and yet no line round the letters: it wanders all over them.
    let there_and_back: String = (0..20)
        .map(|i| {
            let y = 94.0 + 0.5 * f64::from(i);
            if i % 2 == 0 {
                format!("L29 {y}L39 {y}")
            } else {
                format!("L39 {y}L29 {y}")
            }
        })
        .collect();
    let wandering = format!(
        "<path fill='none' stroke='#1b1b1b' stroke-width='0.6' d='M29 94{there_and_back}z'/>"
    );
    // A name under a bar of its paint, under a line as wide as letters are high, and under a line that is
    // off; dots under what is off.
    for hidden in [
        name("Ada", 36.0, 100.0, "")
            + &format!("<path fill='#1b1b1b' d='{}'/>", bar(26.0, 90.0, 20.0, 14.0)),
        // However small, lettering is lettering.
        name("Ada", 36.0, 97.0, "style='font-size:1.8px'") + &plate,
        fill.clone() + &wandering,
        fill.clone() + across,
        fill.clone() + &line("#1b1b1b", 9.0),
        fill + &line("#9aa0a6", 0.6),
        dots + &plate.replace("#1b1b1b", "#9aa0a6"),
    ] {
        assert!(said(&bench, &hidden).is_some(), "{hidden}");
    }
}

#[test]
fn pictures_cover_as_far_as_nothing_shows_through() {
    let bench = Bench::new();
    let image = |alpha: u8| {
        let data =
            png(
                &image::RgbaImage::from_pixel(400, 200, image::Rgba([255, 255, 255, alpha])).into(),
            );
        format!("<image x='25' y='90' width='30' height='15' href='{data}'/>")
    };
    assert!(said(&bench, &(name("Ada", 40.0, 100.0, "") + &image(255))).is_some());
    assert_eq!(
        said(&bench, &(name("Ada", 40.0, 100.0, "") + &image(90))),
        None
    );
}

#[test]
fn hidden_layers_count_where_the_sender_runs_them() {
    let hidden = name("Old", 40.0, 90.0, "display='none'");
    let invisible = name("Old", 40.0, 90.0, "visibility='hidden'");
    let sent = Bench::with("[run]\nhidden = \"sent\"\n");
    for art in [hidden, invisible] {
        let said = said(&sent, &art).unwrap();
        assert!(said.contains("\"Old\" is switched off"), "{said}");
    }
}

#[test]
fn off_the_page_counts_where_the_page_is_smaller_than_the_bed() {
    let bench = Bench::new();
    // The page lies in the stops corner, front left: what is off its right side may be on the bed.
    let file = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='130mm' height='150mm' viewBox='0 0 130 150'>{}{}</svg>",
        off_outlines(),
        others(&[])
    );
    let rules = named(&bench.file(&file));
    assert_eq!(
        rules.iter().filter(|r| *r == "hidden-but-live A3").count(),
        1,
        "{rules:?}"
    );
}

#[test]
fn full_colour_art_is_one_picture() {
    let bench = Bench::with("other = \"engrave\"\n");
    let art = "<rect x='30' y='80' width='20' height='40' fill='#c05010'/><rect x='28' y='78' width='24' height='44' fill='#e0d040'/><circle cx='40' cy='100' r='3' fill='#fffffe'/><circle cx='40' cy='110' r='3' fill='#204060' opacity='0.03'/>";
    assert_eq!(said(&bench, art), None);
    // A listed paint under it is still spoken of.
    let listed = name("Ada", 40.0, 100.0, "") + art;
    assert!(said(&bench, &listed).is_some());
}

#[test]
fn an_element_without_any_paint_is_black_as_every_reader_draws_it() {
    let bench = Bench::with("[limits]\nplace = \"0.1 mm\"\n");
    let rules = bench.rules(&format!(
        "<rect x='30' y='95' width='9' height='9'/>{}",
        others(&[1])
    ));
    assert_eq!(rules, ["paint-unknown A1"]);
    let run = page("<rect x='30' y='95' width='9' height='9'/>");
    assert!(named(&bench.file(&run)).contains(&"paint-unknown A1".to_owned()));
}
