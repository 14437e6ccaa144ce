//! How lettering is written in SVG.

use crate::artwork::fonts::FaceName;
use crate::fixture::settings::Align;
use crate::wording::markup;

/// The properties that choose a face and anchor a line.
pub(super) fn attributes(face: &FaceName, align: Align) -> String {
    let stretch = face
        .stretch
        .map_or(String::new(), |s| format!(" font-stretch=\"{s}\""));
    format!(
        "font-family=\"{}\" font-weight=\"{}\" font-style=\"{}\"{stretch} text-anchor=\"{}\"",
        markup(&quoted_family(&face.family)),
        face.weight,
        if face.italic { "italic" } else { "normal" },
        align.word()
    )
}

/// A family with anything but letters, digits, hyphens and single spaces stands in quotes (CSS
/// Fonts 4, section 2.1), and so does one with a word that starts with a digit.
fn quoted_family(family: &str) -> String {
    let plain = family.split(' ').all(|word| {
        word.starts_with(|c: char| c.is_alphabetic())
            && word.chars().all(|c| c.is_alphanumeric() || c == '-')
    });
    if plain {
        family.to_owned()
    } else {
        format!("'{}'", family.replace('\\', "\\\\").replace('\'', "\\'"))
    }
}
