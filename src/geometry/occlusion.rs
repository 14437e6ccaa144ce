//! Does anything of some ink show under what lies over it?

use std::borrow::Borrow;

use kurbo::Point;

use super::region::Region;

/// Whether less than `share` of `ink`'s area is left when `covers` are laid over it.
///
/// `covers` are asked one after the other and only as long as something is left. Ink without area has
/// nothing to show.
pub(crate) fn occluded(
    ink: &Region,
    covers: impl IntoIterator<Item = impl Borrow<Region>>,
    share: f64,
) -> bool {
    let least = share * ink.area();
    without(ink.clone(), covers, least).area() <= least
}

/// What is left of `ink` when `covers` are laid over it; or some of them, where they leave an area of no
/// more than `least`.
pub(crate) fn without(
    ink: Region,
    covers: impl IntoIterator<Item = impl Borrow<Region>>,
    least: f64,
) -> Region {
    // One at a time: the first ones often leave nothing, and many at once cross each other in vain.
    let mut left = ink;
    for cover in covers {
        left = left.subtract(cover.borrow());
        if left.area() <= least {
            break;
        }
    }
    left
}

/// A few points spread over `ink`'s boundary. If one of them shows, the ink shows, and testing points
/// is far quicker than subtracting areas.
pub(crate) fn samples(ink: &Region, count: usize) -> Vec<Point> {
    let all: usize = ink.rings.iter().map(Vec::len).sum();
    let step = all.div_ceil(count.max(1)).max(1);
    ink.rings.iter().flatten().copied().step_by(step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Rect;

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        Region::from_rect(Rect::new(x0, y0, x1, y1))
    }

    #[test]
    fn two_halves_cover_a_whole_and_one_does_not() {
        let ink = rect(0.0, 0.0, 10.0, 2.0);
        let (left, right) = (rect(-1.0, -1.0, 5.0, 3.0), rect(5.0, -1.0, 11.0, 3.0));
        assert!(occluded(&ink, [&left, &right], 0.02));
        assert!(!occluded(&ink, [&left], 0.02));
        assert!(!occluded(&ink, [] as [&Region; 0], 0.02));
    }

    #[test]
    fn the_share_that_may_show_is_the_share_asked_for() {
        let ink = rect(0.0, 0.0, 100.0, 1.0);
        for (to, share, expected) in [(99.0, 0.02, true), (97.0, 0.02, false), (97.0, 0.05, true)] {
            let got = occluded(&ink, [&rect(0.0, 0.0, to, 1.0)], share);
            assert_eq!(got, expected, "covered to {to}, share {share}");
        }
    }

    #[test]
    fn samples_reach_every_ring() {
        let mut two = rect(0.0, 0.0, 1.0, 1.0);
        two.rings.extend(rect(5.0, 0.0, 6.0, 1.0).rings);
        let points = samples(&two, 4);
        assert!(points.len() <= 4, "{points:?}");
        assert!(points.iter().any(|p| p.x <= 1.0) && points.iter().any(|p| p.x >= 5.0));
    }
}
