//! What lies wrong is put right as one: letters of a name that were each turned for themselves would stand upright in
//! the wrong order, and nothing could tell.

use super::*;

use jigwarden::tested::inspect::inspect;
use jigwarden::tested::mend::{Mended, Wanted, mend};
use kurbo::Vec2;

/// The run with this art, mended.
fn mended(tags: &Tags, art: &str) -> Mended {
    let file = tags.write(
        "run.svg",
        page(&format!("{}{art}", tags::outlines(true))).as_bytes(),
    );
    mend(&file, &tags::asked(), &Wanted::default()).unwrap()
}

/// How the outlined art of a pocket lies to its first piece, in the order of the file, in millimetres.
fn letters(tags: &Tags, text: &str, pocket: &str) -> Vec<Vec2> {
    let file = tags.write("letters.svg", text.as_bytes());
    let (_, centres) = inspect(&file, &tags::asked(), |job, _| {
        let here = job.art.iter().filter(|art| {
            let shape = matches!(
                job.mark(art.mark).content,
                jigwarden::tested::artwork::mark::Content::Shape
            );
            shape && art.pocket.is_some_and(|p| job.pockets[p].name == pocket)
        });
        here.map(|art| art.bounds().center()).collect::<Vec<_>>()
    });
    let centres = centres.unwrap();
    centres.iter().map(|c| *c - centres[0]).collect()
}

#[test]
fn letters_of_a_name_are_turned_and_flipped_together() {
    let tags = Tags::new("");
    let date = lettering(1, "12", 5.0, "translate(0 9)");
    // Beside a date that lies right, and with a sprig of which nothing tells how it lies.
    for (beside, with_sprig) in [("", false), (date.as_str(), false), (date.as_str(), true)] {
        let three = |transform: &str| {
            let sprig = flag(1, &format!("{transform} translate(0 -8) scale(.5)"));
            outlined(0, "Jacob", 5.0, "")
                + &outlined(1, "Margaret", 5.0, transform)
                + if with_sprig { &sprig } else { "" }
                + beside
                + &outlined(2, "Stefan", 5.0, "")
        };
        let sound = letters(&tags, &page(&three("")), "A2");
        for transform in ["rotate(180)", "rotate(90)", "scale(-1 1)"] {
            let mended = mended(&tags, &three(transform));
            let open: &[&str] = if with_sprig {
                &["way-up-unknown A2"]
            } else {
                &[]
            };
            expect(&mended.after, Clear, open);
            let is = letters(&tags, &mended.text, "A2");
            assert_eq!(is.len(), 8 + usize::from(with_sprig), "{transform}");
            for (is, was) in is.iter().zip(&sound) {
                assert!(
                    (*is - *was).hypot() < 0.03,
                    "{transform}, beside {beside:?}: a letter lies {is:?} from the first, and {was:?} in a sound name"
                );
            }
        }
    }
}

#[test]
fn the_ring_goes_round_all_that_lies_wrong_and_the_message_counts_it() {
    let tags = Tags::new("");
    let run = tags.run(&outlined(1, "Margaret", 5.0, "rotate(180)"));
    let [found] = of(&run, "upside-down")[..] else {
        panic!("{run:?}")
    };
    let ring = found.bed.unwrap();
    assert!(
        ring.width() > 15.0,
        "eight letters are wider than the ring of {} mm",
        ring.width()
    );
    assert_eq!(found.more, 7);
    assert!(
        found
            .help
            .contains("group it with what belongs to it; turn the group half round"),
        "{}",
        found.help
    );
}

#[test]
fn a_name_that_has_no_room_where_it_is_turned_is_moved_into_its_zone() {
    let tags = Tags::new("centred = \"free\"");
    let run =
        |transform: &str| outlined(0, "Jacob", 5.0, "") + &outlined(1, "Margaret", 5.0, transform);
    let mended = mended(&tags, &run("translate(-9 0) rotate(90)"));
    let said: Vec<_> = mended.done.iter().map(|d| d.says.as_str()).collect();
    assert!(said[0].contains("and move it"), "{said:?}");
    assert!(
        of(&mended.after, "past-zone").is_empty(),
        "{:?}",
        mended.after
    );
    assert!(
        of(&mended.after, "upside-down").is_empty(),
        "{:?}",
        mended.after
    );
}

