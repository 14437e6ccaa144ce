//! What some readers draw and others do not, or draw elsewhere, is named; what all of them take alike is
//! not. What browser engines do was seen in one.

use super::common::bench::{Bench, name, off_outlines, others, page};

/// A frame in the cut paint in pocket A1.
const CUT: &str =
    "<rect x='30' y='95' width='20' height='10' fill='none' stroke='#7b2d8b' stroke-width='0.1'/>";

/// Sound art in pocket A1.
fn sound() -> String {
    name("Ada", 40.0, 100.0, "")
}

#[track_caller]
fn held(bench: &Bench, art: &str) {
    let rules = bench.rules(&format!("{art}{}", others(&[1])));
    let named = rules.iter().any(|rule| rule.starts_with("not-proven"));
    assert!(named, "not named: {art}: {rules:?}");
}

#[track_caller]
fn quiet(bench: &Bench, art: &str) {
    let rules = bench.rules(&format!("{art}{}", others(&[1])));
    assert_eq!(rules, [""; 0], "{art}");
}

/// SVG 2, 5.8.4. An engine has the extensions of XHTML and `MathML`; a reader may heed no condition at all.
#[test]
fn what_is_under_a_condition_is_named_where_anyone_draws_it() {
    let bench = Bench::new();
    let xhtml = "http://www.w3.org/1999/xhtml";
    let html = "<p xmlns='http://www.w3.org/1999/xhtml'>last week</p>";
    for extension in [
        xhtml,
        "http://www.w3.org/1998/Math/MathML",
        "http://www.w3.org/1999/xhtml http://www.w3.org/1998/Math/MathML",
        "http://x.invalid/",
        "",
    ] {
        let condition = format!("requiredExtensions='{extension}'");
        for art in [
            CUT.replace("<rect", &format!("<rect {condition}")),
            format!("<g {condition}>{CUT}</g>"),
            format!("<svg {condition}>{CUT}</svg>"),
            name("Ada", 40.0, 100.0, &condition),
            format!("<switch><g {condition}>{CUT}</g>{}</switch>", sound()),
            format!("<defs><g id='u' {condition}>{CUT}</g></defs><use href='#u'/>"),
            format!(
                "<clipPath id='c'><rect width='40' height='150'/><rect {condition} width='200' height='150'/></clipPath><g clip-path='url(#c)'>{}</g>",
                sound()
            ),
        ] {
            held(&bench, &art);
        }
    }
    held(&bench, &CUT.replace("<rect", "<rect systemLanguage=''"));
    let foreign = format!(
        "<foreignObject requiredExtensions='{xhtml}' x='20' y='70' width='40' height='60'>{html}</foreignObject>"
    );
    held(&bench, &(foreign.clone() + &sound()));
    held(&bench, &format!("<switch>{foreign}{}</switch>", sound()));
    // The branch after what is not drawing is measured.
    let cut = bench.rules(&format!("<switch>{foreign}{CUT}</switch>{}", others(&[1])));
    assert!(cut.contains(&"stray-cut A1".to_owned()), "{cut:?}");
    let whole = page(&(off_outlines() + &others(&[])));
    let under = whole.replacen("<svg ", "<svg requiredExtensions='http://x.invalid/' ", 1);
    let rules = super::common::bench::named(&bench.file(&under));
    assert!(rules.contains(&"not-proven".to_owned()), "{rules:?}");

    // What nobody draws.
    let private = "<i:p xmlns:i='urn:x'>q</i:p>";
    for art in [
        format!("<foreignObject requiredExtensions='urn:x'>{private}</foreignObject>"),
        format!("<foreignObject requiredExtensions='urn:x'>{html}</foreignObject>"),
        format!("<g requiredExtensions='urn:x'>{private}</g>"),
        format!(
            "<switch><foreignObject requiredExtensions='urn:x'>{private}</foreignObject><g>{}</g></switch>",
            sound()
        ),
        format!(
            "<switch><g requiredExtensions='urn:x'/><g>{}</g></switch>",
            sound()
        ),
        format!(
            "<switch><g>{}</g><foreignObject requiredExtensions='{xhtml}'>{html}</foreignObject></switch>",
            sound()
        ),
        format!("<g display='none'><g requiredExtensions='{xhtml}'>{CUT}</g></g>"),
        format!("<defs><g requiredExtensions='{xhtml}'>{CUT}</g></defs>"),
    ] {
        let art = if art.contains("Ada") {
            art
        } else {
            art + &sound()
        };
        quiet(&bench, &art);
    }
}
