"""Trains the small network that says whether a single sign reads as a Latin letter or digit, upright.

    python sign_train.py STORE.npz WEIGHTS [STEPS [all [START]]]

STORE.npz is what sign_store.py made. With `all`, the scripts that are else for testing only are trained
on as well, and so nothing is left to test them with. START is a weights file to go on from. The picture is that of `sign` in
src/readback/letter_raster.rs; the weights file is laid out as told at `Model::from_bytes`.
"""
import struct
import sys
import unicodedata
from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
from numba import njit

from raster import coverage

SIDE, INK = 24, 20.0
# Inputs, outputs, kernel, stride, padding.
LAYERS = [(1, 16, 5, 2, 2), (16, 32, 3, 2, 1), (32, 64, 6, 1, 0), (64, 1, 1, 1, 0)]
CHARS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"

# Per lay (quarter turns clockwise, mirrored first): letters that are a letter again, in plain faces or
# in many hands. They are neither shown as letters nor as none.
AGAIN = {
    (2, False): "0125689SsOoNnZzXxHIlidpbquMmWwVALU7hya",
    (0, True): "AHIMOTUVWXYovwxiltj01830bdpqmnuQyJLSsZz25E7",
    (2, True): "BCDEHIKOXcoxl01385bpqdMmWwNnuSsZzkfatiLGQ",
    (1, False): "OoXx0NnZzIlHuCcU-mWwME3SsDTLVvA2580189",
    (3, False): "OoXx0NnZzIlHuCcU-mWwME3SsDTLVvA2580189",
    (1, True): "OoXx0NnZzIlHuCcU-mWwME3SsDTLVvA2580189",
    (3, True): "OoXx0NnZzIlHuCcU-mWwME3SsDTLVvA2580189",
}


@njit(cache=True)
def draw(pts, ring_start, glyph_start, which, motion, out):
    for i in range(len(which)):
        g = which[i]
        first, last = glyph_start[g], glyph_start[g + 1]
        a, b = ring_start[first], ring_start[last]
        own = np.empty((b - a, 2), np.float64)
        for j in range(a, b):
            x, y = pts[j, 0], pts[j, 1]
            own[j - a, 0] = motion[i, 0] * x + motion[i, 1] * y
            own[j - a, 1] = motion[i, 2] * x + motion[i, 3] * y
        x0, x1, y0, y1 = own[:, 0].min(), own[:, 0].max(), own[:, 1].min(), own[:, 1].max()
        size = max(x1 - x0, y1 - y0)
        if size <= 0:
            continue
        scale = INK / size
        own[:, 0] = (own[:, 0] - (x0 + x1) / 2) * scale + SIDE / 2
        own[:, 1] = (own[:, 1] - (y0 + y1) / 2) * scale + SIDE / 2
        starts = np.empty(last - first + 1, np.int64)
        for r in range(first, last + 1):
            starts[r - first] = ring_start[r] - a
        coverage(own, starts, 0, last - first, out[i])


def motions(dice, lays, mild=False):
    """2 by 2 matrices of the lays, each a little distorted before."""
    n = len(lays)
    lean = dice.normal(0, 0 if mild else 0.05, n)
    wide = np.exp(dice.normal(0, 0 if mild else 0.12, n))
    shear = dice.normal(0, 0 if mild else 0.08, n)
    out = np.zeros((n, 4))
    for i, (quarters, mirrored) in enumerate(lays):
        cos, sin = [(1, 0), (0, 1), (-1, 0), (0, -1)][quarters]
        m = np.array([[cos, -sin], [sin, cos]]) @ np.diag([-1.0 if mirrored else 1.0, 1.0])
        own = np.array([[np.cos(lean[i]), -np.sin(lean[i])], [np.sin(lean[i]), np.cos(lean[i])]])
        out[i] = (m @ own @ np.array([[wide[i], shear[i]], [0, 1]])).ravel()
    return out


def forward(params, x):
    for n, (w, b) in enumerate(params["convs"]):
        _, _, _, stride, pad = LAYERS[n]
        if n == len(LAYERS) - 1:
            features = x
        x = jax.lax.conv_general_dilated(x, w, (stride, stride), [(pad, pad)] * 2,
                                         dimension_numbers=("NHWC", "HWIO", "NHWC")) + b
        if n < len(LAYERS) - 1:
            x = jax.nn.relu(x)
    w, b = params["kind"]
    return x[:, 0, 0, 0], features[:, 0, 0] @ w + b


def loss(params, x, reads, kind, known):
    logit, kinds = forward(params, x)
    own = jnp.maximum(logit, 0) - logit * reads + jnp.log1p(jnp.exp(-jnp.abs(logit)))
    told = -jnp.take_along_axis(jax.nn.log_softmax(kinds), kind[:, None], 1)[:, 0]
    return own.mean() + 0.3 * (told * known).sum() / jnp.maximum(known.sum(), 1)


@jax.jit
def step(params, moments, x, reads, kind, known, rate, t):
    grads = jax.grad(loss)(params, x, reads, kind, known)
    grads = jax.tree.map(lambda g, p: g + 1e-5 * p, grads, params)
    first = jax.tree.map(lambda m, g: 0.9 * m + 0.1 * g, moments[0], grads)
    second = jax.tree.map(lambda v, g: 0.999 * v + 0.001 * g * g, moments[1], grads)
    params = jax.tree.map(
        lambda p, m, v: p - rate * m / (1 - 0.9**t) / (jnp.sqrt(v / (1 - 0.999**t)) + 1e-8),
        params, first, second)
    return params, (first, second)


