#![allow(clippy::unwrap_used)]
use kurbo::{Affine, Shape as _};

use super::*;

#[test]
fn the_weights_are_whole() {
    assert!(MODEL.is_some());
}

#[test]
fn a_row_of_equal_leaves_is_no_word() {
    let mut ink = Region::default();
    for n in 0..6 {
        let leaf = Affine::translate((f64::from(n) * 6.0, 0.0))
            * kurbo::Ellipse::new((0.0, 0.0), (2.0, 4.0), 0.3).to_path(1e-3);
        ink = ink.unite(&Region::from_path(&leaf, false, 1e-3));
    }
    assert_eq!(look(&ink), None);
}

#[test]
fn what_is_not_built_like_a_word_is_looked_at_among_words() {
    // Two narrow letters that touch: higher than long, and one part.
    let d = "M0 0 V-9 H1 V-4 H3 V0 Z M2.8 0 V-2 H4 V-9 H5 V0 Z";
    let path = kurbo::BezPath::from_svg(d).unwrap();
    let ink = Region::from_path(&path, false, 1e-3);
    assert_eq!(look(&ink), None);
    let seen = look_among_words(&ink);
    assert!(seen.as_ref().is_none_or(|w| !w.built), "{seen:?}");
    let long =
        kurbo::BezPath::from_svg("M0 0 V-9 H1 V-4 H3 V0 Z M2.8 0 V-2 H6 V-9 H7 V0 Z").unwrap();
    let seen = look_among_words(&Region::from_path(&long, false, 1e-3)).unwrap();
    assert!(!seen.built && seen.lies().is_none(), "{seen:?}");
}

/// A word that the network knows so well, of these signs.
fn word(known: f64, signs: Option<Signs>) -> ShapeWord {
    ShapeWord {
        odds: Odds::default(),
        known,
        bounds: Rect::ZERO,
        letters: 4,
        built: true,
        signs,
        twin: false,
        ink: Region::default(),
    }
}

/// As many, each another word than the rest.
fn words(all: Vec<ShapeWord>) -> Vec<ShapeWord> {
    let mut out = all;
    for (n, word) in (0..).zip(&mut out) {
        word.odds[Orientation::new(0, true)] = -f64::from(n);
    }
    out
}

/// Hooks among names: one sort passed in a mirror, another was held though it lay right.
#[test]
fn among_words_of_letters_what_is_hardly_of_letters_must_be_known_the_better() {
    let lettering = |others: f64, known, reads| {
        let signs = |mean| Some(Signs::rather_in(UPRIGHT, mean));
        let names = (0..8).map(|_| word(9.0, signs(others)));
        let mut words = words(names.chain([word(known, signs(reads))]).collect());
        hear_batch(&mut words);
        words.pop().is_some_and(|w| w.lettering())
    };
    for (known, reads, told) in [
        (1.3, -0.39, false),
        (1.3, -0.3, true),
        (2.8, -1.2, false),
        (2.8, -0.6, true),
        (4.0, -1.2, true),
    ] {
        assert_eq!(lettering(-0.2, known, reads), told, "{known} {reads}");
    }
    // In a joined or ornate face signs are letters nowhere.
    assert!(lettering(-2.0, 2.8, -1.2));
}

#[test]
fn what_the_network_knows_is_heard_where_it_knows_most_of_a_batch() {
    let word = |known| word(known, None);
    let heard = |all: &[f64]| -> Vec<bool> {
        let mut words = words(all.iter().map(|k| word(*k)).collect());
        hear_batch(&mut words);
        words.iter().map(ShapeWord::is_known).collect()
    };
    assert_eq!(heard(&[5.0, 5.0, 5.0, -1.0]), [true, true, true, false]);
    assert_eq!(heard(&[5.0, 5.0, 5.0, -1.0, -1.0]), [false; 5]);
    assert_eq!(heard(&[5.0, 5.0]), [false; 2]);
    let mut none = [word(-1.0)];
    hear_batch(&mut none);
    assert!(!none[0].may_be_known());
}

/// Twelve times a word of another script that the network takes for a Latin one, and a batch that was wrong as a whole passed.
#[test]
fn a_word_that_comes_again_counts_once() {
    let heard = |known: f64, kinds: i32| {
        let mut words: Vec<ShapeWord> = (0..12).map(|_| word(known, None)).collect();
        for (n, word) in (0..).zip(&mut words) {
            // Coordinates are rounded.
            word.odds[Orientation::new(0, true)] = 0.01 * f64::from(n) - f64::from(n % kinds);
        }
        hear_batch(&mut words);
        words.iter().all(ShapeWord::is_known)
    };
    assert!(heard(4.0, 3), "of three words");
    assert!(!heard(4.0, 2) && !heard(4.0, 1), "of two, of one");
    assert!(heard(8.5, 2) && heard(8.5, 1), "known beyond doubt");
}

