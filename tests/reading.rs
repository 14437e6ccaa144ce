//! Files of every kind: encodings, compression, damage, and what would overload the parser.

use std::io::Write as _;
use std::time::{Duration, Instant};

use flate2::Compression;
use flate2::write::GzEncoder;
use jigwarden::tested::artwork::limits::{DEEPEST, MOST_ATTRIBUTES};
use jigwarden::tested::artwork::source::{Failure, ReadError, Source};
use proptest::prelude::*;

const SVG: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\"><title>Grüße</title></svg>";

fn source(bytes: impl Into<Vec<u8>>) -> Result<Source, ReadError> {
    Source::from_bytes("monday.svg", bytes.into())
}

fn trouble(bytes: impl Into<Vec<u8>>) -> Failure {
    match source(bytes) {
        Err(error) => error.trouble,
        Ok(read) => panic!("read as {:?}", read.text),
    }
}

fn xml_trouble(text: &str) -> ReadError {
    source(text).unwrap().xml().unwrap_err()
}

fn zipped(text: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::default());
    encoder.write_all(text).unwrap();
    encoder.finish().unwrap()
}

fn utf16(text: &str, order: fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(order).collect()
}

#[test]
fn every_encoding_gives_the_same_text() {
    let latin: Vec<u8> = format!("<?xml version=\"1.0\" encoding='iso-8859-1'?>{SVG}")
        .chars()
        .map(|c| u8::try_from(u32::from(c)).unwrap())
        .collect();
    let with = |mark: &[u8], body: Vec<u8>| [mark, &body].concat();
    for (name, bytes) in [
        ("UTF-8", SVG.as_bytes().to_vec()),
        ("UTF-8", with(b"\xef\xbb\xbf", SVG.as_bytes().to_vec())),
        ("UTF-16LE", with(b"\xff\xfe", utf16(SVG, u16::to_le_bytes))),
        ("UTF-16BE", with(b"\xfe\xff", utf16(SVG, u16::to_be_bytes))),
        ("UTF-16LE", utf16(SVG, u16::to_le_bytes)),
        ("UTF-16BE", utf16(SVG, u16::to_be_bytes)),
        ("windows-1252", latin),
    ] {
        for compressed in [false, true] {
            let bytes = if compressed {
                zipped(&bytes)
            } else {
                bytes.clone()
            };
            let read = source(bytes).unwrap();
            assert_eq!(read.encoding, name);
            assert_eq!(read.compressed, compressed);
            assert_eq!(read.doubts, []);
            assert!(read.text.ends_with(SVG), "{name}: {}", read.text);
            assert!(!read.text.starts_with('\u{feff}'), "{name}");
            let document = read.xml().unwrap();
            assert_eq!(
                read.svg_root(&document)
                    .unwrap()
                    .descendants()
                    .find_map(|n| n.text()),
                Some("Grüße")
            );
        }
    }
}

#[test]
fn a_text_declared_wide_but_written_narrow_is_read() {
    let read = source(format!("<?xml version=\"1.0\" encoding=\"UTF-16\"?>{SVG}")).unwrap();
    assert_eq!(read.encoding, "UTF-8");
    assert!(read.xml().is_ok());
}

#[test]
fn a_text_that_readers_will_decode_differently_is_doubtful() {
    let read = source(format!(
        "<?xml version=\"1.0\" encoding=\"windows-1252\"?>{SVG}"
    ))
    .unwrap();
    assert_eq!(read.doubts.len(), 1);
    assert!(read.text.contains("GrÃ¼ÃŸe"), "{}", read.text);
    // Plain ASCII reads the same either way.
    let ascii = SVG.replace("Grüße", "Gruss");
    let read = source(format!(
        "<?xml version=\"1.0\" encoding=\"windows-1252\"?>{ascii}"
    ))
    .unwrap();
    assert_eq!(read.doubts, []);
}

