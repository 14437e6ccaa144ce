//! The same run, written as thirty editors and scripts would, and the runs that are written so.

use std::fmt::Write as _;
use std::io::Write as _;

use super::run::{self, Motion, RunFile, data, n, text};

/// The name of the file, of the dialect, and the file's bytes.
pub type Written = (&'static str, String, Vec<u8>);

fn svg_file(name: &str, text: String) -> Written {
    ("run.svg", name.to_owned(), text.into_bytes())
}

/// A page in another unit: `k` drawing units to a millimetre.
fn scaled(run: &RunFile, k: f64, unit: &str, origin: (f64, f64)) -> String {
    let moved = run.moved(Motion {
        by: origin,
        ..Motion::scale(k)
    });
    let lines = moved.lines_group().replace(
        "stroke-width=\"0.1\"",
        &format!("stroke-width=\"{}\"", n(0.1 * k)),
    );
    let (w, h) = (n(600.0 * k), n(400.0 * k));
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}{unit}\" height=\"{h}{unit}\" viewBox=\"{} {} {w} {h}\">\n{lines}{}</svg>",
        n(origin.0),
        n(origin.1),
        moved.names_group()
    )
}

fn page(body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"600mm\" height=\"400mm\" viewBox=\"0 0 600 400\">\n{body}</svg>"
    )
}

fn used(run: &RunFile) -> String {
    let mut defs = String::from("<defs>\n");
    let mut uses = format!(
        "<g fill=\"none\" stroke=\"{}\" stroke-width=\"0.1\">",
        run::OFF
    );
    for (i, shape) in run.lines().into_iter().enumerate() {
        // Each outline is defined somewhere else and brought to its place.
        let away = Motion::by(-40.0, 25.0).shape(shape);
        writeln!(defs, "<path id=\"o{i}\" d=\"{}\"/>", data(&away)).unwrap();
        writeln!(uses, "<use x=\"40\" y=\"-25\" xlink:href=\"#o{i}\"/>").unwrap();
    }
    uses.push_str("</g>");
    for (i, name) in run.names.iter().enumerate() {
        writeln!(
            defs,
            "<symbol id=\"n{i}\" overflow=\"visible\">{}</symbol>",
            text(name)
        )
        .unwrap();
        writeln!(
            uses,
            "<use href=\"#n{i}\" font-family=\"Ubuntu\" font-weight=\"300\" text-anchor=\"middle\" fill=\"{}\"/>",
            run::ENGRAVE
        )
        .unwrap();
    }
    page(&format!("{defs}</defs>\n{uses}"))
}

/// A symbol with a `viewBox` of its own holds everything, at half size.
fn symbol(run: &RunFile) -> String {
    page(&format!(
        "<symbol id=\"all\" viewBox=\"0 0 300 200\">{}</symbol><use href=\"#all\" width=\"600\" height=\"400\"/>",
        run.moved(Motion::scale(0.5))
            .body()
            .replace("stroke-width=\"0.1\"", "stroke-width=\"0.05\"")
    ))
}

fn compound(run: &RunFile) -> String {
    let all: Vec<String> = run.lines().into_iter().map(|s| data(s)).collect();
    page(&format!(
        "<path fill=\"none\" stroke=\"{}\" stroke-width=\"0.1\" d=\"{}\"/>{}",
        run::OFF,
        all.join(" "),
        run.names_group()
    ))
}

fn classes(run: &RunFile) -> String {
    let style = format!(
        "<style type=\"text/css\"><![CDATA[\n/* as exported */\n.st0, g.lines > path {{ fill: none; stroke: {}; stroke-width: 0.1px }}\ntext {{ font-family: 'Ubuntu'; font-weight: 300 }}\n#names text.st1 {{ text-anchor: middle; fill: rgb(27, 27, 27) !important }}\n.st1 {{ fill: {} }}\n]]></style>",
        run::OFF.to_uppercase(),
        run::CUT
    );
    let mut body = String::from("<g class=\"lines\">");
    for (i, shape) in run.lines().into_iter().enumerate() {
        let class = if i % 2 == 0 { " class=\"st0\"" } else { "" };
        writeln!(body, "<path{class} d=\"{}\"/>", data(shape)).unwrap();
    }
    body.push_str("</g><g id=\"names\">");
    for name in &run.names {
        body.push_str(&text(name).replace("<text", "<text class=\"st1\""));
    }
    page(&format!("{style}{body}</g>"))
}

