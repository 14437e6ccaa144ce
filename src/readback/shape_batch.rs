//! Words of one batch whose face is not at hand, against each other: which lie otherwise than the rest, and how
//! do all of them lie?

use super::Reading;
use super::by_shape::ShapeWord;
use super::letter_groups::two_groups;
use super::letter_siblings::{SiblingVerdict, Word, against};
use super::letter_verdict::{ANY_LAY, common, odd_against, odd_ones_out, orientation, sum};
use super::likeness::{self, ByWay, Laid};
use super::orientation::{Lays, Odds, Orientation, PerOrientation};
use super::signs::Signs;
use super::witnesses::{Witnesses, all_agree};
use crate::cores;
use crate::ids::At;
use crate::remembered::Remembered;

/// So many other words must say by themselves that they lie in some wrong way for one that says the same to be heard
/// against the rest.
const NOT_ALONE: usize = 1;

/// For each word that says by itself that it lies otherwise, so many must say that they lie as the batch does.
const OTHERWISE: usize = 4;

/// So many words at most are compared by their looks, which takes some hundredths of a second each: as many as stay
/// open of a large batch. Of more, the rest stay open.
const MOST_ASKED: usize = 30;

/// Letters lean to lying as the others do, where they are by so much, in natural log-odds, less likely otherwise.
const LEANS: f64 = 1.0;

/// Letters say beyond doubt how a word lies against the others where that is so much likelier than as they lie, in natural
/// log-odds: three letters that two others have, all turned.
const LETTERS_SURE: f64 = 8.0;

/// The network says plainly that a word lies wrong where it puts that so far ahead of lying right, in natural log-odds.
/// Lower, and a face that it half knows denies what letters say; higher, and one letter by chance says that a word on its side lies
/// right.
const PLAINLY: f64 = 8.0;

const UPRIGHT: Orientation = Orientation::UPRIGHT;

/// What the other words of a batch make of one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BySiblings {
    /// How it lies as against them by its letters.
    pub letters: SiblingVerdict,
    /// How it lies as against them by the network's odds, where it is the odd one out.
    pub odd: Option<Orientation>,
    /// How they lie, where their odds are of one mind.
    pub common: Option<Orientation>,
    /// How they lie if they must be of one mind.
    pub leaning: Option<Orientation>,
    /// Whether most words of the batch are of letters that the network does not know.
    pub strange: bool,
    /// Where the batch is of two minds: on which side the word is, and how the second side lies as seen
    /// from the first.
    pub side: Option<(bool, Orientation)>,
    /// Whether it is on one side of a batch of two minds, in pockets whose heads alternate: the settings may be what is
    /// wrong, and then the art of neither side is.
    pub open: bool,
    /// How it lies by its side, where words of a batch of two minds tell which side lies wrong.
    pub by_side: Option<Orientation>,
    /// Whether it shares no letter with any other word, though most of them share some.
    pub unlike: bool,
    /// How the batch lies, where that is not upright and the signs of all its words together bear it out.
    pub batch: Option<Orientation>,
    /// In which orientations how many other words say by themselves that they lie.
    pub told: PerOrientation<usize>,
    /// How it lies by all that is known of it, weighed together; `None` where that was not asked for.
    pub weighed: Option<Orientation>,
}

impl BySiblings {
    /// How a word lies, itself and its siblings heard.
    ///
    /// Letters that are known from the siblings are the better witness: they decide whether it lies
    /// as the siblings do. Where they do not tell, the network's odds are compared, and against
    /// siblings of one mind a word's own odds are not enough.
    ///
    /// A pocket of several rows lies right only if each of them does.
    pub fn lies(self, word: Option<&ShapeWord>) -> Option<Orientation> {
        let whole = |lies: &Orientation| *lies != UPRIGHT || !self.letters.rows_in_doubt;
        let says_so = |lies: &Orientation| self.by_side.is_some() || !self.denied(word, *lies);
        // Hooks that look like letters, among names.
        let lettering = !self.unlike || word.is_none_or(ShapeWord::surely_lettering);
        let told = self.longest_row(word).filter(says_so).filter(|_| lettering);
        told.or(self.weighed).filter(whole)
    }

