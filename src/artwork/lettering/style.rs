//! The text properties of one element, read from computed values. Values that readers disagree about
//! are refused.

use std::str::FromStr;

use roxmltree::Node;
use svgtypes::{Length, LengthUnit};
use usvg::fontdb::{Stretch, Style};

use super::{FARTHEST, TextProblem};
use crate::artwork::fonts::{Ask, family_names};

/// CSS Fonts 4, section 3.5: the initial size, `medium`, is 16 px by convention of every browser.
const MEDIUM: f64 = 16.0;

/// Names of the XML namespace's own attributes live here.
const XML: &str = "http://www.w3.org/XML/1998/namespace";

/// Text properties of one element.
#[derive(Debug, Clone)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a property of its own, as in the file"
)]
pub(super) struct TextStyle {
    pub(super) ask: Ask,
    /// In user units. A size of 0 leaves no ink.
    pub(super) size: f64,
    pub(super) letter_spacing: f64,
    pub(super) word_spacing: f64,
    /// Which part of a line lies at its position; "start" is its left end.
    pub(super) anchor: &'static str,
    /// Whether the line is one that runs to the left (`direction: rtl`).
    pub(super) leftward: bool,
    pub(super) dominant: Option<String>,
    /// Whether `dominant-baseline` is "auto", which some readers take for the outer element's.
    pub(super) dominant_auto: bool,
    pub(super) alignment: Option<String>,
    /// The element's own shift.
    pub(super) shift: Shift,
    pub(super) lines: Lines,
    pub(super) preserve: bool,
    /// `pre` and similar values: in readers that know them, a line feed starts a new line.
    pub(super) breaks: bool,
    pub(super) kerning: bool,
    pub(super) small_caps: bool,
    pub(super) ligatures: bool,
    pub(super) axes: Vec<([u8; 4], f32)>,
    pub(super) optical: bool,
    pub(super) vertical: bool,
    pub(super) displayed: bool,
}

/// `baseline-shift`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) enum Shift {
    /// On the line.
    #[default]
    None,
    /// Raised by so many user units.
    By(f64),
    /// Lowered as far as the reader likes.
    Sub,
    /// Raised as far as the reader likes.
    Super,
}

/// Decoration lines that an element declares itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Lines {
    pub(super) under: bool,
    pub(super) over: bool,
    pub(super) through: bool,
}

/// Computed values by name; the last one of a name counts.
struct Values(Vec<(String, String)>);

impl Lines {
    pub(super) fn any(self) -> bool {
        self.under || self.over || self.through
    }
}

impl Values {
    fn get(&self, name: &str) -> Option<&str> {
        self.0
            .iter()
            .rev()
            .find(|(n, _)| n == name)
            .map(|(_, v)| v.trim())
            .filter(|v| !v.is_empty())
    }

    fn is_set(&self, name: &str, value: &str) -> bool {
        self.get(name)
            .is_some_and(|v| v.eq_ignore_ascii_case(value))
    }

    fn is(&self, name: &str, plain: &[&str]) -> bool {
        self.get(name)
            .is_none_or(|value| plain.iter().any(|p| p.eq_ignore_ascii_case(value)))
    }
}

/// Properties that only some readers apply, with the values that change nothing.
const PLAIN: &[(&str, &[&str])] = &[
    ("inline-size", &["auto", "0", "0px", "none"]),
    ("shape-inside", &["none", "auto"]),
    ("shape-subtract", &["none", "auto"]),
    ("unicode-bidi", &["normal", "embed", "isolate"]),
    ("text-transform", &["none"]),
    ("font-size-adjust", &["none"]),
    ("font-feature-settings", &["normal"]),
    ("font-variant-numeric", &["normal"]),
    ("font-variant-east-asian", &["normal"]),
    ("font-variant-alternates", &["normal"]),
    ("font-variant-position", &["normal"]),
    ("font-variant-emoji", &["normal", "text"]),
    ("glyph-orientation-horizontal", &["0", "0deg", "auto"]),
    ("text-decoration-style", &["solid"]),
    ("text-decoration-thickness", &["auto", "from-font"]),
    ("text-underline-offset", &["auto"]),
    ("text-underline-position", &["auto", "from-font"]),
    ("text-shadow", &["none"]),
    ("text-emphasis", &["none"]),
    ("text-emphasis-style", &["none"]),
    ("initial-letter", &["normal"]),
];

