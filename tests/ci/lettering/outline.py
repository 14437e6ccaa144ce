"""Names set in a face and turned into outlines: by HarfBuzz and fontTools, not by the program."""

import random
import unicodedata

import names
import uharfbuzz
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

# Given names with accents, which the package has none of; names with ligatures in many faces.
ACCENTED = """Zoë José Björn Åsa Jürgen Renée François Łukasz Şule Ömer Noël Inès Søren Márta Jiří
Žofie Đorđe Anaïs Ángel Élodie Håkon Ægir Begoña İpek Çağla Mihály Ştefan Vít Kája Ľubica""".split()
LIGATED = "Fiona Josefina Steffi Griffin Sofia Florian Rafflesia Steffl Fitz Alfie".split()

# What looks the same, or nearly, turned half round or in a mirror: words of these alone are not
# planted, as nobody could see that they are wrong.
SAME_TURNED = set("HINOSXZosxzlnupdbq069")
SAME_MIRRORED = set("AHIMOTUVWXYilmnovwxtudbpq08")


class Face:
    """A face that words are set in."""

    def __init__(self, file):
        self.font = TTFont(file)
        self.glyphs = self.font.getGlyphSet()
        self.order = self.font.getGlyphOrder()
        self.em = self.font["head"].unitsPerEm
        self.has = set(self.font.getBestCmap())
        self.shaper = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(file)))

    def can(self, word):
        return all(ord(c) in self.has for c in word)

    def set(self, word):
        """Places of the glyphs in font units: name, x, y; then the word's advance."""
        buffer = uharfbuzz.Buffer()
        buffer.add_str(word)
        buffer.guess_segment_properties()
        uharfbuzz.shape(self.shaper, buffer)
        at, out = 0, []
        for info, place in zip(buffer.glyph_infos, buffer.glyph_positions):
            out.append((self.order[info.codepoint], at + place.x_offset, place.y_offset))
            at += place.x_advance
        return out, at

    def bounds(self, word):
        pen = BoundsPen(self.glyphs)
        placed, _ = self.set(word)
        for name, x, y in placed:
            self.glyphs[name].draw(TransformPen(pen, (1, 0, 0, 1, x, y)))
        return pen.bounds

    def outlined(self, word, wide, high, centre, quarters=0, mirrored=False, whole=True):
        """SVG paths of a word scaled into a box, its box's middle at `centre`. One path, or one a
        glyph."""
        x0, y0, x1, y1 = self.bounds(word)
        scale = min(wide / (x1 - x0), high / (y1 - y0))
        cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
        cos, sin = [(1, 0), (0, 1), (-1, 0), (0, -1)][quarters]
        flip = -1 if mirrored else 1
        a, b, c, d = flip * scale * cos, flip * scale * sin, scale * sin, -scale * cos
        paths = []
        placed, _ = self.set(word)
        pen = None
        for name, x, y in placed:
            if pen is None or not whole:
                pen = SVGPathPen(self.glyphs, ntos=lambda v: f"{v:.3f}".rstrip("0").rstrip("."))
                paths.append(pen)
            dx, dy = x - cx, y - cy
            motion = (a, b, c, d, a * dx + c * dy + centre[0], b * dx + d * dy + centre[1])
            self.glyphs[name].draw(TransformPen(pen, motion))
        return "".join(
            f'<path d="{p.getCommands()}" fill="#1b1b1b"/>\n' for p in paths if p.getCommands()
        )


def pool():
    """Given names of three letters and more, of all lengths alike, and some with accents."""
    by_length = {}
    for kind in ("first:male", "first:female"):
        with open(names.FILES[kind], encoding="ascii") as file:
            for line in file:
                word = line.split()[0]
                if len(word) >= 3:
                    by_length.setdefault(min(len(word), 10), set()).add(word.capitalize())
    return [sorted(by_length[n]) for n in sorted(by_length)]


def cased(word, case):
    return {"Title": word, "UPPER": word.upper(), "lower": word.lower()}[case]


def draw(dice, face, lists, case, count=12):
    """`count` different names that the face can set: two with accents and one with a likely ligature,
    as far as it has such letters."""

    def able(kind):
        words = (cased(unicodedata.normalize("NFC", word), case) for word in kind)
        return {word for word in words if face.can(word)}

    special = [kind for kind, of in ((ACCENTED, 2), (LIGATED, 1)) for _ in range(of)
               if len(able(kind)) >= of]
    out = []
    while len(out) < count:
        kind = special[len(out)] if len(out) < len(special) else dice.choice(lists)
        word = cased(unicodedata.normalize("NFC", dice.choice(kind)), case)
        if word not in out and face.can(word):
            out.append(word)
    dice.shuffle(out)
    return out


def plantable(word, mirrored):
    return not set(word) <= (SAME_MIRRORED if mirrored else SAME_TURNED)


def dice(*what):
    """Random numbers that are the same on every run."""
    return random.Random("/".join(map(str, what)))
