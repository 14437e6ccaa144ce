//! Pictures inside the file: their size, and the part of them that leaves ink.

use std::collections::HashMap;
use std::io::Cursor;
use std::sync::Arc;

use base64::Engine as _;
use image::{GenericImageView as _, ImageReader};
use kurbo::Rect;
use roxmltree::{Node, NodeId};

use super::mark::Colour;

mod nested;

/// A decoded picture.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Decoded {
    /// Width and height in its own units: pixels, or the user units of a nested drawing.
    pub size: (f64, f64),
    /// Whether the size is stated. A nested drawing without a size takes that of its frame, and
    /// readers differ about its proportions then.
    pub sized: bool,
    /// Pixels, where it has any.
    pub pixels: Option<(u32, u32)>,
    /// The inked part in the unit square; `None` where there is no ink at all.
    pub inked: Option<Rect>,
    /// Whether all of it is opaque.
    pub opaque: bool,
    /// Colours of what is drawn in it, where it is a drawing.
    pub colours: Arc<[Colour]>,
}

/// Why a picture cannot be measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct PictureProblem {
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub help: String,
}

/// Widest and highest picture that is decoded, in pixels: a thousand dots per inch over a bed of
/// 700 mm. Larger ones would take gigabytes.
const MAX_SIDE: u32 = 30_000;

/// Memory that decoding one picture may take.
const MAX_BYTES: u64 = 1 << 30;

/// A pixel counts as ink where it is darker than this after its transparency is laid over white.
/// A higher value would let a faint smear from picture compression count as ink and hold sound
/// files; a lower one would miss pale grey that a sender still dithers to dots.
const WHITE: u8 = 250;

/// Pixels of all pictures of a file together that are looked at: some seconds' work.
const MAX_PIXELS: u64 = 200_000_000;

/// Pictures decoded so far: a clone shows the same picture again.
#[derive(Debug, Default)]
pub(crate) struct Seen {
    known: HashMap<NodeId, Result<Decoded, PictureProblem>>,
    pixels: u64,
}

impl Seen {
    /// Decodes what an `image` element refers to.
    ///
    /// # Errors
    ///
    /// As [`decode`], and once the pictures of the file hold too many pixels together.
    pub(crate) fn decode(&mut self, node: Node<'_, '_>) -> Result<Decoded, PictureProblem> {
        if let Some(known) = self.known.get(&node.id()) {
            return known.clone();
        }
        if self.pixels > MAX_PIXELS {
            return Err(problem(
                "the pictures of this file are together too large to be looked at",
                "scale the pictures down to what the bed can show and embed them again",
            ));
        }
        let read = decode(super::elements::href(node).unwrap_or_default());
        if let Ok(Decoded {
            pixels: Some((w, h)),
            ..
        }) = read
        {
            self.pixels += u64::from(w) * u64::from(h);
        }
        self.known.insert(node.id(), read.clone());
        read
    }
}

/// Decodes what an `image` element refers to.
///
/// # Errors
///
/// A picture in another file, of a kind that is not read, damaged, or too large.
pub(crate) fn decode(href: &str) -> Result<Decoded, PictureProblem> {
    let href = href.trim();
    if href.is_empty() {
        return Err(problem(
            "the picture has nothing in it",
            "place the picture anew, or delete it",
        ));
    }
    let Some(data) = href.strip_prefix("data:") else {
        return Err(problem(
            "the picture is kept in another file, so what is in it cannot be seen here",
            "embed the picture in the drawing",
        ));
    };
    let Some((header, body)) = data.split_once(',') else {
        return Err(broken());
    };
    let bytes = if header
        .split(';')
        .any(|p| p.trim().eq_ignore_ascii_case("base64"))
    {
        let compact: String = body.chars().filter(|c| !c.is_whitespace()).collect();
        let engine = base64::engine::GeneralPurpose::new(
            &base64::alphabet::STANDARD,
            base64::engine::GeneralPurposeConfig::new()
                .with_decode_padding_mode(base64::engine::DecodePaddingMode::Indifferent),
        );
        engine.decode(unescape(&compact)).map_err(|_| broken())?
    } else {
        unescape(body)
    };
    let mime = header
        .split(';')
        .next()
        .unwrap_or_default()
        .trim()
        .to_ascii_lowercase();
    if mime.starts_with("image/svg") || bytes.trim_ascii_start().starts_with(b"<") {
        return nested::decode(&bytes);
    }
    pixels(&bytes)
}

