//! What a file may hold beside plain outlines is resolved or named, and what editors commonly leave
//! in a file holds nothing up.

use crate::common::bench;

use bench::{Bench, name, off_outlines, others, page};

fn shape(more: &str) -> String {
    format!("<path d='M30 95h20v10h-20z' fill='#1b1b1b' {more}/>")
}

fn text(more: &str) -> String {
    name("Ada", 40.0, 100.0, more)
}

#[test]
fn what_cannot_be_followed_is_named_with_a_remedy() {
    let bench = Bench::new();
    let styled = |s: &str| shape(&format!("style=\"{s}\""));
    for art in [
        "<mask id='m'><rect width='1' height='1'/></mask>".to_owned() + &shape("mask='url(#m)'"),
        "<filter id='f'><feFlood/></filter>".to_owned() + &shape("filter='url(#f)'"),
        "<filter id='f'><feFlood/></filter><g filter='url(#f)'>".to_owned() + &shape("") + "</g>",
        "<marker id='k' orient='sideways'><path d='M0 0h9v9z'/></marker><path d='M30 100h9' fill='none' stroke='#1b1b1b' marker-end='url(#k)'/>".into(),
        "<foreignObject width='9' height='9'/>".into(),
        "<video xmlns='http://www.w3.org/1999/xhtml' src='a'/>".into(),
        "<img xmlns='http://www.w3.org/1999/xhtml' src='crest.png'/>".into(),
        "<script>1</script>".into(),
        // Scripts and animations reach out of where they stand.
        "<defs><script>1</script></defs>".into(),
        "<rect id='r' x='30' y='95' width='9' height='9' fill='#1b1b1b'><animate attributeName='x' to='90'/></rect>".into(),
        "<defs><animate href='#r' attributeName='x' to='90'/></defs>".into(),
        text("").replace("Ada<", "Ada<set attributeName='x' to='90'/><"),
        "<g><set attributeName='visibility' to='hidden'/></g>".into(),
        shape("onclick='1'"),
        "<use href='other.svg#a'/>".into(),
        "<use href='#nowhere'/>".into(),
        "<image href='crest.png' width='5' height='5'/>".into(),
        "<style>@import 'a.css';</style>".into(),
        "<style>@font-face{font-family:Z;src:url(z.woff)}</style>".to_owned() + &text("style='font-family:Z'"),
        "<style>@media print{path{fill:red}}</style>".to_owned() + &shape(""),
        styled("d:path('M0 0h99v99z')"),
        styled("offset-path:path('M0 0h50')"),
        styled("translate:30px"),
        styled("rotate:45deg"),
        styled("scale:3"),
        styled("zoom:2"),
        styled("animation:a 1s"),
        shape("clip-path='url(#nowhere)'"),
        styled("clip-path:circle(3px)"),
        "<foo>".to_owned() + &shape("") + "</foo>",
        "<x:p xmlns:x='urn:x'>".to_owned() + &shape("") + "</x:p>",
        styled("mask-image:linear-gradient(#000,#fff)"),
        styled("clip:rect(0,1px,1px,0)"),
        styled("backdrop-filter:blur(2px)"),
        // Two targets, of which old readers take one and new ones the other.
        "<defs><path id='a1' d='M30 95h9v9z' fill='#1b1b1b'/><path id='a2' d='M90 95h9v9z' fill='#1b1b1b'/></defs><use href='#a1' xlink:href='#a2' xmlns:xlink='http://www.w3.org/1999/xlink'/>".into(),
        "<path d='M30 100h20' fill='none' stroke='#1b1b1b' stroke-dasharray='5 5' pathLength='10'/>".into(),
        "<tspan x='30' y='100' fill='#1b1b1b'>Ada</tspan>".into(),
        "<script xmlns='http://www.w3.org/1999/xhtml'>1</script>".into(),
        // Lettering that readers set differently.
        text("style='text-transform:uppercase'"),
        "<g style='text-transform:uppercase'>".to_owned() + &text("") + "</g>",
        text("style='font-feature-settings:\"ss01\"'"),
        text("style='font-size-adjust:0.6'"),
        text("style='text-shadow:2px 2px #000'"),
        text("style='outline:3px solid'"),
        "<style>text{outline-style:dashed}</style>".to_owned() + &text(""),
    ] {
        let art = format!("{art}{}", others(&[]));
        let run = bench.run(&art);
        let named: Vec<_> = run.findings.iter().filter(|f| f.rule == "not-proven").collect();
        assert!(!named.is_empty(), "passed unseen: {art}");
        assert!(named.iter().all(|f| !f.help.is_empty() && f.source.is_some()), "{named:?}");
    }
}

