use super::*;

const AS_IT_LIES: Lays = 1;
const HALF_TURNED: Lays = 1 << 4;
/// As an o or an x.
const EITHER: Lays = AS_IT_LIES | HALF_TURNED;
/// As a frame.
const EVEN: Lays = EITHER | 1 << 1 | 1 << 5;

const UPRIGHT: Orientation = Orientation::UPRIGHT;
const TURNED: Orientation = Orientation::HALF_TURNED;

fn told(words: &[&[(usize, Lays)]]) -> Vec<Option<u8>> {
    let letters: Vec<Vec<Seen>> = words
        .iter()
        .map(|word| {
            word.iter()
                .map(|&(kind, lays)| Seen::somewhere(kind, lays))
                .collect()
        })
        .collect();
    let words: Vec<Word<'_>> = letters
        .iter()
        .map(|letters| Word {
            letters,
            ..Word::default()
        })
        .collect();
    against(&words)
        .into_iter()
        .map(|told| {
            told.orientation
                .map(|l| 2 * l.quarters + u8::from(l.mirrored))
        })
        .collect()
}

/// A word of these kinds that lies as `lays` says.
fn word(kinds: std::ops::Range<usize>, lays: Lays) -> Vec<(usize, Lays)> {
    kinds.map(|kind| (kind, lays)).collect()
}

/// Of one nobody knows whether the face has it the other way up as well, a u that is an n turned.
#[test]
fn two_letters_found_turned_in_the_others_are_enough_and_one_is_not() {
    let sound = word(0..6, AS_IT_LIES);
    for (kinds, expected) in [(3, Some(4)), (2, Some(4)), (1, None)] {
        let odd = word(0..kinds, HALF_TURNED);
        let got = told(&[&sound, &odd, &sound, &sound]);
        assert_eq!(got, [Some(0), expected, Some(0), Some(0)], "{kinds} kinds");
    }
}

/// The word of these kinds, and what the network and the signs say of it.
fn heard(letters: &[Seen], lies: Orientation, again: Lays) -> Word<'_> {
    let mut odds = PerOrientation([-9.0; 8]);
    odds[lies] = 0.0;
    Word {
        letters,
        odds: Some(odds),
        heard: true,
        again,
        ..Word::default()
    }
}

fn seen(kinds: std::ops::Range<usize>, lays: Lays) -> Vec<Seen> {
    kinds.map(|kind| Seen::somewhere(kind, lays)).collect()
}

/// A face whose n is a turned u, d a turned p and m a turned w: of "wup", each letter is another
/// word's upside down, and the network, asked, says that it lies as the others do, or the other way.
#[test]
fn of_twins_the_network_decides() {
    let (upright, turned) = (Orientation::UPRIGHT, Orientation::HALF_TURNED);
    let others = seen(0..6, AS_IT_LIES);
    let own = seen(0..3, HALF_TURNED);
    for (k, expected) in [(upright, None), (turned, Some(turned))] {
        let other = heard(&others, upright, 0);
        let got = against(&[other, heard(&own, k, HALF_TURNED), other, other]);
        let got = got.get(1).and_then(|t| t.orientation);
        assert_eq!(got, expected, "{k:?}");
    }
}

/// Names of a dozen letters, and one that the network and half of the signs take for letters both
/// ways: that four of its letters are those of the others upside down says enough.
#[test]
fn what_reads_again_is_decided_by_many_letters_and_not_by_few() {
    let (upright, turned) = (Orientation::UPRIGHT, Orientation::HALF_TURNED);
    let others = seen(0..12, AS_IT_LIES);
    for (kinds, expected) in [(2, None), (4, Some(turned))] {
        let own = seen(0..kinds, HALF_TURNED);
        let other = heard(&others, upright, 0);
        let unsure = Word {
            odds: None,
            ..heard(&own, upright, HALF_TURNED)
        };
        let got = against(&[other, unsure, other, other]);
        let got = got.get(1).and_then(|t| t.orientation);
        assert_eq!(got, expected, "{kinds} kinds");
        // And as far to be told as lying right.
        let own = seen(0..kinds, AS_IT_LIES);
        let unsure = Word {
            odds: None,
            ..heard(&own, upright, HALF_TURNED)
        };
        let got = against(&[other, unsure, other, other]);
        let got = got.get(1).and_then(|t| t.orientation);
        assert_eq!(
            got,
            expected.map(|_| upright),
            "{kinds} kinds that lie right"
        );
    }
}

