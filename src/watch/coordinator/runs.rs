//! One run: saved, resting, inspected, told, gone.

use std::path::{Path, PathBuf};
use std::time::Instant;

use super::{Coordinator, GRACE, REST, Tracked};
use crate::report::Verdict;
use crate::watch::file_stamp::FileStamp;
use crate::watch::input_digest::{FixtureSource, InputDigest};
use crate::watch::summary::{Entry, Summary};
use crate::watch::worker::{Done, Inspected, Order};

impl Coordinator {
    /// Looks at a file that may have changed; where `surely`, even if its stamp is the same. Whether
    /// it had.
    pub(super) fn touched(&mut self, path: &Path, surely: bool) -> bool {
        let Some(stamp) = FileStamp::of(path).filter(|_| self.folder.may_hold(path)) else {
            return self.forget(path);
        };
        let known = self.state.runs.get(path).map(|r| r.stamp);
        if known == Some(stamp) && !surely {
            return false;
        }
        let name = self.folder.name(path).to_path_buf();
        // Before anything else: what is saved again is not clear.
        self.withdraw(&name);
        self.workers.give_up(path);
        let place = FixtureSource::of(path, &self.options);
        if !self.state.inputs.contains_key(&place) {
            let inputs = InputDigest::at(&place, &self.options);
            if let Some(events) = &mut self.events {
                events.also(inputs.folders());
            }
            self.state.inputs.insert(place.clone(), inputs);
        }
        if self.is_material(path, &place) {
            self.state.check_inputs_at.get_or_insert_with(Instant::now);
            self.forget(path);
            return false;
        }
        let now = Instant::now();
        // What was there before the watch began has rested already, if its age says so.
        let begun = self.state.begun;
        let rested = stamp.age().filter(|_| !begun).unwrap_or_default();
        let changed = now.checked_sub(rested.min(GRACE)).unwrap_or(now);
        self.state.saves += 1;
        self.state.generation += 1;
        let (saves, generation) = (self.state.saves, self.state.generation);
        let run = self
            .state
            .runs
            .entry(path.to_path_buf())
            .or_insert_with(|| Tracked {
                stamp,
                place: place.clone(),
                generation,
                changed,
                old: !begun,
                doubtful: true,
                backlog: !begun,
                entry: Entry {
                    name: name.to_string_lossy().into_owned(),
                    saved: saves,
                    working: true,
                    told: None,
                    barred: None,
                },
            });
        run.stamp = stamp;
        run.place = place;
        run.generation = generation;
        run.changed = changed;
        run.doubtful = true;
        run.backlog = !begun;
        run.entry.saved = saves;
        run.entry.working = true;
        run.entry.barred = None;
        self.state
            .resting
            .insert(path.to_path_buf(), now + REST.saturating_sub(rested));
        self.state.dirty = true;
        true
    }

    /// Inspects a run again that did not change itself.
    pub(super) fn inspect_anew(&mut self, path: &Path, place: FixtureSource) {
        let name = self.folder.name(path).to_path_buf();
        self.withdraw(&name);
        self.workers.give_up(path);
        self.state.generation += 1;
        let generation = self.state.generation;
        let Some(run) = self.state.runs.get_mut(path) else {
            return;
        };
        let now = Instant::now();
        run.place = place;
        run.generation = generation;
        // Settings are saved as runs are: half of them at first, perhaps.
        run.changed = now;
        run.backlog = true;
        run.entry.working = true;
        run.entry.barred = None;
        self.state.resting.insert(path.to_path_buf(), now + REST);
        self.state.dirty = true;
    }

    /// A run that is not there any more. Whether it was.
    pub(super) fn forget(&mut self, path: &Path) -> bool {
        let name = self.folder.name(path).to_path_buf();
        self.withdraw(&name);
        self.workers.give_up(path);
        self.state.resting.remove(path);
        let Some(run) = self.state.runs.remove(path) else {
            return false;
        };
        self.display.gone(&run.entry.name);
        self.state.dirty = true;
        true
    }

    /// Takes a run out of the cleared folder.
    pub(super) fn withdraw(&mut self, name: &Path) {
        let Some(cleared) = &mut self.cleared else {
            return;
        };
        if let Err(e) = cleared.withdraw(name)
            && self.state.stuck.insert(name.to_path_buf())
        {
            self.notice(&e.to_string());
        }
    }