fn nested_viewport(run: &RunFile) -> String {
    // The inner page covers the front 300 × 300 mm at three units a millimetre.
    let inner = run.moved(Motion {
        by: (0.0, -300.0),
        ..Motion::scale(3.0)
    });
    page(&format!(
        "<svg x=\"0\" y=\"100\" width=\"300\" height=\"300\" viewBox=\"0 0 900 900\">{}</svg>",
        inner
            .body()
            .replace("stroke-width=\"0.1\"", "stroke-width=\"0.3\"")
    ))
}

fn nested_groups(run: &RunFile) -> String {
    let inner = run.moved(Motion::by(-12.5, 7.25));
    page(&format!(
        "<g transform=\"translate(12.5) rotate(30)\"><g transform=\"rotate(-30), translate(0 -7.25)\"><g transform=\"matrix(2 0 0 .5 0 0)\"><g transform=\"scale(.5 2)\">{}</g></g></g></g>",
        inner.body()
    ))
}

/// Every outline carries its own transform, as after dragging.
fn own_transforms(run: &RunFile) -> String {
    let mut body = format!(
        "<g style=\"fill:none;stroke:{};stroke-width:0.1\">",
        run::OFF
    );
    for (i, shape) in run.lines().into_iter().enumerate() {
        let (dx, dy) = (3.5 * i as f64, -11.0);
        let away = Motion::by(-dx, -dy).shape(shape);
        writeln!(
            body,
            "<path transform=\"translate({dx},{dy})\" d=\"{}\"/>",
            data(&away)
        )
        .unwrap();
    }
    page(&format!("{body}</g>{}", run.names_group()))
}

/// A doctype whose entities stand for namespaces and paints, as some editors write.
fn entities(run: &RunFile) -> String {
    let body = run
        .body()
        .replace(&format!("\"{}\"", run::OFF), "\"&st;\"")
        .replace(&format!("\"{}\"", run::ENGRAVE), "\"&ink;\"");
    format!(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\" \"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd\" [\n<!ENTITY ns_svg \"http://www.w3.org/2000/svg\">\n<!ENTITY st \"{}\">\n<!ENTITY ink \"{}\">\n]>\n<svg xmlns=\"&ns_svg;\" width=\"600mm\" height=\"400mm\" viewBox=\"0 0 600 400\">\n{body}</svg>",
        run::OFF,
        run::ENGRAVE
    )
}

/// A root with a prefix on every element.
fn prefixed(run: &RunFile) -> String {
    run.svg()
        .replace("</", "</s:")
        .replace('<', "<s:")
        .replace("<s:/s:", "</s:")
        .replace("xmlns=", "xmlns:s=")
}

fn gzip(text: &str) -> Vec<u8> {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    encoder.write_all(text.as_bytes()).unwrap();
    encoder.finish().unwrap()
}

fn utf16(text: &str, order: fn(u16) -> [u8; 2]) -> Vec<u8> {
    format!("\u{feff}{text}")
        .encode_utf16()
        .flat_map(order)
        .collect()
}

