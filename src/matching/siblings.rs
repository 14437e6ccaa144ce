//! Siblings: runs repeat art across pockets, and the one that is turned against all others is wrong.
//!
//! Siblings never prove that the majority is right, only that one differs from it: art that agrees
//! gets no evidence from here. Art that lies as it does beside names that are known to lie wrong is no
//! majority: a batch of which most was turned would have the rest turned as well.

use std::sync::Arc;

use kurbo::Vec2;

use super::Job;
use super::art::Art;
use super::evidence::{Evidence, Opposed, SPECK, WayUp, between, outlined, turned};
use crate::fixture::Pocket;
use crate::geometry::region::Region;
use crate::geometry::shape_match::{Motion, Patch};
use crate::ids::{ArtId, At, IdVec, PocketId};
use crate::readback::orientation::Orientation;
use crate::readback::{in_frame, signs};
use crate::remembered::Key;

/// Of each pocket, so many of the largest pieces are compared. Traced pictures have thousands of
/// pieces, and the large ones show a turn as well as all of them.
const LARGEST_OF_A_POCKET: usize = 8;

/// How many pockets must agree before one that differs is reported.
const AGREE_FROM: usize = 2;

/// The share of the pockets with the art that must agree: with less, the turns are part of the
/// design.
const MOST: f64 = 0.65;

/// Art turned by less than this, in degrees, agrees: below the usual `tilt`.
const AGREES: f64 = 1.0;

/// So many pairs that look alike and are not, for each piece and in all, end the search: on a
/// fixture of thousands of pockets with art of their own it would take hours. What has no evidence
/// by then has none, and is named as such.
const FAILED_EACH: usize = 4;
const FAILED_ONCE: usize = 200;

/// More pieces than this in a pocket are traced art.
const TRACED: usize = 200;

/// A piece of traced art is only compared if its box is this share of the box of all of it: of
/// hundreds of specks, some are alike by chance, and turned.
const STANDS_OUT: f64 = 0.02;

/// So many marks of about one size in a pocket are letters, or parts of one picture: a single one may
/// be the like of another one turned, as a u is of an n.
const MANY: usize = 3;

/// Sizes of letters of one word differ up to this many times.
const ABOUT_ONE_SIZE: f64 = 2.5;

/// A pattern, one shape several times over, says something where at least this share of the pockets with
/// art have it. Lower, and rows of arrows that each have a design of their own are held by chance.
const SAME_PATTERN: f64 = 0.75;

/// A pattern of more parts than this is not looked through.
const MOST_OF_A_PATTERN: usize = 60;

/// Two pockets whose art lies opposite say something where they are this share of those with outlined art that
/// nothing else decides. Lower, and of a set of drawings the arrow to the left is held for the one to the right.
const PAIR: f64 = 0.5;

/// Two groups lie opposite to each other if they are turned by more than this, in degrees: as for
/// `upside-down`, less is merely askew.
pub(super) const OPPOSED_FROM: f64 = 45.0;

/// What is one of many is compared with one of many only up to this turn, in degrees: it may lean.
const LEANS: f64 = 25.0;

/// Corners of all pieces together up to which as many of a pocket are compared as
/// [`LARGEST_OF_A_POCKET`] says; of art with more, the largest alone, which shows a turn as well. Each
/// pair takes a millisecond for every hundred corners.
const MOST_CORNERS: usize = 150_000;

struct Piece {
    arts: Vec<ArtId>,
    pocket: PocketId,
    patch: Patch,
    /// Whether it is one of [`MANY`].
    of_many: bool,
}

/// What siblings say of each other.
#[derive(Debug, Default)]
pub(super) struct BySiblings {
    /// Art that is turned or flipped against its siblings, with the ways up that this makes likely, the likeliest first:
    /// of art that is even in some way there are several.
    pub(super) odd: Vec<(ArtId, Vec<WayUp>)>,
    /// Pockets in two groups that lie opposite to each other.
    pub(super) opposed: Vec<Opposed>,
}