/// Hooks and stars that stand this way and that: what three shapes of one row say is chance.
#[test]
fn where_shapes_lie_this_way_and_that_letters_say_nothing() {
    let odd = word(0..3, HALF_TURNED);
    let sound = word(0..3, AS_IT_LIES);
    let mirrored: Vec<_> = word(0..3, 1 << 1);
    let aside: Vec<_> = word(0..3, 1 << 2);
    let scattered = told(&[&sound, &odd, &sound, &mirrored, &aside, &sound]);
    assert_eq!(scattered.get(1), Some(&None), "{scattered:?}");
    let lettering = told(&[&sound, &odd, &sound, &sound, &aside, &sound]);
    assert_eq!(lettering.get(1), Some(&Some(4)), "{lettering:?}");
}

/// Twelve names in one frame each, of which the network was taught on two only, and one of these lies in a
/// mirror: as seen from it, the other one does.
#[test]
fn one_other_word_that_the_network_knows_is_no_batch() {
    let (upright, mirrored) = (Orientation::UPRIGHT, Orientation::new(0, true));
    let frame = seen(0..1, EVEN);
    let unknown = Word {
        letters: &frame,
        again: Lays::MAX,
        ..Word::default()
    };
    let mut batch = vec![unknown; 10];
    batch.extend([heard(&frame, mirrored, 0), heard(&frame, upright, 0)]);
    let got = against(&batch);
    assert!(got.iter().all(|t| t.orientation.is_none()), "{got:?}");
}

/// MAO on its side, or half turned, whose letters are the same in a mirror: the network is hardly of two minds, and a
/// little for the mirror.
#[test]
fn a_word_that_is_turned_is_not_called_mirrored_by_a_hair() {
    let upright = Orientation::UPRIGHT;
    let others = seen(0..4, AS_IT_LIES | 1 << 1);
    for (quarters, lays) in [(1, 1 << 2 | 1 << 3), (2, HALF_TURNED | 1 << 5)] {
        let turned = Orientation::new(quarters, false);
        let own = seen(0..4, lays);
        let mut odds = PerOrientation([-9.0; 8]);
        odds[upright] = -5.0;
        odds[turned] = -0.1;
        odds[Orientation::new(quarters, true)] = 0.0;
        let odd = Word {
            odds: Some(odds),
            ..heard(&own, upright, 0)
        };
        let mut batch = vec![heard(&others, upright, 0); 5];
        batch.push(odd);
        let got = against(&batch);
        assert_eq!(got.last().and_then(|t| t.orientation), Some(turned));
    }
}

/// Of a run that was flipped about its lines, one that was put right: a turn and a flip from the others, and no slip.
#[test]
fn slips_are_counted_from_lying_right_and_not_from_the_others() {
    let flipped = Orientation::new(2, true);
    let others = seen(0..4, HALF_TURNED | 1 << 5);
    let own = seen(0..4, AS_IT_LIES | 1 << 1);
    let mut odds = PerOrientation([-9.0; 8]);
    odds[UPRIGHT] = 0.0;
    odds[Orientation::new(0, true)] = -0.1;
    odds[flipped] = -5.0;
    let right = Word {
        odds: Some(odds),
        ..heard(&own, UPRIGHT, 0)
    };
    let mut batch = vec![heard(&others, flipped, 0); 5];
    batch.push(right);
    let got = against(&batch);
    let lies = got.last().and_then(|t| t.orientation);
    assert_eq!(lies.map(|l| flipped.then(l)), Some(UPRIGHT));
}

/// The network alone is weighed elsewhere, and asked for more.
#[test]
fn what_looks_alike_both_ways_lets_the_network_decide_nothing() {
    let (upright, mirrored) = (Orientation::UPRIGHT, Orientation::new(0, true));
    let frame = seen(0..1, EVEN);
    let mut batch = vec![heard(&frame, upright, 0); 5];
    batch.push(heard(&frame, mirrored, 0));
    let got = against(&batch);
    assert_eq!(got.last().and_then(|t| t.orientation), None);
    assert_eq!(got.last().and_then(|t| t.leaning), Some(mirrored));
}

#[test]
fn letters_that_look_alike_turned_say_nothing() {
    let sound = word(0..6, EITHER);
    assert_eq!(told(&[&sound, &sound, &sound]), [None, None, None]);
}

