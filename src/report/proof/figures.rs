//! A small right and wrong drawing for each rule.

/// The pair for `rule`, as HTML.
pub fn pair(_rule: &str) -> Option<String> {
    None
}
