"""Outlines of single signs, for sign_train.py: letters and digits of Latin, Greek and Cyrillic, and what
is none of them (other scripts, symbols).

    python sign_store.py PACKAGES STORE.npz

PACKAGES holds unpacked packages, one folder each, as fetch.sh leaves them. Faces of Latin lettering are
those of faces.txt, with its split; of the faces of other scripts, those named in HELD_OUT are for
testing only.
"""
import glob
import os
import sys
import unicodedata
from multiprocessing import Pool

import numpy as np
from fontTools.ttLib import TTFont
from scipy.ndimage import distance_transform_edt
from skimage.morphology import skeletonize

from faces import Flattener
from raster import coverage

HERE = os.path.dirname(os.path.abspath(__file__))

# Scripts never trained on; the rest of the world's stand for whatever may come.
HELD_OUT = ["Georgian", "Hebrew", "Thai", "Arabic", "Armenian", "Devanagari", "Bengali", "Tamil",
            "Khmer", "Ethiopic"]
# Scripts that share many letters with Latin, Greek or Cyrillic: their signs are no sign of another script.
ALIKE = ["Cherokee", "Lisu", "Coptic", "OldItalic", "Carian", "Lycian", "Lydian", "Osage", "Elbasan",
         "Gothic", "OldHungarian", "Deseret", "Adlam", "Shavian", "Glagolitic", "Phoenician", "Signwriting",
         "Math", "NotoSans-", "NotoSerif-", "Display", "Tifinagh"]

# Cells along a side of the raster in which the middles of strokes are found.
FINE = 80


def reads(char):
    """Whether a character is a letter or digit of the three scripts, or an accented one."""
    name = unicodedata.name(char, "")
    kind = unicodedata.category(char)
    return (kind in ("Lu", "Ll") and name.split(" ")[0] in ("LATIN", "GREEK", "CYRILLIC")
            and "TURNED" not in name and "REVERSED" not in name and "SMALL CAPITAL" not in name
            and "INVERTED" not in name) or (kind == "Nd" and char in "0123456789")


def wanted(char):
    code = ord(char)
    return reads(char) and (code < 0x180 or 0x386 <= code <= 0x3ce or 0x400 <= code <= 0x45f)


def spine(rings):
    """Points along the middle of a sign's strokes, with half the width of the stroke there: columns x, y, half."""
    points = np.concatenate(rings)
    low, high = points.min(0), points.max(0)
    scale = (FINE - 8) / (high - low).max()
    starts = np.cumsum([0] + [len(r) for r in rings])
    out = np.zeros((FINE, FINE))
    coverage((points - (low + high) / 2) * scale + FINE / 2, starts, 0, len(rings), out)
    ink = out > 0.4
    rows, columns = np.nonzero(skeletonize(ink))
    half = distance_transform_edt(ink)[rows, columns] - 0.5
    middle = (np.stack([columns, rows], 1) + 0.5 - FINE / 2) / scale + (low + high) / 2
    return np.column_stack([middle, half.clip(0.2) / scale])


def read(job):
    path, split, other = job
    try:
        font = TTFont(path, lazy=True, fontNumber=0)
        cmap = font.getBestCmap() or {}
        glyphs, em = font.getGlyphSet(), float(font["head"].unitsPerEm)
    except Exception:
        return []
    codes = sorted(cmap)
    if other:
        codes = [c for c in codes if unicodedata.category(chr(c)) in ("Lo", "Lu", "Ll", "Nd", "So", "Sm")
                 and not reads(chr(c)) and c > 0x2b0]
        codes = codes[::max(1, len(codes) // 150)]
    else:
        codes = [c for c in codes if wanted(chr(c))]
        # Accented letters are many: a third of them do.
        codes = [c for n, c in enumerate(codes) if c < 0x80 or n % 3 == 0 or 0x386 <= c]
    out = []
    for code in codes:
        try:
            pen = Flattener(glyphs)
            glyphs[cmap[code]].draw(pen)
            pen._closePath()
        except Exception:
            continue
        rings = [r / em for r in pen.rings if len(r) >= 3]
        points = sum(len(r) for r in rings)
        if rings and points < 600 and np.ptp(np.concatenate(rings), 0).max() > 1e-3:
            out.append((code, split, other, rings, spine(rings)))
    return out


def jobs(packages):
    with open(os.path.join(HERE, "faces.txt"), encoding="utf-8") as file:
        lines = [line.rstrip("\n").split("\t") for line in file if not line.startswith("#")]
    for package, _, path, split in lines:
        folder = os.path.join(packages, package.replace("/", "+"))
        whole = os.path.join(folder, path)
        if os.path.exists(whole):
            yield whole, split, False
            for more in ("greek", "cyrillic", "latin-ext"):
                near = whole.replace("-latin-", f"-{more}-")
                if near != whole and os.path.exists(near):
                    yield near, split, False
    for path in sorted(glob.glob(os.path.join(packages, "fonts-noto-core*", "**", "*-Regular.ttf"), recursive=True)):
        name = os.path.basename(path)
        if any(a.lower() in name.lower() for a in ALIKE):
            continue
        held = any(h in name for h in HELD_OUT) or any(h in name for h in ("Kufi", "Naskh", "Nastaliq", "Rashi"))
        yield path, "test" if held else "train", True


def main(packages, store):
    todo = sorted(set(jobs(packages)))
    with Pool(2) as pool:
        found = pool.map(read, todo, chunksize=4)
    code, split, other, face, glyph_start, ring_start, points = [], [], [], [], [0], [0], []
    spine_start, spines = [0], []
    for number, glyphs in enumerate(found):
        for c, s, o, rings, middle in glyphs:
            code.append(c)
            split.append(["train", "validation", "test"].index(s))
            other.append(o)
            face.append(number)
            for ring in rings:
                points.append(ring * [1, -1])
                ring_start.append(ring_start[-1] + len(ring))
            glyph_start.append(len(ring_start) - 1)
            spines.append((middle * [1, -1, 1]).astype(np.float16))
            spine_start.append(spine_start[-1] + len(middle))
    np.savez(store, code=code, split=split, other=other, face=face, glyph_start=glyph_start,
             ring_start=ring_start, points=np.concatenate(points).astype(np.float32),
             spine_start=spine_start, spines=np.concatenate(spines),
             files=[os.path.basename(t[0]) for t in todo])
    print(len(todo), "files", len(code), "signs", sum(other), "of them other",
          [split.count(k) for k in range(3)])


if __name__ == "__main__":
    main(*sys.argv[1:])
