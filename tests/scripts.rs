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
