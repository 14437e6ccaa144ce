//! The command `plan`: from what a person measures with a ruler to a fixture's drawing and settings.
//!
//! Blank ─ [`opening`] ─▶ opening ─ [`layout`] ─▶ places on the bed ─ [`marks`], [`drawing`],
//! [`stated`] ─▶ the two files of a fixture, ready for `enrol`.
//!
//! What is drawn is the opening as the beam's middle must run: the blank, widened by the clearance,
//! less half of what the beam burns away.

use std::path::Path;

use kurbo::{Affine, Rect};

use crate::artwork::fonts::Faces;
use crate::artwork::source::Source;
use crate::finding::Info;
use crate::fixture::enrol::{self, Problem};
use crate::fixture::lock::Lock;
use crate::fixture::settings::{Settings, Stops, Tops};
use crate::fixture::{naming, parse, zones};
use crate::geometry::region::Region;
use crate::ids::At;
use crate::inspect;
use crate::rules::enrol::Drawing;
use crate::units::Shown;
use crate::wording::counted;

pub(crate) mod blank;
pub(crate) mod drawing;
pub(crate) mod layout;
pub(crate) mod marks;
pub(crate) mod opening;
pub(crate) mod signs;
pub(crate) mod stated;

use self::blank::Blank;
use self::drawing::Parts;
use self::layout::{Laid, Layout, Place};
use self::opening::Opening;

/// The drawing's file name.
pub(crate) const DRAWING: &str = "fixture.svg";

/// What a person measures and wants. Lengths in millimetres.
#[derive(Debug, Clone)]
pub(crate) struct Wanted {
    /// What the fixture is called.
    pub name: String,
    /// The blank.
    pub blank: Blank,
    /// How much of the blank may be engraved, from its tail; `None`: all of it.
    pub body: Option<f64>,
    /// Where the heads point.
    pub head: Head,
    /// How many blanks; `None`: as many as fit.
    pub count: Option<usize>,
    /// How they lie.
    pub layout: Layout,
    /// The bed, left to right and back to front.
    pub bed: (f64, f64),
    /// The unit that people at this bed use.
    pub shown: Shown,
    /// The corner with the stops.
    pub stops: Stops,
    /// Border of the bed that nothing may be burnt in.
    pub keep_clear: f64,
    /// Travel that engraving needs left and right.
    pub run_out: f64,
    /// The sheet, left to right and back to front; `None`: as large as is needed.
    pub sheet: Option<(f64, f64)>,
    /// Gap all round between blank and opening.
    pub clearance: f64,
    /// Width that the beam burns away.
    pub burn: f64,
    /// Thickness of the sheet.
    pub board: f64,
    /// Width of sheet between openings; `None`: the safe width.
    pub web: Option<f64>,
    /// How far engraving stays from the edge of the body.
    pub margin: f64,
    /// Where the tops of letters point.
    pub tops: Tops,
    /// Radius of the relief in square corners; zero for none.
    pub relief: f64,
    /// What is being engraved.
    pub stock: Option<String>,
}

/// Where the heads of blanks point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Head {
    /// To the back.
    Back,
    /// To the right.
    Right,
    /// To the front.
    Front,
    /// To the left.
    Left,
}

impl Head {
    /// Every way.
    pub(crate) const ALL: [Self; 4] = [Self::Back, Self::Front, Self::Left, Self::Right];

    /// Degrees clockwise from back.
    pub(crate) fn degrees(self) -> f64 {
        match self {
            Self::Back => 0.0,
            Self::Right => 90.0,
            Self::Front => 180.0,
            Self::Left => 270.0,
        }
    }

    /// The word in settings.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Back => "back",
            Self::Right => "right",
            Self::Front => "front",
            Self::Left => "left",
        }
    }

    /// The other way round.
    #[must_use]
    pub(crate) fn turned(self) -> Self {
        match self {
            Self::Back => Self::Front,
            Self::Right => Self::Left,
            Self::Front => Self::Back,
            Self::Left => Self::Right,
        }
    }
}

/// Clearance all round where none is stated, in millimetres. With less, a swollen or badly sawn blank
/// does not go in; with more, it slides (common practice, no source).
pub(crate) const CLEARANCE: f64 = 0.2;

/// Burn width where none is stated, in millimetres: what a beam takes from 3 mm board (common
/// practice, no source). Wrong by a tenth, and every blank is that much looser or tighter.
pub(crate) const BURN: f64 = 0.15;

