//! The one picture of a run that is taken in at a glance: the first finding that holds it, close up; else
//! all that is on the bed.

use super::overview;
use super::page::{close_content, close_scene};
use super::palette::{FACES, PAPER};
use super::parts::Parts;
use super::pen::num;
use crate::finding::{Finding, Severity};
use crate::matching::Job;
use crate::report::{Run, Verdict};
use crate::wording::escape;

/// Pixels along its longer side where nobody asks for another size.
const LONG: f64 = 1000.0;

/// The picture, as one SVG drawing that stands alone.
pub(super) fn draw(job: &Job<'_>, run: &Run) -> String {
    let parts = Parts::of(job);
    let close = first(run).and_then(|(index, f)| {
        let rect = f.bed?;
        let scene = close_scene(job, run, &parts, index, f, rect)?;
        let content = close_content(&scene, index, f, rect);
        Some((scene, content, f.message.clone()))
    });
    let (scene, content, words) = close.unwrap_or_else(|| {
        let scene = overview::scene(job, run, &parts, "bed");
        let content = format!("<defs>{}</defs>{}", scene.hatches(), scene.overview(false));
        (scene, content, super::description(run))
    });
    let v = scene.view;
    let scale = LONG / v.width().max(v.height());
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{0} {1} {2} {3}\" width=\"{4}\" height=\"{5}\" font-family=\"{FACES}\" role=\"img\" aria-labelledby=\"glance\"><title id=\"glance\">{6}</title><defs>{7}</defs><rect x=\"{0}\" y=\"{1}\" width=\"{2}\" height=\"{3}\" fill=\"{PAPER}\"/>{content}</svg>\n",
        num(v.x0),
        num(v.y0),
        num(v.width()),
        num(v.height()),
        num(v.width() * scale),
        num(v.height() * scale),
        escape(&words),
        parts.defs
    )
}

/// The worst finding that has a place, of a run that is not clear: what a person must see first.
fn first(run: &Run) -> Option<(usize, &Finding)> {
    let seen = |f: &Finding| f.waived.is_none() && f.severity != Severity::Note && f.bed.is_some();
    (run.verdict != Verdict::Clear)
        .then(|| run.told().iter().enumerate().find(|(_, f)| seen(f)))
        .flatten()
}
