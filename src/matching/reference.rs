//! Reference art: a file whose art is known to be the right way up, found again in the pockets.

use std::path::Path;

use kurbo::{Affine, Vec2};

use super::Job;
use super::evidence::{Evidence, WayUp, outlined};
use crate::fixture::Pocket;
use crate::fixture::zones::bearing;
use crate::geometry::congruence::congruence;
use crate::geometry::contour::{Contour, contours};
use crate::geometry::deviation::within;
use crate::geometry::similarity::Kind;
use crate::ids::ArtId;

/// The curves of a reference.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// The file as the settings name it.
    pub file: String,
    /// Its curves; tops point to the back.
    pub contours: Vec<Contour>,
}

/// How closely art must follow the reference, in millimetres on the bed: files are rounded, and a
/// crest that was redrawn is farther off.
const LIKE: f64 = 0.05;

/// Lengths of curves that are the same agree to this share.
const LENGTHS_AGREE: f64 = 0.01;

/// Curves in one pocket beyond this number are not searched: traced pictures, which no reference is.
const MOST_CURVES: usize = 2_000;

impl Reference {
    /// The curves of `path`, a file read in its own frame.
    ///
    /// # Errors
    ///
    /// A sentence that says what is wrong with the file: nothing in it, or something unreadable.
    pub fn of(file: &str, artwork: &crate::artwork::mark::Artwork) -> Result<Self, String> {
        if let Some(u) = artwork.unproven.first() {
            return Err(format!(
                "the reference {file} holds something that cannot be read ({}): {}",
                u.what, u.help
            ));
        }
        let contours: Vec<Contour> = artwork
            .marks
            .iter()
            .filter(|m| {
                m.hidden.is_none()
                    && !matches!(m.content, crate::artwork::mark::Content::Picture(_))
            })
            .flat_map(|m| contours(&m.path))
            .collect();
        if contours.is_empty() {
            return Err(format!(
                "the reference {file} holds no outlines: save the art as outlines, the right way up"
            ));
        }
        Ok(Self {
            file: file.to_owned(),
            contours,
        })
    }

    /// The path of the file, beside the settings.
    pub fn path(folder: &Path, file: &str) -> std::path::PathBuf {
        folder.join(file)
    }
}

/// Art that matches the reference of its pocket, with the way up that follows.
pub(super) fn look(job: &Job<'_>) -> Vec<(ArtId, WayUp)> {
    let mut out = Vec::new();
    for (index, pocket) in job.pockets.pairs() {
        let Some(reference) = pocket
            .settings
            .reference
            .as_ref()
            .and_then(|name| job.references.iter().find(|r| r.file == *name))
        else {
            continue;
        };
        let mut here: Vec<(ArtId, Contour)> = Vec::new();
        for &i in job.art_in(index) {
            let art = &job.art[i];
            if !outlined(job, art) {
                continue;
            }
            let mark = job.mark(art.mark);
            let frame = art.bounds().inflate(0.01, 0.01);
            here.extend(
                contours(&mark.path)
                    .into_iter()
                    .filter(|c| frame.contains(c.bounds.center()))
                    .map(|c| (i, c)),
            );
        }
        if here.len() <= MOST_CURVES {
            out.extend(matches(reference, pocket, &here));
        }
    }
    out
}

