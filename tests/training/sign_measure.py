"""What sign_train.py's network makes of whole words in faces that it did not learn from, and in scripts held
out: the figures behind the limits in src/readback/signs.rs.

    python sign_measure.py STORE.npz WEIGHTS [SPLIT]

The limits are chosen with the faces of the split `validation` (which is what SPLIT is if left out), and
measured once more with those of `test`. Words are given names; strings of letters that are letters again half
turned, or in a mirror; and random letters of the scripts held out. Each sign is looked at as it stands in the
face, by itself. Prints quantiles, and what the limits given below would do.
"""
import random
import sys

import jax
import jax.numpy as jnp
import names
import numpy as np

from sign_train import CHARS, LAYERS, Signs, forward, motions, read

LAYS = [(q, m) for q in range(4) for m in (False, True)]
UPRIGHT, MIRRORED, HALF = 0, 1, 4

# As in src/readback/signs.rs.
LETTERING, READS, APART, WRONG = -0.7, -1.2, 0.7, 2.5

# Letters that are letters again, and strings of them: not one by one the same shape (b and q, 6 and 9).
AGAIN = {HALF: "HINOSXZosxzlnupdbq01689", MIRRORED: "AHIMOTUVWXYiovwxtl08"}
KNOWN = {HALF: ["1961", "NOON", "SOS", "pod", "0690", "SIS"], MIRRORED: ["TOM", "MIA", "AVA", "OTTO", "Milo"]}
STRINGS = 150


def main(store, weights, split="validation"):
    signs = Signs(store)
    params = {"convs": read(weights), "kind": (jnp.zeros((LAYERS[-1][0], len(CHARS))), jnp.zeros(len(CHARS)))}
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
    own = ["train", "validation", "test"].index(split)
    latin = [d for d in by_face(signs.latin & (signs.split == own) & plain).values() if len(d) == len(CHARS)]
    other = list(by_face(signs.other & (signs.split == 2)).values())
    log = lambda v: -np.log1p(np.exp(-np.clip(v, -4, 4)))
    word = lambda face, text: log(np.array([face[c] for c in text]))
    dice = random.Random(3)

    def told(name, words):
        means = np.array([w.mean(0).max() for w in words])
        print(f"{name}: {len(words)} words, best mean", np.quantile(means, [.02, .05, .1, .5, .9, .95]).round(2),
              f"below {LETTERING}: {np.mean(means < LETTERING):.3f}")

    given = [word(face, dice.choice([n, n.upper(), n.lower()]))
             for face in latin for n in [names.get_first_name() for _ in range(40)] if len(n) >= 3]
    print(split, len(latin), "faces")
    told("given names", given)
    told("scripts held out", [word(face, [dice.choice(list(face)) for _ in range(dice.randint(4, 9))])
                              for face in other for _ in range(20)])
    for name, against in (("half turned", HALF), ("mirrored", MIRRORED)):
        ahead = lambda ws: np.array([w.sum(0)[UPRIGHT] - w.sum(0)[against] for w in ws])
        least = lambda ws: np.array([min(w.mean(0)[UPRIGHT], w.mean(0)[against]) for w in ws])
        apart = lambda ws: np.quantile(ahead(ws), [.05, .25, .5, .75, .95]).round(2)
        both = lambda ws: (least(ws) >= READS) & (np.abs(ahead(ws)) < APART)
        again = [word(face, "".join(dice.choice(AGAIN[against]) for _ in range(dice.randint(2, 6))))
                 for face in latin for _ in range(STRINGS // 10)]
        # Whether the strings, or the names, would be said to lie in the other way.
        wrong = lambda ws: (np.array([w.mean(0)[against] for w in ws]) >= LETTERING) & (-ahead(ws) >= WRONG)
        for what, words in (("given names", given), ("strings", again)):
            print(f"upright over {name}, {what}: {len(words)},", apart(words), f"read both: {both(words).mean():.4f}",
                  f"borne out as wrong: {wrong(words).mean():.4f}")
            for reads in (-0.9, -1.2, -1.5, -1.8):
                print(f"   READS {reads}:", " ".join(
                    f"APART {a}: {((least(words) >= reads) & (np.abs(ahead(words)) < a)).mean():.4f}"
                    for a in (0.7, 1.0, 1.5, 2.5, 4.0)))
            print("   WRONG:", " ".join(
                f"{v}: {((np.array([w.mean(0)[against] for w in words]) >= LETTERING) & (-ahead(words) >= v)).mean():.4f}"
                for v in (1.0, 1.5, 2.5, 4.0, 6.0)),
                " in the other way round:", " ".join(
                f"{v}: {((np.array([w.mean(0)[UPRIGHT] for w in words]) >= LETTERING) & (ahead(words) >= v)).mean():.4f}"
                for v in (1.0, 1.5, 2.5, 4.0, 6.0)))
        for text in KNOWN[against]:
            print("  ", text, apart([word(face, text) for face in latin]))


if __name__ == "__main__":
    main(*sys.argv[1:])
