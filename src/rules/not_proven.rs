//! `not-proven`: anything in the file that could reach the sender and could not be checked.

use kurbo::Shape as _;

use super::{Info, info};
use crate::artwork::mark::{Colour, Content, Mark, Operation};
use crate::artwork::unproven::Unproven;
use crate::finding::{Finding, Location};
use crate::fixture::lock::operation_word;
use crate::matching::Job;
use crate::wording::{listed, short};

pub(crate) static INFO: Info = info!("not-proven", Hold, Blank);

/// What could not be resolved, in a sentence that names it: the reading stage says "it" of an element
/// that the report shows, and the report is also read where no excerpt is.
pub(crate) fn told(unproven: &Unproven) -> String {
    let Some(rest) = unproven.what.strip_prefix("it ") else {
        return crate::wording::sentence(&unproven.what);
    };
    let origin = &unproven.origin;
    let thing = match origin.element.as_ref() {
        "text" | "tspan" | "textPath" => "Lettering",
        "image" => "A picture",
        "path" | "line" | "polyline" | "polygon" | "rect" | "circle" | "ellipse" => "A shape",
        "svg" if origin.root => "The page",
        "g" | "a" | "svg" | "switch" | "symbol" => "A group",
        "use" => "A repeated part",
        _ => "A part of the file",
    };
    match &origin.id {
        Some(id) if !origin.root => format!("{thing} (\"{}\") {rest}", short(id)),
        _ => format!("{thing} {rest}"),
    }
}

pub(super) fn check(job: &Job<'_>, out: &mut Vec<Finding>) {
    let sent = job.fixture.settings.run.hidden_sent;
    for unproven in &job.artwork.unproven {
        // What would not be sent is not judged.
        if unproven.hidden && !sent {
            continue;
        }
        let place = match unproven.bed {
            Some(bed) => Location::Mark(&unproven.origin, bed),
            None => Location::File(&unproven.origin),
        };
        out.push(Finding::new(
            &INFO,
            &place,
            told(unproven),
            unproven.help.as_str(),
        ));
    }
    for (index, mark, operation) in job.live() {
        if operation != Operation::Unknown {
            out.extend(taken_apart(job, index, mark));
        }
    }
}

/// A picture or a pattern with something in it that would be cut or scored by a sender that takes it
/// apart, and engraved by one that does not.
fn taken_apart(job: &Job<'_>, index: crate::ids::MarkId, mark: &Mark) -> Option<Finding> {
    let listed = |c: &Colour| {
        job.fixture
            .settings
            .listed(*c)
            .filter(|o| matches!(o, Operation::Cut | Operation::Score))
            .map(|o| (*c, o))
    };
    let (colour, operation) = mark.within.iter().find_map(listed)?;
    let place = match mark.ink().bounds() {
        Some(bed) => Location::Mark(&mark.origin, bed),
        None => Location::File(&mark.origin),
    };
    let what = if matches!(mark.content, Content::Picture(_)) {
        "A drawing placed as a picture"
    } else {
        "A pattern"
    };
    let pocket = job.pocket_of_mark(index).map(|p| p.name.as_str());
    let finding = Finding::new(
        &INFO,
        &place,
        format!(
            "{what} holds something in {colour} ({}), which some senders take apart and some engrave as a whole",
            operation_word(operation)
        ),
        "take what is in that paint out of it, or flatten it to a picture of pixels",
    );
    Some(finding.in_pocket(pocket))
}

/// Says that some rules would need more than `most` steps each to judge the art; it weighs as the weightiest
/// of them. The mark with the most to draw is shown, which need not be the one that takes so long.
pub(super) fn too_rich(job: &Job<'_>, rules: &[&Info], most: usize) -> Option<Finding> {
    let worst = rules.iter().map(|rule| rule.severity).min()?;
    let names: Vec<&str> = rules.iter().map(|rule| rule.name).collect();
    let richest = (job.artwork.marks.iter()).max_by_key(|mark| mark.path.elements().len());
    let place = richest.map_or(Location::Nowhere("the file draws nothing"), |mark| {
        Location::Mark(&mark.origin, mark.path.bounding_box())
    });
    let finding = Finding::new(
        &INFO,
        &place,
        format!(
            "The art is too rich to be judged by {}: that takes more than {} million steps of work, which is the limit",
            listed(&names, "and"),
            most / 1_000_000
        ),
        "join what lies on each other, take away what is covered, or draw its outlines with fewer points",
    );
    Some(finding.weighing(worst))
}

#[cfg(test)]
mod tests {
    use super::told;
    use crate::artwork::mark::Origin;
    use crate::artwork::unproven::Unproven;

    #[test]
    fn the_thing_is_named_where_the_reading_stage_says_it() {
        let said = |what: &str, element: &str, id: Option<&str>| {
            told(&Unproven {
                what: what.to_owned(),
                help: String::new(),
                hidden: false,
                origin: Origin {
                    element: element.to_owned().into(),
                    id: id.map(str::to_owned),
                    ..Origin::default()
                },
                bed: None,
            })
        };
        assert_eq!(
            said("it carries arrow heads", "path", Some("stem")),
            "A shape (\"stem\") carries arrow heads"
        );
        assert_eq!(
            said("it is a script", "script", None),
            "A part of the file is a script"
        );
        assert_eq!(
            said("the picture is cut short", "image", Some("a")),
            "The picture is cut short"
        );
    }
}
