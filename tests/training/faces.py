"""Reads the outlines of the faces that faces.txt lists into one store (not
shipped: it holds outlines).

    python faces.py PACKAGES_FOLDER STORE.npz

PACKAGES_FOLDER holds one folder a package, named `package@version` with "/"
written as "+" (see fetch.sh).
"""
import hashlib
import os
import sys
from multiprocessing import Pool

import numpy as np
from fontTools.pens.basePen import BasePen
from fontTools.t1Lib import T1Font
from fontTools.ttLib import TTFont

ASCII = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
ACCENTED = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöøùúûüýþÿ" \
           "ĂăĄąĆćČčĎďĘęĚěĞğİıŁłŃńŇňŐőŒœŘřŚśŞşŠšŤťŮůŰűŹźŻżŽž"
MARKS = "-'.&"
CHARS = ASCII + ACCENTED + MARKS

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


def split_of(family):
    """0, 1: test. 2: validation. The rest: training."""
    first = hashlib.sha256(("@fontsource/" + family).encode()).hexdigest()[0]
    return {"0": "test", "1": "test", "2": "validation"}.get(first, "train")


def shown(package):
    """A package folder's name as the registry writes it."""
    return package.replace("+", "/", 1) if package.startswith("@") else package


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


def listed(here):
    """The rows of faces.txt: package, family, file in the package, split."""
    with open(os.path.join(here, "faces.txt")) as file:
        return [line.rstrip("\n").split("\t") for line in file if not line.startswith("#")]


def main(folder, store):
    rows = listed(os.path.dirname(os.path.abspath(__file__)))
    paths = [os.path.join(folder, package.replace("/", "+", 1), file) for package, _, file, _ in rows]
    with Pool(2) as pool:
        final = pool.map(read, paths, 8)
    for row, face in zip(rows, final):
        if isinstance(face, str):
            sys.exit(f"{row[0]}, {row[2]}: {face}")
        if row[3] != split_of(row[1]):
            sys.exit(f"{row[1]} is listed under {row[3]} and belongs under {split_of(row[1])}")
    print({s: sum(r[3] == s for r in rows) for s in ("train", "validation", "test")})

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
