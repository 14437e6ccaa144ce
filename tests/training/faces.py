"""Gathers the faces: walks the unpacked font packages, reads the outlines of
each face, drops what is not Latin lettering, splits the rest, and writes
faces.txt, dropped.csv and one outline store (not shipped: it holds outlines).

    python faces.py PACKAGES_FOLDER STORE.npz

PACKAGES_FOLDER holds one folder a package, named `package@version` with "/"
written as "+" (see fetch.sh).
"""
import csv
import hashlib
import os
import re
import sys
from multiprocessing import Pool

import numpy as np
from fontTools.pens.basePen import BasePen
from fontTools.t1Lib import T1Font
from fontTools.ttLib import TTFont

from raster import raster_glyph

ASCII = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
ACCENTED = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöøùúûüýþÿ" \
           "ĂăĄąĆćČčĎďĘęĚěĞğİıŁłŃńŇňŐőŒœŘřŚśŞşŠšŤťŮůŰűŹźŻżŽž"
MARKS = "-'.&"
CHARS = ASCII + ACCENTED + MARKS
STYLES_A_FAMILY = 4

# Glyph names for Type 1 faces, which carry no character map.
GLYPH_NAMES = {c: c for c in ASCII if c.isalpha()}
GLYPH_NAMES.update(dict(zip("0123456789", "zero one two three four five six seven eight nine".split())))
GLYPH_NAMES.update({"-": "hyphen", "'": "quotesingle", ".": "period", "&": "ampersand"})


def _accented_names():
    from fontTools.agl import UV2AGL
    for c in ACCENTED:
        GLYPH_NAMES[c] = UV2AGL.get(ord(c), "")


_accented_names()


class Flattener(BasePen):
    """Turns the outline into closed polylines, y up as in the font."""

    def __init__(self, glyphs):
        super().__init__(glyphs)
        self.rings, self.ring = [], []

    def _moveTo(self, p):
        self._closePath()
        self.ring = [p]

    def _lineTo(self, p):
        self.ring.append(p)

    def _curveToOne(self, b, c, d):
        a = self.ring[-1]
        for i in range(1, 6):
            t = i / 5
            s = 1 - t
            self.ring.append(tuple(s**3 * a[k] + 3 * s * s * t * b[k] + 3 * s * t * t * c[k] + t**3 * d[k]
                                   for k in (0, 1)))

    def _qCurveToOne(self, b, c):
        a = self.ring[-1]
        for i in range(1, 4):
            t = i / 3
            s = 1 - t
            self.ring.append(tuple(s * s * a[k] + 2 * s * t * b[k] + t * t * c[k] for k in (0, 1)))

    def _closePath(self):
        if len(self.ring) >= 3:
            self.rings.append(np.array(self.ring, np.float32))
        self.ring = []

    _endPath = _closePath


STYLE_WORDS = re.compile(
    r"\b(regular|bold|italic|oblique|light|extra|ultra|semi|demi|black|heavy|medium|thin|book|roman|"
    r"normal|lf|tlf|osf|tosf|std|otf|ttf|hairline|extralight|semibold|extrabold|bd|it|rg|lt|tt)\b")


def slug(name):
    name = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name.split("[")[0])
    name = re.sub(r"[^a-z0-9]+", " ", name.lower())
    return "-".join(STYLE_WORDS.sub(" ", name).split())


def split_of(family):
    """0, 1: test. 2: validation. The rest: training."""
    first = hashlib.sha256(("@fontsource/" + family).encode()).hexdigest()[0]
    return {"0": "test", "1": "test", "2": "validation"}.get(first, "train")


def shown(package):
    """A package folder's name as the registry writes it."""
    return package.replace("+", "/", 1) if package.startswith("@") else package


def name_of(path):
    """Family slug and style of a face file, or None."""
    try:
        if path.lower().endswith(".pfb"):
            return os.path.basename(os.path.dirname(path)), os.path.basename(path)
        font = TTFont(path, lazy=True, fontNumber=0)
        names = font["name"]
        family = names.getDebugName(16) or names.getDebugName(1) or os.path.basename(path).rsplit(".", 1)[0]
        style = names.getDebugName(17) or names.getDebugName(2) or ""
        return family, style + " " + os.path.basename(path)
    except Exception:
        return None