/// Compares the art of all pockets, but for what is `known` by better evidence and like nothing else.
/// `right` says of pockets whether what has an up by other evidence lies right there, where that is known.
pub(super) fn look(
    job: &Job<'_>,
    known: &dyn Fn(ArtId) -> bool,
    right: &IdVec<PocketId, Option<bool>>,
) -> BySiblings {
    let open = |(id, art): (ArtId, &Art<'_>)| !known(id) && outlined(job, art);
    if !job.art.pairs().any(open) {
        return BySiblings::default();
    }
    let pieces = pieces(job);
    let known = |piece: &Piece| piece.arts.iter().all(|art| known(*art));
    let mut open: Vec<PocketId> = pieces
        .iter()
        .filter(|p| !known(p))
        .map(|p| p.pocket)
        .collect();
    open.dedup();
    let mut taken = vec![false; pieces.len()];
    let mut failed = 0;
    let most = pieces.len().saturating_mul(FAILED_EACH) + FAILED_ONCE;
    let mut out = BySiblings::default();
    for (index, first) in pieces.iter().enumerate() {
        if *taken.at(index) {
            continue;
        }
        let rest = pieces.iter().enumerate().skip(index + 1);
        let alike: Vec<(usize, &Piece)> = rest
            .filter(|(other, piece)| !*taken.at(*other) && first.patch.alike(&piece.patch))
            .collect();
        if known(first) && alike.iter().all(|(_, piece)| known(piece)) {
            continue;
        }
        let mut group: Vec<(&Piece, Arc<Vec<Motion>>)> = Vec::new();
        for (other, piece) in alike {
            let motions = motions(job, first, piece);
            failed += usize::from(motions.is_empty());
            if failed > most {
                return out;
            }
            if !motions.is_empty() {
                group.push((piece, motions));
                *taken.at_mut(other) = true;
            }
        }
        if group.is_empty() {
            continue;
        }
        // Of one that is even, its own turns count as well.
        group.insert(0, (first, motions(job, first, first)));
        compare(job, &group, open.len(), right, &mut out);
    }
    out
}

/// The largest outlined pieces of every pocket.
fn pieces(job: &Job<'_>) -> Vec<Piece> {
    let mut out = Vec::new();
    for pocket in job.pockets.ids() {
        let mut here: Vec<ArtId> = job
            .art_in(pocket)
            .iter()
            .copied()
            .filter(|i| outlined(job, &job.art[*i]))
            .collect();
        let reach = |i: &ArtId| job.art[*i].reach;
        if here.len() > TRACED {
            let all = here.iter().map(reach).reduce(|a, b| a.union(b));
            let least = STANDS_OUT * all.map_or(0.0, |r| r.area());
            here.retain(|i| reach(i).area() >= least);
        }
        let longer = |i: ArtId| {
            let bounds = job.art[i].bounds();
            bounds.width().max(bounds.height())
        };
        let sizes: Vec<f64> = here.iter().map(|i| longer(*i)).collect();
        let of_many = |size: f64| {
            let alike = |other: &&f64| size.max(**other) <= ABOUT_ONE_SIZE * size.min(**other);
            sizes.iter().filter(alike).count() >= MANY
        };
        // What several make together is compared as a whole: a cross of two bars has an up, and no bar.
        if (2..=TRACED).contains(&here.len()) {
            let together =
                Region::union_up_to(here.iter().map(|i| job.art[*i].ink()), MOST_CORNERS);
            out.extend(together.and_then(Patch::new).map(|patch| Piece {
                arts: here.clone(),
                pocket,
                patch,
                of_many: false,
            }));
        }
        let mut by_size: Vec<(ArtId, f64)> = here
            .into_iter()
            .map(|i| (i, job.art[i].bounds().area()))
            .collect();
        by_size.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        // The dot of an i drawn as a line has one corner rounder than the others, where the line begins and ends.
        by_size.retain(|(art, _)| longer(*art) >= SPECK);
        let largest = by_size.into_iter().take(LARGEST_OF_A_POCKET);
        out.extend(largest.filter_map(|(art, _)| {
            let patch = Patch::new(job.art[art].ink().clone())?;
            Some(Piece {
                arts: vec![art],
                pocket,
                patch,
                of_many: of_many(longer(art)),
            })
        }));
    }
    let corners: usize = out.iter().map(|p: &Piece| p.patch.ink().corners()).sum();
    if corners > MOST_CORNERS {
        let mut seen = job.pockets.each(false);
        out.retain(|p| p.arts.len() == 1 && !std::mem::replace(&mut seen[p.pocket], true));
    }
    out
}

/// How a piece lies in its pocket, seen from the first of its group: the turn beyond that of the
/// pockets themselves, and whether it is flipped beyond what the zones ask for.
#[derive(Clone, Copy)]
struct Lies {
    turn: f64,
    flipped: bool,
}

/// Every motion that lays one piece on another.
fn motions(job: &Job<'_>, one: &Piece, other: &Piece) -> Arc<Vec<Motion>> {
    let key = Key::default().areas([one.patch.ink(), other.patch.ink()]);
    let motions = || one.patch.motions(&other.patch);
    job.known.motions.of(key, motions)
}

/// Finds those of a group that differ from what most agree on; or, where they are of two minds, both
/// sides. `open` is how many pockets have art that nothing else decides; for `right` see [`look`].
fn compare(
    job: &Job<'_>,
    group: &[(&Piece, Arc<Vec<Motion>>)],
    open: usize,
    right: &IdVec<PocketId, Option<bool>>,
    out: &mut BySiblings,
) {
    let pockets: Vec<PocketId> = group.iter().map(|(piece, _)| piece.pocket).collect();
    let mut once = pockets.clone();
    once.sort_unstable();
    once.dedup();
    // The same shape several times in a pocket is a pattern, which may be turned as it likes.
    if group.len() < 2 || once.len() != pockets.len() {
        return;
    }
    let model = group.at(0).0;
    let first = &job.pockets[model.pocket];
    // A row of arrows is another row of arrows turned: by chance, unless most pockets have it.
    let of_all = job.pockets.ids().filter(|p| !job.art_in(*p).is_empty());
    if (group.len() as f64) < SAME_PATTERN * of_all.count() as f64 && model.is_pattern() {
        return;
    }
    let members: Vec<Member<'_>> = group
        .iter()
        .map(|(piece, motions)| {
            let own = &job.pockets[piece.pocket];
            let lies = motions
                .iter()
                .map(|m| {
                    let c = m.affine.as_coeffs();
                    let up = Vec2::new(
                        c[0] * first.tops.x + c[2] * first.tops.y,
                        c[1] * first.tops.x + c[3] * first.tops.y,
                    );
                    Lies {
                        turn: between(own.tops, up),
                        flipped: m.mirrored != (own.settings.mirrored != first.settings.mirrored),
                    }
                })
                .collect();
            Member {
                piece,
                own,
                lies,
                right: right[piece.pocket],
            }
        })
        .collect();
    let Some((common, agreed, voices)) = common(&members) else {
        return;
    };
    // Of a shape that is even in some way not every motion was found: whether it may lie as the others
    // do is looked at. What its own evenness hides is no evidence.
    let agrees = |m: &Member<'_>, with: &Lies| {
        m.lies_so(with) || could_lie(model, first, m.piece, m.own, with)
    };
    let (with, others): (Vec<&Member<'_>>, Vec<&Member<'_>>) =
        members.iter().partition(|m| agrees(m, &common));
    if others.is_empty() {
        return;
    }
    if agreed < AGREE_FROM || (agreed as f64) < MOST * voices.len() as f64 {
        if voices.len() == 2 && 2.0 < PAIR * open as f64 {
            return;
        }
        let speaks = |m: &&Member<'_>| voices.iter().any(|v| std::ptr::eq(*v, *m));
        let (with, others): (Vec<_>, Vec<_>) = (
            with.into_iter().filter(speaks).collect(),
            others.into_iter().filter(speaks).collect(),
        );
        let second = most_agree(&lies(&others));
        let Some((second, _)) = second.filter(|(l, _)| others.iter().all(|m| agrees(m, l))) else {
            return;
        };
        let flipped = second.flipped != common.flipped;
        let turn = apart(second.turn, common.turn);
        let turned = flipped || turn > OPPOSED_FROM;
        let told =
            |m: &&&Member<'_>| !m.piece.of_many && !m.piece.reads_again(m.own, flipped, turn);
        let art = others.iter().find(told).and_then(|m| m.piece.arts.first());
        // A piece that may lie either way belongs to neither group.
        let side = |all: &[&Member<'_>], not: &Lies| -> (Vec<PocketId>, Vec<ArtId>) {
            let own = || all.iter().filter(|m| told(m) && !agrees(m, not));
            let art = own().flat_map(|m| m.piece.arts.iter().copied());
            (own().map(|m| m.piece.pocket).collect(), art.collect())
        };
        let [(one, one_art), (other, other_art)] = [side(&with, &second), side(&others, &common)];
        let (groups, compared) = ([one, other], [one_art, other_art]);
        if let (Some(art), true) = (art, turned && groups.iter().all(|g| !g.is_empty())) {
            out.opposed.push(Opposed {
                art: *art,
                groups,
                compared,
                turn,
                flipped,
                from: Evidence::Siblings,
            });
        }
        return;
    }
    for member in others {
        // Of several ways in which a symmetric shape may lie, the one with the least change comes first.
        let mut ways: Vec<&Lies> = member.lies.iter().collect();
        ways.sort_by(|a, b| {
            (a.flipped != common.flipped)
                .cmp(&(b.flipped != common.flipped))
                .then(apart(a.turn, common.turn).total_cmp(&apart(b.turn, common.turn)))
        });
        let leans = |l: &Lies| l.flipped == common.flipped && apart(l.turn, common.turn) <= LEANS;
        let tells = |l: &&Lies| {
            let turn = apart(l.turn, common.turn);
            leans(l)
                || !member.piece.of_many
                    && !(member.piece).reads_again(member.own, l.flipped != common.flipped, turn)
        };
        let ways: Vec<WayUp> = ways
            .into_iter()
            .take_while(tells)
            .map(|l| WayUp {
                up: turned(member.own.tops, l.turn - common.turn),
                mirrored: member.own.settings.mirrored != (l.flipped != common.flipped),
                from: Evidence::Siblings,
                bend: 0.0,
            })
            .collect();
        if !ways.is_empty() {
            let arts = member.piece.arts.iter();
            out.odd.extend(arts.map(|art| (*art, ways.clone())));
        }
    }
}

