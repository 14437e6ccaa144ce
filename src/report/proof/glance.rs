//! The one picture of a run that is taken in at a glance: the first finding that holds it, close up; else
//! the fixture as large as the picture allows, with what is burnt in it.

use kurbo::Rect;

use super::layout::{About, Layout};
use super::page::{close_content, close_scene};
use super::palette::{FACES, PAPER};
use super::parts::Parts;
use super::pen::num;
use super::scene::Scene;
use crate::finding::{Finding, Severity};
use crate::matching::Job;
use crate::matching::art::Art;
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
        let content = close_content(&scene, index, f);
        Some((scene, content, f.message.clone()))
    });
    let (scene, content, words) = close.unwrap_or_else(|| {
        let scene = whole(job, run, &parts);
        let told = run.told().iter().enumerate().map(|(i, f)| (i + 1, f));
        let layout = Layout::of(&scene, told, &About::default());
        let content = [
            format!("<defs>{}</defs>", scene.hatches()),
            scene.ground(&layout),
            scene.signs(&layout, false),
        ]
        .concat();
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

/// Thin lines along the longer side, as in a close-up: with more of them the names of the pockets, which
/// are so many lines high, could not be read on a small screen.
const ACROSS: f64 = 400.0;

/// The fixture and all that would be burnt, with a margin. The bed around them is empty.
fn whole<'a>(job: &'a Job<'a>, run: &'a Run, parts: &'a Parts) -> Scene<'a> {
    let bed = &job.fixture.settings.bed;
    let most = Rect::new(0.0, 0.0, bed.width, bed.height);
    let seen = (parts.fixture().into_iter())
        .chain(job.art.iter().map(Art::bounds))
        .filter(Rect::is_finite)
        .reduce(|all, r| all.union(r))
        .map_or(most, |r| r.intersect(most.inflate(bed.width, bed.height)));
    let longer = seen.width().max(seen.height());
    Scene {
        job,
        run,
        parts,
        view: seen.inflate(0.02 * longer, 0.02 * longer),
        unit: longer / ACROSS,
        name: "whole".to_owned(),
    }
}

/// The worst finding that has a place, of a run that is not clear: what a person must see first.
fn first(run: &Run) -> Option<(usize, &Finding)> {
    let seen = |f: &Finding| f.waived.is_none() && f.severity != Severity::Note && f.bed.is_some();
    (run.verdict != Verdict::Clear)
        .then(|| run.told().iter().enumerate().find(|(_, f)| seen(f)))
        .flatten()
}