/// The run in every dialect.
pub fn dialects(run: &RunFile) -> Vec<Written> {
    let plain = run.svg();
    let declared =
        |encoding: &str| format!("<?xml version=\"1.0\" encoding=\"{encoding}\"?>\n{plain}");
    let px = 96.0 / 25.4;
    let mut all = vec![
        svg_file("millimetres", plain.clone()),
        svg_file("centimetres", scaled(run, 0.1, "cm", (0.0, 0.0))),
        svg_file("quarter millimetres", scaled(run, 4.0, "q", (0.0, 0.0))),
        svg_file("px", scaled(run, px, "px", (0.0, 0.0))),
        svg_file("no unit", scaled(run, px, "", (0.0, 0.0))),
        svg_file("points", scaled(run, 72.0 / 25.4, "pt", (0.0, 0.0))),
        svg_file("picas", scaled(run, 6.0 / 25.4, "pc", (0.0, 0.0))),
        svg_file("inches", scaled(run, 1.0 / 25.4, "in", (0.0, 0.0))),
        svg_file("another origin", scaled(run, 1.0, "mm", (-310.5, 1200.25))),
        svg_file(
            "no viewBox",
            scaled(run, px, "px", (0.0, 0.0)).replacen("viewBox", "data-was", 1),
        ),
        svg_file("use", used(run)),
        svg_file("symbol", symbol(run)),
        svg_file("one compound path", compound(run)),
        svg_file("classes", classes(run)),
        svg_file("nested svg", nested_viewport(run)),
        svg_file("nested groups", nested_groups(run)),
        svg_file("own transforms", own_transforms(run)),
        svg_file("entities", entities(run)),
        svg_file("prefixed", prefixed(run)),
        svg_file("CRLF", declared("UTF-8").replace('\n', "\r\n")),
        svg_file("UTF-8 with BOM", format!("\u{feff}{}", declared("utf-8"))),
        svg_file("minified", plain.replace('\n', "")),
    ];
    for (name, bytes) in [
        ("UTF-16 LE", utf16(&declared("UTF-16"), u16::to_le_bytes)),
        ("UTF-16 BE", utf16(&declared("UTF-16"), u16::to_be_bytes)),
        ("Latin-1", declared("iso-8859-1").into_bytes()),
    ] {
        all.push(("run.svg", name.to_owned(), bytes));
    }
    all.push(("run.svgz", "svgz".to_owned(), gzip(&plain)));
    all.push((
        "run.svg",
        "svgz under another name".to_owned(),
        gzip(&plain),
    ));
    all
}

/// A rule and the pocket that it speaks of; no pocket is "".
pub type Fault = (&'static str, &'static str);

/// Runs by name, with what is wrong with each.
pub fn runs() -> Vec<(&'static str, RunFile, Vec<Fault>)> {
    vec![
        ("sound", RunFile::clear(), vec![]),
        (
            "outlines",
            outlines_off(),
            vec![
                ("pocket-moved", "A3"),
                ("pocket-moved", "B5"),
                ("pocket-reshaped", "B2"),
            ],
        ),
        (
            "names",
            names_off(),
            vec![
                ("off-blank", "A5"),
                ("outside-bed", "A1"),
                ("past-zone", "A3"),
                ("upside-down", "B2"),
                ("upside-down", "B3"),
            ],
        ),
        (
            "dragged",
            RunFile::clear().moved(Motion::by(3.2, -1.5)),
            vec![("fixture-shifted", "")],
        ),
        ("deleted", outline_gone(), vec![("pocket-missing", "B6")]),
    ]
}

fn outlines_off() -> RunFile {
    let mut run = RunFile::clear();
    run.move_pocket("A3", Motion::by(0.3, 0.2));
    run.move_pocket("B5", Motion::turn(0.7, (166.0, 242.0)));
    let (x, y) = run::corner(run::index("B2"));
    let mut longer = run::tag((x, y - 1.5));
    longer.truncate(5);
    longer.extend(run::tag((x, y)).split_off(5));
    run.pockets[run::index("B2")] = Some(longer);
    run
}

fn names_off() -> RunFile {
    let mut run = RunFile::clear();
    run.name("A3").text = "Meadowsweet";
    run.name("B2").turn = 180.0;
    run.name("B3").turn = 90.0;
    run.name("A5").x += 17.5;
    run.name("A1").size = 6.4;
    run
}

fn outline_gone() -> RunFile {
    let mut run = RunFile::clear();
    run.pockets[run::index("B6")] = None;
    run
}
