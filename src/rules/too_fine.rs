//! `too-fine`: a stroke or part of a shape is narrower than the finest limit.

use std::collections::BTreeMap;

use super::{Info, Rule, info, sentence, thing};
use crate::artwork::mark::{Content, Operation};
use crate::finding::{Finding, Picture, Place};
use crate::geometry::boxes::Boxes;
use crate::geometry::fineness::{Narrow, narrower};
use crate::geometry::region::Region;
use crate::seating::Job;
use crate::seating::art::Art;

/// See the module's page.
pub struct TooFine;

static INFO: Info = info!("too-fine", Caution, Look);

impl Rule for TooFine {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        let limit = job.fixture.settings.limits.finest;
        // Ink that lies together is burnt together: a thin line on the edge of a wide shape is part of
        // that shape. Cut and score lines are followed, and as wide as the beam.
        let mut by_pocket: BTreeMap<Option<usize>, Vec<&Art>> = BTreeMap::new();
        for art in &job.art {
            let drawn = job
                .mark(art.mark)
                .is_some_and(|m| !matches!(m.content, Content::Picture(_)));
            if drawn && job.operation(art.mark) == Operation::Engrave {
                by_pocket.entry(art.pocket).or_default().push(art);
            }
        }
        for (pocket, arts) in by_pocket {
            let ink = match arts.as_slice() {
                [one] => one.ink.clone(),
                all => {
                    Region::from_rings(all.iter().flat_map(|a| a.ink.rings.iter().cloned()), false)
                }
            };
            let boxes = Boxes::new(arts.iter().map(|a| a.bounds));
            // The narrowest part of each mark.
            let mut worst: BTreeMap<usize, Narrow> = BTreeMap::new();
            for narrow in narrower(&ink, limit) {
                let Some(mark) = whose(&arts, &boxes, &narrow) else {
                    continue;
                };
                match worst.get_mut(&mark) {
                    Some(w) if w.width <= narrow.width => {}
                    Some(w) => *w = narrow,
                    None => {
                        worst.insert(mark, narrow);
                    }
                }
            }
            let name = pocket
                .and_then(|p| job.pockets.get(p))
                .map(|p| p.name.as_str());
            for (mark, narrow) in worst {
                let Some(mark) = job.mark(mark) else { continue };
                let shown = job.shown();
                out.push(
                    Finding::new(
                        &INFO,
                        &Place::Mark(&mark.origin, narrow.bounds),
                        format!(
                            "{} is only about {} wide at its finest, less than the {} that your settings ask for",
                            sentence(&thing(mark)),
                            shown.length(narrow.width),
                            shown.length(limit)
                        ),
                        "make it heavier or larger, or have the limit changed if a trial piece comes out well",
                    )
                    .in_pocket(name)
                    .measured("width", narrow.width, limit, "mm")
                    .drawn(Picture::Hatch(narrow.part.to_path())),
                );
            }
        }
    }
}

/// The mark that a narrow part is of: the one whose ink is nearest to it.
fn whose(arts: &[&Art], boxes: &Boxes, narrow: &Narrow) -> Option<usize> {
    let near = narrow.bounds.inflate(0.01, 0.01);
    boxes
        .touching(near)
        .into_iter()
        .filter_map(|i| arts.get(i))
        .map(|a| (a.ink.distance_to(narrow.at), a.mark))
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        .map(|(_, mark)| mark)
}
