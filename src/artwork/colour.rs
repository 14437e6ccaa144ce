//! Colours as artwork writes them: CSS Color Level 4, and SVG 2's `<paint>`.
//!
//! What cannot be read is handed back as it stands. A colour must never become black or none because
//! it was not understood: a laser would burn the one and pass over the other.

mod difference;

use std::str::FromStr;

use super::length::{is_space, number_end};
use super::mark::Colour;
pub use difference::{distance, lab, lab_distance};

/// What a fill or stroke says.
#[derive(Debug, Clone, PartialEq)]
pub enum ColourRead {
    /// `none`.
    None,
    /// `currentColor`.
    Current,
    /// A plain colour.
    Colour {
        /// The colour, rounded to eight bits a channel.
        colour: Colour,
        /// Its opacity, 0 to 1.
        alpha: f64,
    },
    /// A gradient or pattern of this file.
    Server {
        /// Its id, as written.
        id: String,
        /// What to paint with if there is no such server.
        fallback: Option<Box<ColourRead>>,
    },
    /// `context-fill`: the fill of the shape that carries this marker.
    ContextFill,
    /// `context-stroke`: its stroke.
    ContextStroke,
    /// What could not be read, as written.
    Unread(String),
}

/// Reads a `<paint>` (SVG 2, section 13.2).
///
/// `inherit`, `initial` and the like are for the cascade: here they are unread. So is `NONE` in any
/// but small letters: CSS reads it as `none`, while readers that compare letter by letter paint
/// black, and the two could not be further apart.
pub fn paint(text: &str) -> ColourRead {
    let text = text.trim_matches(is_space);
    let unread = || ColourRead::Unread(text.to_owned());
    match text {
        "none" => return ColourRead::None,
        "context-fill" => return ColourRead::ContextFill,
        "context-stroke" => return ColourRead::ContextStroke,
        _ => {}
    }
    if text.eq_ignore_ascii_case("currentcolor") {
        return ColourRead::Current;
    }
    if text
        .get(..4)
        .is_some_and(|start| start.eq_ignore_ascii_case("url("))
    {
        let Some((id, rest)) = local_url(text) else {
            return unread();
        };
        let rest = rest.trim_matches(is_space);
        let fallback = (!rest.is_empty()).then(|| Box::new(plain(rest)));
        return ColourRead::Server {
            id: id.to_owned(),
            fallback,
        };
    }
    plain(text)
}

/// A paint that is neither a server nor taken from a context.
fn plain(text: &str) -> ColourRead {
    if text == "none" {
        ColourRead::None
    } else if text.eq_ignore_ascii_case("currentcolor") {
        ColourRead::Current
    } else if let Some((colour, alpha)) = colour(without_profile(text)) {
        ColourRead::Colour { colour, alpha }
    } else {
        ColourRead::Unread(text.to_owned())
    }
}

/// The id that a local `url(#id)` names, and the text after the closing bracket. `None` for another
/// file, an empty id, or broken syntax.
pub fn local_url(text: &str) -> Option<(&str, &str)> {
    let text = text.trim_start_matches(is_space);
    let start = text.get(..4)?;
    if !start.eq_ignore_ascii_case("url(") {
        return None;
    }
    let inner = text.get(4..)?.trim_start_matches(is_space);
    let (target, rest) = match inner.chars().next()? {
        quote @ ('"' | '\'') => {
            let (target, rest) = inner.get(1..)?.split_once(quote)?;
            (target, rest.trim_start_matches(is_space).strip_prefix(')')?)
        }
        _ => inner.split_once(')')?,
    };
    let id = target.trim_matches(is_space).strip_prefix('#')?;
    let broken = id.is_empty() || id.contains(['\\', '(', '"', '\'']) || id.contains(is_space);
    (!broken).then_some((id, rest))
}

/// Drops SVG 1.1's `icc-color(…)` after an sRGB colour: the sRGB colour is the one to use where no
/// profile is at hand (SVG 1.1, section 12.3), and a sender has none.
fn without_profile(text: &str) -> &str {
    // Nearly every colour is a word or six digits.
    if !text.contains('(') {
        return text;
    }
    let Some(at) = text.to_ascii_lowercase().find("icc-color(") else {
        return text;
    };
    let (colour, profile) = text.split_at(at);
    let whole = profile.find(')') == Some(profile.len() - 1);
    if whole && colour.ends_with(is_space) {
        colour.trim_end_matches(is_space)
    } else {
        text
    }
}

