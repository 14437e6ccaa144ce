"""Trains the small network that says whether a single sign reads as a Latin letter or digit, upright.

    python sign_train.py STORE.npz WEIGHTS [STEPS [all [START]]]

STORE.npz is what sign_store.py made. With `all`, the scripts that are else for testing only are trained
on as well, and so nothing is left to test them with. START is a weights file to go on from. The picture is that of `sign` in
src/readback/letter_raster.rs; the weights file is laid out as told at `Model::from_bytes`.
"""
import queue
import struct
import sys
import threading
import unicodedata
from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
from numba import njit

from raster import coverage

SIDE, INK = 24, 20.0
# Inputs, outputs, kernel, stride, padding.
LAYERS = [(1, 24, 5, 2, 2), (24, 48, 3, 2, 1), (48, 96, 6, 1, 0), (96, 1, 1, 1, 0)]
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


@njit(cache=True, nogil=True)
def moved(points, a, b, motion):
    """Columns x and y of points a..b, put through a 2 by 2 matrix."""
    own = np.empty((b - a, 2), np.float64)
    for j in range(a, b):
        x, y = float(points[j, 0]), float(points[j, 1])
        own[j - a, 0] = motion[0] * x + motion[1] * y
        own[j - a, 1] = motion[2] * x + motion[3] * y
    return own


@njit(cache=True, nogil=True)
def stamp(x, y, r, out):
    """A disc, united with what is there."""
    if r < 0.1:
        return
    full = min(1.0, 2 * r)
    for row in range(max(0, int(y - r - 0.5)), min(out.shape[0], int(y + r + 1.5))):
        for column in range(max(0, int(x - r - 0.5)), min(out.shape[1], int(x + r + 1.5))):
            far = np.sqrt((row + 0.5 - y) ** 2 + (column + 0.5 - x) ** 2)
            value = full * min(1.0, max(0.0, r + 0.5 - far))
            out[row, column] = max(out[row, column], value)


@njit(cache=True, nogil=True)
def hatch(own, starts, pitch, phase, wide, out):
    """Lines along x that fill rings by the non-zero rule, with round ends."""
    h, w = out.shape
    y = phase * pitch
    xs, ws = np.empty(len(own), np.float64), np.empty(len(own), np.int64)
    while y < h:
        n = 0
        for r in range(len(starts) - 1):
            a, b = starts[r], starts[r + 1]
            for i in range(a, b):
                j = i + 1 if i + 1 < b else a
                y0, y1 = own[i, 1], own[j, 1]
                if (y0 <= y) != (y1 <= y):
                    x = own[i, 0] + (own[j, 0] - own[i, 0]) * (y - y0) / (y1 - y0)
                    v = 1 if y1 > y0 else -1
                    k = n
                    while k > 0 and xs[k - 1] > x:
                        xs[k], ws[k] = xs[k - 1], ws[k - 1]
                        k -= 1
                    xs[k], ws[k] = x, v
                    n += 1
        winding, start = 0, 0.0
        low, high = y - wide / 2, y + wide / 2
        for k in range(n):
            before = winding
            winding += ws[k]
            if before == 0:
                start = xs[k] - wide / 2
            elif winding == 0:
                end = xs[k] + wide / 2
                for row in range(max(0, int(low)), min(h, int(high) + 1)):
                    part = min(high, row + 1.0) - max(low, float(row))
                    for column in range(max(0, int(start)), min(w, int(end) + 1)):
                        cell = part * (min(end, column + 1.0) - max(start, float(column)))
                        out[row, column] = min(1.0, out[row, column] + max(0.0, cell))
        y += pitch


# How a sign is drawn: filled; filled with lines; its strokes as lines of a pen, or of another weight;
# lines along its outline.
FILLED, HATCHED, STROKED, OUTLINED = range(4)
OFTEN = [0.45, 0.13, 0.30, 0.12]


def ways(dice, n):
    """Columns: way, and what it takes, lengths in cells (see draw)."""
    out = np.zeros((n, 4))
    out[:, 0] = dice.choice(4, n, p=OFTEN)
    for row in out:
        if row[0] == HATCHED:
            pitch = np.exp(dice.uniform(np.log(0.35), np.log(1.8)))
            row[1:] = pitch * dice.choice([-1, 1]), dice.random(), pitch * dice.uniform(0.5, 1.1)
        elif row[0] == STROKED:
            pen = dice.random() < 0.55
            row[1:3] = (0, dice.uniform(0.35, 1.6)) if pen else (dice.uniform(0.4, 1.3), dice.uniform(-0.2, 0.8))
        elif row[0] == OUTLINED:
            row[1] = dice.uniform(0.25, 1.1)
    return out