/// A piece of a group, with the ways in which it may lie.
struct Member<'a> {
    piece: &'a Piece,
    own: &'a Pocket,
    lies: Vec<Lies>,
    /// Whether what has an up by other evidence lies right in its pocket, where that is known.
    right: Option<bool>,
}

impl Member<'_> {
    fn lies_so(&self, with: &Lies) -> bool {
        self.lies.iter().any(|own| own.agrees(with))
    }
}

fn lies(members: &[&Member<'_>]) -> Vec<Vec<Lies>> {
    members.iter().map(|m| m.lies.clone()).collect()
}

/// How most lie, how many do, and whose voices were counted: not those in pockets whose names are known to lie
/// wrong, nor those that lie as more of these do than of those in pockets whose names lie right.
fn common<'m, 'a>(members: &'m [Member<'a>]) -> Option<(Lies, usize, Vec<&'m Member<'a>>)> {
    let mut voices: Vec<&Member<'_>> = (members.iter())
        .filter(|m| m.right != Some(false))
        .collect();
    loop {
        let (common, agreed) = most_agree(&lies(&voices))?;
        let so = |right: bool| {
            let own = members.iter().filter(|m| m.right == Some(right));
            own.filter(|m| m.lies_so(&common)).count()
        };
        if so(false) <= so(true) {
            return Some((common, agreed, voices));
        }
        voices.retain(|m| !m.lies_so(&common));
    }
}

