//! Art too rich to be worked out: named, and never taken for even.

use super::*;

/// A wedge whose edges are saws of so many teeth in all: uneven, and past some number no shape that can be
/// worked out.
fn saw(n: usize, teeth: usize) -> String {
    let (x, y) = tags::middle(n);
    let corners = [(0.0, -6.0), (5.0, 6.0), (-5.0, 6.0)];
    let each = teeth / 3;
    let mut d = String::new();
    for (i, a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % 3];
        let along = (b.0 - a.0, b.1 - a.1);
        let long = f64::hypot(along.0, along.1);
        for k in 0..each {
            let part = k as f64 / each as f64;
            let out = if k % 2 == 1 { 0.35 / long } else { 0.0 };
            d.push_str(&format!(
                "L{:.4} {:.4}",
                x + a.0 + part * along.0 + out * along.1,
                y + a.1 + part * along.1 - out * along.0
            ));
        }
    }
    d.replace_range(..1, "M");
    format!("<path fill='{BURN}' d='{d}z'/>")
}

#[test]
fn art_too_rich_to_be_worked_out_is_named_and_not_taken_for_even() {
    let tags = Tags::new("");
    for (teeth, not_measured) in [(300, 0), (60_000, 1)] {
        let run = tags.run(&(names(["", "Bo", "Cy"]) + &saw(0, teeth)));
        assert_eq!(of(&run, "way-up-unknown").len(), 1, "{teeth}");
        assert_eq!(of(&run, "too-fine").len(), not_measured, "{teeth}");
    }
}

/// Of traced art a patch is measured for the whole. Where that patch was too rich to be measured, nobody says
/// that it is wide enough.
#[test]
fn a_patch_that_was_not_measured_is_not_called_wide_enough() {
    let tags = Tags::new("");
    let (x, y) = tags::middle(0);
    let tiles: String = (0..1_050)
        .map(|i| {
            let (left, top) = (
                x + 0.2 * f64::from(i % 35) - 3.5,
                y + 8.0 + 0.2 * f64::from(i / 35),
            );
            format!("<path fill='{BURN}' d='M{left:.2} {top:.2}h.2v.2h-.2z'/>")
        })
        .collect();
    let run = tags.run(&(names(["", "Bo", "Cy"]) + &saw(0, 6_000) + &tiles));
    let said = of(&run, "too-fine");
    assert_eq!(said.len(), 1);
    assert!(
        said[0].message.contains("too many corners"),
        "{}",
        said[0].message
    );
}

/// To work out where to put art may take long: what was found of it is told all the same.
#[test]
fn art_too_rich_to_find_a_place_for_is_still_past_its_zone() {
    let tags = opposed::longer(7, "");
    // Slivers anywhere in a zone, some of them past its right edge by a hair.
    let mut seed = 5_u32;
    let mut chance = move |from: f64, to: f64| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        from + (to - from) * f64::from(seed >> 8) / f64::from(1 << 24)
    };
    let mut art = String::new();
    for n in 0..7 {
        let (x, y) = tags::middle(n);
        for _ in 0..6_000 {
            let (across, along) = (chance(-3.8, 12.2), chance(-10.0, 10.0));
            let (wide, high) = (chance(0.1, 0.5), chance(0.1, 0.5));
            art += &format!(
                "<path d='M{:.3} {:.3}h{wide:.3}l-{:.3} {high:.3}z' fill='{BURN}'/>",
                x + across,
                y + along,
                wide / 2.0
            );
        }
    }
    let run = opposed::of_longer(&tags, &art);
    assert!(
        of(&run, "not-proven").is_empty(),
        "{:?}",
        of(&run, "not-proven")
    );
    assert_eq!(of(&run, "past-zone").len(), 7);
}