#[test]
fn bytes_that_are_no_text_name_their_place() {
    let mut bytes = SVG.as_bytes().to_vec();
    let at = SVG.find('ü').unwrap();
    bytes.splice(at..at + 2, [0xfc]);
    assert_eq!(
        trouble(bytes.clone()),
        Failure::Undecodable {
            encoding: "UTF-8",
            declared: false,
            byte: at
        }
    );
    let marked = [b"\xef\xbb\xbf".as_slice(), &bytes].concat();
    assert_eq!(
        trouble(marked),
        Failure::Undecodable {
            encoding: "UTF-8",
            declared: true,
            byte: at + 3
        }
    );
    let head = "<?xml version=\"1.0\" encoding=\"Shift_JIS\"?>";
    let sjis = [head.as_bytes(), b"<svg>\x82\xa0\x82", b"</svg>"].concat();
    assert_eq!(
        trouble(sjis),
        Failure::Undecodable {
            encoding: "Shift_JIS",
            declared: true,
            byte: head.len() + 7
        }
    );
    // Half a surrogate pair, and half a unit.
    let lone = [
        utf16("<svg>", u16::to_le_bytes),
        vec![0, 0xd8],
        utf16("</svg>", u16::to_le_bytes),
    ]
    .concat();
    assert_eq!(
        trouble(lone),
        Failure::Undecodable {
            encoding: "UTF-16LE",
            declared: true,
            byte: 10
        }
    );
    let odd = [utf16("<svg/>", u16::to_le_bytes), vec![0x20]].concat();
    assert!(matches!(
        trouble(odd),
        Failure::Undecodable {
            encoding: "UTF-16LE",
            ..
        }
    ));
    assert!(
        matches!(trouble("<?xml version='1.0' encoding='klingon'?><svg/>"), Failure::UnknownEncoding(name) if name == "klingon")
    );
    assert!(matches!(
        trouble("<?xml version='1.0' encoding='iso-2022-kr'?><svg/>"),
        Failure::UnknownEncoding(_)
    ));
    let wide: Vec<u8> = "<svg/>"
        .chars()
        .flat_map(|c| u32::from(c).to_le_bytes())
        .collect();
    assert!(matches!(trouble(wide), Failure::UnknownEncoding(name) if name == "UTF-32"));
}

#[test]
fn compression_is_checked() {
    let whole = zipped(SVG.as_bytes());
    let members = [zipped(&SVG.as_bytes()[..20]), zipped(&SVG.as_bytes()[20..])].concat();
    assert_eq!(source(members.clone()).unwrap().text, SVG);
    for cut in [3, 11, 20, whole.len() - 9, whole.len() - 1] {
        assert_eq!(
            trouble(&whole[..cut]),
            Failure::CutShort,
            "{cut} of {}",
            whole.len()
        );
    }
    for cut in [members.len() - 1, members.len() - 9] {
        assert_eq!(trouble(&members[..cut]), Failure::CutShort, "{cut}");
    }
    let mut wrong_sum = whole.clone();
    let sum = wrong_sum.len() - 8;
    wrong_sum[sum] ^= 1;
    assert_eq!(trouble(wrong_sum), Failure::Damaged);
    assert_eq!(
        trouble([whole.clone(), b"something that follows".to_vec()].concat()),
        Failure::Damaged
    );
    assert_eq!(trouble(zipped(b"")), Failure::Empty);
    assert_eq!(
        trouble(zipped(&whole)),
        Failure::OtherKind("a file that was compressed twice")
    );
    // 300 MB of spaces take 300 kB.
    let bomb = zipped(&vec![b' '; 300 * 1024 * 1024]);
    assert!(bomb.len() < 1_000_000);
    assert_eq!(trouble(bomb), Failure::TooLarge { unpacked: true });
}