impl Lies {
    fn agrees(&self, with: &Self) -> bool {
        self.flipped == with.flipped && apart(self.turn, with.turn) <= AGREES
    }
}

impl Piece {
    /// Whether it is one shape several times over.
    fn is_pattern(&self) -> bool {
        let parts = self.patch.ink().pieces();
        if !(2..=MOST_OF_A_PATTERN).contains(&parts.len()) {
            return false;
        }
        let mut parts = parts.into_iter().filter_map(Patch::new);
        let first = parts.next();
        first.is_some_and(|first| {
            parts.all(|part| first.alike(&part) && !first.motions(&part).is_empty())
        })
    }

    /// Whether it is lettering that is lettering again once it is flipped or turned so: a 6 and a 9, a
    /// 16 and a 91. That two pockets have the one and the other is no evidence.
    fn reads_again(&self, own: &Pocket, flipped: bool, turn: f64) -> bool {
        let quarters = (turn / 90.0).round() as u8 % 4;
        let other = Orientation::new(quarters, flipped);
        signs::read_both(&in_frame(self.patch.ink(), own), other)
    }
}

/// Whether a piece may lie in its pocket as `lies` says, seen from the first of its group in its own.
fn could_lie(model: &Piece, first: &Pocket, piece: &Piece, own: &Pocket, lies: &Lies) -> bool {
    let mirrored = lies.flipped != (own.settings.mirrored != first.settings.mirrored);
    let from = if mirrored {
        Vec2::new(-first.tops.x, first.tops.y)
    } else {
        first.tops
    };
    let turn = between(from, turned(own.tops, lies.turn)).to_radians();
    model.patch.fits(&piece.patch, turn, mirrored)
}