def read(path):
    """{char: (advance in em, rings in em)} of a face, or a reason it has none."""
    try:
        if path.lower().endswith(".pfb"):
            font = T1Font(path)
            glyphs, upm = font.getGlyphSet(), 1000.0
            lookup = {c: n for c, n in GLYPH_NAMES.items() if n in glyphs}
        else:
            font = TTFont(path, lazy=True, fontNumber=0)
            cmap = font.getBestCmap() or {}
            glyphs, upm = font.getGlyphSet(), float(font["head"].unitsPerEm)
            lookup = {c: cmap[ord(c)] for c in CHARS if ord(c) in cmap}
        if any(c not in lookup for c in ASCII if c.isalpha()):
            return "lacks some of A-Z a-z"
        out, points = {}, 0
        for c, n in lookup.items():
            pen = Flattener(glyphs)
            glyphs[n].draw(pen)
            pen._closePath()
            rings = [r / upm for r in pen.rings]
            if rings:
                out[c] = (float(glyphs[n].width) / upm, rings)
                points += sum(map(len, rings))
        if any(c not in out for c in ASCII if c.isalpha()):
            return "blank letters"
        if points / len(out) > 700:
            return "outlines of over 700 points a glyph on average (rough texture)"
        return out
    except Exception as error:
        return "unreadable: " + type(error).__name__


def work(item):
    package, family, path = item
    return item, read(path)


def candidates(folder):
    """(package, family slug, path), at most STYLES_A_FAMILY of a family and package."""
    found = {}
    for package in sorted(p for p in os.listdir(folder) if not p.startswith(".")):
        root = os.path.join(folder, package)
        dirs_with_opentype = set()
        files = []
        for base, _, names in os.walk(root):
            for n in sorted(names):
                if re.search(r"\.(ttf|otf|pfb|woff2)$", n, re.I):
                    if n.endswith(".woff2") and not n.endswith("-latin-400-normal.woff2"):
                        continue
                    files.append(os.path.join(base, n))
                    if not n.lower().endswith(".pfb"):
                        dirs_with_opentype.add(os.path.basename(base))
        for path in files:
            if path.lower().endswith(".pfb") and os.path.basename(os.path.dirname(path)) in dirs_with_opentype:
                continue
            named = name_of(path)
            if named:
                family, style = named
                style = style.lower()
                if path.endswith(".woff2"):
                    family = package.split("+", 1)[1].split("@")[0]
                rank = (0 if "regular" in style else 1 if "bold" in style and "ital" not in style else
                        2 if "ital" in style and "bold" not in style else 3,
                        hashlib.sha256(path[len(root):].encode()).hexdigest())
                found.setdefault((package, family if path.endswith(".woff2") else slug(family)), []).append((rank, path))
    for (package, family), paths in sorted(found.items()):
        paths.sort()
        ranks = {}
        for rank, path in paths:                       # one of each rank first, then more of the rest
            ranks.setdefault(rank[0], []).append(path)
        picked = [p for k in sorted(ranks) for p in ranks[k][:1]]
        picked += [p for _, p in paths if p not in picked]
        for path in picked[:STYLES_A_FAMILY]:
            yield package, family, path


SIDE = 16
LATIN = 0.16


def settled(here):
    """{(package, family, file): reason or None} of faces that faces.txt or dropped.csv already tell
    whether they are Latin lettering. That judgement compares with training faces; faces that are added
    later must not shift it, or the test set would change with them."""
    out = {}
    with open(os.path.join(here, "faces.txt")) as file:
        for line in file:
            if not line.startswith("#"):
                out[tuple(line.split("\t")[:3])] = None
    with open(os.path.join(here, "dropped.csv"), newline="") as file:
        for row in csv.reader(file):
            out[tuple(row[:3])] = row[4] if row[4].startswith("not Latin lettering") else None
    return out


def signature(face):
    """52 small rasters, each letter fitted into its own square: used only to
    tell lettering from ornaments and to find two files of the same design."""
    return np.stack([raster_glyph(face[c][1], SIDE) for c in ASCII[:52]]).reshape(52, -1)


def unit(a):
    a = a - a.mean(-1, keepdims=True)
    return a / (np.linalg.norm(a, axis=-1, keepdims=True) + 1e-9)


