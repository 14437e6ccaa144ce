//! Worked examples of SVG 2, chapter 8 "Coordinate systems, transformations and units", and of the
//! same chapter of SVG 1.1 (7), written down from memory; expected places worked out by hand from the
//! text of the sections named beside them.

use jigwarden::tested::artwork::fonts::Faces;
use jigwarden::tested::artwork::mark::{Artwork, Role};
use jigwarden::tested::artwork::resolve::{ReadOptions, resolve};
use jigwarden::tested::artwork::source::Source;
use kurbo::{Point, Rect, Shape as _};

const PX: f64 = 25.4 / 96.0;

fn read(attributes: &str, body: &str) -> Artwork {
    let text = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {attributes}>{body}</svg>");
    let source = Source::from_bytes("example.svg", text.into_bytes()).unwrap();
    let faces = Faces::new(Vec::new(), false);
    let reading = ReadOptions {
        units: jigwarden::tested::artwork::length::RootUnits::CSS,
        placing: None,
        faces: &faces,
    };
    let artwork = resolve(&source, &reading).unwrap();
    assert_eq!(artwork.unproven, []);
    artwork
}

/// The boxes of all outlines, in CSS pixels of the page.
fn boxes(attributes: &str, body: &str) -> Vec<Rect> {
    read(attributes, body)
        .marks
        .iter()
        .map(|m| m.path.bounding_box().scale_from_origin(1.0 / PX))
        .collect()
}

#[track_caller]
fn close(actual: Rect, expected: [f64; 4], by: f64) {
    let [x0, y0, x1, y1] = expected;
    let off = [
        actual.x0 - x0,
        actual.y0 - y0,
        actual.x1 - x1,
        actual.y1 - y1,
    ];
    assert!(
        off.iter().all(|d| d.abs() <= by),
        "{actual:?} is not {expected:?}"
    );
}

/// Where the point (x, y) of the element's own frame comes to lie, in pixels.
fn placed(attributes: &str, open: &str, shut: &str, x: f64, y: f64) -> Point {
    let body = format!("{open}<path d=\"M{x} {y}l1 0 0 1\"/>{shut}");
    let artwork = read(attributes, &body);
    let first = artwork.marks.as_slice()[0].path.elements()[0]
        .end_point()
        .unwrap();
    Point::new(first.x / PX, first.y / PX)
}

#[track_caller]
fn at(actual: Point, x: f64, y: f64, by: f64) {
    assert!(
        (actual.x - x).abs() <= by && (actual.y - y).abs() <= by,
        "{actual:?} is not ({x}, {y})"
    );
}

#[test]
fn initial_and_new_coordinate_systems() {
    // 8.3 and 8.4: without a viewBox user units are pixels; a translation moves the origin.
    let page = "width=\"400px\" height=\"150px\"";
    at(placed(page, "", "", 30.0, 30.0), 30.0, 30.0, 1e-9);
    let g = "<g transform=\"translate(50,50)\">";
    at(placed(page, g, "</g>", 30.0, 30.0), 80.0, 80.0, 1e-9);
}

#[test]
fn rotate_and_scale() {
    // 8.4: two groups, one turned by 30 degrees about (50, 30), one scaled by 1.5 about (200, 40).
    let page = "width=\"400px\" height=\"120px\"";
    let turned = "<g transform=\"translate(50,30)\"><g transform=\"rotate(30)\">";
    let (c, s) = (3f64.sqrt() / 2.0, 0.5);
    at(
        placed(page, turned, "</g></g>", 50.0, 0.0),
        50.0 + 50.0 * c,
        30.0 + 50.0 * s,
        1e-9,
    );
    at(
        placed(page, turned, "</g></g>", 0.0, 50.0),
        50.0 - 50.0 * s,
        30.0 + 50.0 * c,
        1e-9,
    );
    let scaled = "<g transform=\"translate(200,40)\"><g transform=\"scale(1.5)\">";
    at(
        placed(page, scaled, "</g></g>", 50.0, 50.0),
        275.0,
        115.0,
        1e-9,
    );
}

