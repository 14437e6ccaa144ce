//! What the drawing of a finding shows, and leaves out.

use super::*;

/// A page may give a close-up a frame of another shape, and then shows what lies beside its view: what is
/// left out there looks like an empty pocket, a fault that is none.
#[test]
fn a_close_up_draws_everything_in_its_frame() {
    for file in HELD {
        let drawn = draw(&example(file), None);
        let document = parse(&drawn.html);
        let shapes: Vec<(&str, kurbo::Rect)> = document
            .descendants()
            .filter(|n| n.has_tag_name("path"))
            .filter_map(|n| Some((n.attribute("id")?, n.attribute("d")?)))
            .filter(|(id, _)| id.starts_with("art") || id.starts_with("outline"))
            .map(|(id, d)| {
                let path = kurbo::BezPath::from_svg(d).unwrap();
                (id, kurbo::Shape::bounding_box(&path))
            })
            .collect();
        assert!(shapes.len() > 12, "{file}: {}", shapes.len());
        let is_close_up = |n: &Node<'_, '_>| n.attribute("class") == Some("close-up");
        let mut beside = 0;
        for close_up in document.descendants().filter(is_close_up) {
            let numbers = close_up.attribute("viewBox").unwrap().split(' ');
            let v: Vec<f64> = numbers.map(|n| n.parse().unwrap()).collect();
            let view = kurbo::Rect::from_origin_size((v[0], v[1]), (v[2], v[3]));
            let more = 0.5 * view.width().max(view.height());
            let frame = view.inflate(more, more);
            let uses = close_up.descendants().filter_map(|n| n.attribute("href"));
            let used: BTreeSet<&str> = uses.filter_map(|h| h.strip_prefix('#')).collect();
            for (id, bounds) in &shapes {
                if frame.overlaps(*bounds) {
                    assert!(
                        used.contains(id),
                        "{file}: {id} at {bounds} is left out of {frame}"
                    );
                    beside += usize::from(!view.overlaps(*bounds));
                }
            }
        }
        assert!(
            beside > 0,
            "{file}: nothing lies beside a view, so nothing was tried"
        );
    }
}

/// An arrow with a distance says "move it"; it stands only where that is what is wrong.
#[test]
fn only_what_is_moved_has_an_arrow_with_a_distance() {
    for (file, moved, hatched) in [
        ("hive-tags/hold/pocket-moved--nudged.svg", true, false),
        ("hive-tags/hold/fixture-shifted--dragged.svg", true, false),
        (
            "hive-tags/hold/fixture-shifted--turned-half-round.svg",
            false,
            false,
        ),
        ("hive-tags/hold/pocket-reshaped--longer.svg", false, false),
        ("hive-tags/hold/mirrored--flipped.svg", false, false),
        // Its note, that the art is off the centre, is told and not drawn: it comes of what holds.
        ("hive-tags/hold/doubled--rule-over-rule.svg", false, false),
        (
            "hive-tags/hold/hidden-but-live--clipped-away.svg",
            false,
            true,
        ),
    ] {
        let drawn = draw(&example(file), None);
        let document = parse(&drawn.svg);
        let has = |class: &str| {
            document
                .descendants()
                .any(|n| n.attribute("class") == Some(class))
        };
        assert_eq!(
            (has("measure"), has("too-much")),
            (moved, hatched),
            "{file}"
        );
        // The number says what is wrong, where there are few.
        let rule = drawn.run.findings[0].rule;
        let named = document.descendants().any(|n| {
            n.text() == Some(rule) && n.ancestors().any(|a| a.attribute("class") == Some("badge"))
        });
        assert!(named, "{file}");
        // A sign without a length once began at the bed's corner.
        let paths = document.descendants().filter_map(|n| n.attribute("d"));
        assert_eq!(
            paths.filter(|d| d.starts_with("M0 0L")).count(),
            0,
            "{file}"
        );
    }
}

/// The strips for the run-out lie under the sheet, but where art stands in one.
#[test]
fn the_limits_of_the_bed_are_seen_where_they_are_overstepped() {
    for (file, over) in [
        ("hive-tags/hold/outside-bed--no-run-out.svg", true),
        ("hive-tags/hold/past-zone--long-name.svg", false),
    ] {
        let svg = draw(&example(file), None).svg;
        let strip = svg.find("url(#run-out-bed)").unwrap();
        let sheet = svg.find("href=\"#outline").unwrap();
        assert_eq!(strip > sheet, over, "{file}");
    }
}

/// What a new person could not tell from the picture alone: that a whole row is meant, that a whole fixture
/// is, that something is in the file which cannot be seen, that the fixture's lines are not in it.
#[test]
fn a_picture_shows_all_that_its_finding_is_about() {
    let count = |file: &str, what: &dyn Fn(&Node<'_, '_>) -> bool| {
        let drawn = draw(&example(file), None);
        parse(&drawn.svg).descendants().filter(what).count()
    };
    let class = |name: &'static str| move |n: &Node<'_, '_>| n.attribute("class") == Some(name);
    let row = "hive-tags/hold/upside-down--a-row-of-sprigs.svg";
    // One is ringed, five have corner marks.
    assert_eq!(count(row, &class("also")), 5);
    let dragged = "hive-tags/hold/fixture-shifted--dragged.svg";
    let pockets = |n: &Node<'_, '_>| {
        class("ghost")(n)
            && n.attribute("d")
                .is_some_and(|d| d.matches('M').count() == 12)
    };
    assert_eq!(count(dragged, &pockets), 1);
    let linked = "hive-tags/hold/not-proven--linked-picture.svg";
    assert_eq!(count(linked, &class("ring")), 1);
    assert_eq!(
        count(linked, &|n| n.text() == Some("?") && n.is_element()),
        2
    );
    let absent = "hive-tags/look/fixture-absent--names-alone.svg";
    assert_eq!(count(absent, &class("badge")), 1);
    let dashed = |n: &Node<'_, '_>| {
        let outline = n
            .attribute("href")
            .is_some_and(|h| h.starts_with("#outline"));
        outline && n.attribute("stroke-dasharray").is_some()
    };
    assert_eq!(count(absent, &dashed), 13, "twelve pockets and the sheet");
    assert_eq!(count(row, &dashed), 0);
}
