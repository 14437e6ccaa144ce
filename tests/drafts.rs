//! `enrol` of drawings as different people make them: what each draft guesses is right, or asked.

use std::path::Path;

use crate::common::tags::asked;
use crate::common::tags::enrol;
use jigwarden::tested::artwork::mark::Operation;
use jigwarden::tested::enrolling::interview::{Answer, Ask, Asker};
use jigwarden::tested::enrolling::{self, Enrolled, How};
use jigwarden::tested::fixture::lock::Lock;
use jigwarden::tested::fixture::parse;
use jigwarden::tested::fixture::settings::Settings;

pub(crate) const CUT: &str = "#7b2d8b";
pub(crate) const SCORE: &str = "#0a7d55";
pub(crate) const ZONE: &str = "#c2185b";
const LABEL: &str = "#445566";

/// Takes guesses, says a body of 60 mm where nothing is guessed, and keeps what was asked.
#[derive(Default)]
struct Bench {
    heard: Vec<Ask>,
}

impl Asker for Bench {
    fn ask(&mut self, question: &Ask) -> Answer {
        self.heard.push(question.clone());
        match &question.guess {
            Some(_) => Answer::Guess,
            None if question.question.contains("from the tail") => Answer::Said("60 mm".to_owned()),
            None => Answer::Later,
        }
    }
}

pub(crate) struct Came {
    pub(crate) draft: String,
    pub(crate) settings: Settings,
    pub(crate) lock: Lock,
}

/// Drafts, answers and enrols.
pub(crate) fn came_of(body: &str, head: &str) -> Came {
    let folder = tempfile::tempdir().unwrap();
    let drawing = folder.path().join("drawing.svg");
    std::fs::write(
        &drawing,
        format!("<svg xmlns='http://www.w3.org/2000/svg' {head}>{body}</svg>"),
    )
    .unwrap();
    let Enrolled::Draft { .. } = enrol(&drawing, false, &asked()).unwrap() else {
        panic!("no draft");
    };
    let settings = folder.path().join("fixture.toml");
    let draft = std::fs::read_to_string(&settings).unwrap();
    everything_in_force_is_asked(&draft);
    // Unanswered, it does not enrol, and says on which lines.
    let refused = enrol(folder.path(), false, &asked()).unwrap_err();
    assert!(refused.text.contains("still asks"), "{refused:?}");
    std::fs::remove_file(&settings).unwrap();
    let mut bench = Bench::default();
    let how = How {
        renew: false,
        asker: Some(&mut bench),
    };
    let (done, _) = enrolling::enrol(&drawing, how, &asked(), |_, _| ()).unwrap_or_else(|e| {
        panic!("{} {}\n{draft}", e.text, e.detail);
    });
    let Enrolled::Locked { .. } = done else {
        panic!("held: {done:#?}\n{draft}");
    };
    let text = std::fs::read_to_string(&settings).unwrap();
    Came {
        draft,
        settings: parse::parse(Path::new("f/fixture.toml"), &text, &[]).unwrap(),
        lock: Lock::read(&folder.path().join("fixture.lock.json")).unwrap(),
    }
}

/// Whatever a draft puts in force stands below a question, but for the drawing's own name.
fn everything_in_force_is_asked(draft: &str) {
    let mut before = "";
    for line in draft.lines() {
        let bare = line.trim();
        let list = bare.ends_with('[') || bare == "]" || bare.starts_with("names = ");
        let heading = bare.starts_with('[');
        if !bare.is_empty()
            && !bare.starts_with('#')
            && !heading
            && !list
            && !bare.starts_with("drawing = ")
        {
            assert!(
                before.trim_start().starts_with("# confirm: "),
                "unasked: {line}\n{draft}"
            );
        }
        before = line;
    }
}

pub(crate) const PAGE: &str = "width='300mm' height='200mm' viewBox='0 0 300 200'";

pub(crate) fn line(d: &str, paint: &str) -> String {
    format!("<path d='{d}' fill='none' stroke='{paint}' stroke-width='0.1'/>")
}

