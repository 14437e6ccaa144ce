use std::sync::Arc;

use jigwarden::tested::finding::{Severity, Source};
use jigwarden::tested::report::text::{Look, render};
use jigwarden::tested::report::{Report, Verdict};
use jigwarden::tested::typeset::columns;
use kurbo::Rect;

use crate::report::sample;

const LOOK: Look = Look {
    width: 80,
    unicode: true,
    colour: false,
    every: false,
    quiet: false,
    excerpts: true,
};

#[test]
fn at_eighty_columns() {
    insta::assert_snapshot!(render(&sample::report(), &LOOK));
}

#[test]
fn at_sixty_columns() {
    insta::assert_snapshot!(render(&sample::report(), &Look { width: 60, ..LOOK }));
}

#[test]
fn at_a_hundred_and_twenty_columns_without_excerpts() {
    insta::assert_snapshot!(render(
        &sample::report(),
        &Look {
            width: 120,
            excerpts: false,
            ..LOOK
        }
    ));
}

#[test]
fn in_ascii() {
    let text = render(
        &sample::report(),
        &Look {
            unicode: false,
            ..LOOK
        },
    );
    assert!(text.is_ascii());
    insta::assert_snapshot!(text);
}

#[test]
fn every_finding_in_full() {
    let report = Report {
        runs: vec![sample::held()],
    };
    let text = render(
        &report,
        &Look {
            every: true,
            excerpts: false,
            ..LOOK
        },
    );
    for (i, f) in report.runs[0].findings.iter().enumerate() {
        let start = format!(
            "  {:>2}  {}",
            i + 1,
            f.pocket.as_deref().unwrap_or("no operation")
        );
        assert!(
            text.lines().any(|l| l.starts_with(&start)),
            "no line starts with {start:?} in\n{text}"
        );
    }
}

#[test]
fn quiet_is_a_line_a_file() {
    insta::assert_snapshot!(render(&sample::report(), &Look { quiet: true, ..LOOK }), @r#"
    HOLD   monday.svg   fixture "Hive tags, twelve up" 7K3-Q9F
    CLEAR  runs/tuesday.svg   fixture "Hive tags, twelve up" 7K3-Q9F
    UNREAD wednesday.svg
    "#);
}

#[test]
fn one_clear_file() {
    insta::assert_snapshot!(render(&Report { runs: vec![sample::clear()] }, &LOOK), @r#"
    CLEAR  runs/tuesday.svg   fixture "Hive tags, twelve up" 7K3-Q9F
           12 names compared with orders.csv; all 12 pockets taken as loaded; zones
           from body and margin; face Ubuntu light
           not checked: stock, focus, power, extraction, fire watch, fixture seated.
           The machine's manual and local rules come first.
    "#);
}

#[test]
fn nothing_inspected_is_no_verdict() {
    assert_eq!(render(&Report::default(), &LOOK), "");
}

#[test]
fn cautions_that_hold_say_why() {
    let mut run = sample::held();
    run.findings.retain(|f| f.severity != Severity::Hold);
    run.notes.clear();
    insta::assert_snapshot!(render(
        &Report { runs: vec![run] },
        &Look {
            excerpts: false,
            ..LOOK
        }
    ));
}

#[test]
fn cautions_alone_leave_a_file_clear() {
    let mut run = sample::held();
    run.findings.retain(|f| f.severity != Severity::Hold);
    run.verdict = Verdict::Clear;
    let text = render(&Report { runs: vec![run] }, &LOOK);
    assert!(text.contains("\n  asks for a look\n"), "{text}");
    assert!(text.contains("come first.\n"), "{text}");
}

#[test]
fn no_line_is_wider_than_the_screen() {
    for width in 60..=130 {
        for unicode in [true, false] {
            for every in [true, false] {
                let look = Look {
                    width,
                    unicode,
                    every,
                    ..LOOK
                };
                for line in render(&sample::report(), &look).lines() {
                    assert!(columns(line) <= width, "at {width}: {line}");
                }
            }
        }
    }
}

#[test]
fn colour_is_never_needed() {
    let plain = render(&sample::report(), &LOOK);
    let coloured = render(
        &sample::report(),
        &Look {
            colour: true,
            ..LOOK
        },
    );
    assert!(coloured.contains("\x1b["));
    assert!(!plain.contains('\x1b'));
    let mut bare = String::new();
    for (i, part) in coloured.split("\x1b[").enumerate() {
        bare.push_str(if i == 0 {
            part
        } else {
            part.split_once('m').unwrap().1
        });
    }
    assert_eq!(bare, plain);
}

#[test]
fn the_same_every_time() {
    assert_eq!(
        render(&sample::report(), &LOOK),
        render(&sample::report(), &LOOK)
    );
}

#[test]
fn a_minified_megabyte_is_told_on_a_few_lines() {
    let path = format!("<path d=\"{}\"/>", "M12.5 40.25h3v-3z".repeat(20));
    let svg = format!("<svg>{}</svg>", path.repeat(4000));
    assert!(svg.len() > 1_000_000);
    let mut run = sample::held();
    run.findings.truncate(0);
    run.notes.clear();
    for i in 0..4000 {
        let mut f = sample::find(
            "paint-unknown",
            "dot",
            None,
            Rect::ZERO,
            "no operation claims #123456",
            "list it",
        );
        let start = 5 + i * path.len();
        f.source = Some(Source {
            range: start..start + path.len(),
            element: "path".into(),
            id: None,
        });
        run.findings.push(f);
    }
    run.text = Arc::from(svg);
    let report = Report { runs: vec![run] };
    insta::assert_snapshot!(render(&report, &LOOK));
    // Each in full: four thousand look-ups on one line must not take four thousand megabytes.
    let before = std::time::Instant::now();
    let text = render(
        &report,
        &Look {
            every: true,
            ..LOOK
        },
    );
    assert!(
        before.elapsed().as_secs() < 20,
        "took {:?}",
        before.elapsed()
    );
    assert_eq!(text.matches("no operation claims").count(), 4000);
}

#[test]
fn names_from_a_file_cannot_steer_the_terminal() {
    let mut run = sample::held();
    run.file = "mon\x1b[2Jday.svg".to_owned();
    run.notes = vec!["a note\x07 with a bell\u{202e}".to_owned()];
    for f in &mut run.findings {
        f.message = "\"\x1b]0;title\x07\" is here".to_owned();
        f.help = "do\u{9b}31m it".to_owned();
        f.pocket = Some("A\x1b1".to_owned());
    }
    for unicode in [true, false] {
        let text = render(
            &Report {
                runs: vec![run.clone()],
            },
            &Look { unicode, ..LOOK },
        );
        assert!(
            !text
                .chars()
                .any(|c| (c.is_control() && c != '\n') || c == '\u{202e}'),
            "{text:?}"
        );
    }
}
