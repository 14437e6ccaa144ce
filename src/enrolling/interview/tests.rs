#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use super::*;

const DRAFT: &str = "[fixture]
drawing = \"fixture.svg\"
# confirm: which corner has the stops?
stops = \"front-left\"

[bed]
# confirm: how wide is the bed?
# width = \"600 mm\"
# confirm: how deep?
height = \"400 mm\"

[paints]
cut = [
    # confirm: 4 closed lines: cut, score, engrave or off?
    \"#7b2d8b\",
    # confirm: 1 closed line: cut, score, engrave or off?
    \"#0a7d55\",
]
# score = [\"#0a7d55\"]

[blank]
# confirm: what does the blank measure?
size = [\"28.4 mm\", \"92.4 mm\"]
# confirm: how much of it may be engraved?
# body = \"64 mm\"                   # from the tail
";

/// Answers by the first words of a question, takes other guesses, and keeps what it heard.
struct By(Vec<(&'static str, Vec<&'static str>)>, Vec<Ask>);

impl Asker for By {
    fn ask(&mut self, question: &Ask) -> Answer {
        self.1.push(question.clone());
        let answers = self
            .0
            .iter_mut()
            .find(|(begins, _)| question.question.starts_with(begins));
        match answers {
            Some((_, answers)) if !answers.is_empty() => Answer::Said(answers.remove(0).to_owned()),
            _ if question.guess.is_some() => Answer::Guess,
            _ => Answer::Later,
        }
    }
}

fn answered(by: &mut By) -> String {
    interview(Path::new("f/fixture.toml"), DRAFT, by)
}

#[test]
fn answers_stand_where_the_guesses_stood() {
    let mut by = By(
        vec![
            ("which corner", vec!["back-right"]),
            ("how wide", vec!["24 in"]),
            ("1 closed", vec!["score"]),
            ("what does", vec!["28 mm x 92 mm"]),
            ("how much", vec!["60 mm"]),
        ],
        Vec::new(),
    );
    let text = answered(&mut by);
    let settings = parse::parse(Path::new("f/fixture.toml"), &text, &[]).unwrap();
    assert_eq!(settings.stops, crate::fixture::settings::Stops::BackRight);
    assert!((settings.bed.width - 609.6).abs() < 1e-9);
    assert_eq!(settings.common.size, Some((28.0, 92.0)));
    assert_eq!(settings.common.body, Some(60.0));
    assert!(text.contains("score = [\n    \"#0a7d55\",\n]"), "{text}");
    assert!(draft::unconfirmed(&text).is_empty(), "{text}");
    let heard: Vec<_> = by.1.iter().map(|a| (a.number, a.of)).collect();
    assert_eq!(heard, (1..=7).map(|n| (n, 7)).collect::<Vec<_>>());
    assert_eq!(
        by.1.get(5).unwrap().guess.as_deref(),
        Some("28.4 mm, 92.4 mm")
    );
}

#[test]
fn a_wrong_answer_is_asked_again_and_says_why() {
    let mut by = By(
        vec![
            ("which corner", vec!["front", "front-right"]),
            ("1 closed", vec!["burn", "off"]),
            ("what does", vec!["28, 92", "30 mm, 90 mm"]),
        ],
        Vec::new(),
    );
    let text = answered(&mut by);
    assert!(
        text.contains("stops = \"front-right\"") && text.contains("size = [\"30 mm\", \"90 mm\"]")
    );
    let wrong: Vec<&str> = by.1.iter().filter_map(|a| a.wrong.as_deref()).collect();
    assert_eq!(wrong.len(), 3, "{wrong:?}");
    assert!(wrong.iter().any(|w| w.contains("cannot be")), "{wrong:?}");
    assert!(
        wrong.iter().any(|w| w.contains("none of cut, score")),
        "{wrong:?}"
    );
    assert!(
        wrong.iter().any(|w| w.contains("without a unit")),
        "{wrong:?}"
    );
}

#[test]
fn what_is_not_guessed_stays_open() {
    let text = interview(Path::new("f/fixture.toml"), DRAFT, &mut TakeGuesses);
    let open: Vec<usize> = text
        .lines()
        .enumerate()
        .filter(|(_, l)| draft::is_question(l))
        .map(|(n, _)| n + 1)
        .collect();
    assert_eq!(open.len(), 2, "{text}");
    let refused = nothing_open(Path::new("fixture.toml"), &text).unwrap_err();
    assert!(
        refused.text.contains(&format!(
            "2 questions, on lines {} and {}",
            open[0], open[1]
        )),
        "{refused:?}"
    );
    assert!(
        refused.detail.contains("how wide is the bed?"),
        "{refused:?}"
    );
}
