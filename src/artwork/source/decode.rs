//! From bytes to text: compression and encodings.

use std::io::{self, Read};

use encoding_rs::{DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE};
use flate2::read::MultiGzDecoder;

use super::failure::Failure;
use crate::artwork::limits::LARGEST;
use crate::wording::cut_to;

/// Something doubtful about how the bytes were read. The artwork is measured as decoded; a reader
/// that decodes otherwise sees other characters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// What is doubtful: one sentence without a full stop.
    pub what: String,
    /// What to do about it.
    pub help: String,
}

/// Bytes, decoded.
pub(super) struct Decoded {
    pub(super) text: String,
    pub(super) encoding: &'static str,
    pub(super) compressed: bool,
    pub(super) doubts: Vec<Doubt>,
}

/// How far into the file an XML declaration is looked for, in bytes. It is the first thing in a file
/// and some fifty bytes long.
const DECLARATION_REACH: usize = 1024;

pub(super) fn decode(mut bytes: Vec<u8>) -> Result<Decoded, Failure> {
    if bytes.is_empty() {
        return Err(Failure::Empty);
    }
    let compressed = bytes.starts_with(&[0x1f, 0x8b]);
    if compressed {
        bytes = unpack(&bytes)?;
        if bytes.is_empty() {
            return Err(Failure::Empty);
        }
    }
    if let Some(kind) = other_kind(&bytes) {
        return Err(Failure::OtherKind(kind));
    }
    let choice = choose(&bytes)?;
    let mut doubts = Vec::new();
    if choice.declared
        && choice.encoding.is_single_byte()
        && !bytes.is_ascii()
        && std::str::from_utf8(&bytes).is_ok()
    {
        // Text in a one-byte encoding is almost never valid UTF-8 by accident.
        doubts.push(Doubt {
            what: format!(
                "the file declares {} and yet reads as UTF-8, so that readers will differ on its \
                 characters",
                declared_label(&bytes).map_or_else(
                    || choice.encoding.name().to_owned(),
                    |label| crate::wording::short(&label)
                )
            ),
            help: "save it as UTF-8, with a declaration that says so".to_owned(),
        });
    }
    let text = text_of(bytes, &choice)?;
    match text.trim_start().chars().next() {
        None => return Err(Failure::Empty),
        Some('<') => {}
        Some(_) => return Err(Failure::NoTag),
    }
    Ok(Decoded {
        text,
        encoding: choice.encoding.name(),
        compressed,
        doubts,
    })
}

pub(super) fn unpack(bytes: &[u8]) -> Result<Vec<u8>, Failure> {
    let mut unpacked = Vec::new();
    // A gzip file may consist of several members, whose contents are joined (RFC 1952, section 2.2).
    let read = MultiGzDecoder::new(bytes)
        .take(LARGEST + 1)
        .read_to_end(&mut unpacked);
    match read {
        Ok(_) if unpacked.len() as u64 > LARGEST => Err(Failure::TooLarge { unpacked: true }),
        Ok(_) => Ok(unpacked),
        Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => Err(Failure::CutShort),
        Err(_) => Err(Failure::Damaged),
    }
}

/// Names a file of another kind by how it starts, as each format's own specification has it.
fn other_kind(bytes: &[u8]) -> Option<&'static str> {
    const STARTS: [(&[u8], &str); 18] = [
        (b"\x89PNG\r\n\x1a\n", "a PNG picture"),
        (b"\xff\xd8\xff", "a JPEG picture"),
        (b"GIF87a", "a GIF picture"),
        (b"GIF89a", "a GIF picture"),
        (b"II*\0", "a TIFF picture"),
        (b"MM\0*", "a TIFF picture"),
        (b"%PDF", "a PDF document"),
        (b"%!PS", "a PostScript document"),
        (b"\xc5\xd0\xd3\xc6", "a PostScript document"),
        (b"PK\x03\x04", "a ZIP archive"),
        (b"\x1f\x8b", "a file that was compressed twice"),
        (b"BZh", "a bzip2 archive"),
        (b"\xfd7zXZ\0", "an XZ archive"),
        (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
        (b"\x28\xb5\x2f\xfd", "a Zstandard archive"),
        (b"\xd7\xcd\xc6\x9a", "a WMF drawing"),
        (b"\xd0\xcf\x11\xe0", "an office document"),
        (b"8BPS", "a layered picture"),
    ];
    if let Some((_, name)) = STARTS.iter().find(|(start, _)| bytes.starts_with(start)) {
        return Some(name);
    }
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return Some("a WebP picture");
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        return Some("an HEIF picture or a film");
    }
    // "BM" alone could begin a text; the four reserved bytes after the size are zero in a bitmap.
    if bytes.starts_with(b"BM") && bytes.get(6..10) == Some(&[0; 4]) {
        return Some("a BMP picture");
    }
    let head = bytes
        .get(..bytes.len().min(64))
        .unwrap_or_default()
        .trim_ascii_start();
    if head.starts_with(b"0") && head.windows(7).any(|window| window == b"SECTION") {
        return Some("a DXF drawing");
    }
    let small = head.to_ascii_lowercase();
    if small.starts_with(b"<!doctype html") || small.starts_with(b"<html") {
        return Some("a web page");
    }
    None
}

