#![allow(clippy::unwrap_used)]
use kurbo::{Rect, Vec2};

use super::super::orientation::alone;
use super::*;
use crate::geometry::region::Region;

const HALF_TURNED: Orientation = Orientation::HALF_TURNED;

/// A word of so many letters that lies so, as surely as that.
fn word(lies: Orientation, sure: f64, letters: usize) -> Reading {
    Reading {
        shapes: Some(ShapeWord::lying(lies, sure, letters)),
        ..Reading::default()
    }
}

fn with_signs(mut word: Reading, signs: Signs) -> Reading {
    word.shapes.as_mut().unwrap().signs = Some(signs);
    word
}

fn told_of(readings: &[Reading]) -> Vec<Option<Orientation>> {
    let siblings = by_siblings(readings, false, &Remembered::default()).into_iter();
    let each = siblings.zip(readings);
    each.map(|(s, r)| s.lies(r.shapes.as_ref())).collect()
}

#[test]
fn of_a_batch_of_which_half_lies_wrong_that_half_is_told() {
    for wrong in [
        HALF_TURNED,
        Orientation::new(0, true),
        Orientation::new(1, false),
    ] {
        let batch: Vec<Reading> = (0..6)
            .map(|n| word(if n < 3 { wrong } else { UPRIGHT }, 9.0, 5))
            .collect();
        assert_eq!(
            told_of(&batch),
            [[Some(wrong); 3], [Some(UPRIGHT); 3]].concat()
        );
    }
    // Of three that lie half turned, the fourth is the one that lies right.
    let most: Vec<Reading> = (0..4)
        .map(|n| word(if n < 3 { HALF_TURNED } else { UPRIGHT }, 9.0, 5))
        .collect();
    assert_eq!(told_of(&most).last(), Some(&Some(UPRIGHT)));
}

/// Words of three letters say nothing by themselves, and neither does one of an ornate face.
#[test]
fn a_batch_that_lies_wrong_as_a_whole_is_told_by_the_signs_of_all_its_words() {
    let batch = |signs: fn() -> Signs| -> Vec<Reading> {
        (0..5)
            .map(|_| with_signs(word(HALF_TURNED, 9.0, 3), signs()))
            .collect()
    };
    let half = [Some(HALF_TURNED); 5];
    assert_eq!(told_of(&batch(|| Signs::surely(HALF_TURNED))), half);
    // A script that the signs do not know.
    assert_eq!(told_of(&batch(Signs::of_no_letters)), [None; 5]);
    let hardly = || Signs::rather_in(HALF_TURNED, -0.6);
    assert_eq!(told_of(&batch(hardly)), [None; 5]);
    // Nor where each of them says so by itself: another script, misread as a whole.
    let alone = || with_signs(word(HALF_TURNED, 9.0, 5), hardly());
    assert_eq!(told_of(&[alone(), alone(), alone(), alone()]), [None; 4]);
}

#[test]
fn words_that_tell_nothing_alone_are_of_one_mind_only_if_their_signs_say_the_same() {
    let common = |signs: fn() -> Signs| {
        let batch: Vec<Reading> = (0..5)
            .map(|_| with_signs(word(UPRIGHT, 9.0, 5), signs()))
            .collect();
        let told = by_siblings(&batch, false, &Remembered::default());
        assert!(told.iter().all(|t| t.strange));
        told.first().unwrap().common
    };
    let ornate = || Signs::rather_in(UPRIGHT, -0.65).also_in(HALF_TURNED, -0.66);
    assert_eq!(common(ornate), Some(UPRIGHT));
    let armenian = || Signs::rather_in(UPRIGHT, -1.3).also_in(HALF_TURNED, -0.65);
    assert_eq!(common(armenian), None);
}

