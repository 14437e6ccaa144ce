//! Several runs compared with one order list: a name is missing only if no run holds it, and there
//! too often only if all runs together hold it more often than ordered.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use super::OrderList;
use super::compare::{Comparison, Found, Instead, Said, compare};
use crate::ids::At;
use crate::ids::{Id as _, PocketId};

/// Runs that are compared with one list together.
#[derive(Debug, Default)]
pub struct Together {
    /// The list.
    pub list: OrderList,
    /// What all of them say.
    pub(crate) said: Vec<Said>,
    /// How all of them compare.
    pub comparison: Comparison,
    /// Whether ANNA is another name than Anna.
    pub exact_case: bool,
    /// The runs, in the order of the call.
    pub runs: Vec<Member>,
    /// Which of the runs each file name of the call leads to.
    pub known_as: HashMap<PathBuf, usize>,
    /// The run that a name is missed in that none holds: the last with room for it.
    pub room: usize,
}

/// One run of several.
#[derive(Debug, Default)]
pub struct Member {
    /// As named first.
    pub file: PathBuf,
    /// SHA-256 of what was read; empty where nothing could be.
    pub sha256: String,
    /// The names of its fixture's pockets.
    pub pockets: Vec<String>,
    /// Pockets with art that nobody can read.
    pub unread: Vec<String>,
}

impl Member {
    /// Its file name without the folders.
    pub fn name(&self) -> String {
        let name = self.file.file_name().unwrap_or_default();
        name.to_string_lossy().into_owned()
    }

    /// "A3 of monday-2.svg".
    pub fn place(&self, pocket: Option<PocketId>) -> String {
        match pocket.map(|p| self.pockets.at(p.number())) {
            Some(pocket) => format!("{pocket} of {}", self.name()),
            None => self.name(),
        }
    }
}

impl Together {
    /// Which of the runs a file is.
    pub fn run(&self, file: &Path) -> Option<usize> {
        self.known_as.get(file).copied()
    }

    /// What the comparison says of one run, whose lettering is `now`. Where that is not what was read
    /// before, as in a copy that a remedy is tried on, all are compared anew: places in the old lettering
    /// would be others in the new.
    pub(crate) fn share(&self, run: usize, now: Vec<Said>) -> Comparison {
        let now: Vec<Said> = now.into_iter().map(|s| Said { run, ..s }).collect();
        if self.said.iter().filter(|s| s.run == run).eq(&now) {
            return self.part(&self.comparison, run);
        }
        let others = self.said.iter().filter(|s| s.run != run).cloned();
        let mut all: Vec<Said> = others.chain(now).collect();
        all.sort_by_key(|s| s.run);
        self.part(&compare(&self.list.orders, &all, self.exact_case), run)
    }

    /// The part of a comparison that is said of one run.
    fn part(&self, comparison: &Comparison, run: usize) -> Comparison {
        let here = |f: &Found| f.run == run;
        Comparison {
            missing: comparison
                .missing
                .iter()
                .filter(|m| match &m.instead {
                    Instead::Nothing => self.room == run,
                    Instead::Slip(f, _)
                    | Instead::Elsewhere(f)
                    | Instead::Beside(f)
                    | Instead::Other(f) => here(f),
                })
                .cloned()
                .collect(),
            extra: comparison
                .extra
                .iter()
                .filter(|f| here(f))
                .cloned()
                .collect(),
            twice: comparison
                .twice
                .iter()
                .filter(|t| here(&t.surplus))
                .cloned()
                .collect(),
            filled: comparison
                .filled
                .iter()
                .filter(|(_, f)| here(f))
                .cloned()
                .collect(),
        }
    }

    /// Runs that could not be read: names may stand in them.
    pub fn unreadable(&self) -> impl Iterator<Item = &Member> {
        self.runs.iter().filter(|r| r.sha256.is_empty())
    }

    /// Where every order stands, in the order of the list: the run and the pocket, or `None`.
    pub fn table(&self) -> Vec<(usize, Option<&Found>)> {
        let mut table: Vec<(usize, Option<&Found>)> =
            (0..self.list.orders.len()).map(|o| (o, None)).collect();
        for (order, found) in &self.comparison.filled {
            table.at_mut(*order).1 = Some(found);
        }
        table
    }
}
