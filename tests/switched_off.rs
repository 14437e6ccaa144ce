//! What would not be sent is neither judged nor named, and where nothing is inked nothing is found.

use super::common::bench::{Bench, name, named, off_outlines, others, outlines, page};

/// A name for each of the things that may stand in a layer that is switched off.
fn hidden_things() -> Vec<String> {
    let wrong = "<rect x='23' y='73' width='40' height='60' rx='3' fill='none' stroke='#7b2d8b' stroke-width='0.1'/>";
    vec![
        "<image href='photo.jpg' x='30' y='90' width='9' height='9'/>".into(),
        "<flowRoot><flowRegion><rect x='30' y='90' width='9' height='9'/></flowRegion><flowPara>Ada</flowPara></flowRoot>".into(),
        "<marker id='k' orient='sideways'><path d='M0 0h3v3z'/></marker><path d='M30 100h9' stroke='#1b1b1b' marker-end='url(#k)'/>".into(),
        "<foreignObject width='9' height='9'><p xmlns='http://www.w3.org/1999/xhtml'>Ada</p></foreignObject>".into(),
        wrong.into(),
        outlines("#7b2d8b", "#0a7d55"),
        format!("<g transform='translate(7 3)'>{}</g>", outlines("#7b2d8b", "#0a7d55")),
        "<mask id='m'/><rect x='30' y='90' width='9' height='9' fill='#1b1b1b' mask='url(#m)'/>".into(),
        "<use href='#nowhere'/>".into(),
        "<widget/>".into(),
        "<rect x='30' y='90' width='9' height='9' fill='#1b1b1b' stroke-width='wide'/>".into(),
        "<rect x='30' y='90' width='9' height='9' fill='#1b1b1b' transform='spin(9)'/>".into(),
        "<path d='M30 90h9 9 9 oops' fill='#1b1b1b'/>".into(),
        name("Ada", 40.0, 100.0, "style='text-transform:uppercase'"),
        "<rect x='30' y='90' width='9' height='9' fill='#1b1b1b' clip-path='url(#nowhere)'/>".into(),
        format!("<mask id='m'/><g mask='url(#m)'>{}</g>", name("Zoe", 40.0, 100.0, "")),
        format!("<filter id='f'><feGaussianBlur/></filter><g filter='url(#f)'>{}</g>", name("Zoe", 40.0, 100.0, "")),
        format!("<g transform='spin(9)'>{}</g>", name("Zoe", 40.0, 100.0, "")),
        "<rect id='d' width='9' height='9'/><rect id='d' width='8' height='9'/><use href='#d'/>".into(),
        "<rect x='30' y='90' width='9' height='9' fill='#1b1b1b'><animate attributeName='x' to='9'/></rect>".into(),
        "<rect id='r' x='30' y='90' width='9' height='9' fill='#1b1b1b'><animate href='#r' attributeName='x' to='9'/></rect>".into(),
        format!("<g><animateTransform attributeName='transform' type='rotate' to='9'/>{}</g>", name("Zoe", 40.0, 100.0, "")),
        "<rect xmlns='' x='30' y='90' width='9' height='9' fill='#1b1b1b'/>".into(),
        "<tspan x='40' y='100'>Zoe</tspan>".into(),
        "<path xml:id='c' d='M30 90h9'/><text><textPath href='#nocurve'>Zoe</textPath></text><!-- #c -->".into(),
    ]
}

#[test]
fn what_would_not_be_sent_is_not_judged() {
    let bench = Bench::new();
    for thing in hidden_things() {
        for layer in [
            "display='none'",
            "style='display:none'",
            "visibility='hidden'",
        ] {
            let art = format!("<g {layer}>{thing}</g>{}", others(&[]));
            assert_eq!(bench.rules(&art), [""; 0], "{art}");
        }
        // On the element itself.
        if let Some((tag, rest)) = thing.split_once(' ').filter(|(tag, _)| tag.len() < 16) {
            let art = format!("{tag} display='none' {rest}{}", others(&[]));
            if !thing.starts_with("<marker")
                && !thing.starts_with("<mask")
                && !thing.starts_with("<filter")
                && !thing.contains("/><")
                && !thing.contains("/>\n<")
            {
                assert_eq!(bench.rules(&art), [""; 0], "{art}");
            }
        }
    }
}

