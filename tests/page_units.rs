//! `[bed] units-per-inch` and `px-per-inch`: how the sender reads the page's size.

use crate::common::tags::{Tags, asked, brief, expect, names, outlines};
use jigwarden::tested::inspect::inspect;
use jigwarden::tested::report::{Run, Verdict};

/// A run of the tags, its page (300 × 200 mm) stated as written, inspected with these lines in `[bed]`.
fn run(width: &str, height: &str, bed: &str) -> Run {
    let drawing = crate::common::tags::page(&outlines(false));
    let tags = Tags::unlocked(&drawing, "");
    let settings = Tags::settings("").replace("[paints]", &format!("{bed}\n[paints]"));
    tags.write("fixture.toml", settings.as_bytes());
    crate::common::tags::enrol(tags.folder.path(), false, &asked()).unwrap();
    let file = tags.write(
        "run.svg",
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='{width}' height='{height}' viewBox='0 0 300 200'>{}{}</svg>",
            outlines(true),
            names(["Ada", "Noor", "Yusuf"])
        )
        .as_bytes(),
    );
    inspect(&file, &asked(), |_, _| ()).0
}

/// 300 mm and 200 mm at so many to an inch.
fn at(per_inch: f64) -> (String, String) {
    (
        format!("{:.4}", 300.0 / 25.4 * per_inch),
        format!("{:.4}", 200.0 / 25.4 * per_inch),
    )
}

#[test]
fn px_is_a_ninety_sixth_of_an_inch_unless_stated_otherwise() {
    let px = |per_inch: f64, bed: &str| {
        let (w, h) = at(per_inch);
        run(&format!("{w}px"), &format!("{h}px"), bed)
    };
    expect(&px(96.0, ""), Verdict::Clear, &[]);
    expect(&px(96.0, "units-per-inch = 96"), Verdict::Clear, &[]);
    let css = "units-per-inch = 72\npx-per-inch = 96";
    expect(&px(96.0, css), Verdict::Clear, &[]);
    let own = "units-per-inch = 72\npx-per-inch = 72";
    expect(&px(72.0, own), Verdict::Clear, &[]);
    // A third too large: what passed while `px` followed the unit that is none.
    for (per_inch, bed) in [(72.0, css), (96.0, own), (72.0, "")] {
        let found = px(per_inch, bed);
        assert_eq!(found.verdict, Verdict::Hold, "{per_inch} {bed}");
        assert!(
            brief(&found).contains(&"page-changed".to_owned()),
            "{found:?}"
        );
    }
}

#[test]
fn px_is_not_proven_where_senders_differ_and_nothing_is_stated() {
    for (per_inch, units) in [(96.0, 72), (72.0, 72), (96.0, 90)] {
        let (w, h) = at(per_inch);
        let bed = format!("units-per-inch = {units}");
        let found = run(&format!("{w}px"), &format!("{h}PX"), &bed);
        assert_eq!(found.verdict, Verdict::Hold);
        let said: Vec<_> = found
            .findings
            .iter()
            .filter(|f| f.rule == "not-proven")
            .collect();
        assert_eq!(said.len(), 1, "{found:?}");
        assert!(
            said[0].message.contains("senders read px either way")
                && said[0].help.contains("px-per-inch"),
            "{} {}",
            said[0].message,
            said[0].help
        );
    }
    // One side in px is enough, and a page in real lengths asks nothing.
    let (w, _) = at(96.0);
    let half = run(&format!("{w}px"), "200mm", "units-per-inch = 72");
    expect(&half, Verdict::Hold, &["not-proven"]);
    let real = run("300mm", "200mm", "units-per-inch = 72");
    expect(&real, Verdict::Clear, &[]);
}

#[test]
fn a_length_without_a_unit_counts_the_senders_units() {
    let (w, h) = at(72.0);
    expect(&run(&w, &h, "units-per-inch = 72"), Verdict::Clear, &[]);
    let stated = "units-per-inch = 72\npx-per-inch = 96";
    expect(&run(&w, &h, stated), Verdict::Clear, &[]);
}
