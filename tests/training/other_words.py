"""Words of other scripts and rows of symbols, shaped, for train.py: what the network is to know nothing of.

    python other_words.py PACKAGES STORE.npz [held]

Reads the faces of fonts-noto-core but those of the scripts in HELD_OUT of sign_store.py (with `held`: those
alone, for known.py), and writes the outlines of random words.
"""
import glob
import os
import random
import sys
import unicodedata
from multiprocessing import Pool

import numpy as np
import uharfbuzz
from fontTools.ttLib import TTFont

from faces import Flattener
from sign_store import ALIKE, HELD_OUT, reads

EACH = 160


def words(path):
    """Random words of a face: rings in em units, y down."""
    dice = random.Random(os.path.basename(path))
    font = TTFont(path, lazy=True, fontNumber=0)
    kinds = {c: unicodedata.category(chr(c)) for c in font.getBestCmap() if c > 0x2b0 and not reads(chr(c))}
    letters = [c for c, kind in kinds.items() if kind in ("Lo", "Lu", "Ll", "Nd", "So", "Sm")]
    marks = [c for c, kind in kinds.items() if kind in ("Mn", "Mc")]
    if len(letters) < 5:
        return []
    shaper, glyphs = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(path))), font.getGlyphSet()
    em, names, drawn, out = float(font["head"].unitsPerEm), font.getGlyphOrder(), {}, []
    for _ in range(EACH):
        # A word's letters are of one block: a script, or one sort of symbols.
        first = dice.choice(letters)
        near = [c for c in letters if abs(c - first) < 128]
        text = "".join(chr(dice.choice(near)) + (chr(dice.choice(marks)) if marks and dice.random() < 0.25 else "")
                       for _ in range(dice.randint(3, 9)))
        buffer = uharfbuzz.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        uharfbuzz.shape(shaper, buffer)
        x, rings = 0.0, []
        for info, at in zip(buffer.glyph_infos, buffer.glyph_positions):
            name = names[info.codepoint]
            if name not in drawn:
                pen = Flattener(glyphs)
                glyphs[name].draw(pen)
                pen._closePath()
                drawn[name] = pen.rings
            rings += [(r + [x + at.x_offset, at.y_offset]) / em * [1, -1] for r in drawn[name] if len(r) > 2]
            x += at.x_advance
        if rings and sum(map(len, rings)) < 4000 and np.ptp(np.concatenate(rings), 0).min() > 1e-3:
            out.append(rings)
    return out


def main(packages, store, which=None):
    held = [*HELD_OUT, "Kufi", "Naskh", "Nastaliq", "Rashi"]
    files = [path for path in sorted(glob.glob(os.path.join(packages, "fonts-noto-core*", "**", "*-Regular.ttf"),
                                               recursive=True))
             if not any(a.lower() in os.path.basename(path).lower() for a in ALIKE)
             and any(h in os.path.basename(path) for h in held) == (which == "held")]
    with Pool(2) as pool:
        found = pool.map(words, files, chunksize=2)
    points, ring_start, word_start, face = [], [0], [0], []
    for number, each in enumerate(found):
        for rings in each:
            for ring in rings:
                points.append(ring)
                ring_start.append(ring_start[-1] + len(ring))
            word_start.append(len(ring_start) - 1)
            face.append(number)
    np.savez(store, points=np.concatenate(points).astype(np.float32), ring_start=ring_start, word_start=word_start,
             face=face, files=[os.path.basename(f) for f in files])
    print(len(files), "faces", len(face), "words", ring_start[-1], "points")


if __name__ == "__main__":
    main(*sys.argv[1:])