/// What usvg knows of `dominant-baseline` and `alignment-baseline`.
const BASELINES: &[&str] = &[
    "auto",
    "baseline",
    "before-edge",
    "text-before-edge",
    "middle",
    "central",
    "after-edge",
    "text-after-edge",
    "ideographic",
    "alphabetic",
    "hanging",
    "mathematical",
];

impl TextStyle {
    pub(super) fn read(
        node: Node<'_, '_>,
        values: Vec<(String, String)>,
        declared: &[String],
    ) -> Result<Self, TextProblem> {
        let values = Values(values);
        for (name, plain) in PLAIN {
            if !values.is(name, plain) {
                return Err(disputed(name, values.get(name).unwrap_or_default()));
            }
        }
        let size = match values.get("font-size") {
            None => MEDIUM,
            Some(value) => length(value, MEDIUM, "font-size")?,
        };
        if size < 0.0 {
            return Err(unread(
                "font-size",
                values.get("font-size").unwrap_or_default(),
            ));
        }
        let vertical = writing_mode(&values)?;
        let leftward = match values.get("direction") {
            None | Some("ltr") => false,
            Some("rtl") if !vertical => true,
            Some(other) => return Err(disputed("direction", other)),
        };
        let (preserve, breaks) = white_space(node, &values)?;
        let (small_caps, ligatures) = variant(&values)?;
        // Browsers leave ligatures out where speed is asked for.
        let ligatures = ligatures && !values.is_set("text-rendering", "optimizespeed");
        let families = values.get("font-family").unwrap_or_default().to_owned();
        if let Some(own) = family_names(&families)
            .into_iter()
            .find(|name| declared.iter().any(|d| d.eq_ignore_ascii_case(name)))
        {
            return Err(TextProblem::new(
                format!(
                    "lettering uses the face \"{own}\" that the file brings along, which not every reader loads"
                ),
                "turn this lettering into outlines, or use a face that is installed",
            ));
        }
        let kerning = values.is("kerning", &["auto", "normal"])
            && values.is("font-kerning", &["auto", "normal"]);
        if !kerning && !values.is("kerning", &["auto", "normal", "0", "0px", "none"]) {
            return Err(disputed(
                "kerning",
                values.get("kerning").unwrap_or_default(),
            ));
        }
        Ok(Self {
            ask: Ask {
                families,
                weight: weight(&values)?,
                style: slope(&values)?,
                stretch: stretch(&values)?,
            },
            size,
            letter_spacing: spacing(&values, "letter-spacing", size)?,
            word_spacing: spacing(&values, "word-spacing", size)?,
            // A line that runs to the left starts at its right end (SVG 2, section 11.10.1).
            anchor: match (values.get("text-anchor"), leftward) {
                (Some("middle"), _) => "middle",
                (Some("end"), false) => "end",
                (Some("end"), true) | (_, false) => "start",
                (_, true) => "end",
            },
            leftward,
            dominant: baseline(
                &values,
                "dominant-baseline",
                &["use-script", "no-change", "reset-size"],
            )?,
            dominant_auto: values.get("dominant-baseline") == Some("auto"),
            alignment: baseline(&values, "alignment-baseline", &[])?,
            shift: shift(&values, size)?,
            lines: lines(&values)?,
            preserve,
            breaks,
            kerning,
            small_caps,
            ligatures,
            axes: axes(&values)?,
            optical: values.get("font-optical-sizing") != Some("none"),
            vertical,
            displayed: values.get("display") != Some("none"),
        })
    }
}

fn disputed(name: &str, value: &str) -> TextProblem {
    TextProblem::outline(format!(
        "lettering has `{name}: {value}`, which readers lay out differently"
    ))
}

fn unread(name: &str, value: &str) -> TextProblem {
    TextProblem::new(
        format!("lettering has `{name}: {value}`, which cannot be read"),
        "set this value anew, or turn the lettering into outlines",
    )
}