    /// Takes many runs out of the cleared folder, in one step where they are many.
    pub(super) fn withdraw_all(&mut self, paths: &[PathBuf]) {
        let Some(cleared) = &mut self.cleared else {
            return;
        };
        let names: Vec<PathBuf> = paths
            .iter()
            .map(|p| self.folder.name(p).to_path_buf())
            .collect();
        for (name, why) in cleared.withdraw_all(&names) {
            if self.state.stuck.insert(name) {
                self.notice(&why.to_string());
            }
        }
    }

    /// Sends the files to inspection that have rested long enough.
    pub(super) fn rested(&mut self) {
        let now = Instant::now();
        let due: Vec<PathBuf> = self
            .state
            .resting
            .iter()
            .filter(|(_, at)| **at <= now)
            .map(|(p, _)| p.clone())
            .collect();
        for path in due {
            // Still being written: `touched` sets it to rest anew.
            if self.touched(&path, false) {
                continue;
            }
            self.state.resting.remove(&path);
            if let Some(run) = self.state.runs.get(&path) {
                let order = Order {
                    name: self.folder.name(&path).to_path_buf(),
                    path,
                    generation: run.generation,
                    backlog: run.backlog,
                };
                self.workers.order(order);
            }
        }
    }

    /// Deals with an inspection that ended.
    pub(super) fn ended(&mut self, done: Done) {
        let path = &done.order.path;
        let Some(run) = self.state.runs.get(path) else {
            return;
        };
        if run.generation != done.order.generation {
            // It was saved again meanwhile; a copy that was made ready goes away with `done`.
            return;
        }
        let Some(inspected) = done.inspected else {
            self.touched(path, true);
            return;
        };
        if FileStamp::of(path) != Some(inspected.stamp) {
            self.touched(path, true);
            return;
        }
        if self.state.inputs.get(&run.place) != Some(&inspected.inputs) {
            // The fixture changed, and the news of it is still on its way.
            self.check_inputs();
            let place = FixtureSource::of(path, &self.options);
            if self.state.runs.get(path).map(|r| r.generation) == Some(done.order.generation) {
                self.inspect_anew(path, place);
            }
            return;
        }
        if inspected.run.verdict == Verdict::Unread && run.changed.elapsed() < GRACE {
            let until = run.changed + GRACE;
            self.state.resting.insert(path.clone(), until);
            return;
        }
        self.tell(&done.order, inspected);
    }

    /// A verdict is reached: lets a clear run into the cleared folder, and tells.
    ///
    /// Every verdict comes by here once, and a second time only where a clear run could not be let in:
    /// then nothing is told that was told before.
    fn tell(&mut self, order: &Order, inspected: Inspected) {
        let Inspected {
            run: found,
            stamp,
            ready,
            ..
        } = inspected;
        let mut said = Vec::new();
        let barred = match (ready, &mut self.cleared) {
            (Some(Ok(ready)), Some(cleared)) => match cleared.admit(ready) {
                Ok(words) => {
                    said = words;
                    None
                }
                Err(e) => Some(e.to_string()),
            },
            (Some(Err(why)), _) => Some(format!(
                "{} is clear and cannot be put into the cleared folder: {why}",
                order.name.display()
            )),
            _ => None,
        };
        let Some(run) = self.state.runs.get_mut(&order.path) else {
            return;
        };
        if let Some(recording) = &self.recording {
            recording.add(&found);
        }
        let told = Summary::of(&found);
        let before = run.entry.clone();
        let changed = before.told.as_ref().map(|t| t.verdict) != Some(told.verdict)
            && !(before.told.is_none() && run.old);
        run.old = false;
        run.stamp = stamp;
        run.doubtful = stamp.doubtful();
        run.entry.working = false;
        run.entry.told = Some(told.clone());
        run.entry.barred.clone_from(&barred);
        let entry = run.entry.clone();
        if entry != before {
            self.display.verdict(&entry);
            self.state.dirty = true;
        }
        for words in barred
            .into_iter()
            .filter(|_| entry.barred != before.barred)
            .chain(said)
        {
            self.notice(&words);
        }
        if changed {
            if self.bell && told.verdict != Verdict::Clear {
                self.display.ring();
            }
            let first = told.first().map(|p| p.text.clone()).unwrap_or_default();
            self.calls.changed(order.path.clone(), told.verdict, first);
        }
    }
}