#[test]
fn skews() {
    // 8.4: skewX(30) moves y = 50 by 50 tan 30 to the right, skewY(30) x = 50 as much down.
    let page = "width=\"400px\" height=\"120px\"";
    let tan = 1.0 / 3f64.sqrt();
    let by_x = "<g transform=\"translate(30,30)\"><g transform=\"skewX(30)\">";
    at(
        placed(page, by_x, "</g></g>", 0.0, 50.0),
        30.0 + 50.0 * tan,
        80.0,
        1e-9,
    );
    let by_y = "<g transform=\"translate(200,30)\"><g transform=\"skewY(30)\">";
    at(
        placed(page, by_y, "</g></g>", 50.0, 0.0),
        250.0,
        30.0 + 50.0 * tan,
        1e-9,
    );
}

#[test]
fn nested_transforms_multiply() {
    // SVG 1.1, 7.5: translate(50,90), rotate(-45), translate(130,160) come to the matrix
    // .707 .707 255.03 / -.707 .707 111.21, printed there with sines of three digits.
    let open = "<g transform=\"translate(50,90)\"><g transform=\"rotate(-45)\"><g transform=\"translate(130,160)\">";
    let page = "width=\"400px\" height=\"150px\"";
    let shut = "</g></g></g>";
    at(placed(page, open, shut, 0.0, 0.0), 255.03, 111.21, 0.05);
    at(
        placed(page, open, shut, 100.0, 0.0),
        255.03 + 70.7,
        111.21 - 70.7,
        0.05,
    );
    at(
        placed(page, open, shut, 0.0, 100.0),
        255.03 + 70.7,
        111.21 + 70.7,
        0.05,
    );
    // The same in one list, with every separator that 8.5 allows.
    for list in [
        "translate(50,90)rotate(-45)translate(130,160)",
        " translate( 50 90 ) , rotate( -45 ),translate(130 , 160) ",
        "matrix(1 0 0 1 50 90)rotate(-45 0 0)matrix(1,0,0,1,130,160)",
    ] {
        let g = format!("<g transform=\"{list}\">");
        at(placed(page, &g, "</g>", 0.0, 0.0), 255.03, 111.21, 0.05);
    }
}

#[test]
fn a_view_box_scales_to_its_viewport() {
    // 8.6: 1500 by 1000 units on 300 by 200 pixels, and on 150 by 200 without keeping proportions.
    let sheet = "<rect width=\"1500\" height=\"1000\"/><path d=\"M750 100L250 900L1250 900z\"/>";
    let all = boxes(
        "width=\"300px\" height=\"200px\" viewBox=\"0 0 1500 1000\"",
        sheet,
    );
    close(all[0], [0.0, 0.0, 300.0, 200.0], 1e-9);
    close(all[1], [50.0, 20.0, 250.0, 180.0], 1e-9);
    let all = boxes(
        "width=\"150px\" height=\"200px\" viewBox=\"0 0 1500 1000\" preserveAspectRatio=\"none\"",
        sheet,
    );
    close(all[0], [0.0, 0.0, 150.0, 200.0], 1e-9);
    close(all[1], [25.0, 20.0, 125.0, 180.0], 1e-9);
}