#[test]
fn letters_found_both_ways_in_one_word_say_nothing() {
    // Each sibling has both an n and a u of a plain face, and so on.
    let both: Vec<(usize, Lays)> = [word(0..4, AS_IT_LIES), word(0..4, HALF_TURNED)].concat();
    let one = word(0..4, HALF_TURNED);
    assert_eq!(told(&[&both, &one, &both]).get(1), Some(&None));
}

#[test]
fn siblings_that_are_split_judge_none() {
    let (up, down) = (word(0..6, AS_IT_LIES), word(0..6, HALF_TURNED));
    assert!(told(&[&up, &up, &down, &down]).iter().all(Option::is_none));
    // Nor does one alone judge another.
    assert!(told(&[&up, &down]).iter().all(Option::is_none));
}

#[test]
fn a_word_that_only_the_turned_one_knows_is_not_taken_for_it() {
    let (up, down) = (word(0..6, AS_IT_LIES), word(0..9, HALF_TURNED));
    let stranger = word(6..9, AS_IT_LIES);
    let got = told(&[&up, &up, &down, &stranger]);
    assert_eq!(got.get(2..), Some([Some(4), None].as_slice()));
}

/// A row of a pocket, so far down.
fn row(y: f64) -> Place {
    Place {
        bounds: Rect::new(0.0, y, 20.0, y + 4.0),
        same: AS_IT_LIES,
    }
}

/// Which of such words have a row in doubt, where the network was asked about the row in this box, and says this of another.
fn doubts(words: &[(Vec<Seen>, Vec<ShapeWord>)], rows: &[Place], asked: Option<Rect>) -> Vec<bool> {
    let words: Vec<Word<'_>> = words
        .iter()
        .map(|(letters, other_rows)| Word {
            letters,
            rows,
            asked,
            other_rows,
            ..Word::default()
        })
        .collect();
    let told = against(&words).into_iter();
    told.map(|told| told.rows_in_doubt).collect()
}

/// Letters that a line under them joins, but for the last, over a name: that one letter says too little of them.
#[test]
fn a_row_of_which_most_is_like_nothing_else_is_in_doubt() {
    let rows = [row(0.0), row(6.0)];
    let letter = |kind: usize, [x0, x1]: [f64; 2], y: f64| Seen {
        bounds: Rect::new(x0, y, x1, y + 4.0),
        ..Seen::somewhere(kind, AS_IT_LIES)
    };
    let letters = |joined: usize| {
        let upper = [
            letter(joined, [0.0, 17.0], 0.0),
            letter(0, [18.0, 20.0], 0.0),
        ];
        let lower = [letter(1, [0.0, 9.0], 6.0), letter(2, [10.0, 20.0], 6.0)];
        [upper, lower].concat()
    };
    let doubts = |joined: [usize; 3], asked| {
        let own = || {
            let each = rows.map(|row| ShapeWord {
                bounds: row.bounds,
                ..ShapeWord::lying(UPRIGHT, 1.0, 3)
            });
            each.to_vec()
        };
        doubts(&joined.map(|kind| (letters(kind), own())), &rows, asked)
    };
    assert_eq!(doubts([3, 4, 5], None), [true; 3]);
    assert_eq!(doubts([3, 3, 3], None), [false; 3]);
    assert_eq!(doubts([3, 4, 5], Some(row(0.0).bounds)), [false; 3]);
}

/// A word at this place of the `n`th pocket, and there only.
fn unlike_others(n: usize, bounds: Rect, mut word: ShapeWord) -> ShapeWord {
    word.odds[Orientation::new(3, true)] -= n as f64 + 10.0 * bounds.y0;
    ShapeWord { bounds, ..word }
}

/// Which of eight names that lie right have a date under them in doubt: `dates` are how each lies, as its letters say it, and
/// what the network makes of it.
fn dates_in_doubt(dates: [(Lays, ShapeWord); 8]) -> [bool; 8] {
    let rows = [row(0.0), row(6.0)];
    let [name, date] = rows.map(|row| row.bounds);
    let letter = |kind: usize, lays: Lays, row: Rect| {
        let x = 2.0 * (kind % 10) as f64;
        Seen {
            bounds: Rect::new(x, row.y0, x + 2.0, row.y1),
            ..Seen::somewhere(kind, lays)
        }
    };
    let words = dates.into_iter().enumerate().map(|(n, (lays, own))| {
        let letters = (0..5).map(|kind| letter(kind, AS_IT_LIES, name));
        let letters = letters.chain((10..14).map(|kind| letter(kind, lays, date)));
        (letters.collect(), vec![unlike_others(n, date, own)])
    });
    let told = doubts(&words.collect::<Vec<_>>(), &rows, Some(name));
    std::array::from_fn(|i| told.get(i) == Some(&true))
}

