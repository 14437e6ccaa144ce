//! `mend` where the file is written in a way that once led it astray: what was changed, and what was left.

use crate::common::run::{self, ENGRAVE, Motion, OFF, RunFile};
use crate::common::tags::{self, Tags};
use crate::common::{asked, fixture};
use jigwarden::tested::mend::{Mended, Wanted, mend};
use jigwarden::tested::report::Verdict;

fn mended(text: &str) -> Mended {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("run.svg");
    std::fs::write(&path, text).unwrap();
    mend(&path, &asked(&fixture("hive-tags")), &Wanted::default()).unwrap()
}

#[track_caller]
fn clear(is: &Mended) {
    assert_eq!(is.before.verdict, Verdict::Hold);
    assert_eq!(is.after.verdict, Verdict::Clear, "{:?}", is.after.findings);
}

/// A pocket with its name dragged 5 mm: the name is past its zone by 1 mm, and not to be moved by that.
#[test]
fn a_pocket_that_was_moved_with_its_name_goes_back_with_it() {
    let mut run = RunFile::clear();
    let by = Motion::by(5.0, -4.0);
    run.move_pocket("B2", by);
    let name = run.name("B2");
    (name.x, name.y) = (name.x + 5.0, name.y - 4.0);
    let is = mended(&run.svg());
    clear(&is);
    assert!(is.after.findings.is_empty(), "{:?}", is.after.findings);
    let both = "move the outline 5 mm to the left and 4 mm towards the front, and the art with it";
    let [done] = is.done.as_slice() else {
        panic!("{:?}", is.done);
    };
    assert_eq!(done.says, both);
}

/// The name lies right for neither: nobody but the person knows what was moved.
#[test]
fn a_pocket_and_a_name_that_lie_apart_are_asked_about() {
    let mut run = RunFile::clear();
    run.move_pocket("B2", Motion::by(2.0, 0.0));
    run.name("B2").x += 1.2;
    let is = mended(&run.svg());
    let found = is.before.findings.iter().find(|f| f.rule == "pocket-moved");
    let choices = &found.unwrap().remedy.choices;
    let names: Vec<&str> = choices.iter().map(|c| c.name.as_ref()).collect();
    assert_eq!(names, ["outline", "both"]);
    assert!(is.done.is_empty(), "{:?}", is.done);
}

/// Everything was flipped: the names are mirrored only because of it, and are left until it is decided.
#[test]
fn what_may_come_of_an_undecided_slip_waits_for_it() {
    let run = RunFile::clear();
    let flipped = format!(
        "<g transform='translate(224) scale(-1 1)'>{}</g>",
        run.body()
    );
    let whole = run.svg().replace(&run.body(), &flipped);
    let is = mended(&whole);
    assert!(is.done.is_empty(), "{:?}", is.done);
    let waiting = is.before.findings.iter().filter(|f| f.rule == "mirrored");
    for finding in waiting {
        assert!(
            finding.because_of.is_some()
                || finding.help == "decide about fixture-shifted first: this may come only of it",
            "{finding:?}"
        );
    }
}

/// Not every reader knows a transform on a drawing in a drawing.
#[test]
fn a_drawing_in_the_drawing_gets_no_transform() {
    let run = RunFile::clear().moved(Motion::by(22.0, -9.0));
    let inner = format!(
        "<svg x='0' y='0' width='600' height='400' viewBox='0 0 600 400'>{}</svg>",
        run.body()
    );
    let is = mended(
        &RunFile::clear()
            .svg()
            .replace(&RunFile::clear().body(), &inner),
    );
    clear(&is);
    assert!(is.text.contains("<svg x='0' y='0'"), "{}", is.text);
}

/// Each of many elements on one line of the file is named.
#[test]
fn every_element_of_a_file_without_line_breaks_is_named() {
    let run = RunFile::clear().moved(Motion::by(12.0, -9.0));
    let apart = run
        .svg()
        .replace("<g fill=\"none\"", "<g data-is=\"lines\" fill=\"none\"");
    let mut apart = apart.replace('\n', "");
    // Something else stands in each group, so that whole groups cannot be moved.
    apart = apart.replacen(
        "<path",
        "<g><path d='M599 399z' stroke='none'/></g><path",
        1,
    );
    let is = mended(&apart);
    let named: usize = is.done.iter().map(|d| d.elements.len()).sum();
    let touched = is.text.matches("transform=").count();
    assert!(
        named >= touched && touched > 0,
        "{named} {touched} {:?}",
        is.done
    );
}