@njit(cache=True, nogil=True)
def draw(pts, ring_start, glyph_start, spines, spine_start, which, motion, way, out):
    """Signs in squares of SIDE cells. `way` is one of the above, and for lines that fill: their distance
    (negative: they run along y), where the first is, their width; for strokes: the share of their own half
    width, and what is added to it; for outlines: half the width of the line."""
    for i in range(len(which)):
        g = which[i]
        first, last = glyph_start[g], glyph_start[g + 1]
        a, b = ring_start[first], ring_start[last]
        kind = int(way[i, 0])
        starts = np.empty(last - first + 1, np.int64)
        for r in range(first, last + 1):
            starts[r - first] = ring_start[r] - a
        grow = np.zeros(1)
        edge = 0.0
        if kind == STROKED:
            a, b = spine_start[g], spine_start[g + 1]
            own = moved(spines, a, b, motion[i])
            grow = way[i, 1] * spines[a:b, 2].astype(np.float64)
            edge = way[i, 2]
        else:
            own = moved(pts, a, b, motion[i])
            if kind == HATCHED:
                edge = way[i, 3] / 2
            elif kind == OUTLINED:
                edge = way[i, 1]
        if len(own) == 0:
            continue
        x0, x1 = (own[:, 0] - grow).min(), (own[:, 0] + grow).max()
        y0, y1 = (own[:, 1] - grow).min(), (own[:, 1] + grow).max()
        size = max(x1 - x0, y1 - y0)
        if size <= 0:
            continue
        scale = (INK - 2 * edge) / size
        own[:, 0] = (own[:, 0] - (x0 + x1) / 2) * scale + SIDE / 2
        own[:, 1] = (own[:, 1] - (y0 + y1) / 2) * scale + SIDE / 2
        if kind == FILLED:
            coverage(own, starts, 0, last - first, out[i])
        elif kind == HATCHED:
            if way[i, 1] > 0:
                hatch(own, starts, way[i, 1], way[i, 2], way[i, 3], out[i])
            else:
                hatch(own[:, ::-1], starts, -way[i, 1], way[i, 2], way[i, 3], out[i].T)
        elif kind == STROKED:
            for j in range(len(own)):
                stamp(own[j, 0], own[j, 1], grow[j] * scale + edge, out[i])
        else:
            for r in range(last - first):
                for j in range(starts[r], starts[r + 1]):
                    k = j + 1 if j + 1 < starts[r + 1] else starts[r]
                    dx, dy = own[k, 0] - own[j, 0], own[k, 1] - own[j, 1]
                    steps = int(2 * np.sqrt(dx * dx + dy * dy)) + 1
                    for s in range(steps):
                        stamp(own[j, 0] + dx * s / steps, own[j, 1] + dy * s / steps, edge, out[i])


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
        self.code, self.spines, self.spine_start = d["code"], d["spines"].astype(np.float32), d["spine_start"]
        self.base = np.array([unicodedata.normalize("NFD", chr(c))[0] for c in self.code])
        latin = np.array([c in CHARS for c in self.base])
        self.latin = ~self.other & latin
        self.kind = np.array([CHARS.find(c) for c in self.base]).clip(0)

    def pictures(self, which, motion, way=None):
        out = np.zeros((len(which), SIDE, SIDE))
        way = np.zeros((len(which), 4)) if way is None else way
        draw(self.pts, self.rings, self.glyphs, self.spines, self.spine_start, which, motion, way, out)
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
    return signs.pictures(which, motions(dice, lays), ways(dice, size)), reads, signs.kind[which], known.astype(np.float32)


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
    still = np.random.default_rng(0)

    def logits(which, lay, way):
        return np.concatenate([
            np.asarray(run(signs.pictures(part, motions(still, [lay] * len(part), True),
                                          np.tile(np.array(way, float), (len(part), 1)))))
            for part in np.array_split(which, max(1, len(which) // 2000))])
    valid = np.flatnonzero(signs.latin & (signs.split == 1))
    held = np.flatnonzero(signs.other & (signs.split == 2))
    for name, way in (("filled", (FILLED, 0, 0, 0)), ("hatched", (HATCHED, 0.8, 0.5, 0.6)),
                      ("stroked", (STROKED, 0, 0.8, 0)), ("outlined", (OUTLINED, 0.6, 0, 0))):
        v = logits(valid, (0, False), way)
        told = [f"upright read {np.mean(v > 0):.3f}, above 2: {np.mean(v > 2):.3f}"]
        for lay in [(2, False), (0, True), (1, False)]:
            own = np.array([b not in AGAIN[lay] for b in signs.base[valid]])
            v = logits(valid[own], lay, way)
            told.append(f"{lay[0]}{'m' * lay[1]} {np.mean(v > 0):.3f}, {np.mean(v > 2):.3f}")
        v = logits(held, (0, False), way)
        told.append(f"other scripts {np.mean(v > 0):.3f}, {np.mean(v > 2):.3f}")
        print(name, "; ".join(told), flush=True)


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
    params = {"convs": convs, "kind": (jnp.asarray(dice.normal(0, 0.1, (LAYERS[-1][0], len(CHARS))), jnp.float32),
                                       jnp.zeros(len(CHARS)))}
    moments = tuple(jax.tree.map(jnp.zeros_like, params) for _ in range(2))
    def feed():
        while True:
            ready.put(batch(signs, dice, latin, other, 256))

    ready = queue.Queue(4)
    threading.Thread(target=feed, daemon=True).start()
    for t in range(1, steps + 1):
        rate = (1e-3 if start else 2e-3) * 0.5 * (1 + np.cos(np.pi * t / steps))
        x, reads, kind, known = ready.get()
        params, moments = step(params, moments, x, reads, kind, known, rate, float(t))
        if t % 4000 == 0 or t == steps or t == 200:
            print("step", t, float(loss(params, x, reads, kind, known)), flush=True)
            measure(signs, params)
            write(params, weights)


if __name__ == "__main__":
    main(*sys.argv[1:])
