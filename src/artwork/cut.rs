//! Texts of a file, cut short for a message.

/// A text cut to `most` characters for a message, on one line.
pub(crate) fn shortened(text: &str, most: usize) -> String {
    let mut shown: String = text
        .chars()
        .take(most)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.chars().nth(most).is_some() {
        shown.push('…');
    }
    shown
}