    /// How it lies by all that is known of it, weighed together, but where its signs leave a doubt: a word that reads in
    /// two ways is like the others in both, and which of them a little more, chance says. MIT, which is TIM in a mirror,
    /// is more like MITZI. `looks` are what it looks like beside others: where they are sure, it is lettering, though the
    /// lines of a hatch hide its letters, and a doubt of its signs counts only against lying right.
    fn weigh(&self, word: &ShapeWord, looks: Option<Odds>) -> Option<Orientation> {
        let alike = looks
            .as_ref()
            .and_then(|looks| likeness::surely(looks).or_else(|| all_agree(word, looks)));
        let lettering = word.lettering() && (!self.unlike || word.surely_lettering());
        if !lettering && alike.is_none() {
            return None;
        }
        // Letters speak as the others lie.
        let letters = Some(self.letters.likely).filter(|_| self.common == Some(UPRIGHT));
        let lies = Witnesses::of(word, letters.unwrap_or_default(), looks).tell()?;
        let borne_out = match lies {
            UPRIGHT => !word.signs.as_ref().is_some_and(|s| s.doubt(lies)),
            wrong => alike == Some(wrong) || word.may_lie_wrong(wrong),
        };
        // One of a batch of words of another script, which all seem to lie wrong.
        let misread = lies != UPRIGHT && self.common == Some(lies) && self.batch != self.common;
        // Among words that are not known a letter is easily another script's: я and и are R and N in a mirror.
        let known = !self.strange || lies != UPRIGHT && !lies.mirrored;
        // The others are of no mind, and its letters are theirs as they lie: both networks may misread a face.
        let as_the_others = self.common.is_none()
            && self.letters.leaning == Some(UPRIGHT)
            && self.letters.likely[lies] <= -LEANS;
        let doubted = lies != UPRIGHT && alike != Some(lies) && as_the_others;
        let told =
            borne_out && known && !misread && !doubted && !self.may_be_another_script(word, lies);
        told.then_some(lies)
    }

    fn longest_row(self, word: Option<&ShapeWord>) -> Option<Orientation> {
        if self.open || self.by_side.is_some() {
            return self.by_side;
        }
        // What lies this way and that is no lettering, and a word that the network knows among those that
        // it does not is known by chance.
        let twin = |lies: &Orientation| word.is_some_and(|w| self.may_be_another_script(w, *lies));
        let own = word
            .and_then(ShapeWord::lies)
            .filter(|_| !self.strange)
            .or_else(|| self.as_the_batch(word?, ANY_LAY))
            .filter(|lies| !twin(lies));
        match self.letters.orientation {
            Some(UPRIGHT) => match self.common {
                Some(UPRIGHT) => {
                    let denied = own.is_some_and(|o| o != UPRIGHT) || self.plainly_denied(word);
                    (!denied).then_some(UPRIGHT)
                }
                Some(common) => own
                    .filter(|o| *o == common && self.batch == Some(common))
                    .or_else(|| self.as_the_batch(word?, 0.0).filter(|o| *o == common)),
                None => own.filter(|o| Some(*o) == self.leaning || self.not_alone(*o)),
            },
            Some(turn) if twin(&turn) => None,
            // All others lie wrong, and say so themselves.
            Some(turn) if self.common.is_some_and(|c| c.then(turn) == UPRIGHT) => own,
            // Of two groups of which one is wrong the letters do not tell which.
            Some(_) if self.side.is_some() => own,
            // Letters speak as the others lie, and those are of several minds.
            Some(_) if own == Some(UPRIGHT) && self.common.is_none() => None,
            Some(turn) => Some(turn),
            // The odds alone: not against what the letters lean to, be it ever so little. A turned word
            // was told as lying right by its odds while three of its letters said otherwise.
            None => self
                .odd
                .filter(|_| !self.strange)
                // Letters that lean to some other slip say all the same that there is one.
                .filter(|_| self.letters.leaning != Some(UPRIGHT))
                // All others lie wrong, and it is the one that does not.
                .filter(|odd| self.common.is_none_or(|c| c.then(*odd) != UPRIGHT))
                .filter(|odd| !twin(odd))
                .filter(|odd| word.is_some_and(|w| !w.reads_again(*odd) || w.reads_one_way()))
                .or_else(|| {
                    if self.leaning.is_none() {
                        return own;
                    }
                    // Words of one batch lie one way, but where several say that they lie another.
                    let doubted = self.letters.leaning.is_some_and(|l| l != UPRIGHT);
                    let all = |o: Orientation| o == UPRIGHT || self.batch == Some(o);
                    let as_all = |o| self.common == Some(o) && all(o) && !doubted;
                    own.filter(|o| as_all(*o) || self.common != Some(*o) && self.not_alone(*o))
                }),
        }
    }