class Signs:
    def __init__(self, store):
        d = np.load(store)
        self.pts, self.rings, self.glyphs = d["points"], d["ring_start"], d["glyph_start"]
        self.split, self.other, self.face, self.files = d["split"], d["other"], d["face"], d["files"]
        self.code = d["code"]
        self.base = np.array([unicodedata.normalize("NFD", chr(c))[0] for c in self.code])
        latin = np.array([c in CHARS for c in self.base])
        self.latin = ~self.other & latin
        self.kind = np.array([CHARS.find(c) for c in self.base]).clip(0)

    def pictures(self, which, motion):
        out = np.zeros((len(which), SIDE, SIDE))
        draw(self.pts, self.rings, self.glyphs, which, motion, out)
        return out[..., None].astype(np.float32)


def batch(signs, dice, latin, other, size):
    which, lays, reads = [], [], []
    while len(which) < size:
        sort = dice.random()
        if sort < 0.45:
            g, lay, r = dice.choice(latin), (0, False), 1.0
        elif sort < 0.80:
            g = dice.choice(latin)
            half = dice.random()
            lay = (2, False) if half < 0.4 else (0, True) if half < 0.65 else list(AGAIN)[dice.integers(7)]
            r = 0.0
            if signs.base[g] in AGAIN[lay]:
                continue
        else:
            g, r = dice.choice(other), 0.0
            lay = (int(dice.integers(4)), bool(dice.integers(2)))
        which.append(g), lays.append(lay), reads.append(r)
    which, reads = np.array(which), np.array(reads, np.float32)
    known = reads * signs.latin[which]
    return signs.pictures(which, motions(dice, lays)), reads, signs.kind[which], known.astype(np.float32)


def write(params, path):
    out = [b"JWLS\x01", struct.pack("<Bf", len(LAYERS), 1.0)]
    for (w, b), (i, o, k, s, p) in zip(params["convs"], LAYERS):
        w = np.asarray(w)
        scale = np.maximum(np.abs(w).reshape(-1, o).max(0), 1e-12).astype(np.float32) / 127
        out.append(struct.pack("<HH6B", i, o, k, k, s, s, p, p))
        out.append(scale.astype("<f4").tobytes() + np.asarray(b).astype("<f4").tobytes())
        out.append(np.clip(np.round(w / scale), -127, 127).astype(np.int8).tobytes())
    with open(path, "wb") as file:
        file.write(b"".join(out))


def measure(signs, params):
    run = jax.jit(lambda x: forward(params, x)[0])

    def logits(which, lay):
        return np.concatenate([
            np.asarray(run(signs.pictures(part, motions(np.random.default_rng(0), [lay] * len(part), True))))
            for part in np.array_split(which, max(1, len(which) // 2000))])
    valid = np.flatnonzero(signs.latin & (signs.split == 1))
    upright = logits(valid, (0, False))
    print(f"upright read {np.mean(upright > 0):.3f}, above 2: {np.mean(upright > 2):.3f}", flush=True)
    for lay in [(2, False), (0, True), (1, False)]:
        own = np.array([b not in AGAIN[lay] for b in signs.base[valid]])
        v = logits(valid[own], lay)
        print(lay, f"taken for letters {np.mean(v > 0):.3f}, above 2: {np.mean(v > 2):.3f}", flush=True)
    held = np.flatnonzero(signs.other & (signs.split == 2))
    v = logits(held, (0, False))
    print(f"other scripts, held out: {np.mean(v > 0):.3f}, above 2: {np.mean(v > 2):.3f}", flush=True)


def read(path):
    """The layers of a weights file."""
    data, at, convs = open(path, "rb").read(), 10, []
    for i, o, k, _, _ in LAYERS:
        at += 10
        scale, bias = np.frombuffer(data, "<f4", o, at), np.frombuffer(data, "<f4", o, at + 4 * o)
        at += 8 * o
        own = np.frombuffer(data, np.int8, k * k * i * o, at).reshape(k, k, i, o)
        at += own.size
        convs.append((jnp.asarray((own * scale).astype(np.float32)), jnp.asarray(bias)))
    return convs


def main(store, weights, steps=12000, which="some", start=None):
    steps = int(steps)
    signs, dice = Signs(store), np.random.default_rng(7)
    latin = np.flatnonzero(signs.latin & (signs.split == 0))
    other = np.flatnonzero(signs.other & ((signs.split == 0) | (which == "all")))
    convs = [(jnp.asarray(dice.normal(0, np.sqrt(2 / (i * k * k)), (k, k, i, o)), jnp.float32),
              jnp.zeros(o)) for i, o, k, _, _ in LAYERS]
    if start:
        convs = read(start)
    params = {"convs": convs, "kind": (jnp.asarray(dice.normal(0, 0.1, (64, len(CHARS))), jnp.float32),
                                       jnp.zeros(len(CHARS)))}
    moments = tuple(jax.tree.map(jnp.zeros_like, params) for _ in range(2))
    for t in range(1, steps + 1):
        rate = (1e-3 if start else 2e-3) * 0.5 * (1 + np.cos(np.pi * t / steps))
        x, reads, kind, known = batch(signs, dice, latin, other, 192)
        params, moments = step(params, moments, x, reads, kind, known, rate, float(t))
        if t % 2000 == 0 or t == steps or t == 200:
            print("step", t, float(loss(params, x, reads, kind, known)), flush=True)
            measure(signs, params)
            write(params, weights)


if __name__ == "__main__":
    main(*sys.argv[1:])