#[test]
fn every_preserve_aspect_ratio() {
    // 8.7: a face of 30 by 40 units on a wide and on a tall viewport. Each line: the value, the box on
    // 50 by 30, the box on 30 by 60.
    const TABLE: &[(&str, [f64; 4], [f64; 4])] = &[
        (
            "xMinYMin meet",
            [0.0, 0.0, 22.5, 30.0],
            [0.0, 0.0, 30.0, 40.0],
        ),
        (
            "xMidYMin meet",
            [13.75, 0.0, 36.25, 30.0],
            [0.0, 0.0, 30.0, 40.0],
        ),
        (
            "xMaxYMin meet",
            [27.5, 0.0, 50.0, 30.0],
            [0.0, 0.0, 30.0, 40.0],
        ),
        (
            "xMinYMid meet",
            [0.0, 0.0, 22.5, 30.0],
            [0.0, 10.0, 30.0, 50.0],
        ),
        (
            "xMidYMid meet",
            [13.75, 0.0, 36.25, 30.0],
            [0.0, 10.0, 30.0, 50.0],
        ),
        ("xMaxYMid", [27.5, 0.0, 50.0, 30.0], [0.0, 10.0, 30.0, 50.0]),
        (
            "xMinYMax meet",
            [0.0, 0.0, 22.5, 30.0],
            [0.0, 20.0, 30.0, 60.0],
        ),
        (
            "xMidYMax",
            [13.75, 0.0, 36.25, 30.0],
            [0.0, 20.0, 30.0, 60.0],
        ),
        (
            "xMaxYMax meet",
            [27.5, 0.0, 50.0, 30.0],
            [0.0, 20.0, 30.0, 60.0],
        ),
        (
            "xMinYMin slice",
            [0.0, 0.0, 50.0, 200.0 / 3.0],
            [0.0, 0.0, 45.0, 60.0],
        ),
        (
            "xMidYMid slice",
            [0.0, -55.0 / 3.0, 50.0, 145.0 / 3.0],
            [-7.5, 0.0, 37.5, 60.0],
        ),
        (
            "xMaxYMax slice",
            [0.0, -110.0 / 3.0, 50.0, 30.0],
            [-15.0, 0.0, 30.0, 60.0],
        ),
        ("none", [0.0, 0.0, 50.0, 30.0], [0.0, 0.0, 30.0, 60.0]),
        ("none slice", [0.0, 0.0, 50.0, 30.0], [0.0, 0.0, 30.0, 60.0]),
    ];
    let face = "<rect width=\"30\" height=\"40\"/>";
    for (value, wide, tall) in TABLE {
        for (size, expected) in [((50, 30), wide), ((30, 60), tall)] {
            let (w, h) = size;
            let root = format!(
                "width=\"{w}px\" height=\"{h}px\" viewBox=\"0 0 30 40\" preserveAspectRatio=\"{value}\""
            );
            close(boxes(&root, face)[0], *expected, 1e-9);
            // A nested viewport goes by the same rule, about its own corner.
            let nested = format!("<svg x=\"7\" y=\"9\" {root}>{face}</svg>");
            let [x0, y0, x1, y1] = *expected;
            let moved = [x0 + 7.0, y0 + 9.0, x1 + 7.0, y1 + 9.0];
            close(
                boxes("width=\"200\" height=\"200\"", &nested)[0],
                moved,
                1e-9,
            );
        }
    }
}

#[test]
fn units_and_percentages() {
    // 8.9: a page of 400 pixels, 4000 units wide. Absolute units are sized by their pixels in user
    // units, percentages by the view box, lines by its diagonal over the square root of two.
    let root = "width=\"400px\" height=\"400px\" viewBox=\"0 0 4000 4000\"";
    let body = "<rect x=\"200\" y=\"400\" width=\"3200\" height=\"3200\"/>\
        <rect x=\"10%\" y=\"10%\" width=\"20%\" height=\"40%\"/>\
        <rect x=\"1in\" y=\"2in\" width=\"25.4mm\" height=\"72pt\"/>\
        <circle cx=\"50%\" cy=\"50%\" r=\"10%\"/>\
        <line x1=\"0\" y1=\"0\" x2=\"100%\" y2=\"100%\" stroke=\"red\" stroke-width=\"1%\"/>";
    let all = boxes(root, body);
    close(all[0], [20.0, 40.0, 340.0, 360.0], 1e-9);
    close(all[1], [40.0, 40.0, 120.0, 200.0], 1e-9);
    close(all[2], [9.6, 19.2, 19.2, 28.8], 1e-9);
    close(all[3], [160.0, 160.0, 240.0, 240.0], 1e-3);
    close(all[4], [0.0, 0.0, 400.0, 400.0], 1e-9);
    let artwork = read(root, body);
    let Role::Stroke(line) = &artwork.marks.as_slice()[4].role else {
        unreachable!("the last mark is the line")
    };
    assert!((line.width - 40.0).abs() < 1e-9, "{}", line.width);
    // On a page that is not square: 3 by 4 gives 5 over the square root of two.
    let all = read("width=\"300\" height=\"400\"", "<circle r=\"1%\"/>");
    let r = all.marks.as_slice()[0].path.bounding_box().width() / 2.0 / PX;
    assert!((r - 5.0 / 2f64.sqrt()).abs() < 1e-3, "{r}");
}