/// A path of all lines: several of its parts are changed in one edit.
#[test]
fn lines_of_one_path_that_were_dragged_alone_go_back() {
    let lines = RunFile::clear().moved(Motion::by(12.7, 0.0));
    let data: String = lines.lines().into_iter().map(|s| run::data(s)).collect();
    let path = format!("<path fill='none' stroke='{OFF}' stroke-width='0.1' d='{data}'/>");
    let sound = RunFile::clear();
    let is = mended(&sound.svg().replace(&sound.lines_group(), &path));
    clear(&is);
    assert!(is.after.findings.is_empty(), "{:?}", is.after.findings);
}

/// What lies inside a contour of a path is another contour.
#[test]
fn of_a_path_only_the_contour_that_is_meant_changes() {
    let mut run = RunFile::clear();
    run.move_pocket("A3", Motion::by(0.4, 0.3));
    // A part of the fixture's own art that lies in the pocket, in the same path, off as well.
    let (x, y) = run::corner(run::index("A3"));
    let cross = format!("M{} {}h4v4h-4z", x + 12.0, y + 80.0);
    let data: String = run.lines().into_iter().map(|s| run::data(s)).collect();
    let path = format!("<path fill='none' stroke='{OFF}' stroke-width='0.1' d='{data}{cross}'/>");
    let is = mended(&run.svg().replace(&run.lines_group(), &path));
    clear(&is);
    assert!(is.text.contains(&cross), "{}", is.text);
}

/// One outline, cloned to twelve places, is painted at the clone.
#[test]
fn a_clone_that_gives_its_paint_is_painted_itself() {
    let sound = RunFile::clear();
    let base = run::data(&run::tag((0.0, 0.0)));
    let clones = |inherited: bool| -> String {
        let own = if inherited {
            String::new()
        } else {
            format!(" stroke='{OFF}'")
        };
        let uses: String = (0..12)
            .map(|p| {
                let (x, y) = run::corner(p);
                let paint = if p == 3 { run::CUT } else { OFF };
                format!("<use href='#tag' x='{x}' y='{y}' stroke='{paint}'/>")
            })
            .collect();
        format!(
            "<defs><path id='tag' d='{base}'{own}/></defs><g fill='none' stroke-width='0.1'>{uses}</g>"
        )
    };
    let is = mended(&sound.svg().replace(&sound.lines_group(), &clones(true)));
    clear(&is);
    assert_eq!(
        is.text.matches(&format!("stroke='{OFF}'")).count(),
        12,
        "{}",
        is.text
    );
}

/// A name in pieces that follow each other is one line; pieces far apart are not.
#[test]
fn a_line_in_pieces_is_moved_whole_and_pieces_apart_are_left() {
    let name =
        |text: &str, x: f64| format!("<text x=\"{x}\" y=\"358\" font-size=\"5\">{text}</text>\n");
    let sound = RunFile::clear().svg();
    let pieces = "<tspan dx='.3'>Ta</tspan><tspan dx='.1'>nsy</tspan>";
    let is = mended(&sound.replace(&name("Tansy", 130.0), &name(pieces, 137.0)));
    clear(&is);
    assert_eq!(is.text.matches("transform=").count(), 1, "{}", is.text);
    // The second piece stands in the next pocket.
    let both = name("Tansy", 130.0) + &name("Yarrow", 166.0);
    let apart = "<tspan>Tansy</tspan><tspan dx='21'>Yarrow</tspan>";
    let is = mended(&sound.replace(&both, &name(apart, 155.5)));
    assert!(!is.text.contains("transform="), "{}", is.text);
}

/// Of several spans set down by themselves, one that lies on another is taken out; the last only where
/// no white space before it would then end the line above.
#[test]
fn a_span_is_taken_out_where_nothing_else_moves() {
    let sound = RunFile::clear();
    let span = |n: &run::Name| format!("<tspan x='{}' y='{}'>{}</tspan>\n", n.x, n.y, n.text);
    let text = |spans: &str| {
        format!(
            "<text font-family='Ubuntu' font-weight='300' font-size='5' text-anchor='middle' fill='{ENGRAVE}'>{spans}</text>"
        )
    };
    let all: Vec<String> = sound.names.iter().map(span).collect();
    let file = |spans: String| sound.svg().replace(&sound.names_group(), &text(&spans));
    let twice = file(all[4].clone() + &all.concat());
    let is = mended(&twice);
    clear(&is);
    assert_eq!(is.text.matches("<tspan").count(), 12, "{}", is.text);
    // Spans that are part of a running line are not.
    let run_on = all
        .concat()
        .replacen("<tspan x='22'", "<tspan>x</tspan><tspan x='22'", 1);
    let is = mended(&file(all[4].clone() + &run_on));
    assert!(is.text.contains("<tspan>x</tspan>"), "{}", is.text);
}

