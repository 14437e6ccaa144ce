//! Any text as path data and a line style: its ink is worked out without a crash.
#![no_main]

use jigwarden::tested::geometry::stroke::LineStyle;
use jigwarden::tested::artwork::shapes::path_data;
use jigwarden::tested::geometry::region::Region;
use jigwarden::tested::geometry::stroke::ink_of_line;
use kurbo::{Affine, Cap, Join};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: (&str, f64, f64, u8)| {
    let (d, width, dash, style) = input;
    let path = path_data(d, 1e-3).path;
    let line = LineStyle {
        width,
        cap: [Cap::Butt, Cap::Round, Cap::Square][usize::from(style % 3)],
        join: [Join::Bevel, Join::Round, Join::Miter][usize::from(style / 3 % 3)],
        miter_limit: 4.0,
        dashes: if style & 64 == 0 { Vec::new() } else { vec![dash, 1.0] },
        dash_offset: dash,
        pen: Affine::IDENTITY,
    };
    let fill = Region::from_path(&path, style & 128 == 0, 2e-3);
    let ink = ink_of_line(&path, &line, 2e-3).unite(&fill);
    assert!(ink.bounds().is_none_or(|b| b.is_finite()));
});
