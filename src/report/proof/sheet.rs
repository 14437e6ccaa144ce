//! The proof as one drawing that stands alone: verdict, bed, key, findings in words, what was not
//! checked.

use kurbo::{Point, Rect};

use super::overview;
use super::palette::{FACES, INK, PAPER};
use super::parts::Parts;
use super::pen::{num, wrap};
use super::scene::Scene;
use super::{file_name, fixture_line, key, not_checked, signs, tally, verdict_words};
use crate::fixture::lists;
use crate::ids::At;
use crate::matching::Job;
use crate::report::{Run, fold};
use crate::wording::{counted, escape, sentence};

/// Most findings told in words below the bed; the list in the HTML proof and in the report has all.
const TOLD: usize = 40;

/// Thin lines across the page, for the words about the drawing: of its 1200 pixels, a line of ordinary words
/// is 18 high.
const ACROSS: f64 = 870.0;

/// The drawing.
pub(super) fn draw(job: &Job<'_>, run: &Run) -> String {
    let parts = Parts::of(job);
    let scene = overview::scene(job, run, &parts, "bed");
    let v = scene.view;
    let u = v.width() / ACROSS;
    // What stands about the drawing has its own size of letters.
    let about = Scene {
        unit: u,
        name: "key".to_owned(),
        ..overview::scene(job, run, &parts, "")
    };
    let mut words = Words {
        scene: &about,
        out: String::new(),
        y: v.y0 - 58.0 * u,
        columns: (v.width() / u / 6.3) as usize,
    };
    let top = words.y - 14.0 * u;
    words.line(26.0, 700, 0.0, verdict_words(run));
    words.line(
        13.0,
        400,
        0.0,
        &format!("{} · {}", file_name(run), fixture_line(run)),
    );
    if !run.told().is_empty() {
        words.line(13.0, 400, 0.0, &tally(run));
    }
    words.y = v.y1;
    words.key();
    if let Some(rests_on) = run.clear_rests_on() {
        words.text(12.0, 0.0, &sentence(&rests_on));
    }
    words.findings();
    words.y += 8.0 * u;
    words.text(12.0, 0.0, not_checked(run));
    let page = Rect::new(v.x0, top, v.x1, words.y + 8.0 * u);
    let width = 1200.0;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{} {} {} {}\" width=\"{width}\" height=\"{}\" font-family=\"{FACES}\" role=\"img\" aria-labelledby=\"proof-title proof-desc\"><title id=\"proof-title\">{}</title><desc id=\"proof-desc\">{}</desc><defs>{}{}</defs><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{PAPER}\"/><g>{}</g><g>{}</g></svg>\n",
        num(page.x0),
        num(page.y0),
        num(page.width()),
        num(page.height()),
        num(width * page.height() / page.width()),
        escape(&super::title(run)),
        escape(&super::description(run)),
        parts.defs,
        scene.hatches() + &about.hatches(),
        num(page.x0),
        num(page.y0),
        num(page.width()),
        num(page.height()),
        scene.overview(false),
        words.out
    )
}

/// Lines of words down the page.
struct Words<'a> {
    scene: &'a Scene<'a>,
    out: String,
    /// Where the next line stands.
    y: f64,
    /// Characters to a line of ordinary size.
    columns: usize,
}

impl Words<'_> {
    fn line(&mut self, size: f64, weight: u32, indent: f64, text: &str) {
        let u = self.scene.unit;
        let left = self.scene.view.x0 + (12.0 + indent) * u;
        self.y += size * 1.15 * u;
        self.out.push_str(&format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" font-weight=\"{weight}\" fill=\"{INK}\">{}</text>",
            num(left),
            num(self.y),
            num(size * u),
            escape(text)
        ));
        self.y += size * 0.15 * u;
    }

    fn text(&mut self, size: f64, indent: f64, text: &str) {
        let columns = self.columns.saturating_sub((indent / 6.0) as usize + 3);
        for line in wrap(text, columns) {
            self.line(size, 400, indent, &line);
        }
    }

    fn key(&mut self) {
        let scene = self.scene;
        let u = scene.unit;
        let v = scene.view;
        let across = 3;
        let column = (v.width() - 24.0 * u) / f64::from(across);
        let top = self.y + 6.0 * u;
        let at = |i: usize| {
            let (row, place) = (i as u32 / across, i as u32 % across);
            Point::new(
                v.x0 + 12.0 * u + f64::from(place) * column,
                top + f64::from(row) * 21.0 * u,
            )
        };
        let entries = key::entries(scene, at);
        for (i, entry) in entries.iter().enumerate() {
            let p = at(i);
            self.out.push_str(&entry.sample);
            self.out.push_str(&format!(
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{INK}\">{}</text>",
                num(p.x + (key::SAMPLE.0 + 7.0) * u),
                num(p.y + 12.0 * u),
                scene.u(12.0),
                escape(entry.words)
            ));
        }
        let rows = entries.len().div_ceil(across as usize);
        self.y = top + rows as f64 * 21.0 * u + 4.0 * u;
    }

    fn findings(&mut self) {
        let run = self.scene.run;
        let groups = fold::groups(run.told(), false);
        for group in groups.iter().take(TOLD) {
            let f = run.told().at(group.lead);
            let mut text = signs::label(group.lead + 1, f);
            if !group.others.is_empty() {
                let numbers: Vec<usize> = group.others.iter().map(|i| i + 1).collect();
                text.push_str(&format!(
                    "; and {}, {} {}",
                    counted(
                        numbers.len(),
                        "more finding like it",
                        "more findings like it"
                    ),
                    if numbers.len() == 1 {
                        "number"
                    } else {
                        "numbers"
                    },
                    lists::numbers(&numbers, true)
                ));
            }
            if let Some(w) = &f.waived {
                text.push_str(&format!("; excused until {}: {}", w.until, w.reason));
            }
            self.y += 3.0 * self.scene.unit;
            self.text(13.0, 0.0, &text);
            if !f.help.is_empty() {
                self.text(12.0, 14.0, &format!("To do: {}", f.help));
            }
        }
        if groups.len() > TOLD {
            let more = format!(
                "and {}: see the HTML proof or the report",
                counted(
                    groups.len() - TOLD,
                    "more kind of finding",
                    "more kinds of finding"
                )
            );
            self.text(13.0, 0.0, &more);
        }
    }
}
