//! The proof as one HTML page: the bed, the findings beside it, the load map.
//!
//! The page is written so that an XML reader takes it too: every element is closed. It holds no
//! script; a finding and its place light each other by style rules alone.

use kurbo::{Point, Rect, Shape as _};

use super::layout::{About, Layout};
use super::load_map;
use super::overview;
use super::parts::Parts;
use super::pen::num;
use super::scene::Scene;
use super::{
    code, description, figures, file_name, key, not_checked, rule_page, tally, title, verdict_words,
};
use crate::finding::{Finding, Measured, Picture};
use crate::matching::Job;
use crate::report::lines::Lines;
use crate::report::{Run, Subject, Verdict};
use crate::rules;
use crate::units::{self, trimmed};
use crate::wording::escape;

/// Findings with a close-up of their own. Each repeats what lies about it; a file with hundreds of
/// findings would become too large to open, and the first of a kind shows what is wrong with all.
const CLOSE_UPS: usize = 60;

/// The page.
pub(super) fn write(job: &Job<'_>, run: &Run) -> String {
    let parts = Parts::of(job);
    let mut out = opening(&title(run), &lights(run));
    out.push_str("<a class=\"skip\" href=\"#findings\">Skip to the findings</a>");
    out.push_str(&header(run));
    out.push_str("<main><div class=\"two\">");
    out.push_str(&bed(job, run, &parts));
    out.push_str(&findings(job, run, &parts));
    out.push_str("</div>");
    // Nothing is loaded into a fixture that is not cut yet.
    if run.subject == Subject::Run {
        out.push_str(&map(job, run, &parts));
    }
    out.push_str("</main>");
    out.push_str(&format!(
        "<footer><h2>What was not checked</h2><p>{}</p><p>This page shows one file as it was when it was inspected (SHA-256 <code>{}</code>). If the file was saved since, inspect it again.</p></footer></body></html>\n",
        not_checked(run),
        escape(&run.sha256)
    ));
    out
}

/// The head of a page.
fn opening(title: &str, styles: &str) -> String {
    let mut out =
        String::from("<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>");
    out.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>");
    // Nothing is fetched, whatever a name in the file contains.
    out.push_str("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\"/>");
    out.push_str("<link rel=\"icon\" href=\"data:,\"/>");
    out.push_str(&format!("<title>{}</title>", escape(title)));
    out.push_str(&format!(
        "<style>{}{styles}</style></head><body>",
        include_str!("style.css"),
    ));
    out
}

/// The load map alone, to be printed and laid beside the machine.
pub(super) fn map_page(job: &Job<'_>, run: &Run) -> String {
    let parts = Parts::of(job);
    let mut out = opening(&format!("Load map of {}", file_name(run)), "");
    out.push_str(&header(run));
    // What the drawing of the bed declares on the page of a proof.
    out.push_str(&format!(
        "<svg width=\"0\" height=\"0\" aria-hidden=\"true\" style=\"position:absolute\"><defs>{}</defs></svg>",
        parts.defs
    ));
    out.push_str(&format!("<main>{}</main>", map(job, run, &parts)));
    out.push_str(&format!(
        "<footer><p>{}</p><p>For the file with the SHA-256 <code>{}</code> and no other.</p></footer></body></html>\n",
        not_checked(run),
        escape(&run.sha256)
    ));
    out
}

/// Rules by which a finding lights its place, and the place its finding.
fn lights(run: &Run) -> String {
    let rules: Vec<String> = (1..=run.told().len())
        .map(|n| {
            format!(
                "main:has(#finding-{n}:is(:hover,:focus-within,:target)) #place-{n}{{--w:6;--grow:1.35}}main:has(#place-{n}:is(:hover,:focus,:target)) #finding-{n}{{--edge:14px;--back:var(--lit)}}\n"
            )
        })
        .collect();
    rules.concat()
}

/// The verdict as a sign: a barred gate, an open one.
fn gate(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Clear => {
            "<svg viewBox=\"0 0 40 40\" aria-hidden=\"true\"><path d=\"M6 37V5M34 37V5M6 8L15 3M34 8L25 3\" fill=\"none\" stroke=\"#2b2620\" stroke-width=\"4\"/></svg>"
        }
        Verdict::Hold | Verdict::Unread => {
            "<svg viewBox=\"0 0 40 40\" aria-hidden=\"true\"><path d=\"M6 37V5M34 37V5\" fill=\"none\" stroke=\"#2b2620\" stroke-width=\"4\"/><path d=\"M2 14H38V24H2Z\" fill=\"#8f4a00\" stroke=\"#2b2620\" stroke-width=\"2\"/><path d=\"M10 24L16 14M20 24L26 14M30 24L36 14\" stroke=\"#fbf7ee\" stroke-width=\"3\"/></svg>"
        }
    }
}

