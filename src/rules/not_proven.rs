//! `not-proven`: anything in the file that could reach the sender and could not be checked.

use super::{Info, Rule, info};
use crate::artwork::unproven::Unproven;
use crate::finding::{Finding, Location};
use crate::matching::Job;
use crate::wording::short;

/// See the module's page.
pub struct NotProven;

static INFO: Info = info!("not-proven", Hold, Blank);

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
        "g" | "a" | "svg" | "switch" | "symbol" => "A group",
        "use" => "A repeated part",
        _ => "A part of the file",
    };
    match &origin.id {
        Some(id) => format!("{thing} (\"{}\") {rest}", short(id)),
        None => format!("{thing} {rest}"),
    }
}

impl Rule for NotProven {
    fn info(&self) -> &'static Info {
        &INFO
    }

    fn check(&self, job: &Job<'_>, out: &mut Vec<Finding>) {
        for unproven in &job.artwork.unproven {
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
    }
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