#[test]
fn other_files_are_named() {
    for (start, kind) in [
        (&b"\x89PNG\r\n\x1a\n...."[..], "a PNG picture"),
        (b"\xff\xd8\xff\xe0....", "a JPEG picture"),
        (b"GIF89a....", "a GIF picture"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", "a WebP picture"),
        (b"BM\x10\0\0\0\0\0\0\0", "a BMP picture"),
        (b"II*\0....", "a TIFF picture"),
        (b"%PDF-1.7", "a PDF document"),
        (b"%!PS\n%%BoundingBox: 0 0 9 9", "a PostScript document"),
        (b"PK\x03\x04....", "a ZIP archive"),
        (b"  0\nSECTION\n  2\nHEADER", "a DXF drawing"),
        (b"<!DOCTYPE html><html>", "a web page"),
        (b"\0\0\0\x18ftypheic", "an HEIF picture or a film"),
    ] {
        assert_eq!(trouble(start), Failure::OtherKind(kind));
    }
    assert_eq!(trouble("hello"), Failure::NoTag);
    assert_eq!(trouble(""), Failure::Empty);
    assert_eq!(trouble(" \n "), Failure::Empty);
    assert_eq!(trouble("\u{feff}"), Failure::Empty);
}

#[test]
fn paths_that_are_no_files_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let read = |name: &str| Source::read(&folder.path().join(name));
    assert_eq!(read("none.svg").unwrap_err().trouble, Failure::Missing);
    assert_eq!(read("").unwrap_err().trouble, Failure::Folder);
    std::fs::write(folder.path().join("file.svg"), SVG).unwrap();
    assert_eq!(
        read("file.svg/x.svg").unwrap_err().trouble,
        Failure::Missing
    );
    let good = read("file.svg").unwrap();
    assert_eq!(good.text, SVG);
    // The digest is of the file, not of its text; the value by sha256sum.
    let compressed = zipped(SVG.as_bytes());
    std::fs::write(folder.path().join("file.svgz"), &compressed).unwrap();
    assert_ne!(read("file.svgz").unwrap().sha256, good.sha256);
    assert_eq!(
        source("<svg/>").unwrap().sha256,
        "d4dc56669143034f31aa309635d4113d9ad76a02b1739da22c965ed2049be9e6"
    );
    let error = read("none.svg").unwrap_err();
    assert!(
        error.to_string().ends_with("none.svg does not exist"),
        "{error}"
    );
    assert!(!error.help().is_empty());
}

#[cfg(unix)]
#[test]
fn a_pipe_is_not_waited_for() {
    // A device stands in for a pipe: both are no ordinary file.
    let error = Source::read(std::path::Path::new("/dev/null")).unwrap_err();
    assert_eq!(error.trouble, Failure::NotAFile);
}

#[test]
fn lines_and_columns_count_characters() {
    let read = source("<svg>\r\n  <é/>\n\n</svg>").unwrap();
    let at = |text: &str| read.line_column(read.text.find(text).unwrap());
    assert_eq!(at("<svg"), (1, 1));
    assert_eq!(at("<é"), (2, 3));
    assert_eq!(at("/>"), (2, 5));
    assert_eq!(at("</svg"), (4, 1));
    // Inside the é: its start.
    assert_eq!(read.line_column(read.text.find('é').unwrap() + 1), (2, 4));
    assert_eq!(read.line_column(usize::MAX), (4, 7));
    // A byte order mark does not count.
    assert_eq!(source("\u{feff}<svg/>").unwrap().line_column(0), (1, 1));
}

#[test]
fn broken_xml_is_placed_and_never_printed_whole() {
    let long = "x".repeat(100_000);
    for (text, place, word) in [
        (
            format!("<svg>\n <g>{long}</svg>"),
            Some((2, 100_005)),
            "closed",
        ),
        (format!("<svg {long}></svg>"), None, ""),
        (format!("<svg><{long}></svg>"), None, "closed"),
        (
            "<svg>\n<a>&b;</a></svg>".to_owned(),
            Some((2, 4)),
            "not defined",
        ),
        ("<svg a='1' a='2'/>".to_owned(), Some((1, 12)), "twice"),
        ("<svg b:a='1'/>".to_owned(), None, "not declared"),
        ("<svg><g>".to_owned(), Some((1, 9)), "ends before"),
        ("<svg>\u{1}</svg>".to_owned(), Some((1, 6)), "U+0001"),
        ("<!-- nothing -->".to_owned(), None, "no element"),
        ("<svg/><svg/>".to_owned(), None, ""),
        ("<svg>a & b</svg>".to_owned(), None, "&amp;"),
        (" <?xml version='1.0'?><svg/>".to_owned(), None, "beginning"),
    ] {
        let error = xml_trouble(&text);
        let shown = error.to_string();
        assert!(shown.len() < 300, "{shown}");
        let Failure::Broken { line, column, why } = &error.trouble else {
            panic!("{error:?}")
        };
        assert!(why.contains(word), "{why}");
        if let Some(place) = place {
            assert_eq!((*line, *column), place, "{shown}");
        }
        let at = error.at.unwrap();
        assert_eq!(source(text).unwrap().line_column(at), (*line, *column));
        assert!(
            shown.starts_with("monday.svg is broken at line "),
            "{shown}"
        );
        assert!(!shown.ends_with('.'), "{shown}");
    }
}