fn header(run: &Run) -> String {
    let mut facts = vec![("File", file_name(run))];
    if let Some(f) = &run.fixture {
        facts.push(("Fixture", format!("{}{}", f.name, code(f))));
    }
    facts.push(("Found", tally(run)));
    facts.extend(run.rests_on.iter().map(|r| ("Rests on", r.sentence())));
    let facts: Vec<String> = facts
        .iter()
        .map(|(name, value)| format!("<div><dt>{name}</dt><dd>{}</dd></div>", escape(value)))
        .collect();
    let notes: Vec<String> = run
        .notes
        .iter()
        .map(|n| format!("<p>Note: {}</p>", escape(n)))
        .collect();
    format!(
        "<header class=\"verdict\"><h1>{}<span>{}</span></h1><dl>{}</dl>{}</header>",
        gate(run.verdict),
        verdict_words(run),
        facts.concat(),
        notes.concat()
    )
}

/// The class and the spoken name of an `svg` element.
struct Called<'a> {
    class: &'a str,
    role: &'a str,
    id: &'a str,
    title: &'a str,
    desc: &'a str,
}

/// An `svg` element of what a scene sees.
fn drawing(scene: &Scene<'_>, called: &Called<'_>, content: &str) -> String {
    let Called {
        class,
        role,
        id,
        title,
        desc,
    } = called;
    let view = scene.view;
    format!(
        "<svg class=\"{class}\" viewBox=\"{} {} {} {}\" style=\"--u:{}px\" role=\"{role}\" aria-labelledby=\"{id}-title {id}-desc\"><title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>{content}</svg>",
        num(view.x0),
        num(view.y0),
        num(view.width()),
        num(view.height()),
        trimmed(scene.unit, 4),
        escape(title),
        escape(desc)
    )
}

fn bed(job: &Job<'_>, run: &Run, parts: &Parts) -> String {
    let scene = overview::scene(job, run, parts, "bed");
    let content = format!(
        "<defs>{}{}</defs><g>{}</g>",
        parts.defs,
        scene.hatches(),
        scene.overview(true)
    );
    let seen = match scene.about_fixture() {
        Some(_) => "The fixture",
        None => "The bed",
    };
    // A group, not an image: the numbers in it are links.
    let called = Called {
        class: "drawing",
        role: "group",
        id: "bed",
        title: &format!("{seen}, from the front"),
        desc: &description(run),
    };
    let svg = drawing(&scene, &called, &content);
    let sample = Scene {
        job,
        run,
        parts,
        view: Rect::new(0.0, 0.0, key::SAMPLE.0, key::SAMPLE.1),
        unit: 1.0,
        name: "key".to_owned(),
    };
    let entries: Vec<String> = key::entries(&sample, |_| Point::ORIGIN)
        .iter()
        .map(|e| {
            format!(
                "<li><svg viewBox=\"-1 -1 36 18\" aria-hidden=\"true\">{}</svg>{}</li>",
                e.sample,
                escape(e.words)
            )
        })
        .collect();
    format!(
        "<section class=\"bed\" aria-labelledby=\"bed-heading\"><div><h2 id=\"bed-heading\">{seen}, as you stand at it</h2><figure>{svg}<figcaption><svg width=\"0\" height=\"0\" aria-hidden=\"true\" style=\"position:absolute\"><defs>{}</defs></svg><ul class=\"key\" aria-label=\"Key to the drawing\">{}</ul></figcaption></figure></div></section>",
        sample.hatches(),
        entries.concat()
    )
}

fn findings(job: &Job<'_>, run: &Run, parts: &Parts) -> String {
    let lines = Lines::new(&run.text);
    let mut out = String::from(
        "<section class=\"findings\" id=\"findings\" aria-labelledby=\"findings-heading\"><h2 id=\"findings-heading\">What was found</h2>",
    );
    if run.told().is_empty() {
        out.push_str("<p>Nothing was found that holds this file or asks for a look. Read below what was not checked.</p></section>");
        return out;
    }
    out.push_str("<ol>");
    let mut explained: Vec<&'static str> = Vec::new();
    for (i, f) in run.told().iter().enumerate() {
        let first = !explained.contains(&f.rule);
        if first {
            explained.push(f.rule);
        }
        out.push_str(&finding(job, run, parts, &lines, i, f, first));
    }
    out.push_str("</ol></section>");
    out
}