/// Reads a colour and its opacity (0 to 1).
///
/// Read: hex, `rgb()`, `hsl()`, `hwb()`, the 148 names, `transparent`, and `color()` in `srgb` or
/// `srgb-linear` within its gamut. Not read, because a reader's gamut mapping or theme decides them:
/// the other colour spaces, system colours, colour mixing.
pub fn colour(text: &str) -> Option<(Colour, f64)> {
    let text = text.trim_matches(is_space);
    if let Some(hex) = text.strip_prefix('#') {
        return hex_colour(hex);
    }
    if let Some((name, rest)) = text.split_once('(') {
        let arguments = Arguments::parse(rest.strip_suffix(')')?)?;
        return match name.to_ascii_lowercase().as_str() {
            "rgb" | "rgba" => rgb(&arguments),
            "hsl" | "hsla" => hsl(&arguments),
            "hwb" => hwb(&arguments),
            "color" => in_space(&arguments),
            _ => None,
        };
    }
    let name = text.to_ascii_lowercase();
    if name == "transparent" {
        return Some((Colour { r: 0, g: 0, b: 0 }, 0.0));
    }
    if name.is_empty() || !name.bytes().all(|b| b.is_ascii_lowercase()) {
        return None;
    }
    if name == "rebeccapurple" {
        // The youngest of the names (CSS Color 4), and the one that `svgtypes` does not have.
        return Some((
            Colour {
                r: 0x66,
                g: 0x33,
                b: 0x99,
            },
            1.0,
        ));
    }
    let named = svgtypes::Color::from_str(&name).ok()?;
    let colour = Colour {
        r: named.red,
        g: named.green,
        b: named.blue,
    };
    Some((colour, 1.0))
}

fn hex_colour(hex: &str) -> Option<(Colour, f64)> {
    let digits: Vec<u8> = hex
        .chars()
        .map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok()))
        .collect::<Option<_>>()?;
    let (r, g, b, a) = match *digits.as_slice() {
        [r, g, b] => (r * 17, g * 17, b * 17, 255),
        [r, g, b, a] => (r * 17, g * 17, b * 17, a * 17),
        [r, s, g, h, b, c] => (r * 16 + s, g * 16 + h, b * 16 + c, 255),
        [r, s, g, h, b, c, a, d] => (r * 16 + s, g * 16 + h, b * 16 + c, a * 16 + d),
        _ => return None,
    };
    Some((Colour { r, g, b }, f64::from(a) / 255.0))
}

/// One argument of a colour function.
#[derive(Debug, Clone, PartialEq)]
enum Argument {
    Number(f64),
    Percent(f64),
    /// An angle with a unit, in degrees.
    Angle(f64),
    /// `none`, which counts as zero (CSS Color 4, section 4.4).
    Missing,
    Word(String),
}

/// The arguments of a colour function.
struct Arguments {
    /// Separated by commas, as before CSS Color 4.
    legacy: bool,
    parts: Vec<Argument>,
    alpha: Option<Argument>,
}

impl Arguments {
    fn parse(text: &str) -> Option<Self> {
        let legacy = text.contains(',');
        if legacy {
            if text.contains('/') {
                return None;
            }
            let mut parts: Vec<_> = text
                .split(',')
                .map(|part| argument(part.trim_matches(is_space)))
                .collect::<Option<_>>()?;
            if parts.contains(&Argument::Missing) {
                return None;
            }
            let alpha = if parts.len() == 4 { parts.pop() } else { None };
            return Some(Self {
                legacy,
                parts,
                alpha,
            });
        }
        let (text, alpha) = match text.split_once('/') {
            Some((text, alpha)) => (text, Some(argument(alpha.trim_matches(is_space))?)),
            None => (text, None),
        };
        let parts = text.split(is_space).filter(|part| !part.is_empty());
        let parts = parts.map(argument).collect::<Option<_>>()?;
        Some(Self {
            legacy,
            parts,
            alpha,
        })
    }

    /// The opacity: a number or a percentage, clamped (CSS Color 4, section 4.2).
    fn opacity(&self) -> Option<f64> {
        let alpha = match self.alpha {
            None => 1.0,
            Some(Argument::Number(alpha)) => alpha,
            Some(Argument::Percent(alpha)) => alpha / 100.0,
            Some(Argument::Missing) => 0.0,
            Some(Argument::Angle(_) | Argument::Word(_)) => return None,
        };
        Some(alpha.clamp(0.0, 1.0))
    }
}

fn argument(text: &str) -> Option<Argument> {
    let Some(end) = number_end(text) else {
        let word = !text.is_empty() && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
        let missing = text.eq_ignore_ascii_case("none");
        return word.then(|| {
            if missing {
                Argument::Missing
            } else {
                Argument::Word(text.to_ascii_lowercase())
            }
        });
    };
    let (digits, unit) = text.split_at(end);
    let value: f64 = digits
        .parse()
        .ok()
        .filter(|value: &f64| value.is_finite())?;
    Some(match unit.to_ascii_lowercase().as_str() {
        "" => Argument::Number(value),
        "%" => Argument::Percent(value),
        "deg" => Argument::Angle(value),
        "grad" => Argument::Angle(value * 0.9),
        "rad" => Argument::Angle(value.to_degrees()),
        "turn" => Argument::Angle(value * 360.0),
        _ => return None,
    })
}