#[test]
fn a_page_that_is_transformed_as_a_whole_is_named() {
    let bench = Bench::new();
    let plain = page(&(off_outlines() + &shape("") + &others(&[1])));
    let turned = plain.replacen("<svg ", "<svg transform='translate(9 0)' ", 1);
    assert_ne!(plain, turned);
    assert!(
        bench
            .file(&turned)
            .findings
            .iter()
            .any(|f| f.rule == "not-proven")
    );
}

/// A browser moves all of the drawing by them; the sender may not.
#[test]
fn a_box_round_the_page_is_named() {
    let bench = Bench::new();
    let plain = page(&(off_outlines() + &shape("") + &others(&[1])));
    for (style, named) in [
        ("margin:9px", true),
        ("padding:0 0 0 .5mm", true),
        ("border:1px solid", true),
        ("margin:0;padding:0px;border:none", false),
        ("margin:auto", false),
    ] {
        let boxed = plain.replacen("<svg ", &format!("<svg style='{style}' "), 1);
        let found = bench.file(&boxed).findings;
        let held = found.iter().any(|f| f.rule == "not-proven");
        assert_eq!(held, named, "{style}: {found:?}");
    }
}

/// Readers draw nothing of a shape without width; a sender may run the line that is left.
#[test]
fn a_shape_without_width_is_a_line() {
    let bench = Bench::new();
    for art in [
        "<rect x='40' y='95' width='0' height='9' fill='none' stroke='#7b2d8b'/>",
        "<ellipse cx='40' cy='95' rx='0' ry='9' fill='none' stroke='#7b2d8b'/>",
    ] {
        let rules = bench.rules(&format!("{art}{}", others(&[1])));
        assert!(
            rules.contains(&"stray-cut A1".to_owned()),
            "{art}: {rules:?}"
        );
    }
    let nothing = "<rect x='40' y='95' width='0' height='0' stroke='#7b2d8b'/>".to_owned();
    assert_eq!(
        bench.rules(&(nothing + &shape("") + &others(&[1]))),
        [""; 0]
    );
}

#[test]
fn gradients_and_patterns_are_paints() {
    let server = |kind: &str| {
        format!(
            "<defs><{kind} id='g'/></defs><path d='M30 95h20v10h-20z' fill='url(#g)'/>{}",
            others(&[1])
        )
    };
    let (plain, colour) = (Bench::new(), Bench::with("other = \"engrave\"\n"));
    for kind in ["linearGradient", "radialGradient", "pattern"] {
        assert_eq!(plain.rules(&server(kind)), ["paint-unknown A1"], "{kind}");
        assert_eq!(colour.rules(&server(kind)), [""; 0], "{kind}");
    }
    let nowhere = format!(
        "<path d='M30 95h20v10h-20z' fill='url(#nowhere)'/>{}",
        others(&[1])
    );
    assert_eq!(colour.rules(&nowhere), ["paint-unknown A1"]);
    // What is painted in its place is written beside it.
    let instead =
        |paint: &str| nowhere.replacen("url(#nowhere)", &format!("url(#nowhere) {paint}"), 1);
    assert_eq!(plain.rules(&instead("#1b1b1b")), [""; 0]);
    assert_eq!(plain.rules(&instead("#123456")), ["paint-unknown A1"]);
    assert_eq!(plain.rules(&instead("odd")), ["paint-unknown A1"]);
    let none = instead("none") + &name("Ada", 40.0, 100.0, "");
    assert_eq!(plain.rules(&none), [""; 0]);
    // Some readers know this server, and others paint the colour beside it.
    let mesh = "<meshgradient id='nowhere'/>".to_owned() + &instead("#7b2d8b");
    assert_eq!(colour.rules(&mesh), ["paint-unknown A1"]);
    let there = "<linearGradient id='nowhere'/>".to_owned() + &none;
    assert_eq!(plain.rules(&there), ["paint-unknown A1"]);
}

