//! What would not be sent is neither judged nor named, and where nothing is inked nothing is found.

use super::common::bench::{Bench, name, off_outlines, others, page};

/// A name for each of the things that may stand in a layer that is switched off.
fn hidden_things() -> Vec<String> {
    let wrong = "<rect x='23' y='73' width='40' height='60' rx='3' fill='none' stroke='#7b2d8b' stroke-width='0.1'/>";
    vec![
        "<image href='photo.jpg' x='30' y='90' width='9' height='9'/>".into(),
        "<flowRoot><flowRegion><rect x='30' y='90' width='9' height='9'/></flowRegion><flowPara>Ada</flowPara></flowRoot>".into(),
        "<marker id='k' orient='sideways'><path d='M0 0h3v3z'/></marker><path d='M30 100h9' stroke='#1b1b1b' marker-end='url(#k)'/>".into(),
        "<foreignObject width='9' height='9'><p xmlns='http://www.w3.org/1999/xhtml'>Ada</p></foreignObject>".into(),
        wrong.into(),
        super::common::bench::outlines("#7b2d8b", "#0a7d55"),
        format!("<g transform='translate(7 3)'>{}</g>", super::common::bench::outlines("#7b2d8b", "#0a7d55")),
        "<mask id='m'/><rect x='30' y='90' width='9' height='9' fill='#1b1b1b' mask='url(#m)'/>".into(),
        "<use href='#nowhere'/>".into(),
        "<widget/>".into(),
        "<rect x='30' y='90' width='9' height='9' fill='#1b1b1b' stroke-width='wide'/>".into(),
        "<rect x='30' y='90' width='9' height='9' fill='#1b1b1b' transform='spin(9)'/>".into(),
        "<path d='M30 90h9 9 9 oops' fill='#1b1b1b'/>".into(),
        name("Ada", 40.0, 100.0, "style='text-transform:uppercase'"),
        "<rect x='30' y='90' width='9' height='9' fill='#1b1b1b' clip-path='url(#nowhere)'/>".into(),
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
            // What a clone repeats may be visible by itself.
            if thing.starts_with("<use") && layer.starts_with("vis") {
                continue;
            }
            let art = format!("<g {layer}>{thing}</g>{}", others(&[]));
            assert_eq!(bench.rules(&art), [""; 0], "{art}");
        }
        // On the element itself.
        if let Some((tag, rest)) = thing.split_once(' ').filter(|(tag, _)| tag.len() < 16) {
            let art = format!("{tag} display='none' {rest}{}", others(&[]));
            if !thing.starts_with("<marker")
                && !thing.starts_with("<mask")
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

/// A script acts, and an invisible group's children may be visible.
#[test]
fn what_acts_or_shows_in_a_hidden_group_is_named() {
    let bench = Bench::new();
    for art in [
        "<g display='none'><script>1</script></g>",
        "<g display='none'><rect width='9' height='9'><animate attributeName='x' to='9'/></rect></g>",
        "<g display='none' onclick='1'/>",
        "<g visibility='hidden' mask='url(#m)'><rect x='30' y='90' width='9' height='9' fill='#1b1b1b' visibility='visible'/></g>",
    ] {
        let rules = bench.rules(&format!("{art}{}", others(&[])));
        assert!(rules.contains(&"not-proven".to_owned()), "{art}: {rules:?}");
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