fn finding(
    job: &Job<'_>,
    run: &Run,
    parts: &Parts,
    lines: &Lines<'_>,
    index: usize,
    f: &Finding,
    first: bool,
) -> String {
    let n = index + 1;
    let class = if f.waived.is_some() {
        "excused"
    } else {
        f.severity.word()
    };
    let pocket = f
        .pocket
        .as_ref()
        .map(|p| format!("Pocket {p}: "))
        .unwrap_or_default();
    let more = if f.more > 0 {
        format!(", and {} more like it in this pocket", f.more)
    } else {
        String::new()
    };
    let mut out = format!(
        "<li class=\"finding {class}\" id=\"finding-{n}\" data-finding=\"{n}\"><h3><b><span class=\"n\">{n}</span></b><span><span class=\"kind\">{} · {}</span>{}{}{more}</span></h3>",
        escape(class),
        escape(f.rule),
        escape(&pocket),
        escape(&f.message)
    );
    if let Some(w) = &f.waived {
        out.push_str(&format!(
            "<p>Excused until {}: {}</p>",
            escape(&w.until),
            escape(&w.reason)
        ));
    }
    if !f.help.is_empty() {
        out.push_str(&format!(
            "<p class=\"todo\"><strong>To do:</strong> {}</p>",
            escape(&f.help)
        ));
    }
    out.push_str("<dl class=\"facts\">");
    if let Some(m) = &f.measured {
        out.push_str(&format!(
            "<div><dt>{}</dt><dd>{}</dd></div><div><dt>limit</dt><dd>{}</dd></div>",
            escape(m.what),
            escape(&quantity(run, m, m.value)),
            escape(&quantity(run, m, m.limit))
        ));
    }
    if let Some(s) = &f.source {
        let spot = lines.spot(s.range.start);
        let id =
            s.id.as_ref()
                .map(|id| format!(", id \"{id}\""))
                .unwrap_or_default();
        out.push_str(&format!(
            "<div><dt>in the file</dt><dd>line {}, {}{}</dd></div>",
            spot.line,
            escape(&s.element),
            escape(&id)
        ));
    }
    if f.bed.is_none() {
        out.push_str("<div><dt>on the bed</dt><dd>this has no place of its own</dd></div>");
    }
    out.push_str("</dl>");
    if let Some(rect) = f.bed.filter(|_| index < CLOSE_UPS) {
        out.push_str(&close_up(job, run, parts, index, f, rect));
    }
    out.push_str("<div class=\"links\">");
    if f.bed.is_some() {
        out.push_str(&format!(
            "<a href=\"#place-{n}\">show {n} in the drawing</a>"
        ));
    }
    if !first {
        out.push_str(&format!(
            "<a href=\"#rule-{0}\">what {0} means</a>",
            escape(f.rule)
        ));
    }
    out.push_str("</div>");
    if first && let Some(info) = rules::find(f.rule) {
        out.push_str(&format!(
            "<details><summary>What {0} means, why it matters, how to put it right</summary><div id=\"rule-{0}\">{1}{2}</div></details>",
            escape(info.name),
            figures::pair(info.name).unwrap_or_default(),
            rule_page::html(info.page, 4)
        ));
    }
    out.push_str("</li>");
    out
}

/// A measured number or its limit, with its unit.
fn quantity(run: &Run, m: &Measured, value: f64) -> String {
    match m.unit {
        "mm" => run.shown.length(value),
        "deg" => units::angle(value),
        "" => trimmed(value, 2),
        unit => format!("{} {unit}", trimmed(value, 1)),
    }
}

/// Pixels along the longer side of a close-up, about.
const CLOSE_WIDE: f64 = 400.0;

/// A pocket up to so many times longer than what the finding is about is shown whole. A larger value
/// would show small lettering too small to see what is wrong with it.
const WITH_POCKET: f64 = 6.0;

/// How many times larger than the finding a close-up may become to take in the nearest pocket. With
/// a larger value a stray word would be lost in the picture of itself.
const FAR_POCKET: f64 = 14.0;

/// The box of the pocket nearest to a place.
fn nearest_pocket(job: &Job<'_>, place: Rect) -> Option<Rect> {
    let away = |r: &Rect| {
        let dx = (r.x0 - place.x1).max(place.x0 - r.x1).max(0.0);
        let dy = (r.y0 - place.y1).max(place.y0 - r.y1).max(0.0);
        dx.hypot(dy)
    };
    job.fixture
        .pockets
        .iter()
        .filter_map(|p| p.region.bounds())
        .min_by(|a, b| away(a).total_cmp(&away(b)))
}

/// A close-up of one finding.
fn close_up(
    job: &Job<'_>,
    run: &Run,
    parts: &Parts,
    index: usize,
    f: &Finding,
    rect: Rect,
) -> String {
    let Some(scene) = close_scene(job, run, parts, index, f, rect) else {
        return String::new();
    };
    let n = index + 1;
    let called = Called {
        class: "close-up",
        role: "img",
        id: &format!("close-{n}"),
        title: &format!("Close-up of finding {n}"),
        desc: &f.message,
    };
    format!(
        "<div class=\"close\">{}</div>",
        drawing(&scene, &called, &close_content(&scene, index, f))
    )
}

