"""Compares the Rust module with the Python one on drawn words.

    python parity.py STORE.npz WEIGHTS WORDS.bin          writes 400 words
    python parity.py STORE.npz WEIGHTS WORDS.bin RUST.txt compares

WORDS.bin is little-endian f64: number of words; for each its number of rings;
for each ring its number of points and their x, y. RUST.txt has a line a word:
number of letters, then the eight log-probabilities of `Model::judge`.
"""
import sys

import numpy as np

import export
import words
from judge import log_odds, raw_scores
from train import families

# The eight lays as matrices on column vectors, y down: mirror first, then quarter turns clockwise.
MIRROR, QUARTER = np.array([[-1.0, 0], [0, 1]]), np.array([[0.0, -1], [1, 0]])
LAYS = [np.linalg.matrix_power(QUARTER, k // 2) @ (MIRROR if k % 2 else np.eye(2)) for k in range(8)]


def drawn(store):
    """400 distorted words in validation faces, fifty in each of the eight lays."""
    faces, rng = words.Faces(store), np.random.default_rng(5)
    pool = families(faces, "validation")
    for n in range(400):
        while True:
            text = words.invent(rng)
            pts, starts = faces.word(pool[rng.integers(len(pool))][0], text)
            if len(pts) and np.ptp(pts[:, 0]) > 1e-3 and np.ptp(pts[:, 1]) > 1e-3:
                break
        yield text, words.bend(pts, rng) * 8 @ LAYS[n % 8].T + 20, starts


def main(store, weights, target, rust=None):
    own = list(drawn(store))
    if rust is None:
        out = [len(own)]
        for _, pts, starts in own:
            out.append(len(starts) - 1)
            for a, b in zip(starts[:-1], starts[1:]):
                out.append(b - a)
                out.extend(pts[a:b].ravel())
        np.array(out, "<f8").tofile(target)
        return
    net, temperature = export.read(weights)
    here = log_odds(raw_scores(net, [words.views(p, s) for _, p, s in own]), temperature)
    there = np.loadtxt(rust)
    gap = np.abs(here - there[:, 1:])
    print(f"{len(own)} words: greatest difference of a log-probability {gap.max():.2e}")
    upright = np.arange(len(own)) % 8 < 2
    told = np.array([len(t.replace(" ", "")) for t, _, _ in own])
    print(f"letters counted as spelt: {np.mean(there[upright, 0] == told[upright]):.3f} of the words that lie along x")
    print(f"state named rightly: {np.mean(here.argmax(1) == np.arange(len(own)) % 8):.3f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
