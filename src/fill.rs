//! From the order list to run files: each name set as large as its zone allows, every file inspected
//! before it is put in place.
//!
//! ```text
//! orders ─ plan ─▶ which order in which pocket of which run
//! order ─ typeset ─▶ lines, by the layout that measures ─ fit ─▶ size and place in the zone
//! run ─ svg ─▶ bytes ─ inspect ─▶ clear: written with its load map; held: the name is left out
//! ```

mod attributes;
mod fit;
mod only;
mod place;
pub(crate) mod plan;
mod svg;
mod typeset;
mod under;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::artwork::mark::{Colour, Operation};
use crate::fixture::{self, Fixture};
use crate::ids::{At, PocketId};
use crate::inspect::{Failure, Inspector, Opened, Options};
use crate::orders::{self, Named, Order, OrderList};
use crate::output::Kind;
use crate::report::proof;
use crate::report::{Run, Verdict};
use crate::wording::quoted;

use self::fit::{Fit, Room};
use self::plan::Assigned;
use self::typeset::{Block, Typesetter};
use self::under::Under;

/// What one call of `fill` is asked to do.
#[derive(Debug, Clone)]
pub struct FillOptions {
    /// The order list.
    pub list: Named,
    /// The folder that run files and load maps go into.
    pub folder: PathBuf,
    /// Outlines in place of live lettering.
    pub outlines: bool,
    /// `--only`: pockets or names that are to be burnt again; empty for all.
    pub only: Vec<String>,
    /// Fixture, faces, loaded pockets, strictness.
    pub inspect: Options,
}

/// The result.
#[derive(Debug)]
pub struct Filled {
    /// The list's file name.
    pub list: String,
    /// The files that were written, in order.
    pub written: Vec<Written>,
    /// Orders that no file holds.
    pub unset: Vec<Unset>,
    /// What a person should know.
    pub notes: Vec<String>,
}

/// A file that was written.
#[derive(Debug)]
pub struct Written {
    /// The run file.
    pub file: PathBuf,
    /// The pockets that get something burnt.
    pub pockets: Vec<String>,
    /// What the inspection says of it.
    pub run: Run,
}

/// An order that is in no file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unset {
    /// The name.
    pub name: String,
    /// "line 3".
    pub row: String,
    /// The pocket that is left bare.
    pub pocket: String,
    /// Why, and what to do.
    pub why: String,
}

/// A run file that is ready to be put in place.
struct Ready {
    file: PathBuf,
    bytes: Vec<u8>,
    load_map: PathBuf,
    map: Vec<u8>,
    pockets: Vec<String>,
    /// Names whose outlines do not read back as the list has them.
    unread: Vec<String>,
    run: Run,
}

/// A name is broken into lines if that makes its letters larger by more than this factor, which is
/// above rounding.
const BREAK: f64 = 1.01;

/// The same factor where an order has several columns: "1 May" on two lines below a name is not worth
/// a few per cent of size.
const BREAK_COLUMN: f64 = 1.25;

/// An order in its pocket, set.
struct Set {
    assigned: Assigned,
    block: Block,
    size: f64,
    placed: kurbo::Affine,
}

/// Fills runs from an order list. Nothing is written unless every file can be.
///
/// # Errors
///
/// A list, a fixture or settings that cannot be used; a run that is held for something that no name
/// is to blame for; a file in the way.
pub fn fill(options: &FillOptions) -> Result<Filled, Failure> {
    let place = fixture_of(options)?;
    let inspector = Inspector::new(Options {
        fixture: Some(place.clone()),
        ..options.inspect.clone()
    });
    let opened = inspector.open(&place)?;
    let fixture = &opened.fixture;
    let list =
        orders::read(&options.list, &|called| fixture.called(called)).map_err(Failure::plain)?;
    let usable = inspector.loaded(fixture)?;
    let usable: Vec<PocketId> = fixture
        .pockets
        .ids()
        .filter(|p| usable.as_ref().is_none_or(|usable| usable.contains(p)))
        .collect();
    let runs = plan::deal(&list.orders, &usable).map_err(|at| no_place(&list, fixture, at))?;
    let runs = only::only(&runs, &options.only, &list, fixture)?;

    let mut filler = Filler::new(&opened, &list, options)?;
    let mut filled = Filled {
        list: list.file.clone(),
        written: Vec::new(),
        unset: Vec::new(),
        notes: list.notes.clone(),
    };
    if filler.off.is_none() {
        filled.notes.push(
            "[paints] lists no colour under off, so the runs do not hold the fixture's own lines"
                .to_owned(),
        );
    }
    let mut ready: Vec<Ready> = Vec::new();
    for (number, assigned) in &runs {
        let name = filler.run_name(*number, assigned, runs.len());
        ready.extend(filler.run(&inspector, &name, assigned, &mut filled.unset)?);
    }
    let unread: Vec<&String> = ready.iter().flat_map(|r| &r.unread).collect();
    filled.notes.extend(unsure(&unread));
    place::put_in_place(ready, options, &place, &filler.stem, &mut filled)?;
    Ok(filled)
}