/// The encoding that a file is read in.
struct Choice {
    encoding: &'static Encoding,
    /// Whether the file names it.
    declared: bool,
    /// Length of the byte order mark.
    mark: usize,
}

/// Chooses the encoding: byte order mark, then how `<` is written, then the declaration, then UTF-8
/// (XML 1.0, appendix F).
fn choose(bytes: &[u8]) -> Result<Choice, Failure> {
    let named = |encoding, mark| {
        Ok(Choice {
            encoding,
            declared: true,
            mark,
        })
    };
    match *bytes {
        [0xef, 0xbb, 0xbf, ..] => return named(UTF_8, 3),
        [0xff, 0xfe, 0, 0, ..]
        | [0, 0, 0xfe, 0xff, ..]
        | [b'<', 0, 0, 0, ..]
        | [0, 0, 0, b'<', ..] => {
            return Err(Failure::UnknownEncoding("UTF-32".to_owned()));
        }
        [0xff, 0xfe, ..] => return named(UTF_16LE, 2),
        [0xfe, 0xff, ..] => return named(UTF_16BE, 2),
        [b'<' | b' ' | b'\t' | b'\r' | b'\n', 0, ..] => return named(UTF_16LE, 0),
        [0, b'<' | b' ' | b'\t' | b'\r' | b'\n', ..] => return named(UTF_16BE, 0),
        _ => {}
    }
    let Some(label) = declared_label(bytes) else {
        return Ok(Choice {
            encoding: UTF_8,
            declared: false,
            mark: 0,
        });
    };
    // By the WHATWG table, as browsers do it: "latin1" and "us-ascii" are windows-1252, which has
    // letters where ISO 8859-1 has control characters.
    let unknown = || Failure::UnknownEncoding(cut_to(&label, 40));
    let encoding = Encoding::for_label_no_replacement(label.as_bytes()).ok_or_else(unknown)?;
    // A declaration that could be read byte by byte is not in UTF-16, whatever it says: exporters
    // that name the encoding of a string in memory write this, and browsers take it for UTF-8.
    let wide = encoding == UTF_16LE || encoding == UTF_16BE;
    named(if wide { UTF_8 } else { encoding }, 0)
}

/// The encoding that the XML declaration names.
fn declared_label(bytes: &[u8]) -> Option<String> {
    let head = bytes.get(..bytes.len().min(DECLARATION_REACH))?;
    let head = String::from_utf8_lossy(head);
    let declaration = head.strip_prefix("<?xml")?;
    let (declaration, _) = declaration.split_once("?>")?;
    let (_, after) = declaration.split_once("encoding")?;
    let value = after.trim_start().strip_prefix('=')?.trim_start();
    let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let (label, _) = value.get(1..)?.split_once(quote)?;
    Some(label.trim().to_owned())
}

fn text_of(mut bytes: Vec<u8>, choice: &Choice) -> Result<String, Failure> {
    let bad = |byte| Failure::Undecodable {
        encoding: choice.encoding.name(),
        declared: choice.declared,
        byte,
    };
    if choice.encoding == UTF_8 {
        bytes.drain(..choice.mark.min(bytes.len()));
        return String::from_utf8(bytes)
            .map_err(|error| bad(error.utf8_error().valid_up_to() + choice.mark));
    }
    let body = bytes.get(choice.mark..).unwrap_or_default();
    let mut decoder = choice.encoding.new_decoder_without_bom_handling();
    let room = decoder
        .max_utf8_buffer_length_without_replacement(body.len())
        .unwrap_or(0);
    let mut text = String::with_capacity(room);
    match decoder.decode_to_string_without_replacement(body, &mut text, true) {
        (DecoderResult::InputEmpty, _) => Ok(text),
        (DecoderResult::Malformed(bad_length, after), read) => {
            let start = read.saturating_sub(usize::from(bad_length) + usize::from(after));
            Err(bad(start + choice.mark))
        }
        // The buffer has the length that the decoder asked for; if it does not, the file is too large.
        (DecoderResult::OutputFull, _) => Err(Failure::TooLarge { unpacked: true }),
    }
}