#[test]
fn the_outermost_element_must_be_svg() {
    for (text, good) in [
        ("<svg xmlns='http://www.w3.org/2000/svg'/>", true),
        ("<s:svg xmlns:s='http://www.w3.org/2000/svg'/>", true),
        ("<svg/>", true),
        ("<svg xmlns='urn:other'/>", false),
        (
            "<body xmlns='http://www.w3.org/1999/xhtml'><svg/></body>",
            false,
        ),
        ("<g xmlns='http://www.w3.org/2000/svg'/>", false),
    ] {
        let read = source(text).unwrap();
        let document = read.xml().unwrap();
        let root = read.svg_root(&document);
        assert_eq!(root.is_ok(), good, "{text}");
        if let Err(error) = root {
            assert!(matches!(error.trouble, Failure::Root(_)));
            assert_eq!(error.at, Some(0));
        }
    }
}

#[test]
fn a_nul_is_named() {
    let error = source("<svg>\n \0</svg>").unwrap_err();
    assert_eq!(error.trouble, Failure::Nul { line: 2, column: 2 });
    assert_eq!(error.at, Some(7));
}

/// Each of these must be refused, and quickly: without the guard the parser takes seconds to hours.
fn refused(text: &str) -> Failure {
    let start = Instant::now();
    let error = xml_trouble(text);
    let took = start.elapsed();
    assert!(took < Duration::from_secs(20), "{took:?}: {error}");
    assert!(error.to_string().len() < 300);
    error.trouble
}

#[test]
fn deep_nesting_is_refused() {
    let nested = |n: usize| format!("<svg>{}{}</svg>", "<g>".repeat(n - 1), "</g>".repeat(n - 1));
    assert!(source(nested(DEEPEST)).unwrap().xml().is_ok());
    assert_eq!(refused(&nested(DEEPEST + 1)), Failure::TooDeep);
    assert_eq!(refused(&nested(1_000_000)), Failure::TooDeep);
    // Neither comments nor CDATA nest.
    let quiet = format!(
        "<svg><!--{0}--><![CDATA[{0}]]><g a='{1}'/></svg>",
        "<g>".repeat(2_000),
        "&lt;g>".repeat(2_000)
    );
    assert!(source(quiet).unwrap().xml().is_ok());
    // Entities nest where the text alone does not show it.
    let half = DEEPEST / 2 + 10;
    let text = format!(
        "<!DOCTYPE svg [<!ENTITY b \"{0}{1}\"><!ENTITY a \"{0}&b;{1}\">]><svg>&a;</svg>",
        "<g>".repeat(half),
        "</g>".repeat(half)
    );
    assert_eq!(refused(&text), Failure::TooDeep);
}

#[test]
fn many_attributes_are_refused() {
    let with = |n: usize| {
        let attributes: String = (0..n).map(|i| format!(" a{i}='>'")).collect();
        format!("<svg><g{attributes}/></svg>")
    };
    assert!(source(with(MOST_ATTRIBUTES)).unwrap().xml().is_ok());
    assert_eq!(
        refused(&with(MOST_ATTRIBUTES + 1)),
        Failure::TooManyAttributes
    );
    assert_eq!(refused(&with(70_000)), Failure::TooManyAttributes);
    // Just below the limit, but on every element.
    let attributes: String = (0..MOST_ATTRIBUTES).map(|i| format!(" a{i}=''")).collect();
    let many = format!("<svg>{}</svg>", format!("<g{attributes}/>").repeat(1_000));
    assert_eq!(refused(&many), Failure::TooMuchWork);
    // Namespaces are handed down and compared with each other.
    let spaces: String = (0..900)
        .map(|i| format!("<g xmlns:n{i}='urn:{i}'>"))
        .collect();
    let deep = format!(
        "<svg>{spaces}{}</svg>",
        "<g xmlns:q='urn:q'/>".repeat(20_000) + &"</g>".repeat(900)
    );
    assert_eq!(refused(&deep), Failure::TooMuchWork);
    let inside: String = (0..3_000).map(|i| format!(" a{i}=\"\"")).collect();
    let entity = format!("<!DOCTYPE svg [<!ENTITY a '<g{inside}/>'>]><svg>&a;</svg>");
    assert_eq!(refused(&entity), Failure::TooManyAttributes);
}

