//! Lettering against the order list: every planted slip is found, and what agrees is quiet.

use crate::common::tags;

use jigwarden::tested::inspect::Options;
use jigwarden::tested::report::Verdict::{Clear, Hold, Unread};
use tags::{Tags, expect, lettering, names, of, outlined};

#[test]
fn a_run_that_agrees_is_clear_however_the_list_is_written() {
    let tags = Tags::new("");
    let art = names(["Ada", "Zo\u{eb}", "Lou O'Day"]);
    for list in [
        "Name\nAda\nZo\u{eb}\nLou O'Day\n",
        "\u{feff}Name,Size\r\nADA,S\r\n\"Zoe\u{308}\",M\r\nlou o\u{2019}day,S\r\n",
        "pocket;Name\nA3;Lou O'Day\na1;Ada\n;Zo\u{eb}\n",
    ] {
        expect(&tags.against(list.as_bytes(), &art), Clear, &[]);
    }
    // Not UTF-8: the encoding is guessed, and said.
    let run = tags.against(b"Name;Size\nAda;S\nZo\xeb;S\nLou O'Day;M\n", &art);
    expect(&run, Clear, &[]);
    let note = run.notes.join("\n");
    assert!(
        note.contains("windows-1252") && note.contains("\"Zo\u{eb}\""),
        "{note}"
    );
    // The other way round: decomposed in the file, composed in the list.
    let art = names(["Ada", "Zoe\u{308}", "Lou"]);
    expect(
        &tags.against("Name\nAda\nZo\u{eb}\nLou\n".as_bytes(), &art),
        Clear,
        &[],
    );
}

#[test]
fn each_planted_slip_is_found() {
    let tags = Tags::new("");
    let list = "Name\nAda\nJohn\nZo\u{eb}\n".as_bytes();
    let run = tags.against(list, &names(["Ada", "Jhon", "Zo\u{eb}"]));
    expect(&run, Hold, &["name-missing A2"]);
    let message = &run.findings[0].message;
    assert!(
        message.contains("\"Jhon\"") && message.contains("\"John\"") && message.contains("line 3"),
        "{message}"
    );
    assert!(run.findings[0].source.is_some() && run.findings[0].bed.is_some());

    let run = tags.against(list, &names(["Ada", "John", "Zoe"]));
    expect(&run, Hold, &["name-missing A3"]);
    assert!(run.findings[0].message.contains("in accents"));

    let run = tags.against(list, &names(["Ada", "Ada", "Zo\u{eb}"]));
    expect(&run, Hold, &["name-missing", "name-twice A2"]);

    let run = tags.against(list, &names(["Ada", "Olga", "Zo\u{eb}"]));
    expect(&run, Hold, &["name-missing", "name-extra A2"]);

    let run = tags.against(
        "Name,Pocket\nAda,A2\nJohn,A1\nZo\u{eb},A3\n".as_bytes(),
        &names(["Ada", "John", "Zo\u{eb}"]),
    );
    expect(&run, Hold, &["name-missing A1", "name-missing A2"]);
}

#[test]
fn capitals_count_only_where_the_settings_say_so() {
    let list = b"Name\nAda\nBo\nCy\n";
    let art = names(["ADA", "Bo", "Cy"]);
    expect(&Tags::new("").against(list, &art), Clear, &[]);
    let run = Tags::new("[names]\ncase = \"exact\"").against(list, &art);
    expect(&run, Hold, &["name-missing A1"]);
    assert!(run.findings[0].message.contains("in capitals"));
}

#[test]
fn stand_ins_are_found_without_a_list() {
    let tags = Tags::new("[names]\nplaceholders = [\"NAME\", \"Your Name\"]");
    let run = tags.run(&names(["Ada", "Name", "Cy"]));
    expect(&run, Hold, &["name-placeholder A2"]);
    let two_lines = lettering(2, "Your", 6.0, "") + &lettering(2, "name", 6.0, "translate(0 9)");
    let run = tags.run(&two_lines);
    // Without the second line it is another text.
    assert_eq!(of(&run, "name-placeholder").len(), 1, "{run:?}");
    let run = tags.run(&names(["Naming", "Ada", "Cy"]));
    expect(&run, Clear, &[]);
}

