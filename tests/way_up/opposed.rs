//! Art that lies one way in some pockets and the opposite way in others: one of the two is wrong.

use super::*;

/// The one finding that names both groups of which one lies wrong.
fn both_named<'a>(
    run: &'a jigwarden::tested::report::Run,
    rule: &str,
    pockets: [&str; 2],
) -> &'a str {
    let found = of(run, rule);
    assert_eq!((run.verdict, found.len()), (Hold, 1), "{run:?}");
    assert_eq!(found[0].pocket, None, "{run:?}");
    let message = &found[0].message;
    assert!(pockets.iter().all(|p| message.contains(p)), "{message}");
    assert!(message.contains("one of the two is wrong"), "{message}");
    message
}

#[test]
fn of_two_that_lie_opposite_neither_is_blamed_and_both_are_named() {
    let tags = Tags::new("");
    for (transform, rule) in [
        ("rotate(180)", "upside-down"),
        ("rotate(90)", "upside-down"),
        ("scale(-1 1)", "mirrored"),
    ] {
        let run = tags.run(&(flag(0, "") + &flag(1, transform)));
        let said = both_named(&run, rule, ["pocket A1", "pocket A2"]);
        assert!(!said.contains("head"), "{said}");
    }
    // Live names that stand as they should do not speak for what is drawn under them.
    let low = |n: usize, turn: &str| flag(n, &format!("translate(0 16) {turn}"));
    let run = tags.run(&(names(["Ada", "Bo", "Cy"]) + &low(0, "") + &low(1, "rotate(180)")));
    both_named(&run, "upside-down", ["pocket A1", "pocket A2"]);
    assert!(of(&run, "way-up-unknown").is_empty(), "{run:?}");
    // Even shapes and a lean are no such thing.
    for transform in ["rotate(180)", "scale(-1 1)"] {
        let bar = "<rect x='-6' y='-2' width='12' height='4'/>";
        let run = tags.run(&(shapes(0, "", bar) + &shapes(1, transform, bar)));
        expect(&run, Clear, &["pocket-bare A3"]);
    }
    let run = tags.run(&(flag(0, "") + &flag(1, "rotate(20)")));
    assert_eq!(run.verdict, Clear, "{run:?}");
    // Drawn one way, while the settings say that the heads alternate.
    let tags = Tags::new("[[pocket]]\nnames = [\"A2\"]\nhead = \"front\"");
    let run = tags.run(&(flag(0, "") + &flag(1, "translate(0 -28)")));
    let said = both_named(&run, "upside-down", ["pocket A1", "pocket A2"]);
    assert!(said.contains("different heads"), "{said}");
    let run = tags.run(&(flag(0, "") + &flag(1, "translate(0 -28) rotate(180)")));
    assert_eq!(run.verdict, Clear, "{run:?}");
}

/// The fixture of tags with so many of them.
pub(super) fn longer(count: usize, more: &str) -> Tags {
    let mut lines =
        tags::outlines(false).replace("width='130'", &format!("width='{}'", 36 * count + 22));
    for n in 3..count {
        let x = 20 + 36 * n;
        lines.push_str(&format!(
            "<rect x='{x}' y='88' width='28' height='92' rx='4' fill='none' stroke='#7b2d8b' stroke-width='0.1'/><path d='M{} 84 l4 0 l-2 -3 z' fill='none' stroke='#0a7d55' stroke-width='0.1'/>",
            x + 12
        ));
    }
    Tags::drawn(&page(&lines), more)
}

/// Inspects a run with this art and without the fixture's lines.
pub(super) fn of_longer(tags: &Tags, art: &str) -> jigwarden::tested::report::Run {
    tags.run_of(&page(art))
}

/// A set of drawings has its arrow to the left and its arrow to the right. That two of six lie opposite, and the
/// others are something else, says nothing.
#[test]
fn two_that_lie_opposite_among_other_drawings_are_no_slip() {
    let tags = longer(6, "");
    let arrow = |n: usize, transform: &str| {
        shapes(n, transform, "<path d='M-6 0 l6 -5 v3 h6 v4 h-6 v3 z'/>")
    };
    let others: String = [
        "M-5 -6 h8 v5 h-6 v7 h-2 z",
        "M-4 -5 h3 v9 h6 v2 h-9 z",
        "M-6 4 l5 -9 l8 9 h-3 l-4 -4 z",
        "M-5 -5 h9 v2 h-3 v8 h-2 v-8 h-4 z",
    ]
    .iter()
    .enumerate()
    .map(|(n, d)| shapes(n + 2, "", &format!("<path d='{d}'/>")))
    .collect();
    for transform in ["rotate(180)", "scale(-1 1)"] {
        let pair = arrow(0, "") + &arrow(1, transform);
        let run = of_longer(&tags, &(pair.clone() + &others));
        assert_eq!(run.verdict, Clear, "{transform} {run:?}");
        let unknown = of(&run, "way-up-unknown");
        assert!(unknown[0].message.contains("A1–A6"), "{run:?}");
        // Where there is nothing else, one of them is wrong.
        assert_eq!(of_longer(&tags, &pair).verdict, Hold, "{transform}");
    }
}

#[test]
fn half_of_a_batch_that_lies_opposite_is_held_as_two_groups() {
    let tags = longer(4, "");
    let run = |art: &str| of_longer(&tags, art);
    let half = "rotate(180)";
    let art = flag(0, "") + &flag(1, "") + &flag(2, half) + &flag(3, half);
    both_named(&run(&art), "upside-down", ["A1, A2", "A3, A4"]);
    // Names that share letters, and nothing else.
    let names = |n: usize| ["karel", "tekla", "treak", "larket"][n];
    for (transform, rule) in [(half, "upside-down"), ("scale(-1 1)", "mirrored")] {
        let draw = |n: usize| spelt(n, names(n), if n < 2 { "" } else { transform });
        let art: String = (0..4).map(draw).collect();
        // Of letters it is known which way up they are, and so which of the two is wrong.
        let run = run(&art);
        let held: Vec<_> = of(&run, rule).iter().map(|f| f.pocket.clone()).collect();
        assert_eq!(held, ["A3", "A4"].map(|p| Some(p.to_owned())), "{run:?}");
    }
    // Unless the settings say that the heads alternate: those may be what is wrong.
    let alternate = longer(4, "[[pocket]]\nnames = [\"A3\", \"A4\"]\nhead = \"front\"");
    let draw = |n: usize| spelt(n, names(n), if n < 2 { "" } else { "translate(0 -28)" });
    let one_way = of_longer(&alternate, &(0..4).map(draw).collect::<String>());
    let said = both_named(&one_way, "upside-down", ["A1, A2", "A3, A4"]);
    assert!(said.contains("different heads"), "{said}");
    let sound: String = (0..4).map(|n| spelt(n, names(n), "")).collect();
    assert_eq!(run(&sound).verdict, Clear);
}
