//! The load map, for the person who loads the fixture: which pocket gets a blank, and what is burnt
//! on it.

use kurbo::{Point, Rect};

use super::palette::{GREY, INK};
use super::parts::Parts;
use super::pen::num;
use super::room::Room;
use super::scene::{Scene, extent};
use crate::fixture::Pocket;
use crate::fixture::settings::Stops;
use crate::matching::Job;
use crate::report::Run;
use crate::wording::escape;

/// What a pocket gets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Load {
    /// A blank, and this is burnt on it.
    Blank(String),
    /// A blank on which nothing is burnt.
    Bare,
    /// No blank; the words are burnt on nothing.
    Empty(String),
}

impl Load {
    /// In words, for the table.
    pub(super) fn words(&self) -> (&'static str, &str) {
        match self {
            Self::Blank(what) => ("yes", what),
            Self::Bare => ("yes, but nothing is burnt on it", ""),
            Self::Empty(what) if what.is_empty() => ("no", ""),
            Self::Empty(what) => ("no, yet this file burns something there", what),
        }
    }
}

/// What each pocket gets, in the order of the fixture.
pub(super) fn loads(job: &Job<'_>) -> Vec<Load> {
    crate::matching::pocket_text::burnt(job)
        .pairs()
        .map(|(i, burnt)| match (job.loaded[i], burnt.clone()) {
            (false, what) => Load::Empty(what.unwrap_or_default()),
            (_, Some(what)) => Load::Blank(what),
            (_, None) => Load::Bare,
        })
        .collect()
}

/// The drawing of the fixture for the load map.
pub(super) fn scene<'a>(job: &'a Job<'a>, run: &'a Run, parts: &'a Parts) -> Scene<'a> {
    let bed = &job.fixture.settings.bed;
    let corner = match job.fixture.settings.stops {
        Stops::FrontLeft => Point::new(0.0, bed.height),
        Stops::FrontRight => Point::new(bed.width, bed.height),
        Stops::BackLeft => Point::ORIGIN,
        Stops::BackRight => Point::new(bed.width, 0.0),
    };
    let view = parts
        .outlines
        .iter()
        .map(|o| o.part.bounds)
        .fold(Rect::from_points(corner, corner), |all, r| all.union(r));
    let unit = (view.width().max(view.height()) / 780.0).max(1e-6);
    Scene {
        job,
        run,
        parts,
        view: view.inflate(26.0 * unit, 26.0 * unit),
        unit,
        name: "map".to_owned(),
    }
}

impl Scene<'_> {
    /// The load map.
    pub(super) fn load_map(&self, loads: &[Load]) -> String {
        let bed = &self.job.fixture.settings.bed;
        let names = self.names(&mut Room::new(self.view));
        let mut out = self.fixture() + &self.named(&names);
        out.push_str(&self.stops(Rect::new(0.0, 0.0, bed.width, bed.height)));
        for (pocket, load) in self.job.fixture.pockets.iter().zip(loads) {
            let outline = &self.parts.outlines[pocket.outline];
            match load {
                Load::Blank(what) => out.push_str(&self.lettered(pocket, what)),
                // `fixture` crosses what is not loaded.
                Load::Empty(_) => {}
                Load::Bare => out.push_str(&self.crossed(pocket, &outline.part, false)),
            }
        }
        out
    }

    /// Words in a pocket, along its longer side.
    fn lettered(&self, pocket: &Pocket, what: &str) -> String {
        let zone = pocket.zone.bounds().or_else(|| pocket.region.bounds());
        let (Some(zone), Some(_)) = (zone, extent(pocket)) else {
            return String::new();
        };
        let upright = zone.height() > zone.width();
        let (long, short) = if upright {
            (zone.height(), zone.width())
        } else {
            (zone.width(), zone.height())
        };
        let letters = what.chars().count().max(1) as f64;
        // Letters are about 0.58 of their size wide; below 7 thin lines nobody reads them.
        let size = (long / letters / 0.58)
            .min(short * 0.7)
            .min(20.0 * self.unit);
        let (size, what) = if size < 7.0 * self.unit {
            let fit = (long / (7.0 * self.unit * 0.58)) as usize;
            let cut: String = what.chars().take(fit.saturating_sub(1)).collect();
            (7.0 * self.unit, format!("{cut}…"))
        } else {
            (size, what.to_owned())
        };
        let c = zone.center();
        let turn = if upright {
            format!(" transform=\"rotate(-90 {} {})\"", num(c.x), num(c.y))
        } else {
            String::new()
        };
        let colour = if what.starts_with('(') { GREY } else { INK };
        format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" font-weight=\"600\" text-anchor=\"middle\" fill=\"{colour}\"{turn}>{}</text>",
            num(c.x),
            num(c.y + size * 0.35),
            num(size),
            escape(&what)
        )
    }
}