#[test]
fn a_name_on_two_lines_joins_in_reading_order_however_it_lies() {
    let tags = Tags::new("[[pocket]]\nnames = [\"A2\"]\nhead = \"front\"");
    let list = b"Name\nAnn Lee\nBo Fox\nCy Day\n";
    let two = |n: usize, first: &str, second: &str, turn: &str| {
        // The second line stands first in the file.
        lettering(n, second, 5.0, &format!("{turn} translate(0 4)"))
            + &lettering(n, first, 5.0, &format!("{turn} translate(0 -4)"))
    };
    let art = two(0, "Ann", "Lee", "")
        + &two(1, "Bo", "Fox", "translate(0 -28) rotate(180)")
        + "<text x='106' y='140' font-family='Ubuntu' font-weight='300' font-size='5' text-anchor='middle' fill='#1b1b1b'>Cy<tspan x='106' dy='8'>Day</tspan></text>";
    expect(&tags.against(list, &art), Clear, &[]);
}

#[test]
fn one_line_over_several_pockets_is_read_pocket_by_pocket() {
    let tags = Tags::new("");
    let line = "<text y='150' font-family='Ubuntu' font-weight='300' font-size='6' fill='#1b1b1b' x='29'>Ada<tspan x='66'>Bo</tspan><tspan x='102'>Cy</tspan></text>";
    expect(&tags.against(b"Name\nAda\nBo\nCy\n", line), Clear, &[]);
}

#[test]
fn words_that_are_the_same_everywhere_are_part_of_the_design() {
    let tags = Tags::new("centred = \"free\"");
    let motto: String = (0..3)
        .map(|n| lettering(n, "Hive 7", 4.0, "translate(0 12)"))
        .collect();
    let art = names(["Ada", "Bo", "Cy"]) + &motto;
    expect(&tags.against(b"Name\nAda\nBo\nCy\n", &art), Clear, &[]);
}

#[test]
fn lettering_that_cannot_be_read_is_named() {
    let tags = Tags::new("");
    // An outlined word, as far as anybody can tell.
    let outlined = "<path d='M102 150 l3 -6 l3 6 z m6 0 v-6 h4 v6 z' fill='#1b1b1b'/>";
    let art = lettering(0, "Ada", 6.0, "") + &lettering(1, "Bo", 6.0, "") + outlined;
    let run = tags.against(b"Name\nAda\nBo\nCy\n", &art);
    let missing = of(&run, "name-missing");
    assert_eq!(missing.len(), 1, "{run:?}");
    assert!(
        missing[0].message.contains("A3") && missing[0].message.contains("cannot be read"),
        "{}",
        missing[0].message
    );
    let run = tags.against(b"Name,pocket\nAda,A1\nBo,A2\nCy,A3\n", &art);
    assert_eq!(of(&run, "name-missing")[0].pocket.as_deref(), Some("A3"));
}

#[test]
fn a_list_that_cannot_be_used_is_trouble_not_a_verdict() {
    let tags = Tags::new("");
    let art = names(["Ada", "Bo", "Cy"]);
    for (list, word) in [
        (&b"Who\nAda\n"[..], "\"Who\""),
        (&b"Name\nA\0da\n"[..], "zero bytes"),
        (&b"Name,pocket\nAda,Z9\n"[..], "Z9"),
    ] {
        let run = tags.against(list, &art);
        expect(&run, Unread, &[]);
        let trouble = run.trouble.unwrap();
        assert!(
            trouble.contains("orders.csv") && trouble.contains(word),
            "actual {trouble}, expected {word}"
        );
    }
}

