"""Words to draw and the drawing of them: invented name-like words and random
strings for training, laid out as outlines, bent and slanted a little, and
brought into the strip the network reads."""
import numpy as np
from numba import njit

from faces import ASCII, CHARS
from raster import coverage

HEIGHT = 24          # rows of a strip
INK = 22             # rows the word's box fills; the rest is margin
MARGIN = 4           # blank columns on each side, at least
WIDEST = 480         # columns the word's box may fill; a longer word is squeezed
STEP = 8             # strips are a multiple of this wide

ONSETS = "b br c ch cl d dr f fl g gr h j k kl l m n p ph qu r s sh st t th tr v w x y z".split() + [""] * 4
NUCLEI = "a e i o u a e i o ai ea ee ei ia ie io oe ou au y".split()
CODAS = "b c ck d f g h k l ll m n nd nn ng p r rd rt s ss st t th tt v x z".split() + [""] * 14
TWINS = {"a": "àáâãäåăą", "c": "çćč", "d": "ď", "e": "èéêëęě", "g": "ğ", "i": "ìíîï", "l": "ł", "n": "ñńň",
         "o": "òóôõöøő", "r": "ř", "s": "śşš", "t": "ť", "u": "ùúûüůű", "y": "ýÿ", "z": "źżž"}
INDEX = {c: i for i, c in enumerate(CHARS)}


def invent(rng):
    """One word: mostly name-like, some random letters, some digits."""
    kind = rng.random()
    if kind < 0.70:
        w = ""
        for _ in range(rng.choice([1, 2, 3, 4], p=[0.15, 0.5, 0.28, 0.07])):
            w += rng.choice(ONSETS) + rng.choice(NUCLEI) + (rng.choice(CODAS) if rng.random() < 0.6 else "")
        if len(w) < 2:
            w += rng.choice(list("nrsl"))
        if rng.random() < 0.06:
            w += rng.choice(list("-'&. "))  + rng.choice(ONSETS) + rng.choice(NUCLEI) + rng.choice(CODAS)
    elif kind < 0.95:
        w = "".join(rng.choice(list(ASCII[26:52]), rng.integers(1, 11)))
    else:
        return "".join(rng.choice(list(ASCII[52:] + ASCII[:26]), rng.integers(2, 6)))
    w = w[:3 if rng.random() < 0.2 else 12]            # short names have the least to go by
    if rng.random() < 0.15:
        w = "".join(rng.choice(list(TWINS[c])) if c in TWINS and rng.random() < 0.4 else c for c in w)
    case = rng.random()
    return w.upper() if case < 0.34 else w.lower() if case < 0.68 else w[:1].upper() + w[1:]


def spell(word, advance):
    """Indices into CHARS; an accented letter that the face lacks becomes plain."""
    out = []
    for c in word:
        i = INDEX.get(c, -1)
        if i >= 0 and advance[i] == 0:
            plain = next((p for p, t in TWINS.items() if c.lower() in t), None)
            i = -1 if plain is None else INDEX[plain.upper() if c.isupper() else plain]
        if i >= 0 and advance[i] == 0:
            i = -1
        out.append(i)                                   # -1 is a space
    return np.array(out, np.int64)


@njit(cache=True)
def layout(pts, ring_start, glyph_start, advance, chars, face, n_chars, tracking, jitter):
    """Rings of a word, y down, em units. jitter[k] = (lift, turn) of letter k."""
    n_pts, n_rings = 0, 0
    for c in chars:
        if c >= 0:
            g = face * n_chars + c
            a, b = glyph_start[g], glyph_start[g + 1]
            n_rings += b - a
            n_pts += ring_start[b] - ring_start[a]
    out = np.empty((n_pts, 2), np.float64)
    starts = np.zeros(n_rings + 1, np.int64)
    p, q, x = 0, 0, 0.0
    for k in range(len(chars)):
        c = chars[k]
        if c < 0:
            x += 0.3
            continue
        g = face * n_chars + c
        adv = advance[c]
        cos, sin = np.cos(jitter[k, 1]), np.sin(jitter[k, 1])
        for r in range(glyph_start[g], glyph_start[g + 1]):
            for i in range(ring_start[r], ring_start[r + 1]):
                u, v = pts[i, 0] - adv / 2, pts[i, 1] - 0.35
                out[p, 0] = x + adv / 2 + cos * u - sin * v
                out[p, 1] = -(0.35 + sin * u + cos * v + jitter[k, 0])
                p += 1
            q += 1
            starts[q] = p
        x += adv + tracking
    return out, starts


