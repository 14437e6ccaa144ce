//! How a word lies by all that is known of it, weighed together, where nothing tells by itself.
//!
//! Four witnesses look at a word in ways that have little to do with each other: the network at the word as a whole
//! ([`super::letter_shape`]), another at its signs one by one ([`super::signs`]), the rest of its batch at the letters
//! that they share with it ([`super::letter_siblings`]) and at what it looks like beside them ([`super::likeness`]).
//! Each gives natural log-odds of the eight orientations. Of witnesses that err independently of each other log-odds
//! add up (Bayes' rule). They do so nearly, but each may be mistaken altogether, as in a face that it never saw: so
//! none counts more than [`MOST`], and two must agree. Only of Latin lettering do they tell anything: a row of hooks among
//! names looks to both networks like some word, one way or another.
//!
//! `tests/training/REPORT.md` tells how far words that lie wrong and words that do not are apart by this.

use super::by_shape::ShapeWord;
use super::likeness::WEIGHT;
use super::orientation::{Odds, Orientation, PerOrientation};
use super::signs::Signs;

const UPRIGHT: Orientation = Orientation::UPRIGHT;

/// One witness makes an orientation at most so much less likely than another, in natural log-odds: none of them is
/// right more than 3,000 times as often as it is wrong. Anything from 6 to 10 tells the validation words alike.
const MOST: f64 = 8.0;

/// A witness that puts an orientation so far before upright, or upright before the likeliest of the others, in natural
/// log-odds, says that the word lies so, and so many must. One alone takes an ornament for a word.
const SAYS: f64 = 1.0;
const AGREE: usize = 2;

/// A word lies so where that is so far ahead of all else, in natural log-odds: twenty to one. Of 20,000 words that lay
/// right none came to 2 another way; lower, and sound pockets are held.
const AHEAD: f64 = 3.0;

/// The same for lying right where no looks were compared. "sun" half turned in a script was told as lying right by 3.6,
/// and by its looks as what it is.
const UNSEEN: f64 = 6.0;

/// The same for lying wrong where a witness says that it lies right. TIM in an uneven hand was told as MIT in a mirror by
/// its signs and its looks, against the word's network, by 3.1.
const DENIED: f64 = 6.0;

/// The least, in natural log-odds and as a coefficient of correlation, by which the network and the looks of a word put how it
/// lies before all else, for it to be lettering that lies so where its signs say the same. Of 12,000 names that lay right
/// none came to that otherwise, and of 688 rows of shapes among names none in any way: their looks came to 0.015.
const FIRST: f64 = 2.0;
const ALIKE: f64 = 0.05;

/// How a word lies wrong, if its network, its signs and its looks put the same first: each may be mistaken about what is
/// no lettering, but not in the same way.
pub(super) fn all_agree(word: &ShapeWord, looks: &Odds) -> Option<Orientation> {
    let (lies, alike) = looks.leader();
    let (by_network, ahead) = word.odds.leader();
    let by_signs = word.signs.as_ref().is_some_and(|s| s.put_first(lies));
    let agree = by_signs && by_network == lies && ahead >= FIRST && alike >= ALIKE;
    (lies != UPRIGHT && agree).then_some(lies)
}

/// What each witness says of a word.
pub(super) struct Witnesses {
    each: [Odds; 4],
    /// Whether its looks were compared.
    seen: bool,
}

impl Witnesses {
    /// Those of a word; `letters` are what the letters of the others say, and `looks` what their looks do, 0 to 1, as
    /// far as they were asked.
    pub(super) fn of(word: &ShapeWord, letters: Odds, looks: Option<Odds>) -> Self {
        let signs = word.signs.as_ref().map(Signs::odds);
        let by_looks = looks.map(|l| PerOrientation(l.0.map(|v| WEIGHT * v)));
        let each = [
            word.heard(),
            signs.unwrap_or_default(),
            letters,
            by_looks.unwrap_or_default(),
        ];
        Self {
            each: each.map(bounded),
            seen: looks.is_some(),
        }
    }