/// Whole batches of Hebrew and of Armenian lay on their heads, and were told as lying right.
#[test]
fn what_looks_like_latin_words_by_chance_does_not_speak_for_the_others() {
    let common = |mut batch: Vec<Reading>, known: f64, signs: Signs| {
        for _ in 0..8 {
            let mut other = with_signs(word(UPRIGHT, 2.0, 5), signs.clone());
            other.shapes.as_mut().unwrap().known = known;
            batch.push(other);
        }
        let told = by_siblings(&batch, false, &Remembered::default());
        told.last().unwrap().common
    };
    let two = || vec![word(UPRIGHT, 9.0, 5), word(UPRIGHT, 9.0, 5)];
    let hebrew = Signs::rather_in(UPRIGHT, -1.5);
    assert_eq!(common(two(), -2.0, hebrew.clone()), None);
    assert_eq!(common(two(), 0.0, Signs::surely(UPRIGHT)), Some(UPRIGHT));
    // Known by the network, which says that they stand upright; their signs are more like letters half turned.
    let both = |half| Signs::rather_in(UPRIGHT, -1.3).also_in(HALF_TURNED, half);
    assert_eq!(common(Vec::new(), 5.0, both(-0.7)), None);
    assert_eq!(common(Vec::new(), 5.0, both(-1.3)), Some(UPRIGHT));
}

/// Joined script has no signs to be known by, and ornate faces have few.
#[test]
fn words_that_the_network_knows_are_heard_though_their_signs_are_not() {
    let known = |lies, known| {
        let mut word = with_signs(word(lies, 9.0, 5), Signs::of_no_letters());
        word.shapes.as_mut().unwrap().known = known;
        word
    };
    let batch = |odd: f64| -> Vec<Reading> {
        let others = (0..4).map(|_| known(UPRIGHT, 5.0));
        others.chain([known(HALF_TURNED, odd)]).collect()
    };
    let last = |odd| told_of(&batch(odd)).pop().unwrap();
    assert_eq!(last(5.0), Some(HALF_TURNED));
    // What it rather does not know is an ornament.
    assert_eq!(last(-1.0), None);
    // Another script, known by chance, whose signs look more like letters as they stand.
    let upright = || Signs::rather_in(UPRIGHT, -1.4);
    let misread = || with_signs(known(HALF_TURNED, 5.0), upright());
    let odd = [
        known(UPRIGHT, 5.0),
        known(HALF_TURNED, 5.0),
        misread(),
        misread(),
    ];
    assert_eq!(told_of(&odd).last(), Some(&None));
    // OMAHA in a mirror: its signs read there as well, a little better even.
    let again = Signs::rather_in(UPRIGHT, -0.7).also_in(Orientation::new(0, true), -0.35);
    let omaha = with_signs(known(UPRIGHT, 5.0), again);
    let others = (0..4).map(|_| known(UPRIGHT, 5.0));
    assert_eq!(
        told_of(&others.chain([omaha]).collect::<Vec<_>>()).last(),
        Some(&None)
    );
    let whole: Vec<Reading> = (0..5).map(|_| known(HALF_TURNED, 5.0)).collect();
    assert_eq!(told_of(&whole), [Some(HALF_TURNED); 5]);
}

/// How a word that is known so well lies, of which the network says `lies` by so much, and its looks by so much.
fn weighed_as(
    (lies, sure): (Orientation, f64),
    known: f64,
    signs: Signs,
    looks: f64,
    unlike: bool,
) -> Option<Orientation> {
    let mut alike = PerOrientation([0.4; 8]);
    alike[lies] += looks;
    let word = ShapeWord {
        known,
        ..with_signs(word(lies, sure, 3), signs).shapes.unwrap()
    };
    let siblings = BySiblings {
        unlike,
        ..BySiblings::default()
    };
    siblings.weigh(&word, Some(alike))
}

/// How one lies of which both say upright, its looks by chance.
fn weighed(known: f64, signs: Signs) -> Option<Orientation> {
    weighed_as((UPRIGHT, 2.0), known, signs, 0.09, false)
}