@njit(cache=True)
def strip(pts, starts):
    """The strip of a word whose line lies along x: its box INK rows high,
    centred. Returns an empty strip for a word without extent."""
    if len(pts) == 0:
        return np.zeros((HEIGHT, STEP))
    x0, x1, y0, y1 = pts[0, 0], pts[0, 0], pts[0, 1], pts[0, 1]
    for i in range(len(pts)):
        x0, x1 = min(x0, pts[i, 0]), max(x1, pts[i, 0])
        y0, y1 = min(y0, pts[i, 1]), max(y1, pts[i, 1])
    if not (y1 > y0 and x1 > x0):
        return np.zeros((HEIGHT, STEP))
    sy = INK / (y1 - y0)
    sx = min(sy, WIDEST / (x1 - x0))
    width = STEP * int(np.ceil(((x1 - x0) * sx + 2 * MARGIN) / STEP))
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    p = np.empty_like(pts)
    for i in range(len(pts)):
        p[i, 0] = (pts[i, 0] - cx) * sx + width / 2
        p[i, 1] = (pts[i, 1] - cy) * sy + HEIGHT / 2
    out = np.zeros((HEIGHT, width))
    coverage(p, starts, 0, len(starts) - 1, out)
    return out


def two_strips(pts, starts):
    """The strip as the word lies, and the strip after a quarter turn
    anticlockwise (which sets a clockwise-turned word upright)."""
    turned = np.stack([pts[:, 1], -pts[:, 0]], 1)
    return strip(pts, starts), strip(turned, starts)


COS3, SIN3 = 0.9986295347545738, 0.052335956242943835      # of three degrees


def views(pts, starts):
    """Three pairs of strips: the word as it is, and tilted by three degrees
    either way. Their mean score is steadier than one score alone."""
    tilts = np.eye(2), np.array([[COS3, SIN3], [-SIN3, COS3]]), np.array([[COS3, -SIN3], [SIN3, COS3]])
    return [two_strips(pts @ t, starts) for t in tilts]


def bend(pts, rng):
    """Small distortions that leave the word readable: slant, stretch, turn, arc."""
    p = pts - (pts.min(0) + pts.max(0)) / 2
    if rng.random() < 0.3:
        p[:, 0] -= p[:, 1] * rng.normal(0.03, 0.12)
    if rng.random() < 0.5:
        p[:, 0] *= np.exp(rng.normal(0, 0.25))
    if rng.random() < 0.15:                             # other proportions: x-height, waist
        top, size = p[:, 1].min(), np.ptp(p[:, 1]) + 1e-6
        p[:, 1] = size * ((p[:, 1] - top) / size) ** np.exp(rng.normal(0, 0.12))
    if rng.random() < 0.12:
        span = p[:, 0].max() - p[:, 0].min() + 1e-6
        p[:, 1] += rng.uniform(-0.5, 0.5) / span * p[:, 0] ** 2
    kind = rng.random()
    if kind < 0.5:
        a = rng.normal(0, 2.0) if kind < 0.35 else rng.uniform(-8, 8)
        a = np.radians(a)
        p = p @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    return p


def wobble(pts, rng):
    """A word as an unsteady hand would redraw it: every point moved by a few slow waves. Em units."""
    if len(pts) == 0:
        return pts
    p = pts.copy()
    for axis in (0, 1):
        for _ in range(3):
            size = rng.uniform(0.005, 0.03)
            wave = rng.normal(0, 1, 2)
            wave *= 2 * np.pi / (rng.uniform(0.3, 1.5) * (np.linalg.norm(wave) + 1e-9))
            p[:, axis] += size * np.sin(pts @ wave + rng.uniform(0, 2 * np.pi))
    return p


def blur(s, rng):
    """A slight change of weight or sharpness of a strip."""
    kind = rng.random()
    if kind < 0.6:
        return s
    pad = np.pad(s, 1)
    near = [pad[1 + dy:1 + dy + s.shape[0], 1 + dx:1 + dx + s.shape[1]] for dy, dx in ((0, 1), (0, -1), (1, 0), (-1, 0))]
    t = rng.uniform(0, 0.7)
    if kind < 0.75:
        return (1 - t) * s + t * np.maximum(s, np.max(near, 0))
    if kind < 0.85:
        return (1 - t) * s + t * np.minimum(s, np.min(near, 0))
    return (1 - t) * s + t * (s + sum(near)) / 5


class Faces:
    def __init__(self, store):
        z = np.load(store)
        self.pts, self.ring_start, self.glyph_start = z["pts"], z["ring_start"], z["glyph_start"]
        self.advance, self.split, self.family, self.package = z["advance"], z["split"], z["family"], z["package"]
        self.source = z["source"]

    def of(self, split):
        return np.flatnonzero(self.split == split)

    def word(self, face, text, tracking=0.0, jitter=None):
        chars = spell(text, self.advance[face])
        if jitter is None:
            jitter = np.zeros((len(chars), 2))
        return layout(self.pts, self.ring_start, self.glyph_start, self.advance[face], chars, face, len(CHARS),
                      tracking, jitter)