#[test]
fn what_would_be_sent_all_the_same_is_held() {
    let bench = Bench::with("[run]\nhidden = \"sent\"\n");
    for thing in hidden_things() {
        for layer in ["display='none'", "visibility='hidden'"] {
            let art = format!("<g {layer}>{thing}</g>{}", others(&[]));
            assert_ne!(bench.rules(&art), [""; 0], "{art}");
        }
    }
}

/// A script acts wherever it stands, an animation may show what is hidden, and what is inside an
/// invisible group may be visible by itself or made visible by a filter.
#[test]
fn what_acts_or_shows_in_a_hidden_group_is_named() {
    let bench = Bench::new();
    let flood = "<filter id='f'><feFlood flood-color='#1b1b1b'/></filter>";
    let mark = "<rect id='r' x='30' y='90' width='9' height='9' fill='#1b1b1b'";
    for art in [
        "<g display='none'><script>1</script></g>".to_owned(),
        "<g display='none' onclick='1'/>".to_owned(),
        "<g display='none'><set attributeName='display' to='inline'/></g>".to_owned(),
        "<g visibility='hidden'><animate attributeName='class' to='seen'/></g>".to_owned(),
        format!("<g display='none'>{mark}><set attributeName='Visibility' to='visible'/></rect></g>"),
        // Of something else, and of something that is drawn elsewhere.
        format!("{mark}/><g display='none'>{mark}><animate href='#r' attributeName='x' to='9'/></rect></g>"),
        "<g display='none'><animate href='#other' attributeName='x' to='9'/></g>".to_owned(),
        format!("<g display='none'>{mark}><animate attributeName='x' to='9'/></rect></g><use href='#r'/>"),
        "<g display='none'><clipPath id='c'><rect width='9' height='9'><animate attributeName='x' to='9'/></rect></clipPath></g>".to_owned(),
        // Visible by themselves.
        format!("<g visibility='hidden' mask='url(#m)'>{mark} visibility='visible'/></g>"),
        format!("<g visibility='hidden' transform='spin(9)'><g>{mark} style='visibility:visible'/></g></g>"),
        "<g visibility='hidden'><use href='other.svg#part'/></g>".to_owned(),
        format!("<g display='none'><g id='s' transform='spin(9)'>{mark} visibility='visible'/></g></g><use visibility='hidden' href='#s'/>"),
        // A browser engine paints these.
        format!("{flood}<g visibility='hidden' filter='url(#f)'>{mark}/></g>"),
        format!("{flood}{mark} visibility='hidden' filter='url(#f)'/>"),
        format!("{mark} visibility='hidden' filter='url(other.svg#f)'/>"),
    ] {
        let rules = bench.rules(&format!("{art}{}", others(&[])));
        assert!(rules.contains(&"not-proven".to_owned()), "{art}: {rules:?}");
    }
}

/// Lines that nobody sends are no fault where they lie elsewhere, unless the art went with them.
#[test]
fn hidden_lines_elsewhere_are_a_fault_only_where_the_art_went_with_them() {
    let bench = Bench::new();
    let (left, sent) = (
        outlines("#7b2d8b", "#0a7d55"),
        Bench::with("[run]\nhidden = \"sent\"\n"),
    );
    let one = "<rect x='23' y='73' width='40' height='60' rx='3' fill='none' stroke='#7b2d8b'/>";
    let run = |bench: &Bench, art: &str| {
        let mut rules = named(&bench.file(&page(art)));
        rules.retain(|rule| rule != "fixture-absent");
        rules
    };
    for motion in [
        "translate(7 3)",
        "translate(200) scale(-1 1)",
        "rotate(180 100 75)",
        "scale(0.75)",
    ] {
        for lines in [left.as_str(), one] {
            let hidden = format!(
                "<g display='none' transform='{motion}'>{lines}</g>{}",
                others(&[])
            );
            assert_eq!(run(&bench, &hidden), [""; 0], "{hidden}");
            assert_ne!(run(&sent, &hidden), [""; 0], "{hidden}");
        }
    }
    // Lines of some pockets only, in their places.
    let some = left.split_once('\n').map_or("", |(first, _)| first);
    let art = format!("<g display='none'>{some}</g>{}", others(&[]));
    assert_eq!(run(&bench, &art), [""; 0]);
    // Everything was dragged together.
    let all = format!(
        "<g transform='translate(0 31)'><g display='none'>{left}</g>{}</g>",
        others(&[])
    );
    assert_eq!(
        run(&bench, &all).first().map(String::as_str),
        Some("fixture-shifted")
    );
}