    /// Whether a word that seems to lie so may be one of another script, which lies otherwise. Where the others are Latin
    /// words that stand upright, so is one that could be another script's.
    fn may_be_another_script(&self, word: &ShapeWord, lies: Orientation) -> bool {
        word.twin && (lies.mirrored || lies == UPRIGHT && self.common != Some(UPRIGHT))
    }

    /// Whether a word that says by itself that it lies wrong is borne out by others that say the same: half of a
    /// batch may lie wrong, and then the words are not of one mind.
    fn not_alone(&self, lies: Orientation) -> bool {
        lies != UPRIGHT && self.told[lies] >= NOT_ALONE
    }

    /// Whether a word leans another way, where the others are of two minds, so that to lie as they do says nothing; but
    /// where its letters say beyond doubt how it lies, and it does not lean to lying right, one other that is misread is no
    /// second mind.
    fn denied(&self, word: Option<&ShapeWord>, lies: Orientation) -> bool {
        let wrong = |w: &ShapeWord| w.odds.leader().0 != UPRIGHT;
        if self.letters.likely[lies] >= LETTERS_SURE && word.is_some_and(wrong) {
            return false;
        }
        let minds = self.told.0.iter().filter(|n| **n >= NOT_ALONE).count();
        let asked = word.filter(|w| w.may_be_known());
        minds > 1 && asked.is_some_and(|w| w.odds.leader().0 != lies)
    }

    /// Whether the network says plainly that a word that it knows lies otherwise than right, and its letters do not say beyond
    /// doubt that it lies as the others do: in a hatched script one letter by itself was like another by chance.
    fn plainly_denied(&self, word: Option<&ShapeWord>) -> bool {
        let plainly = |w: &ShapeWord| w.is_known() && w.odds.most() - w.odds[UPRIGHT] >= PLAINLY;
        let mut others = self.letters.likely;
        others[UPRIGHT] = f64::NEG_INFINITY;
        others.most() > -LETTERS_SURE && word.is_some_and(plainly)
    }

    /// How a word lies as far as its odds tell, where the signs of all words together bear that out: those of one
    /// word are few, and a face that is ornate is known less surely than others.
    fn as_the_batch(&self, word: &ShapeWord, least: f64) -> Option<Orientation> {
        let (best, ahead) = word.odds.leader();
        let others = Orientation::ALL.into_iter().filter(|o| *o != best);
        let otherwise: usize = others.map(|o| self.told[o]).sum();
        let one_mind = OTHERWISE * otherwise <= self.told[best];
        (self.batch == Some(best) && ahead >= least && one_mind).then_some(best)
    }
}