/// Margin where none is stated, in millimetres.
pub(crate) const MARGIN: f64 = 2.0;

/// The least width of sheet between openings that is strong, in millimetres, whatever the board:
/// that of the rule `web-too-thin`.
pub(crate) const SAFE_WEB: f64 = crate::rules::enrol::web_too_thin::WEAK;

/// A planned fixture.
#[derive(Debug, Clone)]
pub(crate) struct Planned {
    /// The drawing's text.
    pub drawing: String,
    /// The settings' text.
    pub settings: String,
    /// The fixture's code.
    pub code: String,
    /// The pockets, A1 first.
    pub pockets: Vec<(String, Place)>,
    /// Left to right and back to front.
    pub sheet: Rect,
    /// What a person should know, a line each.
    pub said: Vec<String>,
}

/// Plans a fixture.
///
/// # Errors
///
/// Measures that do not go together, or blanks that do not fit, each as a sentence.
pub(crate) fn plan(wanted: &Wanted) -> Result<Planned, String> {
    let opening = opening::opening(&wanted.blank, wanted.clearance, wanted.burn, wanted.relief)?;
    let (laid, web, mut said) = spaced(wanted, &opening)?;
    said.insert(0, fits(wanted, &opening, &laid, web));
    let turned = |place: &Place| {
        Affine::translate(place.at.to_vec2())
            * crate::artwork::transform::rotate(place.head.degrees())
    };
    let boxes: Vec<(usize, Rect)> = laid
        .places
        .iter()
        .map(|p| turned(p).transform_rect_bbox(opening.bounds))
        .enumerate()
        .collect();
    let pockets: Vec<(String, Place)> = naming::name(&boxes, wanted.stops)
        .into_iter()
        .map(|(index, name)| (name, *laid.places.at(index)))
        .collect();
    let stated = stated::text(wanted, &pockets);
    let settings = parse::parse(Path::new("fixture.toml"), &stated, &crate::rules::names())
        .map_err(|e| e.report(100).trim_end().to_owned())?;
    let mark = marks::loading(opening.bounds);
    let mut parts = Parts {
        stops: marks::stops(laid.sheet, wanted.stops, wanted.keep_clear),
        sheet: laid.sheet,
        ..Parts::default()
    };
    for (name, place) in &pockets {
        let path = turned(place) * opening.path.clone();
        let region = Region::from_path(&path, false, zones::ZONE_TOLERANCE);
        parts
            .zones
            .push(zones::zone(&region, &settings.pocket(name)).to_path());
        parts.openings.push((name.clone(), path));
        parts.loading.push(turned(place) * mark.clone());
    }
    // The label is no part of the code, which it holds.
    let (lock, _) = measured(&drawing::text(wanted, &parts), &settings)?;
    let whole = format!("{}  {}", wanted.name, lock.code);
    parts.label = match drawing::label(&whole, wanted, laid.sheet) {
        Ok(label) => Some(label),
        Err(why) => {
            said.push(format!(
                "the name is not scored on the sheet, the code alone: {why}"
            ));
            drawing::label(&lock.code, wanted, laid.sheet).ok()
        }
    };
    let drawing = drawing::text(wanted, &parts);
    said.extend(checked(&drawing, &settings, &lock.code)?);
    Ok(Planned {
        drawing,
        settings: stated,
        code: lock.code,
        pockets,
        sheet: laid.sheet,
        said,
    })
}

/// How many fit, what limits them, and whether more would fit otherwise.
fn fits(wanted: &Wanted, opening: &Opening, laid: &Laid, web: f64) -> String {
    let (rows, columns) = laid.grid;
    if laid.places.len() < laid.most {
        return format!(
            "{} wanted, and {} would fit",
            counted(laid.places.len(), "is", "are"),
            laid.most
        );
    }
    format!(
        "no more fit than in {} and {}: {}{}",
        counted(rows, "row", "rows"),
        counted(columns, "column", "columns"),
        layout::what_limits(wanted, laid.short),
        otherwise(wanted, opening, laid.most, web)
    )
}