pub(crate) fn rect(x: f64, y: f64, w: f64, h: f64, paint: &str) -> String {
    format!(
        "<rect x='{x}' y='{y}' width='{w}' height='{h}' fill='none' stroke='{paint}' stroke-width='0.1'/>"
    )
}

pub(crate) fn ring(x: f64, y: f64, r: f64, paint: &str) -> String {
    format!("<circle cx='{x}' cy='{y}' r='{r}' fill='none' stroke='{paint}' stroke-width='0.1'/>")
}

fn sheet() -> String {
    rect(10.0, 10.0, 280.0, 180.0, CUT)
}

/// Each of `count` pockets of 28.4 × 92.4 mm in a row, with more drawn for each.
fn each(count: usize, more: impl Fn(f64) -> String) -> String {
    (0..count)
        .map(|n| {
            let x = 20.0 + 40.0 * n as f64;
            rect(x, 40.0, 28.4, 92.4, CUT) + &more(x)
        })
        .collect()
}

fn mark(x: f64) -> String {
    line(&format!("M{} 36 l3 -3 l3 3", x + 11.0), SCORE)
}

#[track_caller]
pub(crate) fn is(came: &Came, pockets: usize, size: (f64, f64), head: f64) {
    let said = &came.draft;
    assert_eq!(came.lock.pockets.len(), pockets, "{said}");
    let (w, h) = came.settings.common.size.unwrap();
    assert!(
        (w - size.0).abs() < 0.1 && (h - size.1).abs() < 0.1,
        "{w} {h}\n{said}"
    );
    assert_eq!(came.settings.common.head, head, "{said}");
}

fn body(came: &Came) -> f64 {
    came.settings.common.body.unwrap()
}

#[test]
fn plain_pockets_in_a_sheet_leave_the_body_open() {
    let came = came_of(&(sheet() + &each(3, mark)), PAGE);
    is(&came, 3, (28.4, 92.4), 0.0);
    assert_eq!(body(&came), 60.0, "asked, not guessed");
    assert!(came.draft.contains("# body = \"64 mm\""), "{}", came.draft);
}

#[test]
fn ring_holes_show_the_head_and_where_the_body_ends() {
    let back = came_of(
        &(sheet() + &each(3, |x| ring(x + 14.2, 47.0, 3.0, CUT))),
        PAGE,
    );
    is(&back, 3, (28.4, 92.4), 0.0);
    // From the tail at 132.4 to the hole's near side at 50, less a millimetre.
    assert!((body(&back) - 81.4).abs() < 0.05, "{}", body(&back));
    let front = came_of(
        &(sheet() + &each(3, |x| ring(x + 14.2, 125.0, 3.0, CUT))),
        PAGE,
    );
    is(&front, 3, (28.4, 92.4), 180.0);
}

#[test]
fn four_pockets_with_holes_and_no_sheet_are_no_four_sheets() {
    let came = came_of(&each(4, |x| ring(x + 14.2, 47.0, 4.0, CUT)), PAGE);
    is(&came, 4, (28.4, 92.4), 0.0);
    assert!(
        came.draft.contains("in pockets: no pockets themselves"),
        "{}",
        came.draft
    );
    // Two holes each, more of them than of pockets.
    let two = came_of(
        &each(4, |x| {
            ring(x + 8.0, 48.0, 4.0, CUT) + &ring(x + 20.0, 48.0, 4.0, CUT)
        }),
        PAGE,
    );
    is(&two, 4, (28.4, 92.4), 0.0);
}

#[test]
fn heads_that_lie_the_other_way_become_exceptions() {
    let turned = (0..6)
        .map(|n| {
            let (x, flipped) = (20.0 + 40.0 * f64::from(n), n % 3 == 2);
            let y = if flipped { 125.0 } else { 47.0 };
            rect(x, 40.0, 28.4, 92.4, CUT) + &ring(x + 14.2, y, 3.0, CUT)
        })
        .collect::<String>();
    let came = came_of(&(sheet() + &turned), PAGE);
    is(&came, 6, (28.4, 92.4), 0.0);
    let head = |name: &str| came.settings.pocket(name).head;
    assert_eq!((head("A3"), head("A6"), head("A4")), (180.0, 180.0, 0.0));
}