/// A length in user units. `em` is the size that `em` stands for; percentages and units that
/// depend on the face or the window are refused.
fn length(value: &str, em: f64, name: &str) -> Result<f64, TextProblem> {
    let read = Length::from_str(value).map_err(|_| unread(name, value))?;
    user(read, em, None)
        .filter(|v| v.abs() <= FARTHEST)
        .ok_or_else(|| unread(name, value))
}

/// A length in user units, 96 to the inch (CSS Values and Units 4, section 6.2).
pub(super) fn user(length: Length, em: f64, whole: Option<f64>) -> Option<f64> {
    let n = length.number;
    let value = match length.unit {
        LengthUnit::None | LengthUnit::Px => n,
        LengthUnit::Em => n * em,
        LengthUnit::In => n * 96.0,
        LengthUnit::Cm => n * 96.0 / 2.54,
        LengthUnit::Mm => n * 96.0 / 25.4,
        LengthUnit::Pt => n * 96.0 / 72.0,
        LengthUnit::Pc => n * 16.0,
        LengthUnit::Percent => n / 100.0 * whole?,
        // Depends on the face, and readers take half an em instead.
        LengthUnit::Ex => return None,
    };
    value.is_finite().then_some(value)
}

fn spacing(values: &Values, name: &str, size: f64) -> Result<f64, TextProblem> {
    match values.get(name) {
        None | Some("normal") => Ok(0.0),
        Some(value) => length(value, size, name),
    }
}

fn writing_mode(values: &Values) -> Result<bool, TextProblem> {
    let vertical = match values.get("writing-mode") {
        None | Some("horizontal-tb" | "lr" | "lr-tb") => false,
        Some("tb" | "tb-rl" | "vertical-rl" | "vertical-lr") => true,
        Some(other) => return Err(disputed("writing-mode", other)),
    };
    if vertical {
        for (name, plain) in [
            ("text-orientation", &["mixed"][..]),
            ("glyph-orientation-vertical", &["auto"][..]),
            ("text-combine-upright", &["none"][..]),
        ] {
            if !values.is(name, plain) {
                return Err(disputed(name, values.get(name).unwrap_or_default()));
            }
        }
    }
    Ok(vertical)
}

/// Whether white space is kept, and whether line feeds start lines.
fn white_space(node: Node<'_, '_>, values: &Values) -> Result<(bool, bool), TextProblem> {
    if let Some("preserve" | "preserve-breaks" | "break-spaces") =
        values.get("white-space-collapse")
    {
        return Ok((true, true));
    }
    match values.get("white-space") {
        Some("normal" | "nowrap") => return Ok((false, false)),
        Some("pre" | "pre-wrap" | "break-spaces") => return Ok((true, true)),
        Some("pre-line") => return Ok((false, true)),
        Some(other) => return Err(disputed("white-space", other)),
        None => {}
    }
    let space = values
        .get("xml:space")
        .or_else(|| node.ancestors().find_map(|n| n.attribute((XML, "space"))));
    Ok((space == Some("preserve"), false))
}

/// Small capitals, and whether letters may be joined.
fn variant(values: &Values) -> Result<(bool, bool), TextProblem> {
    let mut small_caps = false;
    for name in ["font-variant", "font-variant-caps"] {
        match values.get(name) {
            None | Some("normal" | "none") => {}
            Some("small-caps") => small_caps = true,
            Some(other) => return Err(disputed(name, other)),
        }
    }
    let ligatures = match values.get("font-variant-ligatures") {
        None | Some("normal" | "common-ligatures") => values.get("font-variant") != Some("none"),
        Some("none" | "no-common-ligatures") => false,
        Some(other) => return Err(disputed("font-variant-ligatures", other)),
    };
    Ok((small_caps, ligatures))
}

fn weight(values: &Values) -> Result<u16, TextProblem> {
    match values.get("font-weight") {
        None | Some("normal") => Ok(400),
        Some("bold") => Ok(700),
        Some(value) => match value.parse::<f64>() {
            Ok(number) if (1.0..=1000.0).contains(&number) => Ok(number.round() as u16),
            _ => Err(unread("font-weight", value)),
        },
    }
}

fn slope(values: &Values) -> Result<Style, TextProblem> {
    match values.get("font-style") {
        None | Some("normal") => Ok(Style::Normal),
        Some("italic") => Ok(Style::Italic),
        Some("oblique") => Ok(Style::Oblique),
        Some(other) => Err(disputed("font-style", other)),
    }
}

