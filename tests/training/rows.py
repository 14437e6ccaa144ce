"""What is no Latin lettering, for train.py: words of other scripts, rows of shapes, letters that lie this way
and that; and words drawn otherwise than filled."""
import numpy as np
from PIL import Image
from scipy.ndimage import distance_transform_edt
from skimage.morphology import skeletonize

import words
from raster import coverage

# Rows of the fine raster in which strokes are thinned and thickened.
FINE = 66


class Others:
    """Words of other scripts, as other_words.py left them."""

    def __init__(self, store):
        z = np.load(store)
        self.pts, self.rings, self.words = z["points"].astype(float), z["ring_start"], z["word_start"]
        self.names = {w: z["files"][f] for w, f in enumerate(z["face"])} if "files" in z else {}
        self.faces = [np.flatnonzero(z["face"] == f) for f in np.unique(z["face"])]

    def word(self, rng):
        which = rng.choice(self.faces[rng.integers(len(self.faces))])
        first, last = self.words[which], self.words[which + 1]
        starts = self.rings[first:last + 1]
        return self.pts[starts[0]:starts[-1]], starts - starts[0]


def round_shape(rng):
    t = np.linspace(0, 2 * np.pi, 20, endpoint=False)
    return np.stack([np.cos(t) * rng.uniform(0.2, 1), np.sin(t)], 1)


def polygon(rng):
    t = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 8)))
    return np.stack([np.cos(t), np.sin(t)], 1) * rng.uniform(0.4, 1, (len(t), 1))


def star(rng):
    n = int(rng.integers(4, 9))
    t = np.arange(2 * n) * np.pi / n
    return np.stack([np.sin(t), -np.cos(t)], 1) * np.where(np.arange(2 * n) % 2, rng.uniform(0.3, 0.6), 1)[:, None]


def bar(rng):
    w, h = rng.uniform(0.1, 1, 2)
    return np.array([(-w, -h), (w, -h), (w, h), (-w, h)])


def arrow(rng):
    a, b, c = rng.uniform(0.1, 0.3), rng.uniform(0.4, 0.9), rng.uniform(-0.4, 0.4)
    return np.array([(-a, 1), (-a, c), (-b, c), (0, -1), (b, c), (a, c), (a, 1)])


def hook(rng):
    a, b, w = rng.uniform(0.2, 0.5), rng.uniform(0.2, 0.5), rng.uniform(0.4, 1)
    return np.array([(-w, -1), (-w + a, -1), (-w + a, 1 - b), (w, 1 - b), (w, 1), (-w, 1)])


def leaf(rng):
    t = np.linspace(0, np.pi, 12)
    w = rng.uniform(0.2, 0.6)
    return np.concatenate([np.stack([w * np.sin(t), -np.cos(t)], 1), np.stack([-w * np.sin(t), np.cos(t)], 1)[1:-1]])


def art(rng):
    """A row of shapes: of one kind, or several; each laid somehow."""
    makes = [round_shape, polygon, star, bar, arrow, hook, leaf]
    kinds = [makes[rng.integers(len(makes))] for _ in range(rng.integers(1, 4))]
    own = [k(rng) for k in kinds for _ in range(rng.integers(1, 3))]
    turned, pts, starts, x = rng.random() < 0.6, [], [0], 0.0
    for _ in range(rng.integers(3, 10)):
        shape = own[rng.integers(len(own))] * rng.uniform(0.6, 1)
        if turned:
            a = rng.integers(4) * np.pi / 2 if rng.random() < 0.6 else rng.uniform(0, 6.3)
            shape = shape @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
        x -= shape[:, 0].min()
        pts.append(shape + [x, rng.normal(0, 0.1)])
        x += shape[:, 0].max() + rng.uniform(0.05, 0.6)
        starts.append(starts[-1] + len(shape))
    return np.concatenate(pts), np.array(starts)


def jumbled(faces, face, text, rng):
    """A word of which every letter lies this way or that."""
    pts, starts = [], [0]
    x = 0.0
    for c in text:
        own, rings = faces.word(face, c)
        if not len(own):
            continue
        q, m = rng.integers(4), rng.random() < 0.5
        cos, sin = [(1, 0), (0, 1), (-1, 0), (0, -1)][q]
        own = (own * [-1 if m else 1, 1]) @ np.array([[cos, sin], [-sin, cos]])
        pts.append(own + [x - own[:, 0].min(), 0])
        x = pts[-1][:, 0].max() + 0.08
        starts += list(starts[-1] + rings[1:])
    return (np.concatenate(pts), np.array(starts)) if len(pts) > 3 else (np.zeros((0, 2)), np.zeros(1, int))


def fitted(ink):
    """The strip of a fine raster, as words.strip lays it out."""
    scale = words.INK / ink.shape[0]
    across = min(ink.shape[1] * scale, words.WIDEST)
    width = words.STEP * int(np.ceil((across + 2 * words.MARGIN) / words.STEP))
    inner = max(1, round(across))
    small = np.asarray(Image.fromarray(ink).resize((inner, words.INK), Image.Resampling.BOX))
    out = np.zeros((words.HEIGHT, width))
    left, top = (width - inner) // 2, (words.HEIGHT - words.INK) // 2
    out[top:top + words.INK, left:left + inner] = small
    return out


def hatched(ink, apart):
    """What is seen of ink that is filled with lines, so many rows apart: a hairline between two lines is lost, and
    where a line has ink, the strip to the next one has it as far as both lines do."""
    lines = ink[::apart]
    both = lines[:-1] & lines[1:]
    out = np.repeat(both, apart, 0)
    out[::apart] |= lines[:-1]
    return out


def otherwise(pts, starts, rng):
    """The strips of a word as lines along the middle of its strokes, along its outline, of another weight, or as
    what is left of it where lines fill it."""
    low, high = pts.min(0), pts.max(0)
    scale = FINE / (high - low)[1]
    if (high - low)[0] * scale > 25 * FINE:
        return words.two_strips(pts, starts)
    edge = 8
    size = np.ceil((high - low) * scale).astype(int) + 2 * edge
    raster = np.zeros((size[1], size[0]))
    coverage((pts - low) * scale + edge, starts, 0, len(starts) - 1, raster)
    ink = raster > 0.5
    kind, pen = rng.random(), rng.uniform(1.0, 4.5)
    if kind < 0.4:
        ink = distance_transform_edt(~skeletonize(ink)) < pen
    elif kind < 0.6:
        ink = np.abs(distance_transform_edt(ink) - distance_transform_edt(~ink)) < 0.8 * pen
    elif kind < 0.8:
        apart = int(rng.integers(2, 5))
        ink = hatched(ink, apart) if rng.random() < 0.5 else hatched(ink.T, apart).T
    else:
        by = rng.uniform(-1.2, 3)
        ink = distance_transform_edt(~ink) <= by if by > 0 else distance_transform_edt(ink) > -by
    rows, columns = np.flatnonzero(ink.any(1)), np.flatnonzero(ink.any(0))
    if not len(rows):
        return words.two_strips(pts, starts)
    ink = ink[rows[0]:rows[-1] + 1, columns[0]:columns[-1] + 1].astype(np.float32)
    return fitted(ink), fitted(np.ascontiguousarray(np.rot90(ink)))