#[test]
fn entity_bombs_are_refused() {
    let mut laughs = String::from("<!DOCTYPE svg [<!ENTITY l0 \"ha\">");
    for level in 1..10 {
        let calls = format!("&l{};", level - 1).repeat(10);
        laughs += &format!("<!ENTITY l{level} \"{calls}\">");
    }
    assert!(matches!(
        refused(&format!("{laughs}]><svg>&l9;</svg>")),
        Failure::TooMuchExpanded
    ));
    assert!(matches!(
        refused(&format!("{laughs}]><svg a='&l9;'/>")),
        Failure::TooMuchExpanded
    ));
    let circle = "<!DOCTYPE svg [<!ENTITY a \"&b;\"><!ENTITY b \"&a;\">]><svg>&a;</svg>";
    assert_eq!(refused(circle), Failure::EntityLoop);
    // One long entity, called often: no level at all.
    let long = "x".repeat(100_000);
    let calls = "&a;".repeat(10_000);
    let flat = |body: &str| format!("<!DOCTYPE svg [<!ENTITY a '{long}'>]>{body}");
    assert_eq!(
        refused(&flat(&format!("<svg>{calls}</svg>"))),
        Failure::TooMuchExpanded
    );
    assert_eq!(
        refused(&flat(&format!("<svg a='{calls}'/>"))),
        Failure::TooMuchExpanded
    );
    // The first definition counts, not the last.
    let twice = format!("<!DOCTYPE svg [<!ENTITY a '{long}'><!ENTITY a ''>]><svg>{calls}</svg>");
    assert_eq!(refused(&twice), Failure::TooMuchExpanded);
    // Called before it is defined.
    let forward = format!(
        "<!DOCTYPE svg [<!ENTITY b '{}'><!ENTITY a '{long}'>]><svg>{}</svg>",
        "&a;".repeat(200),
        "&b;".repeat(50)
    );
    assert_eq!(refused(&forward), Failure::TooMuchExpanded);
    // External entities are not fetched.
    let external = "<!DOCTYPE svg [<!ENTITY a SYSTEM \"file:///etc/hostname\">]><svg>&a;</svg>";
    assert!(matches!(refused(external), Failure::Broken { .. }));
}

#[test]
fn entities_as_editors_write_them_are_read() {
    let text = "<?xml version=\"1.0\"?>\n<!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\" \"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd\" [\n\
        <!ENTITY ns_svg \"http://www.w3.org/2000/svg\">\n<!ENTITY st0 \"fill:#1b1b1b;\">\n]>\n\
        <svg xmlns=\"&ns_svg;\"><path style=\"&st0;\"/></svg>";
    let read = source(text).unwrap();
    let document = read.xml().unwrap();
    let root = read.svg_root(&document).unwrap();
    assert_eq!(
        root.first_element_child().unwrap().attribute("style"),
        Some("fill:#1b1b1b;")
    );
}

#[test]
fn too_many_nodes_are_refused() {
    assert_eq!(
        refused(&format!("<svg>{}</svg>", "<a/>".repeat(4_100_000))),
        Failure::TooManyNodes
    );
    assert_eq!(
        refused(&format!("<svg>{}</svg>", "<!>".repeat(8_100_000))),
        Failure::TooManyNodes
    );
    assert_eq!(
        refused(&format!("<svg>{}</svg>", "=".repeat(17_000_000))),
        Failure::TooManyNodes
    );
}

proptest! {
    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        if let Ok(read) = source(bytes.clone()) {
            let _ = read.xml();
        }
        let _ = source(zipped(&bytes)).map(|read| read.xml().is_ok());
    }

    #[test]
    fn no_markup_makes_it_panic(text in "<(svg|!DOCTYPE|!ENTITY|[a-z]|[<>&;'\"/=!\\[\\]? -]|CDATA|é|\n){0,60}") {
        if let Ok(read) = source(text) {
            let _ = read.xml();
        }
    }

    #[test]
    fn every_offset_has_a_place_and_back(text in "<[a-zé\n\r ]{0,40}", offset in 0_usize..60) {
        let read = source(text.clone()).unwrap();
        let (line, column) = read.line_column(offset);
        let start: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
        let back = text[start..].char_indices().nth(column - 1).map_or(text.len(), |(at, _)| start + at);
        let mut expected = offset.min(text.len());
        while !text.is_char_boundary(expected) {
            expected -= 1;
        }
        prop_assert_eq!(back, expected);
    }
}