#[test]
fn viewports_in_viewports() {
    // 8.8 (SVG 1.1, 7.9): inside a page of 4 by 3 inches a viewport at (1 in, 1 in), half of it on
    // and half of it off the page; percentages inside go by the nearest viewport.
    let inner = "<svg x=\"1in\" y=\"1in\" width=\"2in\" height=\"1in\" overflow=\"visible\">\
        <rect width=\"100%\" height=\"50%\"/>\
        <svg x=\"50%\" y=\"0\" width=\"50%\" height=\"100%\" viewBox=\"0 0 10 10\" overflow=\"visible\">\
        <rect x=\"10%\" width=\"50%\" height=\"10\"/></svg></svg>";
    let all = boxes("width=\"4in\" height=\"3in\"", inner);
    close(all[0], [96.0, 96.0, 288.0, 144.0], 1e-9);
    // 96 px square at (192, 96), 10 units wide.
    close(all[1], [201.6, 96.0, 249.6, 192.0], 1e-9);
    // A symbol is a viewport as well, of the size that its clone says.
    let symbol = "<symbol id=\"s\" viewBox=\"0 0 10 10\"><rect x=\"1\" y=\"2\" width=\"3\" height=\"4\"/></symbol>\
        <use href=\"#s\" x=\"20\" y=\"30\" width=\"50\" height=\"100\"/><use href=\"#s\"/>";
    let all = boxes("width=\"200\" height=\"200\"", symbol);
    // 50 by 100, kept in proportion and centred: 5 px a unit, 25 px down.
    close(all[0], [25.0, 65.0, 40.0, 85.0], 1e-9);
    // Without a size it takes all of the page: 20 px a unit.
    close(all[1], [20.0, 40.0, 80.0, 120.0], 1e-9);
}

#[test]
fn viewports_clip_what_hangs_over() {
    // 8.6 and the user agent style sheet: `svg` other than the outermost, and `symbol`, hide what
    // flows over.
    let body =
        "<svg x=\"10\" y=\"10\" width=\"20\" height=\"20\"><rect width=\"50\" height=\"5\"/></svg>";
    let artwork = read("width=\"100\" height=\"100\"", body);
    let ink = artwork.marks.as_slice()[0].ink().bounds().unwrap();
    close(
        ink.scale_from_origin(1.0 / PX),
        [10.0, 10.0, 30.0, 15.0],
        1e-4,
    );
}

#[test]
fn lines_that_do_not_scale() {
    // 8.13: the width is in pixels of the page, whatever the transform.
    let body = "<g transform=\"scale(4 1)\"><path d=\"M10 10V40\" fill=\"none\" stroke=\"red\" stroke-width=\"2\" vector-effect=\"non-scaling-stroke\"/></g>";
    let artwork = read("width=\"100\" height=\"100\"", body);
    let ink = artwork.marks.as_slice()[0].ink().bounds().unwrap();
    close(
        ink.scale_from_origin(1.0 / PX),
        [39.0, 10.0, 41.0, 40.0],
        1e-2,
    );
}