/// What is to be known of names that cannot be read back from their outlines.
fn unsure(names: &[&String]) -> Option<String> {
    /// More would fill the screen; the list itself has all.
    const NAMED: usize = 5;
    let mut shown: Vec<String> = names.iter().take(NAMED).map(|n| quoted(n)).collect();
    if names.len() > NAMED {
        shown.push(format!("{} more", names.len() - NAMED));
    }
    let shown: Vec<&str> = shown.iter().map(String::as_str).collect();
    (!names.is_empty()).then(|| {
        format!(
            "{} cannot be read back from outlines with certainty, so `inspect --names` would hold a run of these outlines; fill it without --outlines where it is to be compared with the list again",
            crate::wording::listed(&shown, "and")
        )
    })
}

/// The fixture: named, or the nearest to the folder for the runs, or to the list.
fn fixture_of(options: &FillOptions) -> Result<PathBuf, Failure> {
    options
        .inspect
        .fixture
        .clone()
        .or_else(|| fixture::nearest(&options.folder.join("run.svg")))
        .or_else(|| fixture::nearest(&options.list.file))
        .ok_or_else(|| {
            Failure::plain(
                "no fixture.toml lies in the folder for the runs or above, nor by the order list: name the fixture with --fixture FOLDER",
            )
        })
}

fn no_place(list: &OrderList, fixture: &Fixture, at: usize) -> Failure {
    let Order { row, pocket, .. } = list.orders.at(at);
    let pocket = pocket.map_or("any pocket", |p| fixture.pockets[p].name.as_str());
    Failure::plain(format!(
        "{row} of the order list is for {pocket}, and --loaded says that no blank lies there: correct one of them"
    ))
}

/// What the runs of one call share.
struct Filler<'a> {
    fixture: &'a Fixture,
    list: &'a OrderList,
    options: &'a FillOptions,
    typesetter: Typesetter<'a>,
    under: Option<Under>,
    paint: Colour,
    off: Option<Colour>,
    /// The list's file name without its ending: run files are called after it.
    stem: String,
}

impl<'a> Filler<'a> {
    fn new(
        opened: &'a Opened,
        list: &'a OrderList,
        options: &'a FillOptions,
    ) -> Result<Self, Failure> {
        let fixture = &opened.fixture;
        let settings = &fixture.settings;
        let own = &settings.lettering;
        let face = opened.faces.called(&own.face).ok_or_else(|| {
            Failure::plain(format!(
                "[lettering] face = \"{}\": no face of this name is at hand; put its font file into the folder fonts beside fixture.toml, or name another face",
                own.face
            ))
        })?;
        let paint = own
            .paint
            .or_else(|| settings.first_paint(Operation::Engrave))
            .ok_or_else(|| {
                Failure::plain(
                    "[paints] lists no colour under engrave, so there is none to set names in: list one, or write [lettering] paint",
                )
            })?;
        let stem = options.list.file.file_stem().map_or_else(
            || "run".to_owned(),
            |stem| stem.to_string_lossy().into_owned(),
        );
        Ok(Self {
            typesetter: Typesetter::new(&opened.faces, face, own),
            under: own
                .under
                .as_ref()
                .map(|file| Under::read(fixture, file, &opened.faces))
                .transpose()
                .map_err(Failure::plain)?,
            paint,
            off: settings.first_paint(Operation::Off),
            stem,
            fixture,
            list,
            options,
        })
    }