/// Dates under names that all lie right: one of them on its head is told from the others, of two halves each is in doubt.
#[test]
fn of_rows_that_are_divided_each_is_in_doubt() {
    let doubts = |wrong: usize| {
        dates_in_doubt(std::array::from_fn(|i| {
            let (lays, lies) = if i < wrong {
                (HALF_TURNED, TURNED)
            } else {
                (AS_IT_LIES, UPRIGHT)
            };
            (lays, ShapeWord::lying(lies, 1.0, 3))
        }))
    };
    let first = std::array::from_fn(|i| i == 0);
    assert_eq!(doubts(1), first);
    // Those of the larger half seem to lie as the others do.
    assert_eq!(doubts(3), [true; 8]);
}

/// Dates that lie alike say nothing against each other: only the network and their signs can tell that all of them lie wrong.
#[test]
fn rows_that_lie_wrong_in_every_pocket_are_in_doubt() {
    let all = |own: fn(usize) -> (Orientation, f64)| {
        dates_in_doubt(std::array::from_fn(|i| {
            let (lies, sure) = own(i);
            // Of so few letters it says nothing by itself.
            let own = ShapeWord {
                signs: None,
                ..ShapeWord::lying(lies, sure, 3)
            };
            (AS_IT_LIES, own)
        }))
    };
    assert_eq!(all(|_| (UPRIGHT, 1.0)), [false; 8]);
    assert_eq!(all(|_| (TURNED, 1.0)), [true; 8]);
    // Of one mind, and not sure.
    assert_eq!(all(|_| (UPRIGHT, 0.3)), [true; 8]);
    // One that looks otherwise by chance.
    assert_eq!(
        all(|i| (if i == 0 { TURNED } else { UPRIGHT }, 1.0)),
        [false; 8]
    );
    // What their signs say counts as well.
    let by_signs = dates_in_doubt(std::array::from_fn(|_| {
        let own = ShapeWord {
            signs: Some(Signs::rather_in(TURNED, -0.5)),
            ..ShapeWord::lying(UPRIGHT, 1.0, 3)
        };
        (AS_IT_LIES, own)
    }));
    assert_eq!(by_signs, [true; 8]);
}

/// Which of eight pockets have a row in doubt: under a name, which the network is asked about, lie rows so far down and in
/// these ways.
fn rows_in_doubt(pockets: [&[(f64, Orientation)]; 8]) -> [bool; 8] {
    // Each row has letters of its own, which lie alike in all pockets.
    let letter = |kind: usize, row: Place| {
        let x = 2.0 * kind as f64;
        Seen {
            bounds: Rect::new(x, row.bounds.y0, x + 2.0, row.bounds.y1),
            ..Seen::somewhere(10 * row.bounds.y0 as usize + kind, AS_IT_LIES)
        }
    };
    let mut letters: Vec<Vec<Seen>> = Vec::new();
    let mut others: Vec<Vec<ShapeWord>> = Vec::new();
    let mut rows: Vec<Vec<Place>> = Vec::new();
    for (n, under) in pockets.iter().enumerate() {
        // It says too little to be told by itself.
        let other = |(y, lies): &(f64, Orientation)| ShapeWord {
            signs: None,
            ..unlike_others(n, row(*y).bounds, ShapeWord::lying(*lies, 1.0, 3))
        };
        let places = [0.0].into_iter().chain(under.iter().map(|(y, _)| *y));
        let places: Vec<Place> = places.map(row).collect();
        let each = |place: &Place| (0..5).map(|kind| letter(kind, *place)).collect::<Vec<_>>();
        letters.push(places.iter().flat_map(each).collect());
        others.push(under.iter().map(other).collect());
        rows.push(places);
    }
    let words: [Word<'_>; 8] = std::array::from_fn(|n| Word {
        letters: letters.at(n),
        rows: rows.at(n),
        asked: Some(row(0.0).bounds),
        other_rows: others.at(n),
        ..Word::default()
    });
    let told = against(&words);
    std::array::from_fn(|n| told.at(n).rows_in_doubt)
}

