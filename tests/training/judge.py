"""Shows the shipped weights to words drawn in the faces of one split.

    python judge.py STORE.npz WEIGHTS SPLIT OUT.npz [WORDS_A_CASE]

For each face: WORDS_A_CASE given names of four letters or more (package
`names`, its two lists of first names), in Title, UPPER and lower case, drawn
straight, upright, undistorted. OUT.npz holds the eight scores of each
word. Turning or mirroring the word permutes the eight, so no other lay
need be drawn.
"""
import os
import sys

import numpy as np
import torch

import export
import words
from model import scores

CASES = ("Title", "UPPER", "lower")


def given_names():
    import names
    folder = os.path.dirname(names.__file__)
    found = set()
    for part in ("dist.female.first", "dist.male.first"):
        found.update(line.split()[0] for line in open(os.path.join(folder, part)))
    return sorted(n for n in found if len(n) >= 4)


def cased(name, case):
    return name.title() if case == "Title" else name.upper() if case == "UPPER" else name.lower()


def raw_scores(net, drawn):
    """Mean scores [n, 8] of words given by their `words.views`."""
    flat = [pair for views in drawn for pair in views]
    order = sorted(range(len(flat)), key=lambda i: flat[i][0].shape[1])     # like lengths together
    raw = np.zeros((len(flat), 8))
    with torch.no_grad():
        for a in range(0, len(order), 64):
            part = order[a:a + 64]
            raw[part] = scores(net, [flat[i] for i in part]).double().numpy()
    return raw.reshape(len(drawn), -1, 8).mean(1)


def log_odds(raw, temperature):
    """The log-probabilities [n, 8] that go with scores."""
    v = raw / temperature
    most = v.max(1, keepdims=True)
    return v - most - np.log(np.exp(v - most).sum(1, keepdims=True))


def main(store, weights, split, target, words_a_case=60):
    torch.set_num_threads(1)
    net, _ = export.read(weights)
    faces, known = words.Faces(store), given_names()
    rows, raw = [], []
    for f in faces.of(split):
        rng = np.random.default_rng(1000 + int(f))
        drawn = []
        for c, case in enumerate(CASES):
            for n in rng.choice(len(known), int(words_a_case), replace=False):
                pts, starts = faces.word(f, cased(known[n], case))
                drawn.append(words.views(pts, starts))
                rows.append((f, c, n))
        raw.append(raw_scores(net, drawn))
    np.savez(target, rows=np.array(rows), raw=np.concatenate(raw), names=known)


if __name__ == "__main__":
    main(*sys.argv[1:])
