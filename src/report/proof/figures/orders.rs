//! Drawings for the rules about lettering and the order list.

use super::Figure;
use super::pieces::{batch, list, note};

/// The drawing, if `rule` is one of these.
pub(super) fn figure(rule: &str) -> Option<Figure> {
    let orders = || list(&["Ida", "Jo", "Kit"]);
    let all = || {
        (
            orders() + &batch(&["Ida", "Jo", "Kit"]),
            "each name that was ordered is there once, and no other",
        )
    };
    Some(match rule {
        "name-missing" => Figure {
            right: all(),
            wrong: (
                orders() + &batch(&["Ida", "Jo"]) + &note(78.0, 68.0, "no Kit"),
                "Kit was ordered and is not in the run",
            ),
        },
        "name-extra" => Figure {
            right: all(),
            wrong: (
                list(&["Ida", "Jo"]) + &batch(&["Ida", "Jo", "Max"]),
                "Max is in the run and was not ordered",
            ),
        },
        "name-twice" => Figure {
            right: all(),
            wrong: (
                orders() + &batch(&["Ida", "Ida", "Kit"]),
                "Ida was ordered once and is there twice",
            ),
        },
        "name-placeholder" => Figure {
            right: all(),
            wrong: (
                orders() + &batch(&["Ida", "NAME", "Kit"]),
                "a placeholder was never filled in",
            ),
        },
        _ => return None,
    })
}