/// Words of one batch against each other: what the network makes of each, and its letters. `alternate` says whether
/// the heads of their pockets do.
pub(crate) fn by_siblings(
    readings: &[Reading],
    alternate: bool,
    known: &Remembered<ByWay>,
) -> Vec<BySiblings> {
    let mut all = by_letters_and_odds(readings, alternate);
    let words: Vec<Option<&ShapeWord>> = readings.iter().map(|r| r.shapes.as_ref()).collect();
    let told: Vec<Option<Laid<'_>>> = all
        .iter()
        .zip(&words)
        .map(|(siblings, word)| Some((&word.as_ref()?.ink, siblings.lies(*word)?)))
        .collect();
    // One of words that hardly tell anything alone, but lie right as a whole, may lie wrong.
    let of_one_mind = |s: &BySiblings| !s.strange || s.common == Some(UPRIGHT);
    let asked = |i: &usize| told.at(*i).is_none() && !all.at(*i).open && of_one_mind(all.at(*i));
    let asked: Vec<usize> = (0..all.len()).filter(asked).take(MOST_ASKED).collect();
    let weighed = cores::each(&asked, |i| {
        let word = (*words.at(*i))?;
        all.at(*i)
            .weigh(word, likeness::near(*i, word, &told, known))
    });
    for (i, weighed) in asked.into_iter().zip(weighed) {
        all.at_mut(i).weighed = weighed;
    }
    all
}