/// A font that only hidden lettering is set in is not needed.
#[test]
fn a_font_of_the_file_s_own_counts_where_lettering_shows() {
    let bench = Bench::new();
    let font = "<style>@font-face{font-family:'Forge Sans';src:url(f.woff)}</style>";
    let hidden = format!(
        "{font}<g display='none' font-family='Forge Sans'><text x='40' y='100'>Ada</text></g>"
    );
    assert_eq!(bench.of("not-proven", &hidden), []);
    let beside = format!("{hidden}{}", others(&[1]));
    assert_eq!(bench.of("not-proven", &beside), []);
    // A face that lettering inherits from above the hidden group.
    let above = beside.replace(
        "<g display='none' font-family='Forge Sans'>",
        "<g font-family='Forge Sans'><g display='none'>",
    );
    assert_eq!(bench.of("not-proven", &format!("{above}</g>")).len(), 1);
    let shown = hidden
        .replace("display='none'", "visibility='hidden'")
        .replace("<text ", "<text visibility='visible' ");
    assert_eq!(bench.of("not-proven", &shown).len(), 1);
    // However its name is written.
    for family in ["&#70;orge Sans", "forge  SANS", "F\\6frge Sans"] {
        let text = format!("{font}<text x='40' y='100' font-family='{family}'>Ada</text>");
        assert_eq!(bench.of("not-proven", &text).len(), 1, "{family}");
    }
}

#[test]
fn where_nothing_is_inked_nothing_is_found() {
    let bench = Bench::new();
    for art in [
        "<flowRoot><flowRegion><rect x='30' y='90' width='9' height='9'/></flowRegion><flowPara> </flowPara></flowRoot>",
        "<text x='40' y='100' direction='rtl'> </text>",
        "<text x='40' y='100' style='text-transform:uppercase'><tspan/></text>",
        "<style>@font-face{font-family:'Forge Sans';src:url(f.woff)}</style>",
        "<g fill='#1b1b1b'><path d='M30 100h20' stroke='#1b1b1b'/></g>",
        "<g fill='#7b2d8b'><path d='M30 100l20 4' stroke='#1b1b1b'/><polyline points='30,110 50,110' stroke='#0a7d55'/></g>",
        "<path d='M30 100h20' fill='#1b1b1b' stroke='#1b1b1b'/>",
        "<path d='M30 100z' fill='#1b1b1b'/>",
    ] {
        let mut rules = bench.rules(
            &format!("{art}{}", others(&[]))
                .replace("<path d='M30 100h20' fill", "<path d='M30 85h20' fill"),
        );
        // Which way up a few lines lie is for a person to say.
        rules.retain(|rule| !rule.starts_with("way-up-unknown"));
        assert_eq!(rules, [""; 0], "{art}");
    }
    // A face that is used, and a fill that was meant.
    let used = format!(
        "<style>@font-face{{font-family:'Forge Sans';src:url(f.woff)}} .f{{font-family:\"Forge Sans\"}}</style>{}",
        name("Ada", 40.0, 100.0, "class='f'")
    );
    assert!(
        bench
            .rules(&(used + &others(&[1])))
            .contains(&"not-proven".to_owned())
    );
    let meant = "<path d='M30 100h20' fill='#7b2d8b' stroke='#1b1b1b'/>".to_owned() + &others(&[]);
    let said = bench.of("hidden-but-live", &meant);
    assert_eq!(said.len(), 1);
    assert!(
        !said[0].message.contains("does not show"),
        "{}",
        said[0].message
    );
}

#[test]
fn the_words_fit_what_is_meant() {
    let bench = Bench::with("[run]\nhidden = \"sent\"\n");
    let said = |file: &str| -> Vec<String> {
        let run = bench.file(file);
        run.findings
            .into_iter()
            .filter(|f| f.rule == "not-proven")
            .map(|f| f.message)
            .collect()
    };
    let art = |more: &str| page(&format!("{}{more}{}", off_outlines(), others(&[])));
    let photo = said(&art(
        "<g display='none'><image href='photo.jpg' width='9' height='9'/></g>",
    ));
    assert!(
        photo.iter().all(|m| !m.contains("will be burnt")),
        "{photo:?}"
    );
    let script = said(&art("").replacen("<svg ", "<svg onload='x()' ", 1));
    assert_eq!(script, ["The page carries a script that may change it"]);
    let latin = format!(
        "<?xml version='1.0' encoding='ISO-8859-1'?>{}",
        art("<!-- Grüße -->")
    );
    let encoding = said(&latin);
    assert!(
        encoding[0].contains("declares ISO-8859-1 and"),
        "{encoding:?}"
    );
}