#[test]
fn outlined_names_are_read_back() {
    let tags = Tags::new("");
    let three = |second: &str, transform: &str| {
        outlined(0, "Margaret", 5.0, "")
            + &outlined(1, second, 5.0, transform)
            + &outlined(2, "Stefan Rot", 4.0, "")
    };
    let list = b"Name\nMargaret\nJacob\nStefan Rot\n";
    expect(&tags.against(list, &three("Jacob", "")), Clear, &[]);
    let run = tags.against(list, &three("Jakob", ""));
    expect(&run, Hold, &["name-missing A2"]);
    assert!(run.findings[0].message.contains("\"Jakob\""), "{run:?}");
    // Upside down it is the same name, and held for that.
    let run = tags.against(list, &three("Jacob", "rotate(180)"));
    expect(&run, Hold, &["upside-down A2"]);
    // Ink beside it that was not read could be part of the name.
    let blot = "<path d='M79 150 l1.5 -4 l1 4 l-1 .4 z' fill='#1b1b1b'/>";
    let run = tags.against(list, &(three("Jacob", "") + blot));
    assert_eq!(of(&run, "name-missing").len(), 1, "{run:?}");
    assert!(
        of(&run, "name-missing")[0]
            .message
            .contains("cannot be read")
    );
}

#[test]
fn sharp_s_is_no_double_s_but_in_capitals() {
    let tags = Tags::new("");
    let with = |list: &str, name: &str| {
        tags.against(
            format!("Name\n{list}\nBo\nCy\n").as_bytes(),
            &names([name, "Bo", "Cy"]),
        )
    };
    for (list, name) in [
        ("Strauss", "Strau\u{df}"),
        ("Strau\u{df}", "Strauss"),
        ("Wei\u{df}", "Weiss"),
        ("I\u{15f}\u{131}l", "I\u{15f}il"),
    ] {
        expect(&with(list, name), Hold, &["name-missing A1"]);
    }
    for (list, name) in [
        ("Strau\u{df}", "STRAUSS"),
        ("Strauss", "STRAUSS"),
        ("STRAU\u{1e9e}", "Strau\u{df}"),
        ("Strau\u{df}", "strau\u{df}"),
    ] {
        expect(&with(list, name), Clear, &[]);
    }
}

#[test]
fn a_quantity_asks_for_the_name_as_often() {
    let tags = Tags::new("");
    let list = |qty: &str| {
        let file = tags.write(
            "orders.csv",
            format!("Name,Qty\nIsolde,{qty}\nTristan,1\n").as_bytes(),
        );
        Options {
            names: Some(jigwarden::tested::orders::Named {
                file,
                columns: vec!["Name".to_owned()],
                quantity: Some("Qty".to_owned()),
                ..Default::default()
            }),
            ..tags::asked()
        }
    };
    let art = names(["Isolde", "Tristan", "Isolde"]);
    expect(&tags.run_as(&art, &list("2")), Clear, &[]);
    expect(&tags.run_as(&art, &list("1")), Hold, &["name-twice A3"]);
    let run = tags.run_as(&art, &list("3"));
    expect(&run, Hold, &["name-missing"]);
    // Without --quantity the column is mentioned.
    let run = tags.against(b"Name,Qty\nIsolde,2\nTristan,1\n", &art);
    expect(&run, Hold, &["name-twice A3"]);
    assert!(
        run.notes.iter().any(|n| n.contains("--quantity")),
        "{:?}",
        run.notes
    );
}

