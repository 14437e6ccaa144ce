//! From a list's bytes to its text, whatever encoding it was saved in.

use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};

/// A list's text, and what a person should look at where the encoding was guessed.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Decoded {
    /// Without a byte order mark.
    pub(super) text: String,
    /// A sentence for the report; `None` where nothing was guessed.
    pub(super) note: Option<String>,
}

/// Most words that are shown for a look at their accents.
const SHOWN: usize = 4;

/// Decodes a list. `label` is the encoding that the person names, by a label of the WHATWG Encoding
/// Standard.
///
/// Without one: a byte order mark decides (Unicode 16, section 23.8), else UTF-8 if the bytes are
/// that, else the likeliest of the encodings that browsers know. A guess is reported, with the words
/// that depend on it.
///
/// # Errors
///
/// An unknown label, or bytes that are no text in the encoding.
pub(super) fn decode(bytes: &[u8], label: Option<&str>) -> Result<Decoded, String> {
    let named = match label {
        None => None,
        Some(label) => Some(Encoding::for_label(label.as_bytes()).ok_or_else(|| {
            format!(
                "\"{label}\" is no encoding: write --encoding windows-1252, utf-16le or the like"
            )
        })?),
    };
    let marked = Encoding::for_bom(bytes).map(|(encoding, _)| encoding);
    let certain = named
        .or(marked)
        .or_else(|| wide(bytes))
        .or_else(|| std::str::from_utf8(bytes).is_ok().then_some(UTF_8));
    let encoding = certain.unwrap_or_else(|| guessed(bytes));
    // `decode` takes the byte order mark off, and goes by it if it names another encoding.
    let (text, used, broken) = encoding.decode(bytes);
    if broken {
        return Err(format!(
            "the order list is no text in the encoding {}: save it again as CSV in UTF-8, or name its encoding with --encoding",
            used.name()
        ));
    }
    if text.contains('\0') {
        return Err(
            "the order list holds zero bytes, so it is no plain text: save it again as CSV in UTF-8"
                .to_owned(),
        );
    }
    let note = certain.is_none().then(|| {
        format!(
            "the order list is not UTF-8; it was read as {}: see that {} is spelt right, or name its encoding with --encoding",
            used.name(),
            accented(&text)
        )
    });
    Ok(Decoded {
        text: text.into_owned(),
        note,
    })
}

/// UTF-16 without a byte order mark: every second byte of a header of plain letters is zero.
fn wide(bytes: &[u8]) -> Option<&'static Encoding> {
    match bytes.get(..4)? {
        [a, 0, b, 0] if *a != 0 && *b != 0 => Some(UTF_16LE),
        [0, a, 0, b] if *a != 0 && *b != 0 => Some(UTF_16BE),
        _ => None,
    }
}

fn guessed(bytes: &[u8]) -> &'static Encoding {
    let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    detector.guess(None, Utf8Detection::Deny)
}

/// The first words that the encoding decides about, in quotes.
fn accented(text: &str) -> String {
    let mut words: Vec<String> = Vec::new();
    let parts = text.split(|c: char| c.is_ascii_punctuation() || c.is_whitespace());
    for word in parts.filter(|w| !w.is_ascii()) {
        let quoted = format!("\"{word}\"");
        if !words.contains(&quoted) {
            words.push(quoted);
        }
        if words.len() == SHOWN {
            break;
        }
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_usual_encoding_reads_alike() {
        let text = "Name;Größe\r\nZoë Müller;S\r\nFrançois Lefèvre;M\r\nJürgen Weiß;L\r\n";
        let utf16 = |big: bool, mark: bool| {
            let unit = |u: u16| {
                if big {
                    u.to_be_bytes()
                } else {
                    u.to_le_bytes()
                }
            };
            let mut out: Vec<u8> = Vec::new();
            if mark {
                out.extend(unit(0xFEFF));
            }
            out.extend(text.encode_utf16().flat_map(unit));
            out
        };
        let (windows, _, _) = encoding_rs::WINDOWS_1252.encode(text);
        let marked = [b"\xEF\xBB\xBF", text.as_bytes()].concat();
        for (bytes, guess) in [
            (text.as_bytes().to_vec(), false),
            (marked, false),
            (utf16(false, true), false),
            (utf16(true, true), false),
            (utf16(false, false), false),
            (utf16(true, false), false),
            (windows.into_owned(), true),
        ] {
            let got = decode(&bytes, None).unwrap();
            assert_eq!(got.text, text, "{bytes:?}");
            assert_eq!(got.note.is_some(), guess, "{:?}", got.note);
        }
    }

    #[test]
    fn other_alphabets_are_guessed_and_said() {
        for (encoding, text) in [
            (
                encoding_rs::WINDOWS_1251,
                "Имя\nАнастасия Петрова\nДмитрий Соколов\n",
            ),
            (
                encoding_rs::WINDOWS_1250,
                "Jméno\nJiří Dvořák\nŁukasz Żółty\nMałgorzata Wiśniewska\n",
            ),
            (encoding_rs::MACINTOSH, "Name\nZo\u{eb} M\u{fc}ller\n"),
        ] {
            let (bytes, _, _) = encoding.encode(text);
            let named = decode(&bytes, Some(encoding.name())).unwrap();
            assert_eq!((named.text.as_str(), named.note), (text, None));
            let guess = decode(&bytes, None).unwrap();
            let note = guess.note.unwrap();
            assert!(note.contains("--encoding"), "{note}");
        }
    }

    #[test]
    fn what_is_no_text_is_refused() {
        for (bytes, label, word) in [
            (&b"Name\nA\0da\n"[..], None, "zero bytes"),
            (&b"Name\nZo\xeb\n"[..], Some("utf-8"), "UTF-8"),
            (&b"Name\n"[..], Some("utf-9"), "utf-9"),
        ] {
            let said = decode(bytes, label).unwrap_err();
            assert!(said.contains(word), "actual {said}, expected {word}");
        }
    }
}