/// The same but for what a word looks like.
fn by_letters_and_odds(readings: &[Reading], alternate: bool) -> Vec<BySiblings> {
    // How the batch lies is told by what is built like words.
    let built: Vec<Option<Odds>> = readings
        .iter()
        .map(|r| r.shapes.as_ref().filter(|w| w.built && w.lettering()))
        .map(|w| w.map(|w| w.odds))
        .collect();
    let odds: Vec<Odds> = built.iter().copied().flatten().collect();
    let mut odd = odd_ones_out(&odds).into_iter();
    let words = || readings.iter().filter_map(|r| r.shapes.as_ref());
    let built_like_words = words().filter(|w| w.built).count();
    // A word that is ornate, or has a letter that is not known, is lettering where most others are.
    let lettering = 2 * odds.len() > built_like_words;
    let batch: Vec<Word<'_>> = readings
        .iter()
        .zip(&built)
        .map(|(reading, built)| {
            let word = reading.shapes.as_ref();
            // Of what is no lettering the network says nothing, for it nor against.
            let told = word.filter(|w| lettering && w.may_be_known() || w.lettering());
            Word {
                letters: &reading.letters,
                signs: word.and_then(|w| w.signs.as_ref()).filter(|_| lettering),
                odds: told.map(|w| w.odds),
                heard: built.is_some(),
                again: word.map_or(Lays::MAX, ShapeWord::again),
                rows: &reading.rows,
                asked: told.map(|w| w.bounds),
                other_rows: &reading.other_rows,
            }
        })
        .collect();
    let all = sum(&odds);
    let signs = Signs::together(words().filter(|w| w.built).filter_map(|w| w.signs.as_ref()));
    let known = words().any(ShapeWord::is_known);
    let surely = |lies: Orientation| {
        let so = |w: &&ShapeWord| w.is_known() && orientation(&w.odds) == Some(lies);
        2 * words().filter(so).count() > built_like_words && !signs.deny(lies)
    };
    let borne_out =
        |lies: &Orientation| *lies != UPRIGHT && (signs.batch_bears_out(*lies) || surely(*lies));
    let whole = common(&all).1.filter(borne_out);
    // Of lettering, most words tell something by themselves; of rows of shapes, a few by chance.
    let alone: Vec<Option<Orientation>> = readings
        .iter()
        .map(|r| r.shapes.as_ref().and_then(ShapeWord::lies))
        .collect();
    let mut told = PerOrientation::<usize>::default();
    for lies in alone.iter().flatten() {
        told[*lies] += 1;
    }
    let hardly_told = 2 * alone.iter().flatten().count() < built_like_words;
    let strange = hardly_told && !known;
    // Words that hardly one tells alone are of one mind by chance, unless their signs say the same: of Armenian ones
    // upside down the network said that they stand upright, and of twelve Hebrew ones two that look like Latin ones.
    let of_one_mind = |lies: &Orientation| {
        let latin = 4 * odds.len() >= built_like_words && signs.likeliest() == *lies;
        !hardly_told || latin || known && !signs.are_rather_otherwise(*lies)
    };
    let groups = two_groups(&batch.iter().map(|w| w.letters).collect::<Vec<_>>());
    let sides: Vec<Option<(bool, Orientation)>> = match groups {
        Some((sides, turn)) => sides.into_iter().map(|s| Some((s?, turn))).collect(),
        None => vec![None; batch.len()],
    };
    let wrong = wrong_side(&sides, &alone).filter(|_| !alternate);
    let by_letters = against(&batch);
    let related = by_letters.iter().filter(|l| l.leaning.is_some()).count();
    let most_are_related = 2 * related > batch.len();
    by_letters
        .into_iter()
        .zip(&built)
        .zip(sides)
        .zip(&alone)
        .zip(readings)
        .map(|((((letters, own), side), alone), reading)| {
            let mut told = told;
            if let Some(lies) = alone {
                told[*lies] -= 1;
            }
            let mut others = all;
            for o in Orientation::ALL {
                others[o] -= own.unwrap_or_default()[o];
            }
            let asked = odds.len() - usize::from(own.is_some());
            // One of lettering that has a letter which is not known: an Ø, or one that the lines of a hatch missed.
            let unknown = || {
                let asked = |w: &&ShapeWord| w.built && lettering && w.may_be_known();
                let word = reading.shapes.as_ref().filter(asked)?;
                let odd = odd_against(&word.odds, &odds);
                odd.filter(|o| word.signs.as_ref().is_some_and(|s| s.rather(*o)))
            };
            let base = common(&all).1;
            // One other word is no batch: each would be the odd one out of the other.
            let (leaning, common) = (asked > 1).then(|| common(&others)).unzip();
            let common = common.flatten().filter(of_one_mind);
            BySiblings {
                letters: SiblingVerdict {
                    rows_in_doubt: letters.rows_in_doubt || reading.displaced,
                    ..letters
                },
                odd: match own {
                    Some(_) => odd.next().flatten(),
                    None => unknown().filter(|_| base == Some(UPRIGHT)),
                }
                .filter(|_| asked > 1),
                common,
                leaning,
                strange,
                side,
                open: alternate && side.is_some(),
                by_side: side.zip(wrong).map(
                    |((side, _), (wrong, lies))| {
                        if side == wrong { lies } else { UPRIGHT }
                    },
                ),
                unlike: letters.leaning.is_none() && most_are_related,
                batch: whole,
                told,
                weighed: None,
            }
        })
        .collect()
}

/// Which side of a batch of two minds lies wrong, and how: `alone` is what its words say by themselves. All that say
/// something must be of one mind about it.
fn wrong_side(
    sides: &[Option<(bool, Orientation)>],
    alone: &[Option<Orientation>],
) -> Option<(bool, Orientation)> {
    let (_, turn) = sides.iter().flatten().next()?;
    let lies = |second: bool| {
        if second {
            *turn
        } else {
            UPRIGHT.seen_from(*turn)
        }
    };
    let told = || {
        let both = sides.iter().zip(alone);
        both.filter_map(|(side, alone)| Some((side.as_ref()?.0, (*alone)?)))
    };
    [true, false].into_iter().find_map(|second| {
        let so =
            |(own, o): (bool, Orientation)| o == if own == second { lies(second) } else { UPRIGHT };
        let some = told().any(|(own, _)| own == second);
        (some && told().all(so)).then(|| (second, lies(second)))
    })
}

#[cfg(test)]
mod tests;