#[test]
fn zones_in_a_second_colour_are_zones() {
    let zones = |x: f64| rect(x + 3.0, 70.0, 22.4, 59.0, ZONE);
    let came = came_of(&(sheet() + &each(3, |x| zones(x) + &mark(x))), PAGE);
    is(&came, 3, (28.4, 92.4), 0.0);
    assert_eq!(
        came.settings.drawn_zones.map(|c| c.to_string()).as_deref(),
        Some(ZONE)
    );
    // With holes beside them.
    let came = came_of(
        &(sheet() + &each(3, |x| zones(x) + &ring(x + 14.2, 47.0, 3.0, CUT))),
        PAGE,
    );
    is(&came, 3, (28.4, 92.4), 0.0);
    assert!(came.settings.drawn_zones.is_some());
}

#[test]
fn an_outline_of_the_blank_is_a_guide_and_off() {
    let came = came_of(
        &(sheet() + &each(3, |x| rect(x + 0.2, 40.2, 28.0, 92.0, "#9aa0a6") + &mark(x))),
        PAGE,
    );
    is(&came, 3, (28.4, 92.4), 0.0);
    assert!(came.settings.drawn_zones.is_none());
    let off = jigwarden::tested::artwork::mark::Operation::Off;
    assert_eq!(
        came.settings
            .paints
            .listed
            .values()
            .filter(|o| **o == off)
            .count(),
        1
    );
}

#[test]
fn text_on_the_drawing_is_a_label() {
    let text = |paint: &str| {
        format!(
            "<text x='20' y='185' font-family='Ubuntu' font-weight='300' font-size='6' fill='{paint}'>BOARD 8</text>"
        )
    };
    let came = came_of(&(sheet() + &each(3, mark) + &text(LABEL)), PAGE);
    is(&came, 3, (28.4, 92.4), 0.0);
    assert!(came.draft.contains("probably a label"), "{}", came.draft);
    // In the paint of the pockets it would be cut, which is said; its letters are no pockets.
    let came = came_of(&(sheet() + &each(3, mark) + &text(CUT)), PAGE);
    is(&came, 3, (28.4, 92.4), 0.0);
    assert!(came.draft.contains("would be cut too"), "{}", came.draft);
}

#[test]
fn frames_groups_and_merged_outlines() {
    let frame = rect(5.0, 5.0, 290.0, 190.0, CUT);
    is(
        &came_of(&(frame + &sheet() + &each(3, mark)), PAGE),
        3,
        (28.4, 92.4),
        0.0,
    );
    let nested = format!(
        "<g transform='translate(20 0)'><g transform='scale(0.5)'><g>{}</g></g></g>",
        (0..3)
            .map(|n| rect(20.0 + 80.0 * f64::from(n), 80.0, 56.8, 184.8, CUT)
                + &line(&format!("M{} 72 l6 -6 l6 6", 42 + 80 * n), SCORE))
            .collect::<String>()
    );
    is(&came_of(&(sheet() + &nested), PAGE), 3, (28.4, 92.4), 0.0);
    // Sheet and pockets in one path, some run the other way.
    let one = line(
        "M10 10H290V190H10Z M20 40V132.4H48.4V40Z M60 40H88.4V132.4H60Z M100 40V132.4H128.4V40Z",
        CUT,
    ) + &mark(20.0)
        + &mark(60.0)
        + &mark(100.0);
    is(&came_of(&one, PAGE), 3, (28.4, 92.4), 0.0);
}

