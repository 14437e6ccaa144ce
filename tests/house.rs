//! The order of the house: a room takes only from rooms below it, and no files take from each other in a
//! circle.
//!
//! The order is the table of rooms in DEVELOPERS.md. A file and the files in its folder are one piece of
//! work: a part may use what the file above it declares for all parts.

mod imports;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use imports::{File, Name};

/// The one circle that is meant: the walk through the elements of a file changes one state, and hands an
/// element on to whoever knows its kind, who may find elements in it to be walked.
const WALK: [&str; 4] = [
    "artwork::clipping",
    "artwork::drawing",
    "artwork::resolve",
    "artwork::unreadable",
];

#[test]
fn every_room_takes_only_from_rooms_below_it() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(top.join("DEVELOPERS.md")).unwrap();
    let found = faults(&imports::read(&top.join("src")), &order(&text));
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

/// The rooms, highest first: of each row of a table the names in its first cell that lie in `src`.
fn order(text: &str) -> Vec<String> {
    text.lines()
        .filter_map(|line| line.strip_prefix("| ")?.split('|').next())
        .flat_map(|cell| cell.split('`'))
        .filter_map(|name| name.strip_prefix("src/"))
        .map(|name| {
            name.trim_end_matches('/')
                .trim_end_matches(".rs")
                .to_owned()
        })
        .collect()
}

/// Everything that is against the order, each with its place.
fn faults(files: &BTreeMap<Name, File>, order: &[String]) -> Vec<String> {
    let mut out = Vec::new();
    let rooms: BTreeSet<&String> = files.keys().map(|name| &name[0]).collect();
    for room in &rooms {
        if order.iter().filter(|o| o == room).count() != 1 {
            out.push(format!(
                "the room `{room}` must stand once in the table of rooms in DEVELOPERS.md: write it above all that it takes from"
            ));
        }
    }
    for room in order.iter().filter(|o| !rooms.contains(o)) {
        out.push(format!(
            "DEVELOPERS.md lists the room `{room}`, and there is none in src: take it out of the table"
        ));
    }
    let floor = |room: &String| order.iter().position(|o| o == room);
    for (name, file) in files {
        for line in &file.wholesale {
            out.push(format!(
                "{}:{line} takes the whole crate: write `crate::` and the room before each name that is taken",
                file.path.display()
            ));
        }
        for import in &file.imports {
            let (from, to) = (&name[0], &import.to[0]);
            if from != to && floor(from) >= floor(to) {
                out.push(format!(
                    "{}:{} takes from `{}`; the room `{to}` is above `{from}`: move what is taken into a room below `{from}`",
                    file.path.display(),
                    import.line,
                    import.to.join("::"),
                ));
            }
        }
    }
    out.extend(circles(files).into_iter().map(|circle| {
        let lines: Vec<String> = circle
            .iter()
            .flat_map(|name| takes(files, name).map(move |i| (name, i)))
            .filter(|(_, (_, to))| circle.contains(*to))
            .map(|(name, (line, to))| {
                format!("  {}:{line} takes from {}", files[name].path.display(), to.join("::"))
            })
            .collect();
        format!(
            "{} files take from each other in a circle; move what they share into a file below them:\n{}",
            circle.len(),
            lines.join("\n")
        )
    }));
    out
}

/// What a file takes from others, with the lines; what a part takes from the file above it is left out.
fn takes<'a>(
    files: &'a BTreeMap<Name, File>,
    name: &'a Name,
) -> impl Iterator<Item = (usize, &'a Name)> {
    files[name]
        .imports
        .iter()
        .filter(|import| !name.starts_with(&import.to))
        .map(|import| (import.line, &import.to))
}

/// Files from each of which one gets to each other of them, but for [`WALK`].
fn circles(files: &BTreeMap<Name, File>) -> Vec<BTreeSet<Name>> {
    let reached: BTreeMap<&Name, BTreeSet<&Name>> = files
        .keys()
        .map(|start| {
            let (mut seen, mut open) = (BTreeSet::new(), vec![start]);
            while let Some(name) = open.pop() {
                for (_, to) in takes(files, name) {
                    if seen.insert(to) {
                        open.push(to);
                    }
                }
            }
            (start, seen)
        })
        .collect();
    let all: BTreeSet<BTreeSet<Name>> = files
        .keys()
        .filter(|name| reached[name].contains(name))
        .map(|name| {
            let back = |other: &&&Name| reached[**other].contains(name);
            reached[name]
                .iter()
                .filter(back)
                .map(|n| (*n).clone())
                .collect()
        })
        .collect();
    let walk = |circle: &BTreeSet<Name>| circle.iter().map(|n| n.join("::")).eq(WALK);
    all.into_iter().filter(|circle| !walk(circle)).collect()
}

