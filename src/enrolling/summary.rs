//! Describes a lock: what it holds, and what changed.

use crate::fixture;
use crate::fixture::lock::{self, Lock};
use crate::fixture::settings::Settings;
use crate::units::Shown;
use crate::wording::{counted, listed};

/// What a lock holds besides pockets.
const OTHERS: [(lock::OutlineKind, &str, &str); 2] = [
    (lock::OutlineKind::Edge, "sheet edge", "sheet edges"),
    (lock::OutlineKind::Mark, "other line", "other lines"),
];

/// What a lock holds, a line each.
pub(super) fn summary(lock: &Lock, settings: &Settings) -> Vec<String> {
    let count = |kind| lock.outlines.iter().filter(|o| o.kind == kind).count();
    let shown = settings.bed.shown;
    let names: Vec<String> = lock.pockets.iter().map(|p| p.name.clone()).collect();
    let page = lock.page.rect;
    let others: Vec<String> = OTHERS
        .into_iter()
        .filter(|(kind, ..)| count(*kind) > 0)
        .map(|(kind, one, many)| counted(count(kind), one, many))
        .collect();
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    vec![
        format!(
            "{}: {}",
            counted(lock.pockets.len(), "pocket", "pockets"),
            fixture::shorthand::list(&names)
        ),
        format!(
            "{} locked, page {}",
            match others.as_slice() {
                [] => "no other line".to_owned(),
                some => listed(some, "and"),
            },
            shown.size(page.width(), page.height())
        ),
    ]
}

/// What is different between two locks, a line each.
pub(super) fn changes(old: &Lock, new: &Lock, shown: Shown) -> Vec<String> {
    let mut said = Vec::new();
    if old.code != new.code {
        said.push(format!("code {} became {}", old.code, new.code));
    }
    let size = |l: &Lock| shown.size(l.page.rect.width(), l.page.rect.height());
    if size(old) != size(new) {
        said.push(format!("page {} became {}", size(old), size(new)));
    }
    if old.frame != new.frame {
        said.push("the bed, the stops or the units changed".to_owned());
    }
    let outline = |l: &Lock, name: &str| {
        let pocket = l.pockets.iter().find(|p| p.name == name)?;
        Some((l.outlines[pocket.outline].contour.clone(), pocket.clone()))
    };
    for pocket in &old.pockets {
        match (outline(old, &pocket.name), outline(new, &pocket.name)) {
            (Some(_), None) => said.push(format!("pocket {} is gone", pocket.name)),
            (Some((a, pa)), Some((b, pb))) => {
                let off = crate::geometry::deviation::deviation(&a, &b, crate::matching::COMPARING)
                    .distance;
                if off > crate::matching::COMPARING {
                    said.push(format!(
                        "pocket {} is {} from where it was",
                        pocket.name,
                        shown.length(off)
                    ));
                } else if pa.head != pb.head {
                    said.push(format!("pocket {} has its head elsewhere", pocket.name));
                } else if pa.zone != pb.zone {
                    said.push(format!("pocket {} has another zone", pocket.name));
                }
            }
            _ => {}
        }
    }
    for pocket in new
        .pockets
        .iter()
        .filter(|p| outline(old, &p.name).is_none())
    {
        said.push(format!("pocket {} is new", pocket.name));
    }
    for (kind, one, many) in OTHERS {
        let count = |l: &Lock| l.outlines.iter().filter(|o| o.kind == kind).count();
        if count(old) != count(new) {
            said.push(format!(
                "{} now, {} before",
                counted(count(new), one, many),
                count(old)
            ));
        }
    }
    if said.is_empty() {
        said.push(
            "only the drawing file or the settings' words changed; the geometry is the same"
                .to_owned(),
        );
    }
    said
}
