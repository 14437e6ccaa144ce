//! "Did you mean": the words of a list that are closest to a mistyped one.

/// The words of `among` that are close enough to `word` to have been meant, closest first and, at
/// equal distance, in the order of the list. Empty where nothing is close.
///
/// Close enough is a third of the word's length in single slips, at least one and at most three, or
/// one word beginning with the other. More would offer words that share nothing with what was typed.
pub fn nearest<'a>(word: &str, among: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let typed: Vec<char> = word.to_lowercase().chars().collect();
    let reach = (typed.len() / 3).clamp(1, 3);
    let mut found: Vec<(usize, &str)> = among
        .filter_map(|candidate| {
            let wanted: Vec<char> = candidate.to_lowercase().chars().collect();
            let begins =
                typed.len() >= 3 && (wanted.starts_with(&typed) || typed.starts_with(&wanted));
            let slips = distance(&typed, &wanted);
            (slips <= reach || begins).then_some((slips, candidate))
        })
        .collect();
    found.sort_by_key(|(slips, _)| *slips);
    found.into_iter().map(|(_, candidate)| candidate).collect()
}

/// How many single slips (a letter left out, added, exchanged, or two neighbours swapped) lead from
/// `a` to `b`: the restricted Damerau–Levenshtein distance, by the textbook table of three rows.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut two_back: Vec<usize> = Vec::new();
    let mut back: Vec<usize> = (0..=b.len()).collect();
    for (i, &x) in a.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, &y) in b.iter().enumerate() {
            let cell = |r: &[usize], k: usize| r.get(k).copied().unwrap_or(usize::MAX - 1);
            let mut best = (cell(&back, j) + usize::from(x != y))
                .min(cell(&back, j + 1) + 1)
                .min(cell(&row, j) + 1);
            let swapped = i > 0 && j > 0 && a.get(i - 1) == Some(&y) && b.get(j - 1) == Some(&x);
            if swapped {
                best = best.min(cell(&two_back, j - 1) + 1);
            }
            row.push(best);
        }
        two_back = std::mem::replace(&mut back, row);
    }
    back.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slips(a: &str, b: &str) -> usize {
        distance(
            &a.chars().collect::<Vec<_>>(),
            &b.chars().collect::<Vec<_>>(),
        )
    }

    #[test]
    fn slips_are_counted() {
        assert_eq!(slips("", ""), 0);
        assert_eq!(slips("", "tilt"), 4);
        assert_eq!(slips("tilt", ""), 4);
        assert_eq!(slips("tilt", "tilt"), 0);
        assert_eq!(slips("titl", "tilt"), 1);
        assert_eq!(slips("past-zon", "past-zone"), 1);
        assert_eq!(slips("kitten", "sitting"), 3);
        assert_eq!(slips("größe", "grosse"), 3);
    }

    #[test]
    fn offers_what_was_meant() {
        let rules = [
            "doubled",
            "past-zone",
            "pocket-added",
            "pocket-bare",
            "tilted",
        ];
        let ask = |word| nearest(word, rules.iter().copied());
        assert_eq!(ask("past-zoen"), ["past-zone"]);
        assert_eq!(ask("Tilted"), ["tilted"]);
        assert_eq!(ask("pocket"), ["pocket-bare", "pocket-added"]);
        assert_eq!(ask("xyzzy"), Vec::<&str>::new());
        assert_eq!(ask(""), Vec::<&str>::new());
    }
}