fn stretch(values: &Values) -> Result<Stretch, TextProblem> {
    Ok(
        match values
            .get("font-stretch")
            .or_else(|| values.get("font-width"))
        {
            None | Some("normal" | "100%") => Stretch::Normal,
            Some("ultra-condensed" | "50%") => Stretch::UltraCondensed,
            Some("extra-condensed" | "62.5%") => Stretch::ExtraCondensed,
            Some("condensed" | "75%") => Stretch::Condensed,
            Some("semi-condensed" | "87.5%") => Stretch::SemiCondensed,
            Some("semi-expanded" | "112.5%") => Stretch::SemiExpanded,
            Some("expanded" | "125%") => Stretch::Expanded,
            Some("extra-expanded" | "150%") => Stretch::ExtraExpanded,
            Some("ultra-expanded" | "200%") => Stretch::UltraExpanded,
            Some(other) => return Err(disputed("font-stretch", other)),
        },
    )
}

fn baseline(values: &Values, name: &str, nothing: &[&str]) -> Result<Option<String>, TextProblem> {
    match values.get(name) {
        None | Some("auto" | "baseline" | "alphabetic") => Ok(None),
        Some(value) if nothing.contains(&value) => Ok(None),
        Some(value) if BASELINES.contains(&value) => Ok(Some(value.to_owned())),
        Some(other) => Err(disputed(name, other)),
    }
}

fn shift(values: &Values, size: f64) -> Result<Shift, TextProblem> {
    match values.get("baseline-shift") {
        None | Some("baseline") => Ok(Shift::None),
        Some("sub") => Ok(Shift::Sub),
        Some("super") => Ok(Shift::Super),
        Some(value) => {
            let read = Length::from_str(value).map_err(|_| unread("baseline-shift", value))?;
            let number = user(read, size, Some(size))
                .filter(|v| v.abs() <= FARTHEST)
                .ok_or_else(|| unread("baseline-shift", value))?;
            Ok(if number == 0.0 {
                Shift::None
            } else {
                Shift::By(number)
            })
        }
    }
}

fn lines(values: &Values) -> Result<Lines, TextProblem> {
    let mut lines = Lines::default();
    for name in ["text-decoration", "text-decoration-line"] {
        if let Some(value) = values.get(name) {
            let own = lines_of(value)?;
            lines.under |= own.under;
            lines.over |= own.over;
            lines.through |= own.through;
        }
    }
    Ok(lines)
}

/// The lines that a `text-decoration` draws.
pub(super) fn lines_of(value: &str) -> Result<Lines, TextProblem> {
    let mut lines = Lines::default();
    for word in value.split_whitespace() {
        match word {
            // How thick is left to the reader; `blink` is no longer drawn.
            "none" | "blink" | "solid" | "auto" | "from-font" => {}
            "underline" => lines.under = true,
            "overline" => lines.over = true,
            "line-through" => lines.through = true,
            _ => return Err(disputed("text-decoration", value)),
        }
    }
    Ok(lines)
}

/// `font-variation-settings`: CSS Fonts 4, section 7.2.
fn axes(values: &Values) -> Result<Vec<([u8; 4], f32)>, TextProblem> {
    let name = "font-variation-settings";
    let Some(value) = values.get(name) else {
        return Ok(Vec::new());
    };
    if value == "normal" {
        return Ok(Vec::new());
    }
    let mut axes = Vec::new();
    for part in value.split(',') {
        let mut words = part.split_whitespace();
        let tag = words
            .next()
            .map(|tag| tag.trim_matches(['"', '\'']))
            .and_then(|tag| <[u8; 4]>::try_from(tag.as_bytes()).ok())
            .filter(|tag| tag.iter().all(u8::is_ascii_alphanumeric));
        let number = words
            .next()
            .and_then(|n| n.parse::<f32>().ok())
            .filter(|n| n.is_finite());
        match (tag, number, words.next()) {
            (Some(tag), Some(number), None) => axes.push((tag, number)),
            _ => return Err(unread(name, value)),
        }
    }
    Ok(axes)
}
