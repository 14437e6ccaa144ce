//! Families, weights and widths between the words of a file and those of a message.

use usvg::fontdb::{Family, Stretch, Style};

/// One entry of a `font-family` list.
pub(super) struct FamilyRequest {
    pub(super) name: String,
    pub(super) generic: Option<Family<'static>>,
}

/// Splits `font-family` at commas outside quotes. Names that a strict parser refuses (an unquoted
/// name that starts with a digit, say) are taken as written: they are what the file asks for.
pub(super) fn families(list: &str) -> Vec<FamilyRequest> {
    let mut parts = vec![String::new()];
    let mut quoted = vec![false];
    let mut open = None;
    for c in list.chars() {
        match (open, c) {
            (None, '"' | '\'') => {
                open = Some(c);
                if let Some(last) = quoted.last_mut() {
                    *last = true;
                }
            }
            (Some(quote), _) if c == quote => open = None,
            (None, ',') => {
                parts.push(String::new());
                quoted.push(false);
            }
            _ => {
                if let Some(last) = parts.last_mut() {
                    last.push(c);
                }
            }
        }
    }
    let fold = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    parts
        .into_iter()
        .map(fold)
        .zip(quoted)
        .filter(|(name, _)| !name.is_empty())
        .map(|(name, quoted)| {
            let generic = match name.to_ascii_lowercase().as_str() {
                _ if quoted => None,
                "serif" => Some(Family::Serif),
                "sans-serif" => Some(Family::SansSerif),
                "cursive" => Some(Family::Cursive),
                "fantasy" => Some(Family::Fantasy),
                "monospace" => Some(Family::Monospace),
                _ => None,
            };
            FamilyRequest { name, generic }
        })
        .collect()
}

/// The names in a `font-family` list, for comparing with what the file declares itself.
pub(crate) fn family_names(list: &str) -> Vec<String> {
    families(list).into_iter().map(|f| f.name).collect()
}

/// Width in percent, CSS Fonts 4, section 2.3 (`font-width`).
pub(super) fn percent(stretch: Stretch) -> f32 {
    match stretch {
        Stretch::UltraCondensed => 50.0,
        Stretch::ExtraCondensed => 62.5,
        Stretch::Condensed => 75.0,
        Stretch::SemiCondensed => 87.5,
        Stretch::Normal => 100.0,
        Stretch::SemiExpanded => 112.5,
        Stretch::Expanded => 125.0,
        Stretch::ExtraExpanded => 150.0,
        Stretch::UltraExpanded => 200.0,
    }
}

/// Weight, width and slope in words; empty for a plain face. Weight names: OpenType specification,
/// `usWeightClass`.
pub(super) fn style_words(weight: u16, style: Style, stretch: Stretch) -> String {
    let weight = match weight {
        100 => "thin".to_owned(),
        200 => "extra-light".to_owned(),
        300 => "light".to_owned(),
        400 => String::new(),
        500 => "medium".to_owned(),
        600 => "semi-bold".to_owned(),
        700 => "bold".to_owned(),
        800 => "extra-bold".to_owned(),
        900 => "black".to_owned(),
        other => format!("weight {other}"),
    };
    let stretch = match stretch {
        Stretch::UltraCondensed => "ultra-condensed",
        Stretch::ExtraCondensed => "extra-condensed",
        Stretch::Condensed => "condensed",
        Stretch::SemiCondensed => "semi-condensed",
        Stretch::Normal => "",
        Stretch::SemiExpanded => "semi-expanded",
        Stretch::Expanded => "expanded",
        Stretch::ExtraExpanded => "extra-expanded",
        Stretch::UltraExpanded => "ultra-expanded",
    };
    let style = match style {
        Style::Normal => "",
        Style::Italic => "italic",
        Style::Oblique => "oblique",
    };
    let words: Vec<&str> = [weight.as_str(), stretch, style]
        .into_iter()
        .filter(|w| !w.is_empty())
        .collect();
    words.join(" ")
}