/// What a close-up shows, with its number.
pub(super) fn close_content(scene: &Scene<'_>, index: usize, f: &Finding) -> String {
    let layout = Layout::of(scene, [(index + 1, f)], &About::default());
    [
        format!("<defs>{}</defs>", scene.hatches()),
        scene.ground(&layout),
        scene.signs(&layout, false),
    ]
    .concat()
}

/// What a close-up sees; `None` where the finding lies off everything.
pub(super) fn close_scene<'a>(
    job: &'a Job<'a>,
    run: &'a Run,
    parts: &'a Parts,
    index: usize,
    f: &Finding,
    rect: Rect,
) -> Option<Scene<'a>> {
    let bed = &job.fixture.settings.bed;
    let most =
        Rect::new(0.0, 0.0, bed.width, bed.height).inflate(bed.width * 0.3, bed.height * 0.3);
    let mut seen = rect;
    if let Picture::Ghost { right, .. } = &f.picture {
        seen = seen.union(right.bounding_box());
    }
    let larger = seen.width().max(seen.height());
    let pocket = f
        .pocket
        .as_ref()
        .and_then(|name| job.fixture.pockets.iter().find(|p| p.name == *name))
        .and_then(|p| p.region.bounds());
    // Which way up something lies is seen by the head end of its pocket.
    let turn = matches!(f.picture, Picture::Turn { .. });
    let whole = pocket.filter(|p| turn || p.width().max(p.height()) < WITH_POCKET * larger);
    let room = match whole {
        Some(p) => {
            seen = seen.union(p);
            0.08 * seen.width().max(seen.height())
        }
        // Enough of what lies about it to find it by: where no pocket is named, the nearest one.
        None => {
            let near = nearest_pocket(job, seen).filter(|_| pocket.is_none());
            match near.map(|p| seen.union(p)) {
                Some(both) if both.width().max(both.height()) < FAR_POCKET * larger => {
                    seen = both;
                    0.1 * larger
                }
                _ => (larger * 1.2).clamp(10.0, 60.0),
            }
        }
    };
    let seen = seen.intersect(most);
    if !seen.is_finite() || seen.width() < 0.0 || seen.height() < 0.0 {
        return None;
    }
    let seen = seen.inflate(room, room);
    // Neither strips nor towers.
    let width = seen.width().max(seen.height() * 0.75);
    let height = seen.height().max(width * 0.5);
    let view = Rect::from_center_size(seen.center(), (width, height));
    Some(Scene {
        job,
        run,
        parts,
        view,
        unit: width.max(height) / CLOSE_WIDE,
        name: format!("close-{}", index + 1),
    })
}

fn map(job: &Job<'_>, run: &Run, parts: &Parts) -> String {
    let scene = load_map::scene(job, run, parts);
    let loads = load_map::loads(job);
    let content = format!(
        "<defs>{}</defs><g>{}</g>",
        scene.hatches(),
        scene.load_map(&loads)
    );
    let called = Called {
        class: "drawing",
        role: "img",
        id: "map",
        title: "Load map",
        desc: "Each pocket of the fixture with what is burnt in it; the table below says the same in words",
    };
    let svg = drawing(&scene, &called, &content);
    let rows: Vec<String> = job
        .fixture
        .pockets
        .iter()
        .zip(&loads)
        .map(|(pocket, load)| {
            let call = pocket
                .call
                .as_ref()
                .map(|c| format!(" ({c})"))
                .unwrap_or_default();
            let (blank, what) = load.words();
            format!(
                "<tr><th scope=\"row\">{}{}</th><td>{blank}</td><td>{}</td></tr>",
                escape(&pocket.name),
                escape(&call),
                escape(what)
            )
        })
        .collect();
    let warning = if run.verdict == Verdict::Clear {
        String::new()
    } else {
        "<p><strong>This file is held: do not load by this map before it is put right.</strong></p>"
            .to_owned()
    };
    format!(
        "<section class=\"map\" aria-labelledby=\"map-heading\"><h2 id=\"map-heading\">Load map</h2>{warning}<p>File {}. A crossed pocket gets nothing burnt in it. Double rings mark head ends.</p><figure>{svg}</figure><table><caption>What goes where</caption><thead><tr><th scope=\"col\">Pocket</th><th scope=\"col\">Blank</th><th scope=\"col\">Burnt on it</th></tr></thead><tbody>{}</tbody></table></section>",
        escape(&file_name(run)),
        rows.concat()
    )
}