/// A declaration that was `!important` still is.
#[test]
fn a_paint_that_beat_a_sheet_beats_it_still() {
    let sound = RunFile::clear();
    let lines = sound
        .lines_group()
        .replace("<path", "<path style='stroke:#7b2d8b!important'");
    let sheet = "<style>path{stroke:#0a7d55 !important}</style>";
    let is = mended(
        &sound
            .svg()
            .replace(&sound.lines_group(), &(sheet.to_owned() + &lines)),
    );
    clear(&is);
    let off = format!("stroke:{OFF} !important");
    assert_eq!(is.text.matches(&off).count(), 14, "{}", is.text);
}

/// An outline that stands in an entity cannot be put back; until it is, its name is not moved either.
#[test]
fn a_name_waits_for_its_pocket() {
    let mut run = RunFile::clear();
    run.move_pocket("B2", Motion::by(5.0, -4.0));
    run.name("B2").x += 5.0;
    let lines = run.lines_group().replace('\n', "");
    let file = run.svg().replace(&run.lines_group(), "&lines;");
    let is = mended(&format!("<!DOCTYPE svg [<!ENTITY lines '{lines}'>]>{file}"));
    let past = is.before.findings.iter().find(|f| f.rule == "past-zone");
    assert_eq!(
        past.unwrap().help,
        "put pocket-moved right first: where this belongs depends on it"
    );
    assert!(is.done.is_empty(), "{:?}", is.done);
}

/// A name between two pockets, its letters outlined: those that lie in a pocket are not moved alone.
#[test]
fn no_letter_is_torn_off_its_word() {
    let tags = Tags::new("");
    let letters = tags::outlined(0, "Yarrow", 6.0, "translate(17 0)");
    let rest = tags::lettering(2, "Rue", 5.0, "");
    let body = tags::outlines(true) + &letters + &rest;
    let path = tags.write("run.svg", tags::page(&body).as_bytes());
    let is = mend(&path, &tags::asked(), &Wanted::default()).unwrap();
    let rules: Vec<&str> = is.before.findings.iter().map(|f| f.rule).collect();
    assert!(rules.contains(&"off-blank"), "{rules:?}");
    assert!(rules.contains(&"past-zone"), "{rules:?}");
    assert!(is.done.is_empty(), "{:?}", is.done);
}

/// What stands in the way is said.
#[test]
fn what_is_left_says_why() {
    let sound = RunFile::clear();
    let lines = sound.lines_group().replace('\n', "").replace(OFF, run::CUT);
    let file = sound.svg().replace(&sound.lines_group(), "&lines;");
    let is = mended(&format!("<!DOCTYPE svg [<!ENTITY lines '{lines}'>]>{file}"));
    let why = is
        .after
        .findings
        .iter()
        .find_map(|f| f.remedy.hindered.clone());
    let why = why.unwrap_or_default();
    assert!(
        why.starts_with("it stands in an entity of the file"),
        "{why}"
    );
}

/// Off the bed and past its zone: each remedy alone puts it right, and both would move it twice.
#[test]
fn one_element_is_not_moved_by_two_remedies_at_once() {
    let sound = RunFile::clear();
    let own = "<text x=\"22\" y=\"358\" font-size=\"5\">";
    for slip in [
        "<text x=\"13.6\" y=\"355.3\" font-size=\"5\">",
        "<text x=\"22\" y=\"358\" font-size=\"5\" transform=\"translate(22 358) scale(1.61) translate(-22 -358)\">",
        "<text x=\"22\" y=\"358\" font-size=\"8.05\">",
    ] {
        let is = mended(&sound.svg().replace(own, slip));
        clear(&is);
        let [done] = is.done.as_slice() else {
            panic!("{slip}: {:?}", is.done);
        };
        assert_eq!(done.pocket.as_deref(), Some("A1"));
    }
}

/// The same name again, dragged past its zone: moved back in, the pocket would have it twice.
#[test]
fn a_copy_past_its_zone_is_asked_about() {
    let mut run = RunFile::clear();
    let mut copy = run.name("A5").clone();
    (copy.x, copy.y) = (copy.x + 9.0, copy.y + 11.0);
    run.names.push(copy);
    let is = mended(&run.svg());
    assert!(is.done.is_empty(), "{:?}", is.done);
    let found = is.before.findings.iter().find(|f| f.rule == "past-zone");
    let choices = found.unwrap().remedy.choices.iter();
    let offered: Vec<String> = choices
        .map(|c| format!("{}: {}", c.name, c.assumes))
        .collect();
    assert_eq!(
        offered,
        ["delete: it is one too many", "move: both are wanted"]
    );
}
