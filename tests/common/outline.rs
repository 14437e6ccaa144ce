//! Words as outlines.

use kurbo::{Affine, BezPath, Point};

/// Outlines a word as an editor would: glyph after glyph along the baseline, one compound path.
pub fn outlined(font: &[u8], word: &str, size: f64, motion: Affine) -> BezPath {
    struct Pen(BezPath);
    impl ttf_parser::OutlineBuilder for Pen {
        fn move_to(&mut self, x: f32, y: f32) {
            self.0.move_to((f64::from(x), f64::from(y)));
        }
        fn line_to(&mut self, x: f32, y: f32) {
            self.0.line_to((f64::from(x), f64::from(y)));
        }
        fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
            self.0
                .quad_to((f64::from(a), f64::from(b)), (f64::from(x), f64::from(y)));
        }
        fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
            let p = |x: f32, y: f32| Point::new(f64::from(x), f64::from(y));
            self.0.curve_to(p(a, b), p(c, d), p(x, y));
        }
        fn close(&mut self) {
            self.0.close_path();
        }
    }
    let face = ttf_parser::Face::parse(font, 0).unwrap();
    let scale = size / f64::from(face.units_per_em());
    let mut path = BezPath::new();
    let mut at = 0.0;
    for c in word.chars() {
        let id = face.glyph_index(c).unwrap();
        let mut pen = Pen(BezPath::new());
        face.outline_glyph(id, &mut pen);
        let place = motion * Affine::new([scale, 0.0, 0.0, -scale, at * scale, 0.0]);
        path.extend((place * pen.0).elements().iter().copied());
        at += f64::from(face.glyph_hor_advance(id).unwrap());
    }
    path
}