/// Finds the reference among the curves of a pocket, as often as it is there.
fn matches(
    reference: &Reference,
    pocket: &Pocket,
    here: &[(ArtId, Contour)],
) -> Vec<(ArtId, WayUp)> {
    // The reference is first laid as the zone wants it, so that of several ways to lay an even shape
    // the right one is found, and is found first.
    let expected = pocket.settings.mirrored;
    let wanted = Affine::rotate(bearing(pocket.tops).to_radians())
        * if expected {
            Affine::FLIP_X
        } else {
            Affine::IDENTITY
        };
    let laid: Vec<Contour> = reference
        .contours
        .iter()
        .filter_map(|c| c.transformed(wanted))
        .collect();
    let Some(anchor) = laid.iter().max_by(|a, b| a.length.total_cmp(&b.length)) else {
        return Vec::new();
    };
    let far = |c: &Contour| (c.centroid - anchor.centroid).hypot();
    let second = laid
        .iter()
        .max_by(|a, b| far(a).total_cmp(&far(b)))
        .filter(|c| far(c) > 0.02 * anchor.length);
    let mut out = Vec::new();
    for (_, found) in here {
        if !same_form(anchor, found) {
            continue;
        }
        let mut guesses: Vec<Affine> = Vec::new();
        match second {
            Some(second) => guesses.extend(from_two(anchor, second, found, here)),
            None => {
                guesses.extend(congruence(anchor, found, Kind::Similar, LIKE).map(|s| s.affine));
            }
        }
        // The mildest first: unflipped, then the smallest turn.
        guesses.sort_by(|a, b| {
            (a.determinant() < 0.0)
                .cmp(&(b.determinant() < 0.0))
                .then(turn_of(a).abs().total_cmp(&turn_of(b).abs()))
        });
        let hit = guesses
            .into_iter()
            .find_map(|g| covered(&laid, here, g).map(|arts| (g, arts)));
        if let Some((motion, arts)) = hit {
            let c = motion.as_coeffs();
            let up = Vec2::new(
                c[0] * pocket.tops.x + c[2] * pocket.tops.y,
                c[1] * pocket.tops.x + c[3] * pocket.tops.y,
            )
            .normalize();
            let way = WayUp {
                up,
                mirrored: expected != (motion.determinant() < 0.0),
                from: Evidence::Reference,
                bend: 0.0,
            };
            out.extend(arts.into_iter().map(|a| (a, way)));
        }
    }
    out
}

fn turn_of(motion: &Affine) -> f64 {
    let c = motion.as_coeffs();
    // The image of "towards the back" is the same with and without a flip of left and right.
    Vec2::new(-c[2], -c[3]).x.atan2(c[3])
}

/// Whether two curves could be one at some scale.
fn same_form(a: &Contour, b: &Contour) -> bool {
    let form = |c: &Contour| c.area / (c.length * c.length);
    a.closed == b.closed && (form(a) - form(b)).abs() <= 0.02 * form(a).max(0.01)
}

/// The motions that lay one curve's centre on another's, and a second one's on one that fits.
fn from_two(
    anchor: &Contour,
    second: &Contour,
    found: &Contour,
    here: &[(ArtId, Contour)],
) -> Vec<Affine> {
    let scale = found.length / anchor.length;
    let span = second.centroid - anchor.centroid;
    let mut out = Vec::new();
    for (_, other) in here {
        let to = other.centroid - found.centroid;
        let sized = (other.length / (scale * second.length) - 1.0).abs() <= LENGTHS_AGREE;
        let placed = (to.hypot() - scale * span.hypot()).abs() <= LIKE + LENGTHS_AGREE * to.hypot();
        if !sized || !placed || !same_form(second, other) {
            continue;
        }
        for mirrored in [false, true] {
            let from = if mirrored {
                Vec2::new(-span.x, span.y)
            } else {
                span
            };
            let turn = to.y.atan2(to.x) - from.y.atan2(from.x);
            let flip = if mirrored {
                Affine::FLIP_X
            } else {
                Affine::IDENTITY
            };
            out.push(
                Affine::translate(found.centroid.to_vec2())
                    * Affine::rotate(turn)
                    * Affine::scale(scale)
                    * flip
                    * Affine::translate(-anchor.centroid.to_vec2()),
            );
        }
    }
    out
}

/// The art that the whole reference lies on under `motion`; `None` if some curve of it finds none.
fn covered(laid: &[Contour], here: &[(ArtId, Contour)], motion: Affine) -> Option<Vec<ArtId>> {
    let scale = motion.determinant().abs().sqrt();
    let mut arts = Vec::new();
    for curve in laid {
        let carried = curve.transformed(motion)?;
        let (art, _) = here.iter().find(|(_, c)| {
            c.closed == carried.closed
                && (c.length / (scale * curve.length) - 1.0).abs() <= LENGTHS_AGREE
                && (c.centroid - carried.centroid).hypot() <= LIKE.max(LENGTHS_AGREE * c.length)
                && within(&carried, c, LIKE, LIKE / 5.0)
        })?;
        arts.push(*art);
    }
    arts.sort_unstable();
    arts.dedup();
    Some(arts)
}
