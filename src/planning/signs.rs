//! Lettering as outlines, for the label that is scored on the sheet.

use kurbo::{Affine, BezPath};

/// Outlines of `text`, `cap` millimetres from baseline to the top of a capital, from the origin to the
/// right; and how wide they are.
///
/// The face is the one that is always at hand, so that a plan is the same on every machine.
///
/// # Errors
///
/// A sign that the face does not have.
pub fn outlines(text: &str, cap: f64) -> Result<(BezPath, f64), String> {
    let face = ttf_parser::Face::parse(epaint_default_fonts::UBUNTU_LIGHT, 0)
        .map_err(|e| format!("the face for labels cannot be read: {e}"))?;
    let tall = face
        .capital_height()
        .filter(|h| *h > 0)
        .map_or(f64::from(face.units_per_em()) * 0.7, f64::from);
    let scale = cap / tall;
    let mut path = BezPath::new();
    let mut at = 0.0;
    for c in text.chars() {
        let glyph = face
            .glyph_index(c)
            .ok_or_else(|| format!("the label cannot be drawn with \"{}\": choose a name without it", c.escape_debug()))?;
        let mut pen = Pen(BezPath::new());
        face.outline_glyph(glyph, &mut pen);
        path.extend(Affine::new([scale, 0.0, 0.0, -scale, at, 0.0]) * pen.0);
        at += scale * f64::from(face.glyph_hor_advance(glyph).unwrap_or(0));
    }
    Ok((path, at))
}

struct Pen(BezPath);

impl ttf_parser::OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((f64::from(x), f64::from(y)));
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.0.quad_to(
            (f64::from(x1), f64::from(y1)),
            (f64::from(x), f64::from(y)),
        );
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.0.curve_to(
            (f64::from(x1), f64::from(y1)),
            (f64::from(x2), f64::from(y2)),
            (f64::from(x), f64::from(y)),
        );
    }
    fn close(&mut self) {
        self.0.close_path();
    }
}
