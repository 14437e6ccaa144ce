//! `page-changed`: the page is not the enrolled page in size or origin.

use super::{Info, change, info};
use crate::finding::{Finding, Location};
use crate::matching::Job;
use crate::remedy::{Remedy, Way};

pub(crate) static INFO: Info = info!("page-changed", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let (page, enrolled) = (&job.artwork.page, &job.fixture.lock.page);
    if !page.physical {
        // Said under `not-proven`.
        return;
    }
    let limit = job.fixture.settings.limits.place;
    let shown = job.shown();
    let (w, h) = (page.rect.width(), page.rect.height());
    let (we, he) = (enrolled.rect.width(), enrolled.rect.height());
    let size = (w - we).abs().max((h - he).abs());
    if size > limit {
        out.push(
            Finding::new(
                &INFO,
                &Location::Bed(page.rect),
                format!("The page is {}, and the fixture was enrolled on a page of {}", shown.size(w, h), shown.size(we, he)),
                "set the page back to the fixture drawing's size without scaling or moving what is on it",
            )
            .measured("off the enrolled size", size, limit, "mm")
            .remedied(put_back(job)),
        );
        return;
    }
    // Where fixture outlines are in the file, they show whether the origin matters.
    let origin = (page.origin - enrolled.origin).hypot();
    if origin > limit && !job.has_fixture() {
        out.push(
            Finding::new(
                &INFO,
                &Location::Bed(page.rect),
                format!(
                    "The page's origin lies {} from where the fixture drawing has it, and no fixture outline is there to show whether the art moved with it",
                    shown.length(origin)
                ),
                "start from the fixture drawing again, or bring its outlines back into the file",
            )
            .measured("off the enrolled origin", origin, limit, "mm")
            .remedied(put_back(job)),
        );
    }
}

/// The enrolled page, with the drawing on it as its outlines show, or else at the enrolled origin.
///
/// Without an outline nothing shows whether the art moved with the page: a person must know.
fn put_back(job: &Job<'_>) -> Remedy {
    let way = change::enrolled_page(job).map(|c| {
        let says = c.words(job.shown());
        Way::new("page", says, vec![c])
    });
    if job.has_fixture() {
        Remedy::certain(way)
    } else {
        Remedy::choose(way.map(|w| w.assuming("the art did not move on the page")))
    }
}