/// Of the ways of lying that occur, the first that most agree with, and how many do.
///
/// By a window that slides over the turns in order: to try each against each would take the square of
/// their number, and there may be as many as pockets.
fn most_agree(all: &[Vec<Lies>]) -> Option<(Lies, usize)> {
    let mut best: Option<(usize, usize, Lies)> = None;
    for flipped in [false, true] {
        // Turn, whose it is, place in the order of all.
        let mut turns: Vec<(f64, usize, usize)> = all
            .iter()
            .enumerate()
            .flat_map(|(whose, lies)| lies.iter().map(move |l| (whose, l)))
            .enumerate()
            .filter(|(_, (_, l))| l.flipped == flipped)
            .map(|(order, (whose, l))| (l.turn.rem_euclid(360.0), whose, order))
            .collect();
        turns.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
        // Once round before and once after, so that the window has no ends.
        let round = |by: f64| turns.iter().map(move |(t, whose, _)| (t + by, *whose));
        let thrice: Vec<(f64, usize)> = [-360.0, 0.0, 360.0].into_iter().flat_map(round).collect();
        let mut within = vec![0_usize; all.len()];
        let (mut from, mut to, mut count) = (0, 0, 0);
        for (turn, _, order) in &turns {
            while let Some((_, whose)) = thrice.get(to).filter(|(t, _)| t - turn <= AGREES) {
                let n = within.at_mut(*whose);
                count += usize::from(*n == 0);
                *n += 1;
                to += 1;
            }
            while let Some((_, whose)) = thrice.get(from).filter(|(t, _)| turn - t > AGREES) {
                let n = within.at_mut(*whose);
                *n -= 1;
                count -= usize::from(*n == 0);
                from += 1;
            }
            let better = |(most, first, _): &(usize, usize, Lies)| {
                count > *most || count == *most && order < first
            };
            if best.as_ref().is_none_or(better) {
                let lies = Lies {
                    turn: *turn,
                    flipped,
                };
                best = Some((count, *order, lies));
            }
        }
    }
    best.map(|(count, _, lies)| (lies, count))
}

/// How far two turns are apart, in degrees.
fn apart(a: f64, b: f64) -> f64 {
    let d = (a - b).rem_euclid(360.0);
    d.min(360.0 - d)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_window_counts_as_trying_each_against_each() {
        let mut chance = crate::chance::Chance::new(5);
        let mut number = |below: u64| chance.below(below);
        for _ in 0..300 {
            let all: Vec<Vec<Lies>> = (0..number(30))
                .map(|_| {
                    (0..number(4))
                        .map(|_| Lies {
                            // About the seam of the circle, and half round; never just as far
                            // apart as still agrees.
                            turn: 180.0 * number(3) as f64 + 0.13 * number(30) as f64 - 182.03,
                            flipped: number(3) == 0,
                        })
                        .collect()
                })
                .collect();
            let votes = |with: &Lies| {
                all.iter()
                    .filter(|lies| {
                        lies.iter().any(|l| {
                            l.flipped == with.flipped && apart(l.turn, with.turn) <= AGREES
                        })
                    })
                    .count()
            };
            let most = all.iter().flatten().map(votes).max();
            let found = most_agree(&all);
            assert_eq!(found.map(|(_, count)| count), most);
            let first = all.iter().flatten().find(|l| Some(votes(l)) == most);
            let same = |(l, _): (Lies, usize), f: &Lies| {
                l.flipped == f.flipped && apart(l.turn, f.turn) < 1e-9
            };
            assert!(match (found, first) {
                (Some(l), Some(f)) => same(l, f),
                (l, f) => l.is_none() && f.is_none(),
            });
        }
    }
}