/// `rgb()`: numbers to 255 or percentages, not mixed in the old syntax (CSS Color 4, section 5.1).
fn rgb(arguments: &Arguments) -> Option<(Colour, f64)> {
    let [r, g, b] = arguments.parts.as_slice() else {
        return None;
    };
    let percents = [r, g, b]
        .iter()
        .filter(|part| matches!(part, Argument::Percent(_)))
        .count();
    if arguments.legacy && percents != 0 && percents != 3 {
        return None;
    }
    let channel = |part: &Argument| match *part {
        Argument::Number(value) => Some(value / 255.0),
        Argument::Percent(value) => Some(value / 100.0),
        Argument::Missing => Some(0.0),
        Argument::Angle(_) | Argument::Word(_) => None,
    };
    Some((
        eight_bits([channel(r)?, channel(g)?, channel(b)?]),
        arguments.opacity()?,
    ))
}

/// A hue, in degrees from 0 to 360.
fn hue(part: &Argument) -> Option<f64> {
    match *part {
        Argument::Number(degrees) | Argument::Angle(degrees) => Some(degrees.rem_euclid(360.0)),
        Argument::Missing => Some(0.0),
        Argument::Percent(_) | Argument::Word(_) => None,
    }
}

/// A share from 0 to 1: a percentage, or in the new syntax a number that counts as one.
fn share(part: &Argument, legacy: bool) -> Option<f64> {
    match *part {
        Argument::Percent(value) => Some((value / 100.0).clamp(0.0, 1.0)),
        Argument::Number(value) if !legacy => Some((value / 100.0).clamp(0.0, 1.0)),
        Argument::Missing => Some(0.0),
        _ => None,
    }
}

/// `hsl()` (CSS Color 4, section 7).
fn hsl(arguments: &Arguments) -> Option<(Colour, f64)> {
    let [h, s, l] = arguments.parts.as_slice() else {
        return None;
    };
    let legacy = arguments.legacy;
    let channels = hsl_to_rgb(hue(h)?, share(s, legacy)?, share(l, legacy)?);
    Some((eight_bits(channels), arguments.opacity()?))
}

/// CSS Color 4, section 7.1.
fn hsl_to_rgb(hue: f64, saturation: f64, lightness: f64) -> [f64; 3] {
    let reach = saturation * lightness.min(1.0 - lightness);
    [0.0, 8.0, 4.0].map(|n| {
        let k = (n + hue / 30.0) % 12.0;
        lightness - reach * (k - 3.0).min(9.0 - k).clamp(-1.0, 1.0)
    })
}

/// `hwb()` (CSS Color 4, section 8); it has no syntax with commas.
fn hwb(arguments: &Arguments) -> Option<(Colour, f64)> {
    let [h, w, b] = arguments.parts.as_slice() else {
        return None;
    };
    if arguments.legacy {
        return None;
    }
    let (hue, white, black) = (hue(h)?, share(w, false)?, share(b, false)?);
    let channels = if white + black >= 1.0 {
        [white / (white + black); 3]
    } else {
        hsl_to_rgb(hue, 1.0, 0.5).map(|channel| channel * (1.0 - white - black) + white)
    };
    Some((eight_bits(channels), arguments.opacity()?))
}

/// `color(srgb …)` and `color(srgb-linear …)` (CSS Color 4, section 10). Beyond the gamut a reader's
/// own mapping decides, so that is not read.
fn in_space(arguments: &Arguments) -> Option<(Colour, f64)> {
    let [Argument::Word(space), channels @ ..] = arguments.parts.as_slice() else {
        return None;
    };
    if arguments.legacy || channels.len() != 3 {
        return None;
    }
    let channel = |part: &Argument| {
        let value = match *part {
            Argument::Number(value) => value,
            Argument::Percent(value) => value / 100.0,
            Argument::Missing => 0.0,
            Argument::Angle(_) | Argument::Word(_) => return None,
        };
        (0.0..=1.0).contains(&value).then_some(value)
    };
    let channels: Vec<f64> = channels.iter().map(channel).collect::<Option<_>>()?;
    let channels: [f64; 3] = channels.try_into().ok()?;
    let channels = match space.as_str() {
        "srgb" => channels,
        "srgb-linear" => channels.map(encoded),
        _ => return None,
    };
    Some((eight_bits(channels), arguments.opacity()?))
}

/// Rounds channels from 0 to 1 to eight bits, clamped; a half goes up (CSS Color 4, section 15.2).
fn eight_bits(channels: [f64; 3]) -> Colour {
    let [r, g, b] = channels.map(|channel| (channel.clamp(0.0, 1.0) * 255.0 + 0.5).floor() as u8);
    Colour { r, g, b }
}

/// sRGB's curve, from light to code: IEC 61966-2-1.
fn encoded(light: f64) -> f64 {
    if light <= 0.003_130_8 {
        light * 12.92
    } else {
        1.055 * libm::pow(light, 1.0 / 2.4) - 0.055
    }
}
