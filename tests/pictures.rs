//! Pictures: where their ink lies on the bed, their resolution, and what cannot be measured.

use crate::common::bench;

use base64::Engine as _;
use bench::{Bench, off_outlines, others, page, png, read};
use image::{DynamicImage, ImageFormat, Rgba, RgbaImage};
use jigwarden::tested::artwork::mark::{Artwork, Content, Mark, Picture};
use kurbo::Rect;

/// The only mark, a picture.
fn only(artwork: &Artwork) -> (&Mark, &Picture) {
    let doubts: Vec<_> = artwork.unproven.iter().map(|u| &u.what).collect();
    assert!(doubts.is_empty(), "{doubts:?}");
    assert_eq!(artwork.marks.len(), 1);
    match &artwork.marks.as_slice()[0].content {
        Content::Picture(p) => (&artwork.marks.as_slice()[0], p),
        other => panic!("no picture: {other:?}"),
    }
}

fn close(a: Rect, b: Rect, within: f64) -> bool {
    (a.x0 - b.x0).abs() <= within
        && (a.y0 - b.y0).abs() <= within
        && (a.x1 - b.x1).abs() <= within
        && (a.y1 - b.y1).abs() <= within
}

/// 40 × 20 pixels of `ground`, black where x is 10..30 and y is 5..15.
fn block(ground: [u8; 4]) -> RgbaImage {
    RgbaImage::from_fn(40, 20, |x, y| {
        if (10..30).contains(&x) && (5..15).contains(&y) {
            Rgba([0, 0, 0, 255])
        } else {
            Rgba(ground)
        }
    })
}

fn data(kind: &str, bytes: &[u8]) -> String {
    let text = base64::engine::general_purpose::STANDARD.encode(bytes);
    format!("data:image/{kind};base64,{text}")
}

