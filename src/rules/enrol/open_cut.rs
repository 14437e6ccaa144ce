//! `open-cut`: a cut line on the fixture drawing that does not close.

use kurbo::Rect;

use super::Drawing;
use crate::finding::Finding;
use crate::finding::Info;
use crate::fixture::enrol::JOIN_GAP;
use crate::geometry::contour::join_open;
use crate::ids::At;
use crate::rules::info;

pub(crate) static INFO: Info = info!("open-cut", Hold, Fixture);

pub(super) fn check(drawing: &Drawing<'_>, out: &mut Vec<Finding>) {
    let open: Vec<_> = drawing.cuts.iter().filter(|c| !c.contour.closed).collect();
    let lines = open.iter().map(|c| c.contour.clone()).collect();
    for (line, of) in join_open(lines, JOIN_GAP) {
        let (Some(first), Some(last), false) = (line.flat.first(), line.flat.last(), line.closed)
        else {
            continue;
        };
        let cut = open.at(*of.at(0));
        let gap = first.distance(*last);
        out.push(
            Finding::new(
                &INFO,
                &drawing.place(cut.mark, Rect::from_points(*first, *last)),
                format!(
                    "A cut line, {} long, does not close: its ends are {} apart, and {} is allowed",
                    drawing.shown().length(line.length),
                    drawing.shown().length(gap),
                    drawing.shown().length(JOIN_GAP)
                ),
                "join the two ends into one point, delete the line if it is a scrap, or give it a paint that is scored or engraved if it is a mark",
            )
            .measured("gap", gap, JOIN_GAP, "mm"),
        );
    }
}
