"""What sign_train.py's network makes of whole words in faces and scripts that it did not learn from: the
figures behind the limits in src/readback/signs.rs.

    python sign_measure.py STORE.npz WEIGHTS

Words are given names in test faces, and random letters of the scripts held out; each sign is looked at as
it stands in the face, by itself. Prints quantiles.
"""
import random
import sys

import jax
import jax.numpy as jnp
import names
import numpy as np

from sign_train import CHARS, Signs, forward, motions, read

LAYS = [(q, m) for q in range(4) for m in (False, True)]
UPRIGHT, MIRRORED, HALF = 0, 1, 4


def main(store, weights):
    signs = Signs(store)
    params = {"convs": read(weights), "kind": (jnp.zeros((64, len(CHARS))), jnp.zeros(len(CHARS)))}
    run = jax.jit(lambda x: forward(params, x)[0])
    still = np.random.default_rng(0)

    def by_face(mask):
        which = np.flatnonzero(mask)
        parts = np.array_split(which, max(1, len(which) // 2000))
        logits = np.stack([np.concatenate([
            np.asarray(run(signs.pictures(part, motions(still, [lay] * len(part), True))))
            for part in parts]) for lay in LAYS], 1)
        out = {}
        for g, own in zip(which, logits):
            out.setdefault(signs.face[g], {})[chr(signs.code[g])] = own
        return out

    plain = np.isin(signs.code, [ord(c) for c in CHARS])
    latin = [d for d in by_face(signs.latin & (signs.split == 2) & plain).values() if len(d) == len(CHARS)]
    other = list(by_face(signs.other & (signs.split == 2)).values())
    log = lambda v: -np.log1p(np.exp(-np.clip(v, -4, 4)))
    word = lambda face, text: log(np.array([face[c] for c in text]))
    dice = random.Random(3)

    def told(name, words):
        means = np.array([w.mean(0).max() for w in words])
        print(f"{name}: {len(words)} words, best mean", np.quantile(means, [.02, .05, .1, .5, .9, .95]).round(2),
              f"below -0.7: {np.mean(means < -0.7):.3f}")

    given = [word(face, dice.choice([n, n.upper(), n.lower()]))
             for face in latin for n in [names.get_first_name() for _ in range(6)]]
    told("given names", given)
    told("scripts held out", [word(face, [dice.choice(list(face)) for _ in range(dice.randint(4, 9))])
                              for face in other for _ in range(20)])
    for name, against, texts in (("half turned", HALF, ["1961", "NOON", "SOS", "pod", "0690", "SIS"]),
                                 ("mirrored", MIRRORED, ["TOM", "MIA", "AVA", "Milo", "OTTO"])):
        apart = lambda ws: np.quantile([w.sum(0)[UPRIGHT] - w.sum(0)[against] for w in ws],
                                       [.05, .25, .5, .75, .95]).round(2)
        print("upright over", name, "given names", apart(given))
        for text in texts:
            print("  ", text, apart([word(face, text) for face in latin]))


if __name__ == "__main__":
    main(*sys.argv[1:])
