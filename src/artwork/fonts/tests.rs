//! Which names lead to which face, and what is said when none does.

#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use super::family::families;
use super::*;

fn ask(families: &str, weight: u16, style: Style) -> Ask {
    Ask {
        families: families.to_owned(),
        weight,
        style,
        stretch: Stretch::Normal,
    }
}

fn built_in() -> Faces {
    Faces::new(Vec::new(), false)
}

#[test]
fn a_face_is_found_by_any_name_it_goes_by() {
    let faces = built_in();
    for (families, weight) in [
        ("Hack", 400),
        ("hack", 400),
        ("'Hack', serif", 400),
        ("Hack Regular", 400),
        ("Hack-Regular", 400),
        ("Ubuntu", 300),
        ("Ubuntu Light", 400),
        ("Ubuntu Light", 300),
        ("Ubuntu-Light", 400),
    ] {
        let chosen = faces.choose(&ask(families, weight, Style::Normal)).unwrap();
        assert_eq!(chosen.missing, None, "{families} {weight}");
    }
}

#[test]
fn what_is_not_there_is_said_with_what_stands_in() {
    let faces = built_in();
    for (families, weight, style, family, words, instead) in [
        ("Hack", 700, Style::Normal, "Hack", "bold", "Hack"),
        ("Hack", 400, Style::Italic, "Hack", "italic", "Hack"),
        ("Hack", 500, Style::Normal, "Hack", "medium", "Hack"),
        ("Ubuntu", 400, Style::Normal, "Ubuntu", "", "Ubuntu light"),
        (
            "Ubuntu Light",
            700,
            Style::Normal,
            "Ubuntu Light",
            "bold",
            "Ubuntu light",
        ),
        (
            "Brackenhand",
            400,
            Style::Normal,
            "Brackenhand",
            "",
            "Ubuntu light",
        ),
        (
            "Brackenhand, Hack",
            400,
            Style::Normal,
            "Brackenhand",
            "",
            "Hack",
        ),
        (
            "sans-serif",
            400,
            Style::Normal,
            "sans-serif",
            "",
            "Ubuntu light",
        ),
        (
            "monospace",
            700,
            Style::Oblique,
            "monospace",
            "bold oblique",
            "Hack",
        ),
        (
            "20th Brackenhand",
            400,
            Style::Normal,
            "20th Brackenhand",
            "",
            "Ubuntu light",
        ),
        ("", 400, Style::Normal, "", "", "Ubuntu light"),
    ] {
        let missing = faces
            .choose(&ask(families, weight, style))
            .unwrap()
            .missing
            .unwrap();
        assert_eq!(
            (
                missing.family.as_str(),
                missing.style.as_str(),
                missing.instead.as_deref()
            ),
            (family, words, Some(instead)),
            "{families} {weight}"
        );
    }
}

#[test]
fn a_quoted_generic_word_is_a_family() {
    let names = families("'serif', serif, \"Mill, Sans\" , ");
    assert_eq!(names.len(), 3);
    assert!(names[0].generic.is_none());
    assert!(names[1].generic.is_some());
    assert_eq!(names[2].name, "Mill, Sans");
}

#[test]
fn nothing_is_read_before_it_is_needed() {
    let faces = Faces::new(vec![PathBuf::from("nowhere at all")], false);
    assert!(faces.database.get().is_none());
    assert_eq!(faces.database().len(), 2);
}

#[test]
fn a_folder_comes_before_the_built_in_faces() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("deeper")).unwrap();
    std::fs::write(
        folder.path().join("deeper/h.TTF"),
        epaint_default_fonts::HACK_REGULAR,
    )
    .unwrap();
    std::fs::write(folder.path().join("broken.otf"), b"no font").unwrap();
    let faces = Faces::new(vec![folder.path().to_owned()], false);
    let database = faces.database();
    assert_eq!(database.len(), 3);
    let chosen = faces.choose(&ask("Hack", 400, Style::Normal)).unwrap();
    assert!(matches!(
        database.face(chosen.id).unwrap().source,
        Source::File(_)
    ));
}

#[test]
fn a_fallback_has_the_character_and_was_not_used() {
    let faces = built_in();
    let database = faces.database();
    // Hack has box drawing, Ubuntu Light does not.
    let ubuntu = faces.choose(&ask("Ubuntu", 300, Style::Normal)).unwrap().id;
    assert!(!has(&database, ubuntu, '╬'));
    let other = faces.fallback('╬', &[ubuntu]).unwrap();
    assert!(has(&database, other, '╬'));
    assert_eq!(faces.fallback('╬', &[ubuntu, other]), None);
    assert_eq!(faces.fallback('\u{1F600}', &[ubuntu]), None);
}
