//! Faces that are not plain outlines, made from a built-in one by changing its tables.

use kurbo::Affine;

use super::against_usvg::agree;
use super::*;

/// Hack with tables replaced or added (OpenType specification, "Organization of an OpenType font").
/// Checksums are left at zero: no reader here looks at them.
fn altered(change: &[(&[u8; 4], Vec<u8>)]) -> Vec<u8> {
    let hack = hack();
    let raw = hack.raw_face();
    let mut tables: Vec<([u8; 4], Vec<u8>)> = raw
        .table_records
        .into_iter()
        .map(|record| {
            (
                record.tag.to_bytes(),
                raw.table(record.tag).unwrap().to_vec(),
            )
        })
        .filter(|(tag, _)| change.iter().all(|(new, _)| *new != tag))
        .collect();
    tables.extend(change.iter().map(|(tag, data)| (**tag, data.clone())));
    tables.sort();
    let mut font = vec![0, 1, 0, 0];
    font.extend(u16::try_from(tables.len()).unwrap().to_be_bytes());
    font.extend([0; 6]);
    let mut body = Vec::new();
    let start = 12 + 16 * tables.len();
    for (tag, data) in &tables {
        font.extend(tag);
        font.extend([0; 4]);
        font.extend(u32::try_from(start + body.len()).unwrap().to_be_bytes());
        font.extend(u32::try_from(data.len()).unwrap().to_be_bytes());
        body.extend(data);
        body.resize(body.len().next_multiple_of(4), 0);
    }
    font.extend(body);
    font
}

fn with_altered(change: &[(&[u8; 4], Vec<u8>)], test: impl FnOnce(&Faces)) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("odd.ttf"), altered(change)).unwrap();
    test(&Faces::new(vec![folder.path().to_owned()], false));
}

fn glyph(c: char) -> u16 {
    hack().glyph_index(c).unwrap().0
}

fn words(values: &[u16]) -> Vec<u8> {
    values.iter().flat_map(|v| v.to_be_bytes()).collect()
}

#[test]
fn a_letter_in_colours_is_refused_and_its_neighbours_are_not() {
    let a = glyph('A');
    // Version 0 tables: one base glyph of one layer, one palette of one colour.
    let colr = words(&[0, 1, 0, 14, 0, 20, 1, a, 0, 1, a, 0]);
    let cpal = words(&[0, 1, 1, 1, 0, 14, 0, 0x0000, 0xFFFF]);
    with_altered(&[(b"COLR", colr), (b"CPAL", cpal)], |faces| {
        let out = try_set_in(faces, "<text>Ben</text>", Affine::IDENTITY).unwrap();
        assert_eq!(out.letters().len(), 3);
        let Err(problem) = try_set_in(faces, "<text>Ada</text>", Affine::IDENTITY) else {
            panic!("a coloured letter was laid out")
        };
        assert!(problem.what.contains("\"A\""), "{problem:?}");
    });
}

#[test]
fn a_letter_without_outline_is_missed() {
    // All glyphs empty from the letter on: "loca" in the long form, every offset the same.
    let glyphs = usize::from(hack().number_of_glyphs());
    let head = hack()
        .raw_face()
        .table(ttf_parser::Tag::from_bytes(b"head"))
        .unwrap()
        .to_vec();
    let wide = head[51] == 1;
    let loca = vec![0; (glyphs + 1) * if wide { 4 } else { 2 }];
    with_altered(&[(b"loca", loca)], |faces| {
        // usvg drops a text without ink whole; beside an underline it keeps it.
        for (body, refused) in [
            ("<text>Ada</text>", true),
            ("<text text-decoration=\"underline\">Ada</text>", false),
        ] {
            match try_set_in(faces, body, Affine::IDENTITY) {
                Err(_) => assert!(refused, "{body}"),
                Ok(out) => {
                    assert!(!refused, "{body}");
                    let missing = &out.chunks[0].lettering.missing;
                    assert_eq!(missing[0].characters, "Ada");
                    assert_eq!(missing[0].instead, None);
                }
            }
        }
    });
}

#[test]
fn an_outline_stands_where_the_metrics_put_it() {
    // The left side bearing of every letter moved by 100 units.
    let raw = hack();
    let mut hmtx = raw
        .raw_face()
        .table(ttf_parser::Tag::from_bytes(b"hmtx"))
        .unwrap()
        .to_vec();
    let a = usize::from(glyph('A'));
    let at = 4 * a + 2;
    let bearing = i16::from_be_bytes([hmtx[at], hmtx[at + 1]]) + 100;
    hmtx[at..at + 2].copy_from_slice(&bearing.to_be_bytes());
    with_altered(&[(b"hmtx", hmtx)], |faces| {
        let body = r#"<text x="10" y="20">A</text>"#;
        let moved = try_set_in(faces, body, Affine::IDENTITY).unwrap();
        let plain = set(body);
        let by = moved.letters()[0].bounds.x0 - plain.letters()[0].bounds.x0;
        let expected = 100.0 * 10.0 / f64::from(raw.units_per_em());
        assert!((by - expected).abs() < CLOSE, "{by} should be {expected}");
        agree(faces, body);
    });
}