#[test]
fn what_editors_leave_in_a_file_holds_nothing_up() {
    let bench = Bench::new();
    for art in [
        shape("style='outline:none;outline-width:3px;mix-blend-mode:normal;filter:none;clip-path:none;mask:none;isolation:auto;stroke-linejoin:miter;marker:none;overflow:visible;-x-editor-prop:3;font-variation-settings:normal'"),
        text("style='text-shadow:none;text-transform:none;font-variant-ligatures:normal;font-feature-settings:normal;font-size-adjust:none;white-space:pre;line-height:1.25'"),
        "<switch><foreignObject requiredExtensions='http://x.example' width='1' height='1'><i xmlns='urn:x'>q</i></foreignObject><g>".to_owned() + &shape("") + "</g></switch>",
        "<metadata><x:y xmlns:x='urn:x'>q</x:y><img xmlns='http://www.w3.org/1999/xhtml'/></metadata><g/><defs><marker id='u'><path d='M0 0h3'/></marker><filter id='f'><feFlood/></filter><path id='p' d='M0 0h3'/></defs>".to_owned() + &shape(""),
        "<filter id='f'><feFlood/></filter><g display='none'>".to_owned() + &shape("filter='url(#f)'") + "</g>" + &shape(""),
        "<x:view xmlns:x='urn:x' pagecolor='#fff'><x:grid/></x:view>".to_owned() + &shape(""),
        "<style><![CDATA[.a{fill:#1b1b1b}.b{isolation:isolate}]]></style><g class='b'><path class='a' d='M30 95h20v10h-20z'/></g>".into(),
        "<a href='http://x.example'>".to_owned() + &shape("") + "</a>",
        // Lines that do not say that they have no fill.
        "<path d='M30 100h8' stroke='#1b1b1b'/><line x1='30' y1='110' x2='40' y2='110' stroke='#1b1b1b'/><polyline points='30,115 35,115 40,115' stroke='#0a7d55'/><path d='M30 90h5z' stroke='#0a7d55'/>".into(),
    ] {
        let mut rules = bench.rules(&format!("{art}{}", others(&[1])));
        // Which way up a few lines lie is for a person to say.
        rules.retain(|rule| !rule.starts_with("way-up-unknown"));
        assert_eq!(rules, [""; 0], "{art}");
    }
    // An area is another matter: every reader fills it black.
    let bent = format!("<path d='M30 100h8v8' stroke='#1b1b1b'/>{}", others(&[1]));
    assert!(bench.rules(&bent).contains(&"paint-unknown A1".to_owned()));
}

/// Readers show one frame of a moving picture, and not all the same one.
#[test]
fn a_picture_of_several_frames_is_named() {
    use base64::Engine as _;
    let gif = |frames: u8| {
        let mut bytes = Vec::new();
        let mut encoder = image::codecs::gif::GifEncoder::new(&mut bytes);
        for n in 0..frames {
            let pixel = image::Rgba([n, 0, 0, 255]);
            let frame = image::RgbaImage::from_pixel(4, 4, pixel);
            encoder.encode_frame(image::Frame::new(frame)).unwrap();
        }
        drop(encoder);
        let data = base64::engine::general_purpose::STANDARD.encode(&bytes);
        format!("<image x='35' y='95' width='9' height='9' href='data:image/gif;base64,{data}'/>")
    };
    let bench = Bench::new();
    assert!(
        !bench
            .rules(&(gif(1) + &others(&[1])))
            .contains(&"not-proven".to_owned())
    );
    assert!(
        bench
            .rules(&(gif(2) + &others(&[1])))
            .contains(&"not-proven".to_owned())
    );
}
