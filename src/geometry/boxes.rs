//! Finds boxes by place: a packed tree of bounding boxes.
//!
//! The boxes are sorted along a space-filling curve (Morton 1966). Each `WIDTH` neighbours get a box
//! around them, each `WIDTH` of those another one, and so on up to a single box. A balanced R-tree is
//! no quicker to search here and takes eight times as long to build, which was a tenth of the time of
//! a file with a hundred thousand outlines.

use kurbo::Rect;

use crate::cores;
use crate::ids::At;

/// How many boxes a box holds. Fewer make the tree deeper, more make each visit longer.
const WIDTH: usize = 8;

/// How many times [`WIDTH`] boxes are one piece of work for a core.
const TOGETHER: usize = 512;

/// An index of boxes by place.
#[derive(Debug)]
pub(crate) struct Boxes {
    /// The boxes in the curve's order, each with its number.
    leaves: Vec<(Rect, u32)>,
    /// From the lowest: boxes around [`WIDTH`] of the level below. The last has one.
    levels: Vec<Vec<Rect>>,
}

impl Boxes {
    /// Boxes, numbered in the order given. One with a side that is not a number is never found.
    pub(crate) fn new(boxes: impl IntoIterator<Item = Rect>) -> Self {
        let all: Vec<Rect> = boxes.into_iter().map(|r| r.abs()).collect();
        let whole = around(all.iter().filter(|r| r.is_finite()));
        let key = |r: &Rect| {
            let centre = r.center();
            let place = |v: f64, from: f64, size: f64| {
                let share = if size > 0.0 { (v - from) / size } else { 0.0 };
                // The cast saturates, and turns NaN into 0.
                (share * f64::from(u16::MAX)) as u16
            };
            spread(place(centre.x, whole.x0, whole.width()))
                | spread(place(centre.y, whole.y0, whole.height())) << 1
        };
        let mut order: Vec<(u32, u32)> = all
            .iter()
            .enumerate()
            .map(|(i, r)| (key(r), i as u32))
            .collect();
        order.sort_unstable();
        let leaves: Vec<(Rect, u32)> = order
            .iter()
            .map(|(_, i)| (*all.at(*i as usize), *i))
            .collect();
        let mut levels: Vec<Vec<Rect>> = Vec::new();
        let mut level: Vec<Rect> = leaves
            .chunks(WIDTH)
            .map(|c| around(c.iter().map(|(r, _)| r)))
            .collect();
        loop {
            let next: Vec<Rect> = level.chunks(WIDTH).map(around).collect();
            let done = level.len() <= 1;
            levels.push(level);
            if done {
                break;
            }
            level = next;
        }
        Self { leaves, levels }
    }

    /// The level of the one box around all; `None` where there are no boxes.
    fn top(&self) -> Option<usize> {
        (!self.leaves.is_empty()).then(|| self.levels.len() - 1)
    }

    /// Calls `take` for each box of which `wanted` is true and that lies under boxes of which `enter`
    /// is true, until it says to stop.
    fn visit(
        &self,
        enter: impl Fn(&Rect) -> bool,
        wanted: impl Fn(&Rect) -> bool,
        mut take: impl FnMut(usize) -> bool,
    ) {
        if let Some(top) = self.top() {
            self.visit_below(top, 0, &enter, &wanted, &mut take);
        }
    }

    /// The part of [`Boxes::visit`] at and below one box of a level; false once it is to stop. There are
    /// a dozen levels at most.
    fn visit_below(
        &self,
        level: usize,
        at: usize,
        enter: &impl Fn(&Rect) -> bool,
        wanted: &impl Fn(&Rect) -> bool,
        take: &mut impl FnMut(usize) -> bool,
    ) -> bool {
        if !enter(self.levels.at(level).at(at)) {
            return true;
        }
        let from = at * WIDTH;
        if let Some(below) = level.checked_sub(1) {
            let count = self.levels.at(below).len();
            return (from..(from + WIDTH).min(count))
                .all(|i| self.visit_below(below, i, enter, wanted, take));
        }
        let to = (from + WIDTH).min(self.leaves.len());
        let mut here = self.leaves.at(from..to).iter();
        here.all(|(rect, number)| !wanted(rect) || take(*number as usize))
    }

