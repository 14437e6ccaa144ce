//! What a verdict rests on besides the run itself. It is reported with the verdict, so that nobody
//! reads more into a clear than it says.

use crate::artwork::mark::Content;
use crate::fixture::shorthand;
use crate::matching::Job;
use crate::wording::{counted, every};

/// What a run was compared with.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RestsOn {
    /// The order list; `None` where names were not compared.
    pub names: Option<ComparedList>,
    /// How many pockets the fixture has.
    pub pockets: usize,
    /// The pockets that hold a blank, by name; `None` where all are taken as loaded.
    pub loaded: Option<Vec<String>>,
    /// Whether zones are drawn; else they come from body and margin.
    pub drawn_zones: bool,
    /// The faces that live lettering was measured with, in order of their names.
    pub faces: Vec<String>,
}

/// An order list that names were compared with.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ComparedList {
    /// Its file name.
    pub file: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// How many blanks it asks for.
    pub orders: usize,
    /// How many runs were compared with it together.
    pub runs: usize,
}

/// What is burnt on the blank of one pocket.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Blank {
    /// The pocket.
    pub pocket: String,
    /// Its words, lines parted by " / "; or "(picture)", "(outlined art)".
    pub burnt: String,
}

impl RestsOn {
    /// What a job was compared with; `runs` were compared with the list together.
    pub(crate) fn of(job: &Job<'_>, runs: usize) -> Self {
        let mut faces: Vec<String> = job
            .live()
            .filter_map(|(_, mark, _)| match &mark.content {
                Content::Lettering(l) => Some(&l.faces),
                _ => None,
            })
            .flatten()
            .cloned()
            .collect();
        faces.sort();
        faces.dedup();
        let loaded: Vec<String> = job
            .pockets
            .iter()
            .zip(&job.loaded)
            .filter(|(_, l)| **l)
            .map(|(p, _)| p.name.clone())
            .collect();
        Self {
            names: job.orders.as_ref().map(|list| ComparedList {
                file: list.file.clone(),
                sha256: list.sha256.clone(),
                orders: list.orders.len(),
                runs,
            }),
            pockets: job.pockets.len(),
            loaded: (loaded.len() < job.pockets.len()).then_some(loaded),
            drawn_zones: job.fixture.settings.drawn_zones.is_some(),
            faces,
        }
    }

    /// "all", or the pockets in a few words.
    pub fn loaded(&self) -> String {
        match &self.loaded {
            None => "all".to_owned(),
            Some(none) if none.is_empty() => "none".to_owned(),
            Some(some) => shorthand::list(some),
        }
    }

    /// "body and margin", or "drawn".
    pub fn zones(&self) -> &'static str {
        if self.drawn_zones {
            "drawn"
        } else {
            "body and margin"
        }
    }

    /// All of it in one line.
    pub fn sentence(&self) -> String {
        let names = match &self.names {
            None => "names not compared: no order list".to_owned(),
            Some(list) => {
                let orders = counted(list.orders, "name", "names");
                let over = match list.runs {
                    0 | 1 => String::new(),
                    n => format!(" over {n} runs"),
                };
                format!("{orders} compared with {}{over}", list.file)
            }
        };
        let loaded = match self.loaded {
            None => format!(
                "{} taken as loaded",
                every(self.pockets, "pocket", "pockets")
            ),
            Some(_) => format!("loaded: {}", self.loaded()),
        };
        let zones = if self.drawn_zones {
            "zones as drawn"
        } else {
            "zones from body and margin"
        };
        let faces = match self.faces.as_slice() {
            [] => "no live lettering".to_owned(),
            [one] => format!("face {one}"),
            several => format!("faces {}", several.join(", ")),
        };
        format!("{names}; {loaded}; {zones}; {faces}")
    }
}

/// What is burnt on each blank, pockets without any left out.
pub(crate) fn blanks(job: &Job<'_>) -> Vec<Blank> {
    job.pockets
        .iter()
        .zip(crate::matching::pocket_text::burnt(job))
        .filter_map(|(pocket, burnt)| {
            Some(Blank {
                pocket: pocket.name.clone(),
                burnt: burnt?,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_says_what_was_compared_and_what_was_not() {
        let bare = RestsOn {
            pockets: 12,
            ..RestsOn::default()
        };
        assert_eq!(
            bare.sentence(),
            "names not compared: no order list; all 12 pockets taken as loaded; zones from body and margin; no live lettering"
        );
        let full = RestsOn {
            names: Some(ComparedList {
                file: "orders.csv".to_owned(),
                orders: 7,
                runs: 2,
                ..ComparedList::default()
            }),
            pockets: 12,
            loaded: Some(["A1", "A2", "B2"].map(str::to_owned).to_vec()),
            drawn_zones: true,
            faces: vec!["Hack".to_owned(), "Ubuntu light".to_owned()],
        };
        assert_eq!(
            full.sentence(),
            "7 names compared with orders.csv over 2 runs; loaded: A1, A2, B2; zones as drawn; faces Hack, Ubuntu light"
        );
    }
}