/// `%41` and the like.
fn unescape(text: &str) -> Vec<u8> {
    let mut out = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let [first, tail @ ..] = rest {
        let hex = |b: &u8| char::from(*b).to_digit(16);
        match (first, tail) {
            (b'%', [a, b, after @ ..]) if hex(a).is_some() && hex(b).is_some() => {
                let value = hex(a).unwrap_or(0) * 16 + hex(b).unwrap_or(0);
                out.push(value as u8);
                rest = after;
            }
            _ => {
                out.push(*first);
                rest = tail;
            }
        }
    }
    out
}

fn pixels(bytes: &[u8]) -> Result<Decoded, PictureProblem> {
    let mut limits = image::Limits::default();
    limits.max_image_width = Some(MAX_SIDE);
    limits.max_image_height = Some(MAX_SIDE);
    limits.max_alloc = Some(MAX_BYTES);
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|_| broken())?;
    reader.limits(limits.clone());
    if moves(reader.format(), bytes, &limits) {
        return Err(problem(
            "the picture holds several frames, and readers differ in which one they show",
            "save the one frame that should be burnt, and embed it again",
        ));
    }
    let mut decoder = reader.into_decoder().map_err(|e| unreadable(&e))?;
    let turned = image::ImageDecoder::orientation(&mut decoder)
        .is_ok_and(|o| o != image::metadata::Orientation::NoTransforms);
    if turned {
        return Err(problem(
            "the picture has a turn noted beside its pixels, which some readers follow and some do not",
            "open the picture, save it the way up it should be, and embed it again",
        ));
    }
    let picture = image::DynamicImage::from_decoder(decoder).map_err(|e| unreadable(&e))?;
    let (w, h) = picture.dimensions();
    if w == 0 || h == 0 {
        return Err(broken());
    }
    let colours = picture.to_rgba8();
    Ok(Decoded {
        size: (f64::from(w), f64::from(h)),
        sized: true,
        pixels: Some((w, h)),
        inked: inked(&colours),
        opaque: opaque(&colours),
        colours: Arc::default(),
    })
}

/// Whether a picture is animated. A picture for which this cannot be told fails in decoding.
fn moves(format: Option<image::ImageFormat>, bytes: &[u8], limits: &image::Limits) -> bool {
    use image::AnimationDecoder as _;
    use image::codecs::{gif::GifDecoder, png::PngDecoder, webp::WebPDecoder};
    let data = Cursor::new(bytes);
    match format {
        Some(image::ImageFormat::Gif) => GifDecoder::new(data).is_ok_and(|mut d| {
            image::ImageDecoder::set_limits(&mut d, limits.clone()).is_ok()
                && d.into_frames().take(2).count() > 1
        }),
        Some(image::ImageFormat::Png) => {
            PngDecoder::new(data).is_ok_and(|d| d.is_apng().unwrap_or(true))
        }
        Some(image::ImageFormat::WebP) => WebPDecoder::new(data).is_ok_and(|d| d.has_animation()),
        _ => false,
    }
}

/// The box of the pixels that leave ink, in the unit square.
fn inked(picture: &image::RgbaImage) -> Option<Rect> {
    let (w, h) = picture.dimensions();
    let (mut x0, mut y0, mut x1, mut y1) = (u32::MAX, u32::MAX, 0, 0);
    for (x, y, pixel) in picture.enumerate_pixels() {
        let [r, g, b, a] = pixel.0;
        let over_white =
            |c: u8| (u32::from(c) * u32::from(a) + 255 * (255 - u32::from(a)) + 127) / 255;
        if over_white(r.min(g).min(b)) < u32::from(WHITE) {
            (x0, y0) = (x0.min(x), y0.min(y));
            (x1, y1) = (x1.max(x + 1), y1.max(y + 1));
        }
    }
    (x1 > 0).then(|| {
        let (w, h) = (f64::from(w), f64::from(h));
        Rect::new(
            f64::from(x0) / w,
            f64::from(y0) / h,
            f64::from(x1) / w,
            f64::from(y1) / h,
        )
    })
}

/// A pixel lets something show through below this alpha; a little less than all, for pictures whose
/// edges were smoothed.
const SOLID: u8 = 250;

fn opaque(picture: &image::RgbaImage) -> bool {
    picture.pixels().all(|p| p.0[3] >= SOLID)
}

fn problem(what: &str, help: &str) -> PictureProblem {
    PictureProblem {
        what: what.to_owned(),
        help: help.to_owned(),
    }
}

fn broken() -> PictureProblem {
    problem(
        "the picture cannot be decoded",
        "embed the picture again, as PNG or JPEG",
    )
}

fn unreadable(error: &image::ImageError) -> PictureProblem {
    match error {
        image::ImageError::Limits(_) => problem(
            "the picture is too large to be looked at",
            "scale the picture down to what the bed can show and embed it again",
        ),
        _ => broken(),
    }
}