    /// How the word lies, if they tell.
    pub(super) fn tell(&self) -> Option<Orientation> {
        let sum = PerOrientation::each(|o| self.each.iter().map(|w| w[o]).sum::<f64>());
        let sum = sum.one_slip_rather_than_two();
        let (best, ahead) = sum.leader();
        let mut others = sum;
        others[best] = f64::NEG_INFINITY;
        let (next, _) = others.leader();
        let says = |w: &Odds, one: Orientation, other: Orientation| w[one] - w[other] >= SAYS;
        let (rival, least) = match best {
            UPRIGHT if self.seen => (next, AHEAD),
            UPRIGHT => (next, UNSEEN),
            _ if self.each.iter().any(|w| says(w, UPRIGHT, best)) => (UPRIGHT, DENIED),
            _ => (UPRIGHT, AHEAD),
        };
        let say_so = self.each.iter().filter(|w| says(w, best, rival));
        (ahead >= least && say_so.count() >= AGREE).then_some(best)
    }
}

/// What a witness says, each orientation against the likeliest. Of an orientation in which it could not look at the
/// word (−∞) it says no more than of the least likely.
fn bounded(odds: Odds) -> Odds {
    let seen = || odds.0.into_iter().filter(|v| v.is_finite());
    let Some((least, most)) = seen().reduce(f64::min).zip(seen().reduce(f64::max)) else {
        return Odds::default();
    };
    let seen = |v: f64| if v.is_finite() { v } else { least };
    PerOrientation(odds.0.map(|v| (seen(v) - most).max(-MOST)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HALF_TURNED: Orientation = Orientation::HALF_TURNED;
    const NOTHING: Odds = PerOrientation([0.0; 8]);

    /// A witness that puts one orientation so far before all others.
    fn says(lies: Orientation, ahead: f64) -> Odds {
        let mut odds = PerOrientation([-ahead; 8]);
        odds[lies] = 0.0;
        odds
    }

    fn told(each: [Odds; 4]) -> Option<Orientation> {
        Witnesses {
            each: each.map(bounded),
            seen: true,
        }
        .tell()
    }

    #[test]
    fn it_takes_two_witnesses() {
        for lies in Orientation::ALL {
            assert_eq!(told([says(lies, 100.0), NOTHING, NOTHING, NOTHING]), None);
            let two = told([says(lies, 100.0), NOTHING, NOTHING, says(lies, 2.0)]);
            assert_eq!(two, Some(lies));
        }
    }

    #[test]
    fn one_that_is_mistaken_is_outweighed_however_sure_it_is() {
        let mistaken = says(UPRIGHT, 100.0);
        let others = says(HALF_TURNED, 7.0);
        assert_eq!(told([mistaken, others, others, NOTHING]), Some(HALF_TURNED));
        let less = says(HALF_TURNED, 6.0);
        assert_eq!(told([mistaken, less, less, NOTHING]), None);
        // TIM, and MIT in a mirror.
        let rather = says(UPRIGHT, 2.5);
        let mirrored = says(Orientation::new(0, true), 3.0);
        assert_eq!(told([rather, mirrored, NOTHING, mirrored]), None);
        assert_eq!(
            told([NOTHING, mirrored, NOTHING, mirrored]),
            Some(Orientation::new(0, true))
        );
    }

    #[test]
    fn lying_on_its_side_is_told_where_lying_in_a_mirror_too_is_nearly_as_likely() {
        let side = Orientation::new(1, false);
        let mut either = says(side, 9.0);
        either[Orientation::new(1, true)] = -0.5;
        assert_eq!(told([either, either, NOTHING, NOTHING]), Some(side));
    }

    /// A word that lies across its box cannot be compared with others there.
    #[test]
    fn what_a_witness_could_not_look_at_is_no_worse_than_the_worst_that_it_saw() {
        let mut looks = says(HALF_TURNED, 3.0);
        looks[Orientation::new(1, false)] = f64::NEG_INFINITY;
        assert_eq!(bounded(looks), says(HALF_TURNED, 3.0));
        assert_eq!(bounded(PerOrientation([f64::NEG_INFINITY; 8])), NOTHING);
    }
}