/// In blackletter half of the words are known; hooks, and other scripts, are told now one way, now another.
#[test]
fn words_that_all_stand_upright_are_known_as_a_whole() {
    let heard = |count: usize, known: f64, ahead: f64, otherwise: usize| {
        let mut words = words((0..count).map(|_| word(known, None)).collect());
        for (n, word) in words.iter_mut().enumerate() {
            let way = if n < otherwise {
                Orientation::HALF_TURNED
            } else {
                UPRIGHT
            };
            word.odds[way] = ahead;
        }
        // One is known, so that it is seen whether it is heard.
        words.last_mut().unwrap().known = 4.0;
        hear_batch(&mut words);
        words.last().unwrap().is_known()
    };
    assert!(heard(12, 2.0, 5.0, 0) && heard(12, 2.0, 5.0, 1) && heard(6, 2.0, 7.0, 1));
    assert!(!heard(12, 2.0, 5.0, 4), "of several minds");
    assert!(!heard(12, 2.0, 2.5, 0), "hardly told");
    assert!(!heard(12, 1.0, 5.0, 0), "hardly lettering");
    assert!(!heard(6, 2.0, 4.0, 0) && !heard(5, 2.0, 8.0, 0), "too few");
}

/// Lines along the outlines of letters have no subpaths that were filled.
#[test]
fn signs_of_ink_are_kept_where_nothing_was_drawn_apart() {
    let d = "M0 0H3V6H0Z M4 0H7V2H5V6H4Z M8 2H11V6H9V5H8Z M12 0H13V5H15V7H12Z";
    let path = kurbo::BezPath::from_svg(d).unwrap();
    let ink = Region::from_path(&path, false, 1e-3);
    let parts = pieces(&ink);
    let drawn: Vec<Piece> = parts.iter().chain(&parts).cloned().collect();
    let seen = look_at(&ink, &parts, &drawn, &Region::default()).unwrap();
    assert!(seen.signs.is_some());
}

/// The one piece of a welded name looks like a letter on its side, by chance.
#[test]
fn pieces_of_joined_letters_speak_neither_for_nor_against_a_word() {
    let mirrored = Orientation::new(0, true);
    let told = |known, by_chance| {
        let mut welded = ShapeWord::lying(mirrored, 14.0, 6);
        welded.signs = Some(Signs::surely(by_chance).in_one());
        welded.known = known;
        welded.lies()
    };
    let aside = Orientation::new(1, false);
    assert_eq!(told(9.0, aside), Some(mirrored));
    assert_eq!(told(1.0, aside), None);
    assert_eq!(told(1.0, mirrored), None);
}

#[test]
fn a_short_word_is_told_by_itself_where_it_is_beyond_doubt() {
    let told = |sure, known| {
        let mut short = ShapeWord::lying(Orientation::HALF_TURNED, sure, 3);
        short.known = known;
        short.lies()
    };
    assert_eq!(told(9.0, 9.0), Some(Orientation::HALF_TURNED));
    assert_eq!(told(7.0, 9.0), None);
    assert_eq!(told(9.0, 7.0), None);
}

/// Where a mirror, or a flip about the line, is hardly less likely than lying right, only signs can tell them apart, and
/// joined letters are none: such a name would pass as lying right.
#[test]
fn what_hardly_lies_right_is_not_told_to() {
    for wrong in [Orientation::new(0, true), Orientation::new(2, true)] {
        let told = |letters, behind: f64| {
            let mut welded = ShapeWord::lying(UPRIGHT, 14.0, letters);
            welded.odds[wrong] = -behind;
            welded.signs = Some(Signs::surely(UPRIGHT).in_one());
            welded.known = 9.0;
            welded.lies()
        };
        assert_eq!(told(6, 3.0), None, "{wrong:?}");
        assert_eq!(told(6, 5.0), Some(UPRIGHT), "{wrong:?}");
        assert_eq!(told(3, 7.0), None, "{wrong:?}");
        assert_eq!(told(3, 9.0), Some(UPRIGHT), "{wrong:?}");
    }
}

/// A joined name on its side: on its side and in a mirror is nearly as likely to the network's eyes.
#[test]
fn a_word_that_takes_one_slip_or_two_takes_one() {
    let (aside, both) = (Orientation::new(1, false), Orientation::new(1, true));
    let told = |lies, other, behind: f64| {
        let mut word = ShapeWord::lying(lies, 11.0, 5);
        word.odds[other] = -behind;
        word.lies()
    };
    assert_eq!(told(aside, both, 1.5), Some(aside));
    assert_eq!(told(aside, both, 0.5), None);
    assert_eq!(told(both, aside, 1.5), None);
    assert_eq!(told(both, aside, 8.0), Some(both));
}