/// What is wrong with a house of two rooms, the roof above the ground.
fn wrong_with(ground: &str, more: &[(&str, &str)]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let src = folder.path().join("src");
    std::fs::create_dir_all(src.join("roof")).unwrap();
    let roof = "use crate::ground::Floor;\npub struct Tile;\n";
    let own = [
        ("lib.rs", "mod ground;\nmod roof;\n"),
        ("roof.rs", roof),
        ("ground.rs", ground),
    ];
    for (file, text) in own.iter().chain(more) {
        std::fs::write(src.join(file), text).unwrap();
    }
    let table =
        "| room | what |\n|---|---|\n| `src/roof/` | tiles |\n| `src/ground.rs` | floors |\n";
    faults(&imports::read(&src), &order(table))
}

#[test]
fn an_upward_use_is_named_with_its_line() {
    for upward in [
        "use crate::roof::Tile;",
        "use crate::{roof::{self, Tile}};",
        "use super::roof::Tile as Slate;",
        "pub(crate) use crate::roof::*;",
        "fn f() -> crate::roof::Tile { todo!() }",
        "fn f() { println!(\"{}\", crate::roof::AREA) }",
        "mod inner { use super::super::roof::Tile; }",
    ] {
        let text = format!("//! The ground.\npub struct Floor;\n{upward}\n");
        let found = wrong_with(&text, &[]);
        assert!(
            found
                .iter()
                .any(|f| f.starts_with("src/ground.rs:3 takes from `roof`")),
            "actual {found:?}, expected line 3 to be named, input {upward}"
        );
    }
}

#[test]
fn the_whole_crate_is_taken_by_nobody() {
    for all in [
        "use crate as house; fn f() { house::roof::lay() }",
        "extern crate self as own; use own::roof::Tile;",
        "use crate::{self as house};",
        "use crate::*; fn f() { roof::lay() }",
        "use super::*;",
    ] {
        let found = wrong_with(&format!("//! The ground.\npub struct Floor;\n{all}\n"), &[]);
        assert!(
            found
                .iter()
                .any(|f| f.starts_with("src/ground.rs:3 takes the whole crate")),
            "actual {found:?}, expected line 3 to be named, input {all}"
        );
    }
}

#[test]
fn what_is_in_order_is_not_named() {
    for fine in [
        "pub struct Floor;",
        "//! Below [`crate::roof::Tile`].\n/// See [`crate::roof`].\npub struct Floor;",
        "#[cfg(test)]\nmod tests {\n    use crate::roof::Tile;\n}",
        "#[cfg(test)]\nuse crate::roof::{self, Tile};\npub(crate) struct Floor;",
        "// crate::roof::Tile\npub const NAME: &str = \"crate::roof\";",
        "pub struct Floor;\nimpl Floor { fn roof() { other::roof::lay() } }",
    ] {
        assert_eq!(wrong_with(fine, &[]), Vec::<String>::new(), "{fine}");
    }
}

#[test]
fn files_that_go_round_are_named() {
    let around = wrong_with(
        "",
        &[
            ("roof/ridge.rs", "use super::gutter::Pipe;\n"),
            ("roof/gutter.rs", "\nuse crate::roof::ridge::Cap;\n"),
        ],
    );
    assert_eq!(around.len(), 1, "{around:?}");
    assert!(
        around[0].contains("roof/gutter.rs:2 takes from roof::ridge"),
        "{around:?}"
    );
    assert!(
        around[0].contains("roof/ridge.rs:1 takes from roof::gutter"),
        "{around:?}"
    );
    // A part takes what the file above declares for all parts, and that file calls the part.
    let front = "mod ridge;\nuse ridge::Cap;\npub struct Tile;\n";
    let parts = [
        ("roof.rs", front),
        ("roof/ridge.rs", "use super::Tile;\npub struct Cap;\n"),
    ];
    assert_eq!(wrong_with("", &parts), Vec::<String>::new());
}

#[test]
fn a_room_that_the_table_forgets_is_named() {
    let found = wrong_with("", &[("cellar.rs", "")]);
    assert!(found[0].contains("`cellar` must stand once"), "{found:?}");
    let found = faults(&BTreeMap::new(), &["attic".to_owned()]);
    assert!(found[0].contains("lists the room `attic`"), "{found:?}");
}
