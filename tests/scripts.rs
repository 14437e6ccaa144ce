//! Outlined names in other scripts of the faces at hand: never called mirrored or upside down where they
//! are not, and called so where they are.

use super::common::tags::{Tags, lettering, of, outlined};
use jigwarden::tested::report::Run;

const GREEK: [&str; 10] = [
    "Χλόη",
    "Νίκος",
    "Ελένη",
    "Γιώργος",
    "Δάφνη",
    "Σοφία",
    "Ζωή",
    "Θάλεια",
    "Φωτεινή",
    "Λυδία",
];
const CYRILLIC: [&str; 10] = [
    "Анна",
    "Ольга",
    "Дмитрий",
    "Мария",
    "Юлия",
    "Фёдор",
    "Жанна",
    "Борис",
    "Ирина",
    "Щукин",
];

fn run(tags: &Tags, name: &str, transform: &str) -> Run {
    tags.run(
        &(outlined(0, name, 5.0, transform)
            + &lettering(1, "Ida", 5.0, "")
            + &lettering(2, "Rue", 5.0, "")),
    )
}

fn said(run: &Run) -> Vec<String> {
    run.findings
        .iter()
        .map(|f| format!("{}: {}", f.rule, f.message))
        .collect()
}

#[test]
fn upright_names_in_other_scripts_are_upright() {
    let tags = Tags::new("");
    for name in GREEK.into_iter().chain(CYRILLIC) {
        let run = run(&tags, name, "");
        for rule in ["mirrored", "upside-down", "way-up-unknown"] {
            assert!(of(&run, rule).is_empty(), "{name}: {:?}", said(&run));
        }
    }
}

#[test]
fn turned_and_mirrored_ones_are_found() {
    let tags = Tags::new("");
    for name in ["Χλόη", "Γιώργος", "Δάφνη", "Дмитрий", "Фёдор", "Борис"]
    {
        assert_eq!(
            of(&run(&tags, name, "rotate(180)"), "upside-down").len(),
            1,
            "{name}"
        );
        assert_eq!(
            of(&run(&tags, name, "scale(-1 1)"), "mirrored").len(),
            1,
            "{name}"
        );
    }
}

#[test]
fn they_are_read_as_they_are_spelt() {
    let tags = Tags::new("");
    for name in ["Χλόη", "Γιώργος", "Дмитрий", "Фёдор"] {
        let list = format!("Name\n{name}\nIda\nRue\n");
        let art = outlined(0, name, 5.0, "")
            + &lettering(1, "Ida", 5.0, "")
            + &lettering(2, "Rue", 5.0, "");
        let run = tags.against(list.as_bytes(), &art);
        assert!(
            of(&run, "name-missing").is_empty(),
            "{name}: {:?}",
            said(&run)
        );
        assert!(
            of(&run, "name-extra").is_empty(),
            "{name}: {:?}",
            said(&run)
        );
    }
}

/// Cyrillic capitals of the shapes N, I, N, A are Latin ones in a mirror: the batch's script decides, or
/// nothing does.
#[test]
fn a_word_that_a_mirror_makes_one_of_another_script_is_no_evidence() {
    let tags = Tags::new("");
    let batch = |name: &str, transform: &str, others: [&str; 2]| {
        tags.run(
            &(outlined(0, name, 5.0, transform)
                + &outlined(1, others[0], 4.0, "")
                + &outlined(2, others[1], 4.0, "")),
        )
    };
    let (cyrillic, latin) = (["Юлия", "Борис"], ["Edgar", "Regine"]);
    let flip = "scale(-1 1)";
    for name in ["\u{41d}\u{418}\u{41d}\u{410}", "NINA", "ANNA"] {
        // Alone it is never held, either way round.
        for transform in ["", flip] {
            let alone = run(&tags, name, transform);
            let found = (
                of(&alone, "mirrored").len(),
                of(&alone, "way-up-unknown").len(),
            );
            assert_eq!(found, (0, 1), "{name} {transform}: {:?}", said(&alone));
        }
        let own = if name.is_ascii() { latin } else { cyrillic };
        let count = |transform: &str, others| of(&batch(name, transform, others), "mirrored").len();
        assert_eq!((count("", own), count(flip, own)), (0, 1), "{name}");
    }
}
