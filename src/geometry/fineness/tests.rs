#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
use super::*;
use kurbo::{BezPath, Circle, Shape as _};

const MANY: usize = 1_000_000;

fn ink(path: &str) -> Region {
    Region::from_path(&BezPath::from_svg(path).unwrap(), false, 1e-3)
}

fn widths(path: &str) -> Vec<f64> {
    narrower(&ink(path), 0.2, MANY)
        .narrow
        .iter()
        .map(|n| n.width)
        .collect()
}

/// A spike of `degrees` on a block.
fn spike(degrees: f64) -> String {
    let half = 2.0 * (degrees / 2.0).to_radians().tan();
    format!("M-5 0h10v5h-10z M{} 0L0 -2L{half} 0z", -half)
}

#[test]
fn an_outline_of_a_hundred_thousand_corners_measures_as_one_of_four() {
    // A dumbbell: two blocks, and a neck of 0.15 mm between them.
    let plain = ink("M0 0h4v1.925h4V0h4v4H8V2.075H4V4H0z");
    let ring = &plain.rings[0];
    let dense: Vec<Point> = edges(ring, true)
        .flat_map(|(a, b)| {
            let parts = (a.distance(b) / 2e-4).ceil() as usize;
            (0..parts).map(move |i| a.lerp(b, i as f64 / parts as f64))
        })
        .collect();
    assert!(dense.len() > 100_000 && dense.len() > 1_000 * ring.len());
    let dense = Region { rings: vec![dense] };
    assert!(thinned(&dense).unwrap().rings[0].len() < 2 * ring.len());
    let (a, b) = (
        narrower(&plain, 0.2, MANY).narrow,
        narrower(&dense, 0.2, MANY).narrow,
    );
    assert_eq!((a.len(), b.len()), (1, 1));
    assert!((a[0].width - b[0].width).abs() < 1e-3, "{a:?} {b:?}");
    assert!(thinned(&plain).is_none());
}

#[test]
fn a_bar_is_as_wide_as_it_is() {
    for width in [0.02, 0.05, 0.1, 0.15, 0.18] {
        let got = widths(&format!("M0 0h10v{width}h-10z"));
        assert_eq!(got.len(), 1, "width {width}: {got:?}");
        assert!(
            (got[0] - width).abs() < 0.003,
            "actual {}, expected {width}",
            got[0]
        );
    }
    for width in [0.2, 0.21, 0.3, 2.0] {
        assert_eq!(
            widths(&format!("M0 0h10v{width}h-10z")),
            [0.0; 0],
            "width {width}"
        );
    }
}

#[test]
fn serifs_and_necks_are_found_on_wide_shapes() {
    // A stem of 1 mm with a serif of 0.08 mm that sticks out by 0.4 mm on each side.
    let serif = widths("M0 0h1v5h-1z M-0.4 4.92h1.8v0.08h-1.8z");
    assert_eq!(serif.len(), 2, "{serif:?}");
    assert!(serif.iter().all(|w| (w - 0.08).abs() < 0.02), "{serif:?}");
    // Two blocks and a bridge.
    let neck = widths("M0 0h2v2h-2z M2 1h1v0.1h-1z M3 0h2v2h-2z");
    assert_eq!(neck.len(), 1, "{neck:?}");
    assert!((neck[0] - 0.1).abs() < 0.02, "{neck:?}");
}

#[test]
fn corners_are_no_fine_parts_however_sharp_letters_make_them() {
    for degrees in [20.0, 30.0, 45.0, 60.0, 90.0, 120.0] {
        assert_eq!(widths(&spike(degrees)), [0.0; 0], "{degrees} degrees");
    }
    // A needle is one.
    assert_eq!(widths(&spike(8.0)).len(), 1);
    let disc = Region::from_path(&Circle::new((0.0, 0.0), 1.0).to_path(1e-3), false, 1e-3);
    assert!(narrower(&disc, 0.2, MANY).narrow.is_empty());
}

#[test]
fn dots_count_and_crumbs_do_not() {
    for (radius, expected) in [(0.02, 0), (0.04, 1), (0.08, 1), (0.11, 0)] {
        let dot = Region::from_path(&Circle::new((3.0, 3.0), radius).to_path(1e-4), false, 1e-4);
        assert_eq!(
            narrower(&dot, 0.2, MANY).narrow.len(),
            expected,
            "radius {radius}"
        );
    }
}

#[test]
fn a_copy_elsewhere_measures_as_the_first() {
    let one = "M0 0h1v5h-1z M-0.4 4.92h1.8v0.08h-1.8z";
    let two = format!("{one} M7.3 2.1h1v5h-1z M6.9 7.02h1.8v0.08h-1.8z");
    let (first, both) = (
        narrower(&ink(one), 0.2, MANY),
        narrower(&ink(&two), 0.2, MANY),
    );
    // It is known, and not measured again.
    assert_eq!(both.corners, first.corners);
    assert_eq!((first.narrow.len(), both.narrow.len()), (2, 4));
    let by = Vec2::new(7.3, 2.1);
    for (n, copy) in both.narrow.iter().zip(&both.narrow[2..]) {
        assert!((n.moved(by).at - copy.at).hypot() < 1e-4, "{n:?} {copy:?}");
    }
}

#[test]
fn ink_around_doubtful_places_measures_as_the_whole_does() {
    // A plate with a whisker, a slit close to its edge, and round corners of fifty points each.
    let corners = "A9 9 0 0 1 ";
    let plate = format!(
        "M9 0H51{corners}60 9V31{corners}51 40H9{corners}0 31V20.1H-1V20H0V9{corners}9 0z M40 39.9h9v-1h-9z"
    );
    let plate = ink(&plate);
    let found = narrower(&plate, 0.2, MANY);
    let whole = narrow_parts(&plate, 0.2, 0.095, FILM);
    assert!(
        found.corners < plate.corners() / 2,
        "{} corners",
        found.corners
    );
    assert_eq!((found.narrow.len(), whole.len()), (2, 2));
    for (a, b) in found.narrow.iter().zip(&whole) {
        assert!((a.width - b.width).abs() < 1e-3, "{a:?} {b:?}");
        assert!(
            (a.bounds.area() - b.bounds.area()).abs() < 1e-3,
            "{a:?} {b:?}"
        );
    }
}

#[test]
fn what_has_too_many_corners_is_counted_and_not_called_wide() {
    let teeth: String = (0..5_000).map(|_| "l0.0005 0.1l0.0005 -0.1").collect();
    let comb = ink(&format!("M0 0{teeth}V-0.1H0z"));
    let measured = narrower(&comb, 0.2, 9_000);
    assert!(measured.narrow.is_empty());
    assert!(measured.left_out > 9_000, "{}", measured.left_out);
}

#[test]
fn the_limit_moves_what_is_found() {
    let bar = ink("M0 0h10v0.15h-10z");
    assert!(narrower(&bar, 0.1, MANY).narrow.is_empty());
    assert_eq!(narrower(&bar, 0.2, MANY).narrow.len(), 1);
    assert_eq!(narrower(&bar, 0.5, MANY).narrow.len(), 1);
}
