//! Every rule's name, in the order of the contract.

/// The names that a waiver may use. A rule's name is its only code.
pub const RULE_NAMES: &[&str] = &[
    "fixture-shifted",
    "pocket-moved",
    "pocket-reshaped",
    "pocket-missing",
    "pocket-added",
    "fixture-absent",
    "page-changed",
    "fixture-still-cut",
    "stray-cut",
    "hidden-but-live",
    "past-zone",
    "off-blank",
    "upside-down",
    "way-up-unknown",
    "mirrored",
    "tilted",
    "off-centre",
    "outside-bed",
    "pocket-bare",
    "pocket-unloaded",
    "doubled",
    "written-over",
    "font-missing",
    "paint-unknown",
    "not-proven",
    "too-fine",
    "letter-too-small",
    "picture-coarse",
    "open-cut",
    "cut-twice",
    "web-too-thin",
    "blank-does-not-fit",
    "no-loading-mark",
    "name-missing",
    "name-extra",
    "name-twice",
    "name-placeholder",
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::RULE_NAMES;

    #[test]
    fn names_are_unique_and_plain() {
        let unique: BTreeSet<_> = RULE_NAMES.iter().collect();
        assert_eq!(unique.len(), RULE_NAMES.len());
        for name in RULE_NAMES {
            assert!(
                name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'),
                "{name}"
            );
        }
    }
}