/// A name on its side, hatched along its line while the others are hatched across theirs: it shares no letter with them.
/// "man" half turned, whose signs are letters either way.
#[test]
fn what_surely_looks_like_the_others_is_lettering() {
    let side = Orientation::new(1, false);
    let hatched = |looks, unlike| {
        let signs = Signs::rather_in(side, -1.1);
        weighed_as((side, 1.9), 1.0, signs, looks, unlike)
    };
    assert_eq!(hatched(0.09, true), None);
    assert_eq!(hatched(0.12, true), Some(side));
    assert_eq!(hatched(0.12, false), Some(side));
    let both = |lies, other, looks| {
        let signs = Signs::rather_in(lies, -0.1).also_in(other, -0.1);
        weighed_as((lies, 1.9), 5.0, signs, looks, false)
    };
    assert_eq!(both(HALF_TURNED, UPRIGHT, 0.09), None);
    assert_eq!(both(HALF_TURNED, UPRIGHT, 0.12), Some(HALF_TURNED));
    // "dnd" is "pup" on its head: that it lies right is not told by looks.
    assert_eq!(both(UPRIGHT, HALF_TURNED, 0.12), None);
}

/// "elliott" in a mirror, hatched, whose hairlines the lines missed: neither network knew it, but all said how it lies.
#[test]
fn what_all_say_of_a_word_that_is_hardly_known_is_heard_where_it_lies_wrong() {
    let mirrored = Orientation::new(0, true);
    let told = |lies, sure, signs, looks| {
        let signs = Signs::rather_in(signs, -1.9);
        weighed_as((lies, sure), 0.1, signs, looks, false)
    };
    assert_eq!(told(mirrored, 2.1, mirrored, 0.06), Some(mirrored));
    assert_eq!(told(mirrored, 2.1, mirrored, 0.04), None);
    assert_eq!(told(mirrored, 1.9, mirrored, 0.06), None);
    assert_eq!(told(mirrored, 2.1, HALF_TURNED, 0.06), None);
    assert_eq!(told(UPRIGHT, 2.1, UPRIGHT, 0.06), None);
}

/// "Dong" on its side, hatched: one of its letters was like another that lay right, by chance.
#[test]
fn one_letter_does_not_tell_that_a_word_lies_right_where_the_network_plainly_says_otherwise() {
    let lies = |sure, known, likely| {
        let own = word(Orientation::new(1, false), sure, 3).shapes.unwrap();
        let mut letters = PerOrientation([likely; 8]);
        letters[UPRIGHT] = 0.0;
        let siblings = BySiblings {
            letters: SiblingVerdict {
                orientation: Some(UPRIGHT),
                leaning: Some(UPRIGHT),
                likely: letters,
                ..SiblingVerdict::default()
            },
            common: Some(UPRIGHT),
            ..BySiblings::default()
        };
        siblings.lies(Some(&ShapeWord { known, ..own }))
    };
    assert_eq!(lies(9.0, 9.0, -3.2), None);
    assert_eq!(lies(7.0, 9.0, -3.2), Some(UPRIGHT), "hardly told");
    assert_eq!(lies(9.0, 0.0, -3.2), Some(UPRIGHT), "hardly known");
    assert_eq!(lies(9.0, 7.0, -9.0), Some(UPRIGHT), "three letters");
    // A short word that tells by itself how it lies is open where its letters deny it, as a long one is.
    assert_eq!(lies(9.0, 9.0, -9.0), None);
}

/// "pup" turned half round reads "dnd": its signs said so, its looks said by chance that it lies right.
#[test]
fn what_its_signs_doubt_is_not_told_by_the_looks_of_a_word() {
    assert_eq!(weighed(5.0, Signs::of_no_letters()), Some(UPRIGHT));
    // It reads as it lies, and half turned nearly as well.
    let both = Signs::rather_in(UPRIGHT, -0.2).also_in(HALF_TURNED, -0.3);
    assert_eq!(weighed(5.0, both), None);
    assert_eq!(weighed(5.0, Signs::rather_in(HALF_TURNED, -0.2)), None);
}