/// Which layout and direction of the heads would hold more than `most` blanks, if one does.
fn otherwise(wanted: &Wanted, opening: &Opening, most: usize, web: f64) -> String {
    let mut best: Option<(usize, Layout, Head)> = None;
    for layout in [Layout::Rows, Layout::Alternating, Layout::Staggered] {
        for head in [Head::Back, Head::Right] {
            let other = Wanted {
                layout,
                head,
                count: None,
                ..wanted.clone()
            };
            if let Ok(more) = layout::lay(&other, opening, web)
                && more.most > best.map_or(most, |b| b.0)
            {
                best = Some((more.most, layout, head));
            }
        }
    }
    best.map_or(String::new(), |(most, layout, head)| {
        format!(
            "; {most} fit with --layout {} --head {}",
            layout.word(),
            head.word()
        )
    })
}

/// The least web that is strong in this board: its thickness, and that of the usual sheet at least.
fn safe_web(wanted: &Wanted) -> f64 {
    SAFE_WEB.max(wanted.board)
}

/// Measures a drawing as `enrol` will.
fn measured(drawing: &str, settings: &Settings) -> Result<(Lock, Vec<Problem>), String> {
    let (source, artwork) = read(drawing, settings)?;
    Ok(enrol::measure(&source, &artwork, settings))
}

fn read(
    drawing: &str,
    settings: &Settings,
) -> Result<(Source, crate::artwork::mark::Artwork), String> {
    let source =
        Source::from_bytes(DRAWING, drawing.as_bytes().to_vec()).map_err(|e| e.to_string())?;
    let faces = Faces::new(Vec::new(), false);
    let artwork = inspect::read(&source, settings, &faces).map_err(|t| t.text)?;
    Ok((source, artwork))
}

/// What `enrol` will find in the drawing, a line each.
fn checked(drawing: &str, settings: &Settings, code: &str) -> Result<Vec<String>, String> {
    let (source, artwork) = read(drawing, settings)?;
    let (lock, problems) = enrol::measure(&source, &artwork, settings);
    if lock.code != code || !problems.is_empty() {
        return Err("the planned drawing does not measure as it was planned: nothing was written; please report this with the command line".to_owned());
    }
    let found = crate::rules::enrol::run(&Drawing::new(&artwork, settings, &lock));
    let mut said: Vec<String> = Vec::new();
    for (Info { name, .. }, _) in crate::rules::enrol::REGISTRY {
        let own: Vec<_> = found.iter().filter(|f| f.rule == *name).collect();
        if let Some(first) = own.first() {
            let pocket = first.pocket.as_deref().unwrap_or("the drawing");
            let more = match own.len() - 1 {
                0 => String::new(),
                1 => " (and one more pocket)".to_owned(),
                n => format!(" (and {n} more pockets)"),
            };
            said.push(format!("{pocket}{more}: {} [{name}]", first.message));
        }
    }
    Ok(said)
}

/// Lays the openings out with safe webs or, if fewer blanks would fit then, with the webs asked for.
/// Returns the layout, the distance between openings, and what to say about it.
fn spaced(wanted: &Wanted, opening: &Opening) -> Result<(Laid, f64, Vec<String>), String> {
    let shown = wanted.shown;
    let safe = safe_web(wanted);
    let asked = wanted.web.unwrap_or(safe);
    // The beam takes half its width from either side of a web.
    let drawn = |web: f64| web + wanted.burn;
    let lay = |web: f64| {
        layout::lay(wanted, opening, drawn(web)).map_err(|e| {
            let most = e.most.unwrap_or(0);
            e.text + &otherwise(wanted, opening, most, drawn(web))
        })
    };
    if asked >= safe {
        return Ok((lay(asked)?, drawn(asked), Vec::new()));
    }
    let narrow = lay(asked)?;
    match layout::lay(wanted, opening, drawn(safe)) {
        Ok(wide) if wide.places.len() == narrow.places.len() => {
            let said = format!(
                "webs are widened from {} to {}: less is weak in this board, and as many blanks fit",
                shown.length(asked),
                shown.length(safe)
            );
            Ok((wide, drawn(safe), vec![said]))
        }
        other => {
            let fewer = other.map_or_else(|e| e.most.unwrap_or(0), |wide| wide.most);
            let said = format!(
                "webs are {}, as asked: less than {} is weak in this board, but with that {} would fit",
                shown.length(asked),
                shown.length(safe),
                if fewer == 0 {
                    "none".to_owned()
                } else {
                    format!("only {fewer}")
                }
            );
            Ok((narrow, drawn(asked), vec![said]))
        }
    }
}
