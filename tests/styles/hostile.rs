//! Stylesheets that are large or malicious end soon.

use super::*;

/// Variables that each stand for the one before, declared in `order`.
fn chain(order: impl Iterator<Item = usize>) -> String {
    order
        .map(|i| format!("--v{i}:var(--v{});", i - 1))
        .collect()
}

#[test]
fn a_long_chain_of_variables_is_resolved() {
    for count in [5, 500, 20_000] {
        let source = svg(&format!(
            "<style>:root{{--v0:red;{}}}path{{fill:var(--v{count})}}</style><path id='t'/>",
            chain(1..=count)
        ));
        assert_eq!(value(&source, "fill").as_deref(), Some("red"), "{count}");
    }
    let unfinished = svg(&format!(
        "<style>:root{{{}--v0:red}}path{{fill:var(--v99)}}</style><path id='t'/>",
        chain((1..100).rev())
    ));
    let kinds: Vec<_> = problems(&unfinished).into_iter().map(|p| p.0).collect();
    assert_eq!(kinds, [StyleProblemKind::Variable], "each before its own");
}

#[test]
fn hostile_sheets_end_soon() {
    use std::time::{Duration, Instant};
    let deep = |n: usize| "<g class='a'>".repeat(n) + "<path id='t'/>" + &"</g>".repeat(n);
    let bodies = [
        format!(
            "<style>{} path{{fill:red}}</style>{}",
            "g ".repeat(60),
            deep(900)
        ),
        format!(
            "<style>.none {} path{{fill:red}}</style>{}",
            "g ".repeat(60),
            deep(900)
        ),
        format!(
            "<style>.none > {} path{{fill:red}}</style>{}",
            "g > g ".repeat(30),
            deep(900)
        ),
        format!(
            "<style>.none ~ {} path{{fill:red}}</style>{}",
            "g ".repeat(60),
            deep(900)
        ),
        format!(
            "<style>.none ~ path ~ path ~ path{{fill:red}}</style>{}<path id='t'/>",
            "<path/>".repeat(50_000)
        ),
        format!(
            "<style>path:nth-child(3n+1){{fill:red}}</style>{}<path id='t'/>",
            "<path/>".repeat(50_000)
        ),
        format!(
            "<style>{}</style>{}<path id='t'/>",
            "*{fill:red}".repeat(20_000),
            "<path/>".repeat(20_000)
        ),
        format!(
            "<style>@media a{{{}}}</style>{}<path id='t'/>",
            ".none{fill:red}".repeat(20_000),
            "<path/>".repeat(20_000)
        ),
        format!(
            "<style>{}{{fill:red}}</style><path id='t'/>",
            ":not(".repeat(100_000)
        ),
        format!(
            "<style>{}</style><path id='t'/>",
            "@media a{".repeat(100_000)
        ),
        format!("<style>{}</style><path id='t'/>", "(".repeat(100_000)),
        format!("<path id='t' style='fill:{}'/>", "var(--a,".repeat(20_000)),
        format!(
            "<path id='t' style='{}fill:var(--a16)'/>",
            (1..17)
                .map(|i| format!("--a{i}:{};", format!("var(--a{})", i - 1).repeat(100)))
                .collect::<String>()
        ),
        format!(
            "<style>g{{fill:var(--a)}}</style>{}",
            format!(
                "{}{}",
                "<g style='--b:1'>".repeat(900),
                "<g/>".repeat(5_000)
            ) + "<path id='t'/>"
                + &"</g>".repeat(900)
        ),
        // Variables in a chain, in either order, and very many properties.
        format!(
            "<style>:root{{--v0:red;{}}}path{{fill:var(--v19999)}}</style>{}<path id='t'/>",
            chain(1..20_000),
            "<path/>".repeat(100)
        ),
        format!(
            "<style>:root{{{}--v0:red}}path{{fill:var(--v19999)}}</style>{}<path id='t'/>",
            chain((1..20_000).rev()),
            "<path/>".repeat(100)
        ),
        format!(
            "<style>*{{{}}}</style>{}<path id='t'/>",
            (0..20_000).map(|i| format!("a{i}:1;")).collect::<String>(),
            "<path/>".repeat(20_000)
        ),
        format!(
            "<style>*{{{}}}</style>{}<path id='t'/>",
            (0..2_000).map(|i| format!("--a{i}:1;")).collect::<String>(),
            "<path/>".repeat(20_000)
        ),
        format!(
            "<style>:root{{--a:red}}path{{fill:{}}}</style>{}<path id='t'/>",
            "var(--a) ".repeat(1_000),
            "<path/>".repeat(20_000)
        ),
    ];
    for body in bodies {
        let source = svg(&body);
        let document = Document::parse(&source).unwrap();
        let start = Instant::now();
        let sheets = Sheets::collect(&document);
        let _ = sheets.computed(target(&document));
        let took = start.elapsed();
        assert!(took < Duration::from_secs(20), "{took:?}: {}", &body[..60]);
        if took > Duration::from_secs(2) {
            eprintln!("{took:?}: {}", &body[..60]);
        }
    }
}

#[test]
fn many_elements_with_many_classes_are_quick() {
    let css: String = (0..500)
        .map(|i| format!(".c{i}{{fill:#{i:06x};stroke:none}}"))
        .collect();
    let paths: String = (0..100_000)
        .map(|i| format!("<path class='c{}'/>", i % 500))
        .collect();
    let source = svg(&format!("<style>{css}</style>{paths}"));
    let document = Document::parse(&source).unwrap();
    let start = std::time::Instant::now();
    let sheets = Sheets::collect(&document);
    let filled = document
        .descendants()
        .filter(|node| sheets.computed(*node).get("fill").is_some())
        .count();
    assert_eq!(filled, 100_000);
    eprintln!("{:?}", start.elapsed());
    assert!(
        start.elapsed() < std::time::Duration::from_secs(10),
        "{:?}",
        start.elapsed()
    );
}