/// Hooks among names, upside down: by chance both the network and their looks took them for upright.
#[test]
fn what_is_no_lettering_is_not_told_by_what_it_resembles() {
    assert_eq!(weighed(0.0, Signs::of_no_letters()), None);
    assert_eq!(weighed(-1.0, Signs::surely(UPRIGHT)), None);
}

#[test]
fn of_two_groups_the_one_of_which_a_word_tells_that_it_lies_wrong_is_wrong() {
    let sides = [false, false, true, true].map(|s| Some((s, Orientation::new(1, false))));
    let wrong = |alone: [Option<Orientation>; 4]| wrong_side(&sides, &alone);
    let (quarter, back) = (Orientation::new(1, false), Orientation::new(3, false));
    assert_eq!(
        wrong([Some(UPRIGHT), None, None, Some(quarter)]),
        Some((true, quarter))
    );
    assert_eq!(wrong([Some(back), None, None, None]), Some((false, back)));
    assert_eq!(wrong([None; 4]), None);
    assert_eq!(wrong([Some(back), None, None, Some(quarter)]), None);
}

#[test]
fn one_of_lettering_with_a_letter_that_is_not_known_is_the_odd_one_out() {
    let batch = |signs: Signs| -> Vec<Reading> {
        let odd = with_signs(word(HALF_TURNED, 18.0, 5), signs);
        (0..4).map(|_| word(UPRIGHT, 9.0, 5)).chain([odd]).collect()
    };
    let last = |signs| told_of(&batch(signs)).pop().unwrap();
    assert_eq!(last(Signs::rather_in(HALF_TURNED, -0.9)), Some(HALF_TURNED));
    // An ornament that the network takes for lettering upside down.
    assert_eq!(last(Signs::of_no_letters()), None);
    assert_eq!(last(Signs::rather_in(HALF_TURNED, -1.5)), None);
}

#[test]
fn letters_that_lean_to_another_slip_do_not_speak_for_none() {
    let by = |leaning: Orientation| BySiblings {
        letters: SiblingVerdict {
            leaning: Some(leaning),
            ..SiblingVerdict::default()
        },
        odd: Some(HALF_TURNED),
        common: Some(UPRIGHT),
        leaning: Some(UPRIGHT),
        ..BySiblings::default()
    };
    let lies = |leaning, sure| by(leaning).lies(word(HALF_TURNED, sure, 5).shapes.as_ref());
    // By itself it tells how it lies, or not.
    for sure in [9.0, 3.0] {
        assert_eq!(lies(Orientation::new(0, true), sure), Some(HALF_TURNED));
        assert_eq!(lies(UPRIGHT, sure), None);
    }
}

/// Of rows of shapes the network knows one, upside down, by chance.
#[test]
fn what_looks_like_a_word_among_what_does_not_decides_nothing() {
    let told = |readings: &[Reading]| *told_of(readings).first().unwrap();
    let half = Some(HALF_TURNED);
    let odd = || word(HALF_TURNED, 9.0, 5);
    assert_eq!(told(&[odd()]), half);
    // All of one batch lie so.
    assert_eq!(told(&[odd(), odd(), odd(), odd()]), half);
    assert_eq!(
        told(&[
            odd(),
            word(UPRIGHT, 2.0, 5),
            word(Orientation::new(0, true), 2.0, 5),
            word(HALF_TURNED, 2.0, 5)
        ]),
        None
    );
    // And among rows that are built like words and of no letters.
    let hooks = with_signs(word(UPRIGHT, 9.0, 5), Signs::of_no_letters());
    assert_eq!(told(&[odd(), hooks.clone(), hooks]), None);
}

#[test]
fn where_two_groups_lie_opposite_their_letters_blame_neither() {
    use super::super::letter_kinds::Seen;
    let word = |lays| Reading {
        letters: (0..8).map(|kind| Seen::somewhere(kind, lays)).collect(),
        ..Reading::default()
    };
    let words = |turned: usize| -> Vec<Option<Orientation>> {
        let readings: Vec<Reading> = (0..10)
            .map(|n| word(alone(if n < turned { HALF_TURNED } else { UPRIGHT })))
            .collect();
        let told = by_siblings(&readings, false, &Remembered::default());
        told.iter().take(turned).map(|t| t.lies(None)).collect()
    };
    assert_eq!(words(4), [None; 4]);
    assert_eq!(words(1), [Some(HALF_TURNED)]);
}

