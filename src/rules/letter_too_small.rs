//! `letter-too-small`: lettering is smaller than the smallest letter allowed.

use std::collections::BTreeMap;

use kurbo::{Rect, Shape as _};

use super::{Info, info, thing};
use crate::artwork::mark::{Content, Letter};
use crate::finding::{Finding, Location};
use crate::ids::PocketId;
use crate::matching::Job;
use crate::wording::sentence;

pub(crate) static INFO: Info = info!("letter-too-small", Caution, Look);

/// Smaller than the limit by less than this, in millimetres, is the rounding of a file.
const ROUNDING: f64 = 0.005;

/// Letters of one line whose em differs by less than this, in millimetres, are of one size.
const ONE_SIZE: f64 = 0.01;

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let limit = job.fixture.settings.limits.smallest_letter;
    let mut last = None;
    for (_, mark, _) in job.live() {
        let Content::Lettering(lettering) = &mark.content else {
            continue;
        };
        // A face that is not at hand has no size; and the line of lettering is no second text.
        let element = (&mark.origin.range, &mark.origin.uses, &lettering.text);
        if !lettering.missing.is_empty() || last == Some(element) {
            continue;
        }
        last = Some(element);
        // By pocket and size: one line may run over several pockets, or change its size.
        let mut sizes: BTreeMap<(Option<PocketId>, i64), Vec<&Letter>> = BTreeMap::new();
        for letter in &lettering.letters {
            let at = letter.bounds.center();
            let pocket = job.pocket_at(at);
            let size = (letter.size / ONE_SIZE).round() as i64;
            sizes.entry((pocket, size)).or_default().push(letter);
        }
        for ((pocket, _), letters) in sizes {
            let Some((height, of)) = height(&letters) else {
                continue;
            };
            if height >= limit - ROUNDING {
                continue;
            }
            let shown = job.shown();
            out.push(
                Finding::new(
                    &INFO,
                    &Location::Mark(&mark.origin, around(&letters)),
                    format!(
                        "{} is {} high ({of}), less than the {} that your settings ask for",
                        sentence(&thing(mark)),
                        shown.length(height),
                        shown.length(limit)
                    ),
                    format!(
                        "set it at {:.0} % of this size or more, or have the limit changed if a trial piece reads well",
                        (100.0 * limit / height).ceil()
                    ),
                )
                .in_pocket(pocket.map(|p| job.pockets[p].name.as_str()))
                .measured("letter height", height, limit, "mm"),
            );
        }
    }
}

/// The height that counts for letters of one size: that of the capitals if there is any capital or
/// figure, else that of a small x. Letters without case (and faces that do not state a height) are
/// measured by their own ink, the tallest of them. `None` for points and strokes alone.
fn height(letters: &[&Letter]) -> Option<(f64, &'static str)> {
    let any = |kind: fn(char) -> bool| letters.iter().filter(move |l| l.text.chars().any(kind));
    let tallest =
        |h: fn(&Letter) -> f64, of: &[&&Letter]| of.iter().map(|l| h(l)).fold(0.0, f64::max);
    for (kind, of, stated) in [
        (
            (|c| c.is_uppercase() || c.is_numeric()) as fn(char) -> bool,
            "its capitals",
            (|l| l.cap_height) as fn(&Letter) -> f64,
        ),
        (char::is_lowercase, "its small letters", |l| l.x_height),
        (char::is_alphabetic, "its letters", |_| 0.0),
    ] {
        let these: Vec<_> = any(kind).collect();
        if these.is_empty() {
            continue;
        }
        let stated = tallest(stated, &these);
        let height = if stated > 0.0 {
            stated
        } else {
            tallest(ink_height, &these)
        };
        return (height > 0.0).then_some((height, of));
    }
    None
}

/// How high a letter's ink is along its own direction.
fn ink_height(letter: &Letter) -> f64 {
    // Turned so that the letter's top points to the back.
    let turn = kurbo::Affine::new([
        -letter.up.y,
        letter.up.x,
        -letter.up.x,
        -letter.up.y,
        0.0,
        0.0,
    ]);
    (turn * letter.path.clone()).bounding_box().height()
}

fn around(letters: &[&Letter]) -> Rect {
    letters
        .iter()
        .map(|l| l.bounds)
        .reduce(|a, b| a.union(b))
        .unwrap_or(Rect::ZERO)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use kurbo::{Affine, Vec2};

    fn letter(text: &str) -> Letter {
        Letter {
            text: text.to_owned(),
            cap_height: 2.0,
            x_height: 1.4,
            up: Vec2::new(0.0, -1.0),
            path: Rect::new(0.0, 0.0, 1.0, 3.0).to_path(1e-3),
            ..Letter::default()
        }
    }

    fn of(texts: &[&str]) -> Option<f64> {
        let letters: Vec<Letter> = texts.iter().map(|t| letter(t)).collect();
        height(&letters.iter().collect::<Vec<_>>()).map(|h| h.0)
    }

    #[test]
    fn capitals_count_before_small_letters_and_points_not_at_all() {
        for (texts, expected) in [
            (&["A", "d", "a"][..], Some(2.0)),
            (&["7", "a"], Some(2.0)),
            (&["a", "."], Some(1.4)),
            (&["ß"], Some(1.4)),
            (&["山"], Some(3.0)),
            (&[".", "-"], None),
        ] {
            assert_eq!(of(texts), expected, "{texts:?}");
        }
    }

    #[test]
    fn ink_is_measured_along_the_letter() {
        let mut lying = letter("山");
        lying.up = Vec2::new(-1.0, 0.0);
        lying.path = Affine::rotate(-std::f64::consts::FRAC_PI_2) * lying.path;
        assert!((ink_height(&lying) - 3.0).abs() < 1e-9);
    }
}