    /// The boxes that touch `rect`, in numbering order.
    pub(crate) fn touching(&self, rect: Rect) -> Vec<usize> {
        let mut found = Vec::new();
        let touches = |r: &Rect| touch(r, &rect);
        self.visit(touches, touches, |i| {
            found.push(i);
            true
        });
        found.sort_unstable();
        found
    }

    /// Of each box, in numbering order, whether it touches no box of another owner; `owners` has the
    /// owner of each.
    pub(crate) fn alone(&self, owners: &[u32]) -> Vec<bool> {
        let parts: Vec<&[(Rect, u32)]> = self.leaves.chunks(WIDTH * TOGETHER).collect();
        let touched = cores::each(&parts, |part| {
            let mut touched = Vec::new();
            for few in part.chunks(WIDTH) {
                self.touched(few, owners, &mut touched);
            }
            touched
        });
        let mut alone = vec![true; self.leaves.len()];
        for number in touched.into_iter().flatten() {
            *alone.at_mut(number as usize) = false;
        }
        alone
    }

    /// Those of a few neighbours that touch a box of another owner. They search together, since
    /// neighbours take nearly the same way down the tree.
    fn touched(&self, few: &[(Rect, u32)], owners: &[u32], found: &mut Vec<u32>) {
        let owner = |number: u32| owners.at(number as usize);
        let whole = around(few.iter().map(|(r, _)| r));
        let mut asking: Vec<&(Rect, u32)> = few.iter().collect();
        let mut open: Vec<(usize, usize)> = Vec::with_capacity(32);
        open.extend(self.top().map(|top| (top, 0)));
        while let Some((level, at)) = open.pop() {
            if asking.is_empty() {
                return;
            }
            let rect = self.levels.at(level).at(at);
            if !touch(&whole, rect) || !asking.iter().any(|(own, _)| touch(own, rect)) {
                continue;
            }
            let from = at * WIDTH;
            if let Some(below) = level.checked_sub(1) {
                let count = self.levels.at(below).len();
                open.extend((from..(from + WIDTH).min(count)).map(|i| (below, i)));
                continue;
            }
            let to = (from + WIDTH).min(self.leaves.len());
            let here = self.leaves.at(from..to);
            asking.retain(|(own, number)| {
                let meets =
                    |(other, i): &(Rect, u32)| touch(own, other) && owner(*i) != owner(*number);
                let met = here.iter().any(meets);
                if met {
                    found.push(*number);
                }
                !met
            });
        }
    }

    /// The box that touches `rect`, if exactly one does.
    pub(crate) fn only_one(&self, rect: Rect) -> Option<usize> {
        let mut found = None;
        let mut more = false;
        let touches = |r: &Rect| touch(r, &rect);
        self.visit(touches, touches, |i| {
            more = found.is_some();
            found = Some(i);
            !more
        });
        found.filter(|_| !more)
    }

    /// How many boxes touch `rect`; counted up to `most`, which is 1 or more.
    pub(crate) fn count(&self, rect: Rect, most: usize) -> usize {
        let mut count = 0;
        let touches = |r: &Rect| touch(r, &rect);
        self.visit(touches, touches, |_| {
            count += 1;
            count < most
        });
        count
    }

    /// Whether two boxes or more touch `rect`.
    pub(crate) fn several(&self, rect: Rect) -> bool {
        self.count(rect, 2) > 1
    }

    /// Whether a box for which `wanted` says so touches `rect`.
    pub(crate) fn any_touching(&self, rect: Rect, wanted: impl Fn(usize) -> bool) -> bool {
        let mut found = false;
        let touches = |r: &Rect| touch(r, &rect);
        self.visit(touches, touches, |i| {
            found = wanted(i);
            !found
        });
        found
    }

    /// The boxes that lie wholly in `rect`, in numbering order.
    pub(crate) fn within(&self, rect: Rect) -> Vec<usize> {
        let mut found = Vec::new();
        let inside =
            |r: &Rect| r.x0 >= rect.x0 && r.x1 <= rect.x1 && r.y0 >= rect.y0 && r.y1 <= rect.y1;
        self.visit(
            |r| touch(r, &rect),
            inside,
            |i| {
                found.push(i);
                true
            },
        );
        found.sort_unstable();
        found
    }
}