/// Two more lines that lie right, and dates under them that lie wrong in every pocket.
#[test]
fn rows_speak_only_for_those_that_stand_where_they_do() {
    let doubts = |date| rows_in_doubt([&[(6.0, UPRIGHT), (12.0, UPRIGHT), (18.0, date)]; 8]);
    assert_eq!(doubts(UPRIGHT), [false; 8]);
    assert_eq!(doubts(TURNED), [true; 8]);
}

/// Of dates of which half lie wrong, those that lie right may say more in all.
#[test]
fn rows_of_which_many_lie_otherwise_do_not_lie_right_together() {
    let of_each = |wrong: usize| {
        dates_in_doubt(std::array::from_fn(|i| {
            let lies = if i < wrong { TURNED } else { UPRIGHT };
            let own = ShapeWord {
                signs: None,
                ..ShapeWord::lying(lies, 3.0, 3)
            };
            // Its digits look by chance as they do in the others.
            (AS_IT_LIES, own)
        }))
    };
    assert_eq!(of_each(2), [false; 8]);
    assert_eq!(of_each(3), [true; 8]);
}

/// Seven pockets have a date and one row more, the eighth a date alone; all dates lie wrong. The row more stands where the
/// eighth has its date, counted from the top if it is over the date, and from the foot if it is under it.
#[test]
fn rows_are_counted_from_the_top_and_from_the_foot() {
    let (upper, lower) = (6.0, 12.0);
    for (more, date) in [(upper, lower), (lower, upper)] {
        let both = [(more, UPRIGHT), (date, TURNED)];
        let date = [(upper, TURNED)];
        let mut pockets = [&both[..]; 8];
        pockets[7] = &date;
        assert_eq!(rows_in_doubt(pockets), [true; 8], "one more at {more}");
    }
}

/// Twelve times the same word is one word: that the network leans to it says no more for being said again.
#[test]
fn a_word_that_comes_again_in_every_pocket_is_heard_once() {
    let words = |sure: f64| -> Vec<(Vec<Seen>, Vec<ShapeWord>)> {
        let [name, word] = [0.0, 6.0].map(|y| Seen {
            bounds: row(y).bounds,
            ..Seen::somewhere(y as usize, AS_IT_LIES)
        });
        let own = ShapeWord {
            bounds: word.bounds,
            signs: None,
            ..ShapeWord::lying(UPRIGHT, sure, 3)
        };
        vec![(vec![name, word], vec![own]); 8]
    };
    let rows = [row(0.0), row(6.0)];
    let doubts = |sure: f64| doubts(&words(sure), &rows, Some(row(0.0).bounds));
    assert_eq!(doubts(1.0), [true; 8]);
    assert_eq!(doubts(4.0), [false; 8]);
}

/// A row that is told by itself needs no letters of others to bear it out.
#[test]
fn a_row_that_says_by_itself_how_it_lies_is_heard() {
    let divided = |lies| {
        dates_in_doubt(std::array::from_fn(|i| {
            let (lays, lies) = if i < 3 {
                (HALF_TURNED, TURNED)
            } else {
                (AS_IT_LIES, lies)
            };
            (lays, ShapeWord::lying(lies, 9.0, 5))
        }))
    };
    assert_eq!(divided(UPRIGHT), std::array::from_fn(|i| i < 3));
    // Its letters say that it lies as the others do, and it says itself that it does not.
    assert_eq!(divided(Orientation::new(0, true)), [true; 8]);
}

/// Digits one above the other, a date on its side, are no word: nothing tells that they lie right.
#[test]
fn rows_that_nothing_is_asked_about_are_in_doubt() {
    let rows = [row(0.0), row(6.0)];
    let letters = |y: f64| Seen {
        bounds: Rect::new(0.0, y, 4.0, y + 4.0),
        ..Seen::somewhere(y as usize, AS_IT_LIES)
    };
    let words = std::array::from_fn::<_, 4, _>(|_| (vec![letters(0.0), letters(6.0)], Vec::new()));
    assert_eq!(doubts(&words, &rows, Some(row(0.0).bounds)), [true; 4]);
}