#[test]
fn ink_among_words_is_only_judged_with_letters_that_it_shares() {
    use super::super::letter_kinds::Seen;
    let odds = |k: Orientation| {
        let mut odds = PerOrientation([-9.0; 8]);
        odds[k] = 0.0;
        odds
    };
    let reading = |k: Orientation, built: bool, letters: Vec<Seen>| Reading {
        shapes: Some(ShapeWord {
            odds: odds(k),
            known: 0.0,
            bounds: Rect::new(0.0, 0.0, 9.0, 3.0),
            letters: 4,
            built,
            signs: Some(Signs::surely(k)),
            twin: false,
            ink: Region::default(),
        }),
        letters,
        ..Reading::default()
    };
    let upright = |kind: usize| Seen::somewhere(kind, 1);
    let words = || (0..4).map(|_| reading(UPRIGHT, true, vec![upright(0), upright(1)]));
    let told = |odd: Reading| {
        let readings: Vec<Reading> = words().chain([odd]).collect();
        let told = by_siblings(&readings, false, &Remembered::default());
        told.last()
            .copied()
            .unwrap()
            .lies(readings.last().unwrap().shapes.as_ref())
    };
    let half = Some(HALF_TURNED);
    let turned = |kind: usize| Seen::somewhere(kind, 1 << 4);
    // A joined name with an a that all others have, upside down, as it looks to the network.
    assert_eq!(told(reading(HALF_TURNED, false, vec![turned(0)])), half);
    // An ornament that the network takes for lettering upside down.
    let ornament = |letters| {
        let ornament = reading(HALF_TURNED, false, letters);
        told(with_signs(ornament, Signs::of_no_letters()))
    };
    assert_eq!(ornament(vec![upright(7)]), None);
    assert_eq!(ornament(Vec::new()), None);
    // The same, built like a word.
    assert_eq!(told(reading(HALF_TURNED, true, vec![upright(7)])), half);
}

/// Half of a batch lies wrong. To lie as the others do says nothing then, whatever letters say of it.
#[test]
fn in_a_batch_of_two_minds_letters_do_not_outweigh_the_word() {
    use super::super::letter_kinds::Seen;
    let reading =
        |lies: Orientation, letters: usize, kinds: std::ops::Range<usize>, lays| Reading {
            letters: kinds.map(|kind| Seen::somewhere(kind, lays)).collect(),
            ..word(lies, 9.0, letters)
        };
    let told = |odd: Reading| {
        let upright = (0..4).map(|_| reading(UPRIGHT, 5, 0..4, 1));
        let turned = (4..6).map(|n| reading(HALF_TURNED, 5, 10 * n..10 * n + 4, 1 << 4));
        let all: Vec<Reading> = upright.chain(turned).chain([odd]).collect();
        told_of(&all).last().copied().flatten()
    };
    // Too short to say by itself that it is turned, as others are, and of letters that are others' half turned.
    assert_ne!(told(reading(HALF_TURNED, 3, 0..4, 1)), Some(UPRIGHT));
    assert_ne!(told(reading(UPRIGHT, 5, 0..4, 1 << 4)), Some(HALF_TURNED));
}