/// Whatever a letter is held for, its name is moved and set smaller with it.
#[test]
fn no_letter_is_torn_off_its_name() {
    let tags = Tags::new("centred = \"free\"");
    let run =
        |transform: &str| outlined(0, "Jacob", 5.0, "") + &outlined(1, "Margaret", 5.0, transform);
    let sound = letters(&tags, &page(&run("")), "A2");
    for (transform, rule, scaled) in [
        ("translate(3.5 0)", "past-zone", false),
        ("translate(-3 24)", "past-zone", false),
        ("scale(1.5)", "past-zone", true),
    ] {
        let mended = mended(&tags, &run(transform));
        assert!(
            !of(&mended.before, rule).is_empty(),
            "{transform}: {:?}",
            mended.before
        );
        expect(&mended.after, Clear, &["pocket-bare A3"]);
        let is = letters(&tags, &mended.text, "A2");
        assert_eq!(is.len(), sound.len(), "{transform}");
        let share = is[7].hypot() / sound[7].hypot();
        assert_eq!(share > 1.01, scaled, "{transform}: set at {share}");
        for (is, was) in is.iter().zip(&sound) {
            assert!(
                (*is - *was * share).hypot() < 0.03,
                "{transform}: a letter lies {is:?} from the first, and {was:?} in a sound name"
            );
        }
    }
}

/// Nor where a live name was spread by hand, one text for each letter.
#[test]
fn letters_of_a_live_name_are_moved_together() {
    let tags = Tags::new("centred = \"free\"");
    let run = |by: f64| -> String {
        let (x, y) = tags::middle(0);
        let letters = ["B", "r", "a", "m", "b", "l", "e"].iter().enumerate();
        let text = |(i, letter): (usize, &&str)| {
            let at = x + by + 3.0 * i as f64;
            format!(
                "<text x='{at}' y='{y}' font-family='Ubuntu' font-weight='300' font-size='5' fill='{BURN}'>{letter}</text>"
            )
        };
        letters.map(text).collect()
    };
    let mended = mended(&tags, &run(-14.0));
    let [found] = of(&mended.before, "past-zone")[..] else {
        panic!("{:?}", mended.before)
    };
    assert!(found.help.contains("move the group"), "{}", found.help);
    expect(&mended.after, Clear, &["pocket-bare A2", "pocket-bare A3"]);
    assert_eq!(
        mended
            .done
            .iter()
            .map(|d| d.elements.len())
            .collect::<Vec<_>>(),
        [7]
    );
}

/// Nor where it lies beside the blanks: to move or delete the one letter is not offered.
#[test]
fn a_letter_beside_the_blank_is_no_choice_by_itself() {
    let tags = Tags::new("");
    let run = tags.run(&outlined(1, "Margaret", 5.0, "translate(-14 0)"));
    let off = of(&run, "off-blank");
    assert!(!off.is_empty(), "{run:?}");
    for found in off {
        assert!(found.remedy.choices.is_empty(), "{found:?}");
        assert!(found.help.contains("group it"), "{}", found.help);
    }
    // What stands alone may be moved or deleted by itself.
    let (x, y) = tags::middle(1);
    let dot = format!("<circle cx='{}' cy='{y}' r='1' fill='{BURN}'/>", x - 20.0);
    let run = tags.run(&dot);
    let [found] = of(&run, "off-blank")[..] else {
        panic!("{run:?}")
    };
    assert!(!found.remedy.choices.is_empty(), "{found:?}");
}

/// A pocket's art that nothing decides has its place on the proof, as all the others have.
#[test]
fn every_pocket_that_nothing_decides_has_its_place() {
    let tags = Tags::new("");
    let art: String = (0..3)
        .map(|n| flag(n, &format!("scale(1 {})", 1 + n)))
        .collect();
    let run = tags.run(&art);
    let [found] = of(&run, "way-up-unknown")[..] else {
        panic!("{run:?}")
    };
    let places: Vec<_> = found.also.iter().map(|(_, place)| *place).collect();
    for n in 0..3 {
        let (x, y) = tags::middle(n);
        let there = |place: &kurbo::Rect| place.contains(kurbo::Point::new(x - 2.0, y));
        assert!(
            found.bed.iter().chain(&places).any(there),
            "no place in pocket {n}: {found:?}"
        );
    }
}
