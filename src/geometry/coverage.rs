//! How much of some ink lies in a region?

use super::region::Region;

/// The share of `ink`'s area that lies in `of`, 0 to 1. Ink without area has no share in anything.
pub(crate) fn share(ink: &Region, of: &Region) -> f64 {
    let (Some(bounds), Some(frame)) = (ink.bounds(), of.bounds()) else {
        return 0.0;
    };
    let area = ink.area();
    let apart = bounds.x1 <= frame.x0
        || frame.x1 <= bounds.x0
        || bounds.y1 <= frame.y0
        || frame.y1 <= bounds.y0;
    if area <= 0.0 || apart {
        0.0
    } else if of.contains_rect(bounds) {
        1.0
    } else {
        (ink.intersect(of).area() / area).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Rect;

    #[test]
    fn shares_of_squares() {
        let zone = Region::from_rect(Rect::new(0.0, 0.0, 10.0, 10.0));
        for (rect, expected) in [
            (Rect::new(2.0, 2.0, 4.0, 4.0), 1.0),
            (Rect::new(0.0, 0.0, 10.0, 10.0), 1.0),
            (Rect::new(8.0, 0.0, 12.0, 10.0), 0.5),
            (Rect::new(10.0, 0.0, 12.0, 10.0), 0.0),
            (Rect::new(5.0, 5.0, 15.0, 15.0), 0.25),
            (Rect::new(-10.0, -10.0, 20.0, 20.0), 1.0 / 9.0),
        ] {
            let got = share(&Region::from_rect(rect), &zone);
            assert!(
                (got - expected).abs() < 1e-6,
                "actual {got}, expected {expected}, input {rect:?}"
            );
        }
        assert_eq!(share(&Region::default(), &zone), 0.0);
        assert_eq!(share(&zone, &Region::default()), 0.0);
    }
}