/// Hooks may look like letters, and the network may know them for some. In a batch of names that share letters with each
/// other, a word that shares none must be known better.
#[test]
fn among_words_that_share_letters_one_that_shares_none_must_be_surely_lettering() {
    use super::super::letter_kinds::Seen;
    let reading = |kinds: std::ops::Range<usize>, known: f64, mean: f64| {
        let mut own = with_signs(word(UPRIGHT, 9.0, 4), Signs::rather_in(UPRIGHT, mean));
        own.letters = kinds.map(|kind| Seen::somewhere(kind, 1)).collect();
        own.shapes.as_mut().unwrap().known = known;
        own
    };
    let told = |last: Reading| {
        let others = (0..5).map(|_| reading(0..4, 4.0, -0.1));
        let all: Vec<Reading> = others.chain([last]).collect();
        told_of(&all).last().copied().flatten()
    };
    assert_eq!(told(reading(9..13, 6.9, -0.5)), None);
    assert_eq!(told(reading(9..13, 9.0, -0.5)), Some(UPRIGHT));
    assert_eq!(told(reading(9..13, 6.9, -0.3)), Some(UPRIGHT));
    assert_eq!(told(reading(3..7, 6.9, -0.5)), Some(UPRIGHT));
}

/// Letters that a line under them joins may look as if they stood upright, and are no lettering to the network: that the
/// name under them lies right is no reason to pass them.
#[test]
fn a_row_that_is_no_lettering_is_not_borne_out_by_the_network() {
    use super::super::letter_kinds::Seen;
    use super::super::rows::Place;
    let name = |known: f64| {
        let mut name = word(UPRIGHT, 9.0, 4);
        name.letters = (0..4).map(|kind| Seen::somewhere(kind, 1)).collect();
        name.shapes.as_mut().unwrap().known = known;
        name
    };
    let told = |known: f64| {
        let mut own = name(known);
        let upper = own.shapes.as_ref().unwrap().bounds;
        let lower = upper + Vec2::new(0.0, 5.0);
        own.rows = [upper, lower]
            .map(|bounds| Place { bounds, same: 1 })
            .to_vec();
        for seen in &mut own.letters {
            seen.bounds = lower;
        }
        let bounds = lower;
        own.other_rows = vec![ShapeWord {
            bounds,
            ..ShapeWord::lying(UPRIGHT, 1.0, 3)
        }];
        own.letters.push(Seen {
            bounds: upper,
            ..Seen::somewhere(20, 1)
        });
        let all: Vec<Reading> = (0..4).map(|_| name(9.0)).chain([own]).collect();
        told_of(&all).last().copied().flatten()
    };
    assert_eq!(told(9.0), Some(UPRIGHT));
    assert_eq!(told(-1.0), None);
}

/// An ornate face, or one of single lines, of which hardly a word tells how it lies.
#[test]
fn one_of_words_that_tell_little_alone_is_weighed_where_they_lie_right() {
    let reads = |lies, mean| Signs::rather_in(lies, mean);
    let ornate = |lies| with_signs(word(lies, 3.0, 5), reads(lies, -0.3));
    let told = |odd: Orientation| {
        let others = (0..5).map(|_| ornate(UPRIGHT));
        let all: Vec<Reading> = others.chain([ornate(odd)]).collect();
        told_of(&all)
    };
    let open: [Option<Orientation>; 5] = [None; 5];
    assert_eq!(
        told(HALF_TURNED),
        [&open[..], &[Some(HALF_TURNED)]].concat()
    );
    // A letter of another script may be a Latin one in a mirror.
    assert_eq!(told(Orientation::new(0, true)), [None; 6]);
}

/// A hatch whose lines miss the hairlines leaves signs that look as much like letters on their heads.
#[test]
fn a_word_of_which_the_signs_read_two_ways_is_told_where_the_whole_reads_one_way() {
    let known = |lies, sure, signs| {
        let mut word = with_signs(word(lies, sure, 9), signs);
        word.shapes.as_mut().unwrap().known = 9.0;
        word
    };
    let told = |sure: f64| {
        let both = Signs::rather_in(UPRIGHT, -1.05).also_in(HALF_TURNED, -1.0);
        let others = (0..5).map(|_| known(UPRIGHT, 9.0, Signs::surely(UPRIGHT)));
        let all: Vec<Reading> = others.chain([known(HALF_TURNED, sure, both)]).collect();
        told_of(&all).last().copied().flatten()
    };
    assert_eq!(told(9.0), Some(HALF_TURNED));
    assert_eq!(told(7.0), None);
}
