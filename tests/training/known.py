"""How surely the word's network knows Latin words for such, and words of scripts that it never saw for none.

    python known.py STORE.npz HELD.npz WEIGHTS [SPLIT]

HELD.npz is what `other_words.py PACKAGES HELD.npz held` wrote. Prints, for limits of the log-odds, the share of
given names in the faces of SPLIT (validation, if left out) that are known, drawn in each way, and the share of
words in each held-out script.
"""
import sys

import numpy as np

import export
import rows
import words
from judge import cased, given_names, raw_scores

LIMITS = (0, 1, 2.5, 4, 5, 6, 8)


def main(store, held, weights, split="validation"):
    net, temperature = export.read(weights)
    faces, rng = words.Faces(store), np.random.default_rng(5)

    def told(name, drawn):
        raw = raw_scores(net, drawn) / temperature
        known = np.log(np.exp(raw - raw.max(1, keepdims=True)).sum(1)) + raw.max(1)
        shares = "  ".join(f"{limit}: {np.mean(known >= limit):.4f}" for limit in LIMITS)
        print(f"{name} ({len(drawn)}): {shares}", flush=True)

    names = given_names()
    drawn = []
    for face in faces.of(split):
        for case in ("Title", "UPPER", "lower"):
            for name in rng.choice(names, 4):
                word = faces.word(face, cased(name, case))
                if len(word[0]):
                    drawn.append(word)
    told("names, filled", [words.views(*word) for word in drawn])
    told("names, otherwise", [[rows.otherwise(*word, rng)] for word in drawn])
    others = rows.Others(held)
    for which in others.faces:
        drawn = []
        for one in which:
            first, last = others.words[one], others.words[one + 1]
            starts = others.rings[first:last + 1]
            drawn.append(words.views(others.pts[starts[0]:starts[-1]], starts - starts[0]))
        told(others.names[which[0]], drawn)
    told("rows of shapes", [words.views(*rows.art(rng)) for _ in range(1000)])


if __name__ == "__main__":
    main(*sys.argv[1:])