def main(folder, store):
    items = list(candidates(folder))
    print(len(items), "candidate files")
    kept, dropped = [], []
    with Pool(2) as pool:
        for (package, family, path), face in pool.imap(work, items, 8):
            label = (package, family, os.path.relpath(path, os.path.join(folder, package)))
            if isinstance(face, str):
                dropped.append((*label, split_of(family), face))
            else:
                kept.append((label, face))
    print(len(kept), "read")
    sigs = np.stack([unit(signature(f)) for _, f in kept])
    splits = [split_of(l[1]) for l, _ in kept]

    # Latin lettering? Read each letter by its nearest neighbour among the
    # letters of reference faces: training faces of which the mean training face
    # reads a quarter of the letters or more. Capital and small form of a
    # letter count as the same. A face read right for less than LATIN is out.
    train = np.array([s == "train" for s in splits])
    mean = unit(np.median(sigs[train], axis=0))
    best = np.argmax(np.einsum("fld,md->flm", sigs, mean), -1) % 26
    plain = (best == np.arange(52) % 26).mean(1)
    reference = np.flatnonzero(train & (plain >= 0.25))
    reference = np.random.default_rng(1).permutation(reference)[:400]
    known = sigs[reference].reshape(len(reference) * 52, -1)
    share = np.zeros(len(kept))
    for i in range(len(kept)):
        like = (sigs[i] @ known.T).reshape(52, len(reference), 52)
        like[:, reference == i] = -1
        share[i] = (like.max(1).argmax(1) % 26 == np.arange(52) % 26).mean()
    np.savez(store + ".share.npz", share=share, plain=plain, name=[l[1] for l, _ in kept])

    # The same design under two names must not sit on both sides of the split:
    # a training or validation face whose letters nearly coincide with those of
    # a test face (or a training face with those of a validation face) goes.
    here = os.path.dirname(os.path.abspath(__file__))
    before, drop = settled(here), {}
    for i in range(len(kept)):
        package, *rest = kept[i][0]
        known = (shown(package), *rest)
        if known in before:
            if before[known]:
                drop[i] = before[known]
        elif share[i] < LATIN:
            drop[i] = f"not Latin lettering: {share[i]:.2f} of its letters are read right"
    def idx(s):
        return [i for i in range(len(kept)) if splits[i] == s and i not in drop]
    flat = sigs.reshape(len(kept), -1) / np.sqrt(52)
    for low, high in (("train", "test"), ("validation", "test"), ("train", "validation")):
        a, b = idx(low), idx(high)
        likeness = flat[a] @ flat[b].T
        for k, i in enumerate(a):
            j = int(np.argmax(likeness[k]))
            if likeness[k, j] > 0.965:
                drop[i] = f"same design as {high} face {kept[b[j]][0][1]}: likeness {likeness[k, j]:.3f}"
    # Files that coincide within one split: keep the first.
    for s in ("train", "validation", "test"):
        a = idx(s)
        likeness = flat[a] @ flat[a].T
        for k, i in enumerate(a):
            if any(likeness[k, m] > 0.99 for m in range(k) if a[m] not in drop):
                drop[i] = "same design as an earlier face of this split"

    rows, final = [], []
    for i, (label, face) in enumerate(kept):
        if i in drop:
            dropped.append((*label, splits[i], drop[i]))
        else:
            rows.append((*label, splits[i]))
            final.append(face)
    print({s: sum(r[3] == s for r in rows) for s in ("train", "validation", "test")})
    with open(os.path.join(here, "faces.txt"), "w") as out:
        out.write("# package@version, family, file in the package, split\n")
        for r in rows:
            out.write("\t".join((shown(r[0]), r[1], r[2], r[3])) + "\n")
    with open(os.path.join(here, "dropped.csv"), "w", newline="") as out:
        w = csv.writer(out, lineterminator="\n")
        w.writerow(("package", "family", "file", "split", "reason"))
        w.writerows((shown(r[0]), *r[1:]) for r in dropped)

    # One flat store: glyph table [face, char] -> ring range, ring -> point range.
    pts, ring_start, glyph_start = [], [0], [0]
    advance = np.zeros((len(final), len(CHARS)), np.float32)
    n = 0
    for f, face in enumerate(final):
        for k, c in enumerate(CHARS):
            if c in face:
                advance[f, k] = face[c][0]
                for r in face[c][1]:
                    pts.append(r)
                    n += len(r)
                    ring_start.append(n)
            glyph_start.append(len(ring_start) - 1)
    np.savez(store, pts=np.concatenate(pts), ring_start=np.array(ring_start), glyph_start=np.array(glyph_start),
             advance=advance, split=np.array([r[3] for r in rows]), package=np.array([r[0] for r in rows]),
             family=np.array([r[1] for r in rows]), source=np.array([r[2] for r in rows]))


if __name__ == "__main__":
    main(*sys.argv[1:3])