#[test]
fn pockets_with_five_nodes_or_in_pieces() {
    let five: String = (0..3)
        .map(|n| {
            let x = 20 + 40 * n;
            line(
                &format!(
                    "M{x} 40 L{} 40 L{} 132.4 L{x} 132.4 L{x} 40",
                    f64::from(x) + 28.4,
                    f64::from(x) + 28.4
                ),
                CUT,
            ) + &mark(f64::from(x))
        })
        .collect();
    is(&came_of(&(sheet() + &five), PAGE), 3, (28.4, 92.4), 0.0);
    let pieces: String = (0..3)
        .map(|n| {
            let (l, r) = (20.0 + 40.0 * f64::from(n), 48.4 + 40.0 * f64::from(n));
            [
                format!("M{l} 40 H{r}"),
                format!("M{r} 40 V132.4"),
                format!("M{r} 132.4 H{l}"),
                format!("M{l} 132.4 V40"),
            ]
            .map(|d| line(&d, CUT))
            .concat()
                + &mark(l)
        })
        .collect();
    is(&came_of(&(sheet() + &pieces), PAGE), 3, (28.4, 92.4), 0.0);
}

#[test]
fn round_blanks_are_engraved_all_over() {
    let discs: String = (0..3)
        .map(|n| {
            let x = 60.0 + 85.0 * f64::from(n);
            ring(x, 100.0, 40.0, CUT) + &line(&format!("M{} 56 l3 -3 l3 3", x - 3.0), SCORE)
        })
        .collect();
    let came = came_of(&(sheet() + &discs), PAGE);
    is(&came, 3, (80.0, 80.0), 0.0);
    assert!((body(&came) - 80.0).abs() < 0.05);
}

#[test]
fn a_narrow_end_shows_the_ring() {
    // 30 × 60 mm of body, a ring 12 mm wide and 20 mm long past it, to the left.
    let fobs: String = (0..3)
        .map(|n| {
            let y = 20.0 + 50.0 * f64::from(n);
            line(&format!("M100 {y} h60 v30 h-60 v-9 h-20 v-12 h20 z"), CUT)
        })
        .collect();
    let came = came_of(&(sheet() + &fobs), PAGE);
    is(&came, 3, (30.0, 80.0), 270.0);
    assert!((body(&came) - 60.0).abs() < 1.5, "{}", body(&came));
}

#[test]
fn lying_pockets_have_their_length_along() {
    let lying: String = (0..3)
        .map(|n| {
            let y = 20.0 + 40.0 * f64::from(n);
            rect(40.0, y, 92.4, 28.4, CUT) + &ring(125.0, y + 14.2, 3.0, CUT)
        })
        .collect();
    is(&came_of(&(sheet() + &lying), PAGE), 3, (28.4, 92.4), 90.0);
}

#[test]
fn one_pocket_with_its_hole_in_a_sheet() {
    let came = came_of(
        &(sheet() + &each(1, |x| ring(x + 14.2, 47.0, 3.0, CUT))),
        PAGE,
    );
    is(&came, 1, (28.4, 92.4), 0.0);
}

#[test]
fn pin_holes_in_the_sheet_are_no_pockets() {
    let pins: String = [(15.0, 15.0), (285.0, 15.0), (15.0, 185.0), (285.0, 185.0)]
        .iter()
        .map(|(x, y)| ring(*x, *y, 2.0, CUT))
        .collect();
    let came = came_of(&(sheet() + &each(3, mark) + &pins), PAGE);
    is(&came, 3, (28.4, 92.4), 0.0);
}

#[test]
fn inches_classes_and_fills() {
    let inch = came_of(
        &(sheet() + &each(3, mark)),
        "width='11.811023622in' height='7.874015748in' viewBox='0 0 300 200'",
    );
    is(&inch, 3, (28.4, 92.4), 0.0);
    assert_eq!(
        inch.settings.bed.shown,
        jigwarden::tested::units::Shown::Inch
    );
    let classes = format!("<style>.c{{fill:none;stroke:{CUT};stroke-width:.1px}}</style>")
        + "<rect class='c' x='10' y='10' width='280' height='180'/>"
        + &(0..3)
            .map(|n| {
                let x = 20 + 40 * n;
                format!("<rect class='c' x='{x}' y='40' width='28.4' height='92.4' rx='4'/>")
                    + &mark(f64::from(x))
            })
            .collect::<String>();
    is(&came_of(&classes, PAGE), 3, (28.4, 92.4), 0.0);
    let fills: String = (0..3)
        .map(|n| {
            format!(
                "<rect x='{}' y='40' width='28.4' height='92.4' fill='{CUT}'/>",
                20 + 40 * n
            )
        })
        .collect();
    is(&came_of(&fills, PAGE), 3, (28.4, 92.4), 0.0);
}

