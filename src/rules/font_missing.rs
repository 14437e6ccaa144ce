//! `font-missing`: lettering whose font is not on this machine, so it cannot be measured.

use super::{Info, info};
use crate::artwork::mark::{Content, Lettering, MissingFace};
use crate::finding::{Finding, Location};
use crate::matching::Job;
use crate::wording::short;

pub(crate) static INFO: Info = info!("font-missing", Hold, Blank);

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    for (index, mark) in job.artwork.marks.pairs() {
        let Content::Lettering(lettering) = &mark.content else {
            continue;
        };
        // Lettering that a person hid and the sender leaves out may be in any face.
        let left_out = mark.hidden.is_some() && !job.fixture.settings.run.hidden_sent;
        let painted = crate::fixture::enrol::painted_operation(mark, &job.fixture.settings);
        if lettering.missing.is_empty()
            || left_out
            || (!painted.live() && !mark.path.elements().is_empty())
        {
            continue;
        }
        let pocket = job.pocket_of_mark(index);
        let place = match mark.ink().bounds() {
            Some(bed) => Location::Mark(&mark.origin, bed),
            None => Location::File(&mark.origin),
        };
        for face in &lettering.missing {
            let (message, help) = words(lettering, face);
            out.push(
                Finding::new(&INFO, &place, message, help)
                    .in_pocket(pocket.map(|p| p.name.as_str())),
            );
        }
    }
}

fn words(lettering: &Lettering, face: &MissingFace) -> (String, String) {
    let text = short(&lettering.text);
    let family = short(&face.family);
    let asked = if face.style.is_empty() {
        family.clone()
    } else {
        format!("{family} {}", face.style)
    };
    if !face.characters.is_empty() {
        return (
            format!(
                "\"{text}\" needs \"{}\", which the face {asked} does not hold",
                short(&face.characters)
            ),
            "choose a face that holds these letters, or turn the lettering into outlines"
                .to_owned(),
        );
    }
    let instead = match &face.instead {
        Some(other) => format!(" (this computer would take {})", short(other)),
        None => String::new(),
    };
    (
        format!(
            "\"{text}\" is set in {asked}, which is not at hand{instead}, so it cannot be measured"
        ),
        "put the font file in the fixture's fonts folder, or turn the lettering into outlines"
            .to_owned(),
    )
}