    fn pocket_name(&self, pocket: PocketId) -> &'a str {
        &self.fixture.pockets[pocket].name
    }

    /// "orders-03", or "orders-03-A3" for one that is burnt again. Numbers are as wide as the
    /// largest, so that files sort as they are to be sent.
    fn run_name(&self, number: usize, assigned: &[Assigned], runs: usize) -> String {
        let again = if self.options.only.is_empty() {
            String::new()
        } else {
            let pockets: Vec<&str> = assigned
                .iter()
                .map(|a| self.pocket_name(a.pocket))
                .collect();
            format!("-{}", pockets.join("-"))
        };
        // Where only some of the runs are written, their number in all is not known here.
        let width = if self.options.only.is_empty() {
            runs.to_string().len()
        } else {
            1
        };
        format!("{}-{number:0width$}{again}", self.stem)
    }

    fn unset(&self, assigned: &Assigned, why: String) -> Unset {
        let order = self.list.orders.at(assigned.order);
        Unset {
            name: order.name.clone(),
            row: order.row.clone(),
            pocket: self.pocket_name(assigned.pocket).to_owned(),
            why,
        }
    }

    /// One run, inspected; `None` where no name of it could be set.
    fn run(
        &mut self,
        inspector: &Inspector,
        name: &str,
        assigned: &[Assigned],
        unset: &mut Vec<Unset>,
    ) -> Result<Option<Ready>, Failure> {
        let mut sets: Vec<Set> = Vec::new();
        for a in assigned {
            match self.set(a) {
                Ok(set) => sets.push(set),
                Err(why) => unset.push(self.unset(a, why)),
            }
        }
        let file = self.options.folder.join(format!("{name}.svg"));
        while !sets.is_empty() {
            let live = self.marked(&sets, false);
            let (run, map) = self.inspector(inspector, &sets, true).inspect_bytes(
                &file,
                live.clone(),
                proof::load_map,
            );
            let Some(map) = map.filter(|_| run.verdict != Verdict::Unread) else {
                return Err(Failure::plain(run.trouble.unwrap_or_default()));
            };
            if run.verdict == Verdict::Clear && !self.options.outlines {
                return Ok(Some(self.ready(file, live, &map, &sets, Vec::new(), run)));
            }
            // The live lettering was compared with the list. The outlines are the same curves, but
            // not every sign can be read back from them.
            let run = if run.verdict == Verdict::Clear {
                let bytes = self.marked(&sets, true);
                let (outlined, _) = self.inspector(inspector, &sets, false).inspect_bytes(
                    &file,
                    bytes.clone(),
                    |_, _| (),
                );
                if outlined.verdict == Verdict::Clear {
                    let unread = self.unread(inspector, &file, &bytes, &sets);
                    let outlined = Run {
                        rests_on: run.rests_on,
                        blanks: run.blanks,
                        ..outlined
                    };
                    let map = map.replace(&run.sha256, &outlined.sha256);
                    return Ok(Some(self.ready(file, bytes, &map, &sets, unread, outlined)));
                }
                outlined
            } else {
                run
            };
            // A name that cannot be sent is left out; the others need not wait for it.
            let before = sets.len();
            let holding = holding(&run, self.options.inspect.strict);
            sets.retain(|set| {
                let pocket = self.pocket_name(set.assigned.pocket);
                let found = holding.iter().find(|(p, _)| *p == Some(pocket));
                unset.extend(found.map(|(_, why)| self.unset(&set.assigned, why.clone())));
                found.is_none()
            });
            if sets.len() == before {
                let why: Vec<String> = holding.into_iter().map(|(_, why)| why).collect();
                return Err(Failure::plain(format!(
                    "{name} would be held, so nothing is written: {}",
                    why.join("; ")
                )));
            }
        }
        Ok(None)
    }

    /// The names for which a later comparison with the list would hold the outlines.
    fn unread(
        &self,
        inspector: &Inspector,
        file: &Path,
        bytes: &[u8],
        sets: &[Set],
    ) -> Vec<String> {
        let inspector = self.inspector(inspector, sets, true);
        let (run, _) = inspector.inspect_bytes(file, bytes.to_vec(), |_, _| ());
        let held: Vec<Option<&str>> = holding(&run, false).into_iter().map(|(p, _)| p).collect();
        sets.iter()
            .filter(|set| held.contains(&Some(self.pocket_name(set.assigned.pocket))))
            .map(|set| self.list.orders.at(set.assigned.order).name.clone())
            .collect()
    }

    fn ready(
        &self,
        file: PathBuf,
        bytes: Vec<u8>,
        map: &str,
        sets: &[Set],
        unread: Vec<String>,
        run: Run,
    ) -> Ready {
        let mut pockets: Vec<PocketId> = sets.iter().map(|s| s.assigned.pocket).collect();
        pockets.sort_unstable();
        Ready {
            load_map: file.with_extension("html"),
            map: Kind::Markup.mark(map.as_bytes()),
            pockets: pockets
                .into_iter()
                .map(|p| self.pocket_name(p).to_owned())
                .collect(),
            file,
            bytes,
            unread,
            run,
        }
    }

    /// The order in its pocket, as large as it fits.
    fn set(&mut self, assigned: &Assigned) -> Result<Set, String> {
        let order = self.list.orders.at(assigned.order);
        let pocket = &self.fixture.pockets[assigned.pocket];
        let settings = &self.fixture.settings;
        let own = &settings.lettering;
        let shown = settings.bed.shown;
        let centre = fit::centre(pocket).ok_or("its pocket has no zone")?;
        let mut room = Room::of(pocket, centre, &self.fixture.settings.bed);
        if let Some(under) = &self.under {
            room.take(&under.ink());
        }
        let most = own.size / self.typesetter.capital;
        let mut best: Option<(Block, Fit)> = None;
        for block in self.typesetter.blocks(&order.parts)? {
            let fit = room.largest(&block, most);
            let worth = if order.parts.len() > 1 {
                BREAK_COLUMN
            } else {
                BREAK
            };
            if best.as_ref().is_none_or(|(_, b)| fit.size > worth * b.size) {
                best = Some((block, fit));
            }
        }
        let (block, fit) = best.ok_or("there is nothing to set")?;
        let letter = settings.limits.smallest_letter;
        let least = (own.smallest / self.typesetter.capital).max(letter / block.letter.max(1e-9));
        // Sizes are rounded to a hundredth; the smallest may be that much off.
        if fit.size + 0.01 < least {
            return Err(format!(
                "its capitals would be {} high{}, and {} is the least: shorten it, or see [lettering] smallest, lines and [limits] smallest-letter",
                shown.length(fit.size * self.typesetter.capital),
                if block.lines.len() > 1 {
                    format!(" on {} lines", block.lines.len())
                } else {
                    String::new()
                },
                shown.length(least * self.typesetter.capital),
            ));
        }
        let placed = room.to_bed * kurbo::Affine::translate(fit.middle.to_vec2());
        Ok(Set {
            assigned: assigned.clone(),
            block,
            size: fit.size,
            placed,
        })
    }

    /// The run file, with the mark of this program.
    fn marked(&self, sets: &[Set], outlines: bool) -> Vec<u8> {
        Kind::Markup.mark(self.drawn(sets, outlines).as_bytes())
    }

    fn drawn(&self, sets: &[Set], outlines: bool) -> String {
        let names: Vec<svg::Name<'_>> = sets
            .iter()
            .map(|set| svg::Name {
                block: &set.block,
                size: set.size,
                placed: set.placed,
            })
            .collect();
        let mut shapes = Vec::new();
        if let Some(under) = &self.under {
            for pocket in sets
                .iter()
                .map(|s| &self.fixture.pockets[s.assigned.pocket])
            {
                if let Some(centre) = fit::centre(pocket) {
                    shapes.extend(
                        under.shapes(Room::of(pocket, centre, &self.fixture.settings.bed).to_bed),
                    );
                }
            }
        }
        svg::write(
            &self.fixture.lock,
            self.off,
            &shapes,
            &names,
            &svg::Style {
                face: &self.typesetter.face,
                align: self.fixture.settings.lettering.align,
                paint: self.paint,
                outlines,
            },
        )
    }

    /// An inspector that knows which pockets are loaded and, where names are to be compared, what each
    /// should hold.
    fn inspector(&self, inspector: &Inspector, sets: &[Set], names: bool) -> Inspector {
        let orders: Vec<Order> = sets
            .iter()
            .map(|set| Order {
                pocket: Some(set.assigned.pocket),
                ..self.list.orders.at(set.assigned.order).clone()
            })
            .collect();
        let pockets: Vec<&str> = sets
            .iter()
            .map(|s| self.pocket_name(s.assigned.pocket))
            .collect();
        inspector.with(|options| {
            options.loaded = Some(pockets.join(","));
            options.names = None;
            options.expected = names.then(|| {
                Arc::new(OrderList {
                    orders,
                    notes: Vec::new(),
                    ..self.list.clone()
                })
            });
        })
    }
}

/// The findings that hold a run, each with its pocket.
fn holding(run: &Run, strict: bool) -> Vec<(Option<&str>, String)> {
    use crate::finding::Severity;
    run.findings
        .iter()
        .filter(|f| f.waived.is_none())
        .filter(|f| f.severity == Severity::Hold || (strict && f.severity == Severity::Caution))
        .map(|f| {
            let pocket = f.pocket.as_deref();
            (pocket, format!("{} [{}]", f.message, f.rule))
        })
        .collect()
}