#[test]
fn a_blank_drawing_says_so_and_leaves_no_draft() {
    for body in [
        "",
        "<path d='M10 10 h50' stroke='#7b2d8b'/>",
        "<text x='5' y='9'>a</text>",
    ] {
        let folder = tempfile::tempdir().unwrap();
        let drawing = folder.path().join("drawing.svg");
        std::fs::write(
            &drawing,
            format!("<svg xmlns='http://www.w3.org/2000/svg' {PAGE}>{body}</svg>"),
        )
        .unwrap();
        let said = enrol(&drawing, false, &asked()).unwrap_err();
        assert!(said.text.contains("no closed outline found"), "{said:?}");
        assert!(!folder.path().join("fixture.toml").exists());
    }
}

#[test]
fn no_colour_is_guessed_for_what_colour_it_is() {
    // The same drawing in six pairs of colours: each guess follows the lines, not the colour.
    let colours = [
        "#ff0000", "#0000ff", "#000000", "#00ff00", "#123456", "#ffff00",
    ];
    for (n, cut) in colours.iter().enumerate() {
        let other = colours[(n + 1) % colours.len()];
        let drawn = (sheet() + &each(3, mark))
            .replace(CUT, cut)
            .replace(SCORE, other);
        let came = came_of(&drawn, PAGE);
        let listed = |c: &str| {
            let (colour, _) = jigwarden::tested::artwork::colour::colour(c).unwrap();
            came.settings.listed(colour)
        };
        assert_eq!(
            (listed(cut), listed(other)),
            (Some(Operation::Cut), Some(Operation::Score)),
            "{}",
            came.draft
        );
        // And none is proposed that is not in the drawing, but for this project's own examples.
        for colour in ["#ff0000", "#0000ff", "#000000"] {
            let drawn = colour == *cut || colour == other;
            assert!(
                drawn || !came.draft.contains(colour),
                "{colour}\n{}",
                came.draft
            );
        }
    }
}

#[test]
fn the_unanswered_are_counted_and_their_lines_named() {
    let folder = tempfile::tempdir().unwrap();
    let drawing = folder.path().join("drawing.svg");
    std::fs::write(
        &drawing,
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' {PAGE}>{}{}</svg>",
            sheet(),
            each(3, mark)
        ),
    )
    .unwrap();
    let Enrolled::Draft { confirm, .. } = enrol(&drawing, false, &asked()).unwrap() else {
        panic!("no draft");
    };
    let settings = folder.path().join("fixture.toml");
    let mut left = confirm;
    loop {
        let text = std::fs::read_to_string(&settings).unwrap();
        let first = text
            .lines()
            .position(|l| l.trim_start().starts_with("# confirm:"));
        let Some(first) = first else { break };
        let said = enrol(folder.path(), false, &asked()).unwrap_err();
        let count = if left == 1 {
            "one question, on line".to_owned()
        } else {
            format!("{left} questions, on lines")
        };
        assert!(said.text.contains(&count), "{said:?}");
        assert!(said.text.contains(&format!(" {}", first + 1)), "{said:?}");
        assert!(
            said.detail.contains(&format!("line {}:", first + 1)),
            "{said:?}"
        );
        let kept: Vec<&str> = text
            .lines()
            .enumerate()
            .filter(|(n, _)| *n != first)
            .map(|(_, l)| l)
            .collect();
        std::fs::write(&settings, kept.join("\n") + "\n").unwrap();
        left -= 1;
    }
    assert_eq!(left, 0);
    // The body has no guess: without it the whole blank would be taken, so a person must have decided.
    assert!(matches!(
        enrol(folder.path(), false, &asked()).unwrap(),
        Enrolled::Locked { .. }
    ));
}