fn written(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

const CLEAR: [u8; 4] = [255, 255, 255, 0];

#[test]
fn only_the_inked_part_counts_in_every_format() {
    let art = |href: &str| format!("<image x='40' y='60' width='40' height='20' href='{href}'/>");
    let inked = Rect::new(50.0, 65.0, 70.0, 75.0);
    let clear = DynamicImage::from(block(CLEAR));
    let white = DynamicImage::from(block([255; 4]));
    let opaque = DynamicImage::from(white.to_rgb8());
    for (what, href, within) in [
        ("png, clear around", png(&clear), 0.01),
        ("png, white around", png(&white), 0.01),
        ("gif", data("gif", &written(&clear, ImageFormat::Gif)), 0.01),
        (
            "webp",
            data("webp", &written(&clear, ImageFormat::WebP)),
            0.01,
        ),
        // Its blocks of eight pixels smear a sharp edge into the white beside it.
        (
            "jpeg",
            data("jpeg", &written(&opaque, ImageFormat::Jpeg)),
            6.01,
        ),
        // The name of the kind is not to be trusted.
        (
            "png called jpeg",
            data("jpeg", &written(&clear, ImageFormat::Png)),
            0.01,
        ),
    ] {
        let artwork = read(&art(&href));
        let (mark, picture) = only(&artwork);
        assert_eq!(picture.pixels, Some((40, 20)), "{what}");
        let bounds = mark.ink().bounds().unwrap();
        assert!(close(bounds, inked, within), "{what}: {bounds:?}");
    }
}

#[test]
fn a_picture_lies_where_its_frame_and_proportion_put_it() {
    // 2 to 1, into a frame of 40 × 40 (SVG 2, 8.8): the whole picture's box is what is told.
    let href = png(&DynamicImage::from(RgbaImage::from_pixel(
        40,
        20,
        Rgba([0, 0, 0, 255]),
    )));
    for (more, wanted) in [
        ("", Rect::new(20.0, 40.0, 60.0, 60.0)),
        (
            "preserveAspectRatio='xMidYMin'",
            Rect::new(20.0, 30.0, 60.0, 50.0),
        ),
        (
            "preserveAspectRatio='xMaxYMax meet'",
            Rect::new(20.0, 50.0, 60.0, 70.0),
        ),
        (
            "preserveAspectRatio='none'",
            Rect::new(20.0, 30.0, 60.0, 70.0),
        ),
        // Sliced: as high as the frame, and cut to it.
        (
            "preserveAspectRatio='xMinYMid slice'",
            Rect::new(20.0, 30.0, 60.0, 70.0),
        ),
        // Turned by a quarter about the frame's middle, which is (40, 50).
        (
            "transform='rotate(90 40 50)'",
            Rect::new(30.0, 30.0, 50.0, 70.0),
        ),
        // Mirrored across x = 50.
        (
            "transform='matrix(-1 0 0 1 100 0)'",
            Rect::new(40.0, 40.0, 80.0, 60.0),
        ),
    ] {
        let artwork = read(&format!(
            "<image x='20' y='30' width='40' height='40' {more} href='{href}'/>"
        ));
        let (mark, picture) = only(&artwork);
        let bounds = mark.ink().bounds().unwrap();
        assert!(close(bounds, wanted, 0.01), "{more}: {bounds:?}");
        assert_eq!(picture.mirrored(), more.contains("-1"), "{more}");
    }
    // A side that is not stated follows the other.
    for (size, wanted) in [
        ("width='40'", Rect::new(20.0, 30.0, 60.0, 50.0)),
        ("height='10'", Rect::new(20.0, 30.0, 40.0, 40.0)),
        ("", Rect::new(20.0, 30.0, 60.0, 50.0)),
    ] {
        let artwork = read(&format!("<image x='20' y='30' {size} href='{href}'/>"));
        let bounds = only(&artwork).0.ink().bounds().unwrap();
        assert!(close(bounds, wanted, 0.01), "{size}: {bounds:?}");
    }
}

#[test]
fn the_coarser_direction_is_the_resolution() {
    let href = png(&DynamicImage::from(block(CLEAR)));
    let artwork = read(&format!(
        "<image width='25.4' height='25.4' preserveAspectRatio='none' href='{href}'/>"
    ));
    // 40 dots in an inch across, 20 down.
    let dpi = only(&artwork).1.resolution().unwrap();
    assert!((dpi - 20.0).abs() < 1e-9, "{dpi}");
}

#[test]
fn art_that_only_its_blank_border_takes_out_of_the_zone_is_clear() {
    let bench = Bench::with("[limits]\ncoarsest-picture = 1\n");
    // The frame reaches 30 mm beyond the pocket on both sides, the ink stays within.
    let href = png(&DynamicImage::from(block(CLEAR)));
    let wide = format!(
        "<image x='10' y='85' width='60' height='30' href='{href}'/>{}",
        others(&[1])
    );
    assert_eq!(bench.rules(&wide), Vec::<String>::new());
    let inked = png(&DynamicImage::from(block([0, 0, 0, 255])));
    let out = wide.replace(&href, &inked);
    assert!(
        bench.rules(&out).contains(&"past-zone A1".to_owned()),
        "{:?}",
        bench.rules(&out)
    );
}

/// What is said of a picture that cannot be measured: it holds, and is named with a remedy.
fn named(href: &str) -> String {
    let bench = Bench::new();
    let run = bench.file(&page(&format!(
        "{}<image x='30' y='90' width='20' height='20' href='{}'/>{}",
        off_outlines(),
        href.replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('\'', "&quot;"),
        others(&[1])
    )));
    let doubts: Vec<_> = run
        .findings
        .iter()
        .filter(|f| f.rule == "not-proven")
        .collect();
    assert_eq!(doubts.len(), 1, "{href}: {:#?}", run.findings);
    assert!(!doubts[0].help.is_empty());
    doubts[0].message.clone()
}

#[test]
fn what_cannot_be_decoded_is_named() {
    let whole = written(&DynamicImage::from(block(CLEAR)), ImageFormat::Png);
    for (href, words) in [
        (data("png", &whole[..whole.len() / 2]), "cannot be decoded"),
        (data("png", b"no picture at all"), "cannot be decoded"),
        ("data:image/png;base64,@@@@".to_owned(), "cannot be decoded"),
        ("crest.png".to_owned(), "another file"),
        (String::new(), "nothing in it"),
    ] {
        let said = named(&href);
        assert!(said.contains(words), "{href}: {said}");
    }
}

/// A drawing of 20 × 10 to be placed as a picture.
fn drawing(inside: &str, more: &str) -> String {
    format!(
        "data:image/svg+xml,<svg xmlns='http://www.w3.org/2000/svg' xmlns:s='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='20' height='10' {more}>{inside}</svg>"
    )
}

#[test]
fn a_drawing_placed_as_a_picture_is_measured_by_its_ink() {
    let art = drawing(
        "<!-- e --><g transform='translate(5 0)'><rect y='2' width='10' height='6'/></g>",
        "",
    )
    .replace('<', "&lt;")
    .replace('\'', "&quot;");
    let artwork = read(&format!(
        "<image x='40' y='60' width='40' height='20' href='{art}'/>"
    ));
    let bounds = only(&artwork).0.ink().bounds().unwrap();
    assert!(
        close(bounds, Rect::new(50.0, 64.0, 70.0, 76.0), 0.05),
        "{bounds:?}"
    );
}

#[test]
fn what_the_renderer_may_leave_out_of_such_a_drawing_is_named() {
    for inside in [
        "<text y='5'>Ada</text>",
        "<s:text y='5'>Ada</s:text>",
        "<s:image width='9' height='9' href='crest.png'/>",
        "<s:foreignObject width='9' height='9'/>",
        "<switch><rect width='9' height='9'/></switch>",
        "<rect width='9' height='9' systemLanguage='xx'/>",
        "<use href='other.svg#a'/>",
        "<g id='a'><rect width='9' height='9'/></g><use xlink:href='#a'/>",
        "<animate attributeName='x' to='9'/>",
        "<set attributeName='x' to='9'/>",
        "<script>0</script>",
        "<style>rect{display:none}</style>",
        "<rect width='9' height='9' mask='url(#m)'/>",
        "<rect width='9' height='9' style='filter:blur(3px)'/>",
        "<rect width='9' height='9' vector-effect='non-scaling-stroke'/>",
        "<linearGradient id='a' xlink:href='other.svg#b'/><rect width='9' height='9' fill='url(#a)'/>",
        "<unheard-of/>",
    ] {
        let said = named(&drawing(inside, ""));
        assert!(
            said.contains("drawing placed as a picture"),
            "{inside}: {said}"
        );
    }
    let sheet = drawing("<rect width='9' height='9'/>", "")
        .replace("xml,<svg", "xml,<?xml-stylesheet href='a.css'?><svg");
    assert!(named(&sheet).contains("style sheet"));
}
