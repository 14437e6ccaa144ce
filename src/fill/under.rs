//! Art that `[lettering] under` lays under each name, as plain shapes.

use kurbo::{Affine, Cap, Join, Rect};

use super::fit::carried;
use super::svg::Shape;
use crate::artwork::fonts::Faces;
use crate::artwork::mark::{Artwork, Content, Mark, Paint, Role};
use crate::artwork::resolve::{ReadOptions, resolve};
use crate::artwork::source::Source;
use crate::fixture::Fixture;
use crate::fixture::enrol;
use crate::geometry::region::Region;
use crate::units::trimmed;

/// The art, read once for all pockets.
pub(super) struct Under {
    artwork: Artwork,
    /// Which marks the sender would run.
    live: Vec<bool>,
}

impl Under {
    /// Reads the art that the settings name.
    ///
    /// # Errors
    ///
    /// A file that cannot be read, that holds something that cannot be resolved, or a picture.
    pub(super) fn read(fixture: &Fixture, file: &str, faces: &Faces) -> Result<Self, String> {
        let said = |what: String| format!("[lettering] under = \"{file}\": {what}");
        let source = Source::read(&fixture.folder.join(file))
            .map_err(|e| said(format!("{e}: {}", e.help())))?;
        let reading = ReadOptions {
            units: fixture.settings.bed.root_units(),
            placing: None,
            faces,
        };
        let artwork = resolve(&source, &reading).map_err(|e| said(format!("{e}: {}", e.help())))?;
        if let Some(u) = artwork.unproven.first() {
            return Err(said(format!("{}: {}", u.what, u.help)));
        }
        let live: Vec<bool> = artwork
            .marks
            .iter()
            .map(|m| enrol::operation(m, &fixture.settings).live())
            .collect();
        let under = Self { artwork, live };
        for mark in under.marks() {
            if matches!(mark.content, Content::Picture(_)) {
                return Err(said(
                    "it holds a picture, and only outlines are laid under names: trace it"
                        .to_owned(),
                ));
            }
            let Paint::Colour(_) = mark.paint else {
                return Err(said(
                    "it holds a gradient or a pattern: paint it in one colour".to_owned(),
                ));
            };
        }
        if under.marks().next().is_none() {
            return Err(said("it holds nothing that would be run".to_owned()));
        }
        Ok(under)
    }

    fn marks(&self) -> impl Iterator<Item = &Mark> {
        self.artwork
            .marks
            .iter()
            .zip(&self.live)
            .filter(|(_, l)| **l)
            .map(|(m, _)| m)
    }

    /// From the art's page to a room: the middle of the page lies on the point that art is centred
    /// on, at its true size.
    fn to_room(&self) -> Affine {
        let page: Rect = self.artwork.page.rect;
        Affine::translate(-page.center().to_vec2())
    }

    /// What it burns, in the frame of a room.
    pub(super) fn ink(&self) -> Region {
        self.marks().fold(Region::default(), |all, mark| {
            all.unite(&carried(mark.ink(), self.to_room()))
        })
    }

    /// The art in a room, as shapes on the bed.
    pub(super) fn shapes(&self, to_bed: Affine) -> impl Iterator<Item = Shape> {
        let motion = to_bed * self.to_room();
        self.marks().map(move |mark| shape(mark, motion))
    }
}

fn shape(mark: &Mark, motion: Affine) -> Shape {
    let Paint::Colour(colour) = mark.paint else {
        // Refused when the art was read.
        return Shape {
            path: kurbo::BezPath::new(),
            paint: String::new(),
        };
    };
    let filled = |even_odd: bool| {
        let rule = if even_odd {
            " fill-rule=\"evenodd\""
        } else {
            ""
        };
        format!("fill=\"{colour}\"{rule}")
    };
    match (&mark.role, &mark.clip) {
        (Role::Fill { even_odd }, None) => Shape {
            path: motion * mark.path.clone(),
            paint: filled(*even_odd),
        },
        (Role::Stroke(line), None) if round(line.pen) => {
            let scale = line.pen.determinant().abs().sqrt();
            let dashes: Vec<String> = line.dashes.iter().map(|d| trimmed(d * scale, 4)).collect();
            let dashes = if dashes.is_empty() {
                String::new()
            } else {
                let offset = trimmed(line.dash_offset * scale, 4);
                format!(
                    " stroke-dasharray=\"{}\" stroke-dashoffset=\"{offset}\"",
                    dashes.join(" ")
                )
            };
            Shape {
                path: motion * mark.path.clone(),
                paint: format!(
                    "fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" stroke-linecap=\"{}\" stroke-linejoin=\"{}\" stroke-miterlimit=\"{}\"{dashes}",
                    trimmed(line.width * scale, 4),
                    match line.cap {
                        Cap::Butt => "butt",
                        Cap::Round => "round",
                        Cap::Square => "square",
                    },
                    match line.join {
                        Join::Bevel => "bevel",
                        Join::Miter => "miter",
                        Join::Round => "round",
                    },
                    trimmed(line.miter_limit, 4),
                ),
            }
        }
        // What is left by clips, and lines under a lopsided scale, are written as the ink they leave.
        _ => Shape {
            path: motion * mark.ink().to_path(),
            paint: filled(false),
        },
    }
}

/// Whether a pen is as wide in every direction.
fn round(pen: Affine) -> bool {
    let [a, b, c, d, ..] = pen.as_coeffs();
    let (across, down) = (a.hypot(b), c.hypot(d));
    let slant = (a * c + b * d).abs();
    (across - down).abs() <= 1e-6 * across.max(down) && slant <= 1e-6 * across * down
}