#[test]
fn several_columns_stand_on_one_blank() {
    let tags = Tags::new("centred = \"free\"");
    let against = |list: &str, art: &str| {
        let file = tags.write("orders.csv", list.as_bytes());
        let named = jigwarden::tested::orders::Named {
            file,
            columns: vec!["Name".to_owned(), "Date".to_owned()],
            ..Default::default()
        };
        tags.run_as(
            art,
            &Options {
                names: Some(named),
                ..tags::asked()
            },
        )
    };
    let art = |dates: [&str; 3]| {
        names(["Ada", "Bo", "Cy"])
            + &dates
                .iter()
                .enumerate()
                .map(|(n, d)| lettering(n, d, 4.0, "translate(0 9)"))
                .collect::<String>()
    };
    let list = "Name,Date\nAda,1 May\nBo,2 June\nCy,3 July\n";
    expect(
        &against(list, &art(["1 May", "2 June", "3 July"])),
        Clear,
        &[],
    );
    // The date above the name is the same order.
    let above = lettering(0, "1 May", 4.0, "translate(0 -9)")
        + &lettering(1, "2 June", 4.0, "translate(0 9)")
        + &lettering(2, "3 July", 4.0, "translate(0 9)")
        + &names(["Ada", "Bo", "Cy"]);
    expect(&against(list, &above), Clear, &[]);
    let run = against(list, &art(["1 May", "3 June", "3 July"]));
    expect(&run, Hold, &["name-missing A2"]);
    let run = against(list, &art(["2 June", "1 May", "3 July"]));
    assert_eq!(run.verdict, Hold, "{run:?}");
}

#[test]
fn letters_that_look_alike_are_told_by_their_scripts() {
    let tags = Tags::new("");
    let told = |listed: &str, stands: &str| {
        let list = format!("Name\nAda\n{listed}\nCy\n");
        let run = tags.against(list.as_bytes(), &names(["Ada", stands, "Cy"]));
        assert_eq!(run.verdict, Hold, "{listed} {stands}");
        let said: Vec<&str> = run.findings.iter().map(|f| f.message.as_str()).collect();
        said.join("\n")
    };
    for (listed, stands, expected) in [
        // Cyrillic in the list, and in the drawing; Greek; one letter of two.
        ("S\u{43e}rrel", "Sorrel", "Cyrillic (U+043E)"),
        ("Sorrel", "S\u{43e}rrel", "Cyrillic (U+043E)"),
        ("Sorrel", "S\u{3bf}rrel", "Greek (U+03BF)"),
        ("S\u{43e}rrel", "Sorel", "Cyrillic (U+043E)"),
        // More letters than a slip has: the two stand apart, and each says it.
        ("Sorrel", "S\u{43e}rr\u{435}l", "Cyrillic (U+043E, U+0435)"),
        ("S\u{43e}rr\u{435}l", "Sorrel", "Cyrillic (U+043E, U+0435)"),
        ("ANNA", "\u{410}NN\u{410}", "Cyrillic (U+0410)"),
        (
            "Vera",
            "\u{412}\u{415}\u{420}\u{410}",
            "Cyrillic (U+0412, U+0415, U+0420, …)",
        ),
        // Forms of the same letter, and what does not show.
        ("Sorrel", "\u{ff33}orrel", "U+FF33"),
        ("Fiona", "\u{fb01}ona", "U+FB01"),
        ("Sorrel", "S\u{200d}or\u{200c}rel", "U+200D"),
    ] {
        let said = told(listed, stands);
        assert!(said.contains(expected), "{listed} {stands}: {said}");
    }
    // Where the list gives the pocket.
    let list = "Name,Pocket\nAda,A1\nVera,A2\nCy,A3\n";
    let run = tags.against(
        list.as_bytes(),
        &names(["Ada", "\u{412}\u{435}\u{440}\u{430}", "Cy"]),
    );
    assert!(run.findings[0].message.contains("Cyrillic"), "{run:?}");
    // Between names of one script there is nothing to say of it.
    for (listed, stands) in [
        ("John", "Jon"),
        ("Zo\u{eb}", "Zoe"),
        ("John", "Olga"),
        ("\u{418}\u{432}\u{430}\u{43d}", "\u{418}\u{432}\u{430}"),
    ] {
        let said = told(listed, stands);
        assert!(!said.contains("U+"), "{listed} {stands}: {said}");
    }
}
