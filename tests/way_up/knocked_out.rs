//! Names that are left blank in a plate, which is what the laser burns.

use kurbo::{Affine, Ellipse, Shape as _};

use super::*;
use crate::common::outline::outlined;

/// A name in a face that is not at hand, knocked out of a plate about the middle of a tag's zone.
fn knocked_out(n: usize, text: &str, transform: &str) -> String {
    let hack = epaint_default_fonts::HACK_REGULAR;
    let word = outlined(hack, text, 3.5, Affine::IDENTITY);
    let about = word.bounding_box().center();
    let plate = Ellipse::new(about, (10.0, 5.0), 0.0).to_path(1e-3);
    let (x, y) = tags::middle(n);
    format!(
        "<path transform='translate({x} {y}) {transform} translate({} {})' d='{} {}' fill='{BURN}' fill-rule='evenodd'/>",
        -about.x,
        -about.y,
        plate.to_svg(),
        word.to_svg()
    )
}

#[test]
fn of_names_knocked_out_of_plates_the_one_that_lies_wrong_is_told() {
    let three = |put: &str| {
        knocked_out(0, "Margaret", "")
            + &knocked_out(1, "Marietta", put)
            + &knocked_out(2, "Gretamar", "")
    };
    expect(&Tags::new("").run(&three("")), Clear, &[]);
    the_one_that_lies_wrong_is_told(three);
}