fn touch(a: &Rect, b: &Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

/// A box around others; one that nothing touches where there are none.
fn around<'r>(boxes: impl IntoIterator<Item = &'r Rect>) -> Rect {
    const NOWHERE: Rect = Rect::new(
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    );
    // `min` and `max` pass a NaN over, so a box of NaN would take part with its other side alone.
    boxes.into_iter().fold(NOWHERE, |all, r| {
        Rect::new(
            all.x0.min(r.x0),
            all.y0.min(r.y0),
            all.x1.max(r.x1),
            all.y1.max(r.y1),
        )
    })
}

/// Every second bit.
fn spread(v: u16) -> u32 {
    let mut v = u32::from(v);
    v = (v | v << 8) & 0x00ff_00ff;
    v = (v | v << 4) & 0x0f0f_0f0f;
    v = (v | v << 2) & 0x3333_3333;
    (v | v << 1) & 0x5555_5555
}

#[cfg(test)]
mod tests {
    #![allow(clippy::indexing_slicing)]
    use super::*;

    fn boxes(count: usize) -> Vec<Rect> {
        let mut chance = crate::chance::Chance::new(11);
        let mut number = || chance.between(0.0, 1_677.7);
        (0..count)
            .map(|_| {
                let (x, y) = (number(), number());
                Rect::new(x, y, x + number() / 20.0, y + number() / 20.0)
            })
            .collect()
    }

    #[test]
    fn every_question_is_answered_as_by_looking_at_each_box() {
        for count in [0, 1, 7, 8, 9, 64, 65, 1000] {
            let all = boxes(count);
            let tree = Boxes::new(all.iter().copied());
            // Every two that follow each other belong together.
            let owners: Vec<u32> = (0..count as u32).map(|i| i / 2).collect();
            let apart = |i: usize, j: usize| i / 2 == j / 2 || !touch(&all[i], &all[j]);
            let alone: Vec<bool> = (0..count)
                .map(|i| (0..count).all(|j| apart(i, j)))
                .collect();
            assert_eq!(tree.alone(&owners), alone, "{count}");
            assert!(count != 65 || alone.contains(&true) && alone.contains(&false));
            for at in boxes(40) {
                let numbers = |f: &dyn Fn(&Rect) -> bool| -> Vec<usize> {
                    (0..count).filter(|i| all.get(*i).is_some_and(f)).collect()
                };
                let touching = numbers(&|r| touch(r, &at));
                assert_eq!(tree.touching(at), touching, "{count} {at:?}");
                assert_eq!(tree.several(at), touching.len() > 1);
                let only = touching.first().filter(|_| touching.len() == 1);
                assert_eq!(tree.only_one(at).as_ref(), only);
                assert_eq!(
                    tree.any_touching(at, |i| i % 2 == 1),
                    touching.iter().any(|i| i % 2 == 1)
                );
                let large = at.inflate(300.0, 300.0);
                assert_eq!(tree.within(large), numbers(&|r| large.contains_rect(*r)));
            }
        }
    }

    #[test]
    fn a_box_of_no_numbers_hides_no_other() {
        let odd = Rect::new(f64::NAN, 0.0, f64::NAN, 1.0);
        let tree = Boxes::new([
            Rect::new(0.0, 0.0, 1.0, 1.0),
            odd,
            Rect::new(2.0, 2.0, 3.0, 3.0),
        ]);
        assert_eq!(tree.touching(Rect::new(-9.0, -9.0, 9.0, 9.0)), [0, 2]);
        // All of the bed and far beyond, as a mark has that cannot be measured.
        let everywhere = Rect::new(f64::MIN, f64::MIN, f64::MAX, f64::MAX);
        let tree = Boxes::new([Rect::new(0.0, 0.0, 1.0, 1.0), everywhere]);
        assert_eq!(tree.touching(Rect::new(5.0, 5.0, 6.0, 6.0)), [1]);
    }
}
