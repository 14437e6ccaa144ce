"""Runs for the table of what is found, named, held and passed over: styles of lettering by cases, names that
read in two ways, other scripts, art that is no lettering, and one piece of such art among names.

    python cases.py WORK DEBIAN NPM RUNS [WHAT [SPLIT]]

RUNS runs a style, its faces in turn (or script, or kind of art); WHAT is styles, again (names that read in two
ways), scripts, art or among (art among names), else all of them; SPLIT is the split of the styles' faces, test
or validation. One run a style has sixty pockets. Writes run files and truth.json into WORK, which `table.py`
reads, and the fixture of sixty pockets as WORK/sixty.
"""

import glob
import json
import os
import sys

import pathops
from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont
from HersheyFonts import HersheyFonts

import outline
from runs import HIGH, PAGE, PLACES, WIDE

# Faces of the splits in tests/training/faces.txt, by style; the blackletter face is in no list there, and of
# the split test by its name. The stick faces were never learnt from.
STYLES = {
    "test": {
        "upright": ["sora", "figtree", "chivo", "source-sans-3", "brawler", "esteban", "carlito"],
        "display": ["caprasimo", "zen-dots", "cabin-sketch", "bree-serif", "freehand"],
        "hand": ["gochi-hand", "delius", "annie-use-your-telescope", "caveat-brush", "nanum-pen-script"],
        "condensed": ["saira-condensed", "yanone-kaffeesatz", "amatic-sc"],
        "script": ["corinthia", "ephesis"],
        "mono": ["courier-prime"],
        "blackletter": ["manufacturing-consent"],
        "stick": ["futural", "rowmans", "scripts", "futuram"],
    },
    "validation": {
        "upright": ["headland-one", "libre-franklin", "nunito", "aboreto"],
        "display": ["bowlby-one-sc", "luckiest-guy", "norwester", "press-start-2p"],
        "hand": ["finger-paint", "sue-ellen-francisco", "twinkle-star"],
        "condensed": ["league-gothic"],
        "script": ["damion", "grand-hotel", "great-vibes", "satisfy"],
        "stick": ["rowmand", "cursive", "timesr", "gothgbt"],
    },
}

# Of the faces in Debian's fonts-noto-core: the script, the face, the letters of its words.
SCRIPTS = {
    "Georgian": ("NotoSansGeorgian-Regular", 0x10D0, 0x10F0),
    "Georgian, serif": ("NotoSerifGeorgian-Regular", 0x10D0, 0x10F0),
    "Hebrew": ("NotoSansHebrew-Regular", 0x5D0, 0x5EA),
    "Hebrew, serif": ("NotoSerifHebrew-Regular", 0x5D0, 0x5EA),
    "Thai": ("NotoSansThai-Regular", 0xE01, 0xE2E),
    "Thai, looped": ("NotoLoopedThai-Regular", 0xE01, 0xE2E),
    "Arabic": ("NotoSansArabic-Regular", 0x621, 0x64A),
    "Arabic, Naskh": ("NotoNaskhArabic-Regular", 0x621, 0x64A),
    "Armenian": ("NotoSansArmenian-Regular", 0x561, 0x586),
    "Armenian, serif": ("NotoSerifArmenian-Regular", 0x561, 0x586),
    "Devanagari": ("NotoSansDevanagari-Regular", 0x905, 0x939),
    "Bengali": ("NotoSansBengali-Regular", 0x985, 0x9B9),
    "Tamil": ("NotoSansTamil-Regular", 0xB85, 0xBB9),
    "Khmer": ("NotoSansKhmer-Regular", 0x1780, 0x17A2),
    "Ethiopic": ("NotoSansEthiopic-Regular", 0x1200, 0x1357),
    "Cyrillic": ("NotoSans-Regular", 0x430, 0x44F),
    "Greek": ("NotoSans-Regular", 0x3B1, 0x3C9),
}

KINDS = ("turned", "mirrored", "quarter")
SORTS = ("arrows", "bars and dots", "stars and polygons", "hooks")
# One odd of six or more is what is asked for in every style: there must be enough of it to give a share.
PLANTED = ("one", "none", "one", "half", "one", "all")
COUNTS = (12, 12, 12, 12, 6, 6, 2, 1)
DRESSES = ("plain", "plain", "surround", "date", "ornament")
MAKES = ("word", "letters", "compound", "traced", "outline", "welded", "hatch")

# Words whose letters are letters again in the other orientation, and that are another word there: by themselves
# they cannot be told. In the styles' table none of them is planted.
AGAIN = {
    "turned": ["pod", "pup", "bud", "sun", "dodo", "boq", "MOW", "NOXIS", "HOXIN", "NIXON", "8691", "1986", "9106"],
    "mirrored": ["TOM", "MIA", "TIM", "AMY", "IVY", "UMA", "ATOM", "VITA", "OMAHA", "vox", "ivo", "Tom", "Mia"],
}

# Middles of the sixty pockets, row by row from the back, and half their size.
SIXTY = [(22 + 36 * column, 38 + 66 * row) for row in range(5) for column in range(12)]
HALF = (14, 26)

# Distance and width of the lines that fill hatched letters, in millimetres: half as far apart in practice, with
# twice the lines in the file (common practice, no source).
HATCH, HATCHED = 0.15, 0.1


class Shape(BasePen):
    """Polylines of outlines, in the units of the face."""

    def __init__(self, glyphs):
        super().__init__(glyphs)
        self.lines = []

    def _moveTo(self, p):
        self.lines.append([p])

    def _lineTo(self, p):
        self.lines[-1].append(p)

    def _curveToOne(self, b, c, d):
        a = self.lines[-1][-1]
        for i in range(1, 9):
            t, s = i / 8, 1 - i / 8
            self.lines[-1].append(tuple(
                s**3 * a[k] + 3 * s * s * t * b[k] + 3 * s * t * t * c[k] + t**3 * d[k] for k in (0, 1)))


class Outlined:
    """A word as glyphs, each a list of closed polylines, y up."""

    def __init__(self, file):
        self.face = outline.Face(file)

    def can(self, word):
        return self.face.can(word)

    def glyphs(self, word):
        out = []
        for name, x, y in self.face.set(word)[0]:
            pen = Shape(self.face.glyphs)
            self.face.glyphs[name].draw(pen)
            if pen.lines:
                out.append([[(px + x, py + y) for px, py in line] for line in pen.lines])
        return out

    closed = True


class Stick:
    """A word in a single-line face: glyphs of open polylines, y up."""

    def __init__(self, name):
        self.face = HersheyFonts()
        self.face.load_default_font(name)

    def can(self, word):
        return word.isascii()

    def glyphs(self, word):
        strokes = [list(map(tuple, s)) for s in self.face.strokes_for_text(word)]
        # y down in this package.
        return [[[(x, -y) for x, y in s]] for s in strokes if len(s) > 1]

    closed = False


def motion(kind):
    """A 2 by 2 matrix, y down."""
    return {None: (1, 0, 0, 1), "turned": (-1, 0, 0, -1), "mirrored": (-1, 0, 0, 1),
            "quarter": (0, -1, 1, 0)}[kind]


def laid(glyphs, wide, high):
    """Glyphs scaled into a box about the origin, y down."""
    points = [p for g in glyphs for line in g for p in line]
    x0, x1 = min(p[0] for p in points), max(p[0] for p in points)
    y0, y1 = min(p[1] for p in points), max(p[1] for p in points)
    scale = min(wide / max(x1 - x0, 1e-9), high / max(y1 - y0, 1e-9))
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    return [[[((x - cx) * scale, -(y - cy) * scale) for x, y in line] for line in g] for g in glyphs]


def welded(glyphs):
    """Glyphs united into one outline: those that touch become one."""
    path = pathops.Path()
    pen = path.getPen()
    for line in (line for g in glyphs for line in g):
        pen.moveTo(line[0])
        for p in line[1:]:
            pen.lineTo(p)
        pen.closePath()
    path.simplify(fix_winding=True)
    return [[[p for _, points in contour.segments for p in points] for contour in path.contours]]


def hatched(glyphs):
    """The lines that fill glyphs by the non-zero rule."""
    edges = [(a, b) for g in glyphs for line in g for a, b in zip(line, line[1:] + line[:1]) if a[1] != b[1]]
    y, end = min(min(a[1], b[1]) for a, b in edges) + HATCH / 2, max(max(a[1], b[1]) for a, b in edges)
    out = []
    while y < end:
        cuts = sorted((a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]), 1 if b[1] > a[1] else -1)
                      for a, b in edges if (a[1] <= y) != (b[1] <= y))
        winding, start = 0, None
        for x, way in cuts:
            if winding == 0:
                start = x
            winding += way
            if winding == 0 and x > start:
                out.append([(start, y), (x, y)])
        y += HATCH
    return [out]


def drawn(glyphs, centre, make, closed, dice, extra=()):
    """Paths of one pocket; `extra` are lines of the dress."""
    if make == "hatch":
        glyphs, extra, closed = hatched([*glyphs, *extra]), (), False
    elif make == "welded":
        glyphs = welded(glyphs)

    def data(lines):
        jitter = 0.012 if make == "traced" else 0.0
        return " ".join(
            "M" + " L".join(
                f"{x + centre[0] + dice.uniform(-jitter, jitter):.3f} "
                f"{y + centre[1] + dice.uniform(-jitter, jitter):.3f}" for x, y in line)
            + (" Z" if closed else "") for line in lines)

    if closed and make != "outline":
        paint = 'fill="#1b1b1b"'
    else:
        width = HATCHED if make == "hatch" else 0.25
        paint = f'fill="none" stroke="#1b1b1b" stroke-width="{width}" stroke-linecap="round"'
    by_letter = make in ("letters", "compound", "stroke")
    groups = glyphs if by_letter else [[line for g in glyphs for line in g]]
    out = [(data(lines), paint) for lines in groups if lines]
    out += [(data(lines), paint) for lines in extra if lines]
    return out


def ring(rx, ry, sides):
    from math import cos, pi, sin
    return [(rx * cos(2 * pi * k / sides), ry * sin(2 * pi * k / sides)) for k in range(sides)]


HEART = [(0, -7), (2.5, -11), (1, -13), (0, -12), (-1, -13), (-2.5, -11)]


def dressed(dress, face, dice):
    """Lines that come with a name that lies right: a frame round it, a date under it, a heart over it."""
    if dress == "surround":
        outer = [(-11, -5), (11, -5), (11, 5), (-11, 5), (-11, -5)]
        return [[outer, [(x * 0.96, y * 0.92) for x, y in outer][::-1]]]
    if dress == "ornament":
        return [[[*HEART, HEART[0]]]]
    if dress == "date":
        year = str(dice.randint(1900, 2049))
        if face.can(year):
            return [[[(x, y + 7) for x, y in line] for line in g]
                    for g in laid(face.glyphs(year), 8, 2.5)]
    return []


def framed(centre, kind):
    """A frame round a name, drawn as a line."""
    x, y = (11, 5.5) if kind != "quarter" else (5.5, 11)
    return (f"M{centre[0] - x} {centre[1] - y} h{2 * x} v{2 * y} h{-2 * x} Z",
            'fill="none" stroke="#1b1b1b" stroke-width="0.25"')


def put(glyphs, kind):
    """All that a pocket holds, put through a motion."""
    a, b, c, d = motion(kind)
    return [[[(a * x + b * y, c * x + d * y) for x, y in line] for line in g] for g in glyphs]


def face_of(style, name, work, npm):
    if style == "stick":
        return Stick(name)
    file = os.path.join(work, "fonts", name + ".ttf")
    if not os.path.exists(file):
        os.makedirs(os.path.dirname(file), exist_ok=True)
        own = os.path.join(npm, "node_modules", "@fontsource", name, "files",
                           f"{name}-latin-400-normal.woff2")
        font = TTFont(own)
        font.flavor = None
        font.save(file)
    return Outlined(file)


def styles(work, npm, times, split):
    lists = outline.pool()
    parts, truth = [], {}
    for style, names in STYLES[split].items():
        faces = [face_of(style, name, work, npm) for name in names]
        for number in range(times):
            which = number % len(names)
            name, face = names[which], faces[which]
            dice = outline.dice("table", style, name, number)
            case = dice.choice(["Title", "Title", "UPPER", "lower"])
            count = 60 if number == 0 else dice.choice(COUNTS)
            # Each face in turn with each way to plant.
            planted = PLANTED[(number // len(names) + which) % len(PLANTED)]
            kind = dice.choice(KINDS) if planted != "none" else None
            words = outline.draw(dice, face, lists, case, max(count, 12)) if style != "stick" else \
                plain(dice, lists, case, max(count, 12))
            words = words[:count]
            places = SIXTY if count == 60 else PLACES
            free = [i for i, w in enumerate(words)
                    if kind in (None, "quarter") or outline.plantable(w, kind == "mirrored")]
            share = {"none": 0, "one": 1, "half": max(1, count // 2), "all": count}[planted]
            wrong = sorted(dice.sample(free, min(share, len(free))))
            dress = dice.choice(DRESSES)
            make = dice.choice(MAKES) if style != "stick" else "stroke"
            line = dress == "surround" and number % 2
            paths = []
            for i, word in enumerate(words):
                glyphs = laid(face.glyphs(word), WIDE, HIGH if dress != "surround" else 6)
                own = kind if i in wrong else None
                beside = [] if line else put(dressed(dress, face, dice), own)
                paths.append(drawn(put(glyphs, own), places[i], make, face.closed, dice, beside))
            if make == "compound":
                all_data = " ".join(d for pocket in paths for d, _ in pocket)
                paths = [[(all_data, paths[0][0][1])]]
            if line:
                paths.append([framed(places[i], kind if i in wrong else None) for i in range(count)])
            write(work, f"{style}-{name}-{number}", paths, parts, truth, {
                "table": "styles", "row": style, "planted": planted, "kind": kind, "count": count,
                "dress": dress, "make": make, "wrong": wrong, "words": words})
    return parts, truth


def again(work, npm, times, split):
    """Eleven names that tell, and one that does not, turned or in a mirror."""
    lists = outline.pool()
    parts, truth = [], {}
    for style, names in STYLES[split].items():
        if style == "stick":
            continue
        for number in range(times):
            name = names[number % len(names)]
            face = face_of(style, name, work, npm)
            dice = outline.dice("again", style, name, number)
            kind = ("turned", "mirrored")[number // len(names) % 2]
            word = dice.choice(AGAIN[kind])
            case = "UPPER" if word.isupper() else "lower" if word.islower() else "Title"
            words = outline.draw(dice, face, lists, case, 11)
            at = dice.randrange(12)
            words.insert(at, word)
            make = dice.choice(("word", "letters", "traced", "welded", "hatch"))
            paths = [drawn(put(laid(face.glyphs(w), WIDE, HIGH), kind if i == at else None), PLACES[i], make,
                           True, dice) for i, w in enumerate(words)]
            write(work, f"again-{style}-{name}-{number}", paths, parts, truth, {
                "table": "again", "row": f"{style}, {kind}", "planted": "again", "kind": kind, "count": 12,
                "dress": "plain", "make": make, "wrong": [at], "words": words})
    return parts, truth


def plain(dice, lists, case, count):
    out = []
    while len(out) < count:
        word = outline.cased(dice.choice(dice.choice(lists)), case)
        if word not in out and word.isascii():
            out.append(word)
    return out


def write(work, run, paths, parts, truth, facts):
    body = "".join(f'<path d="{d}" {paint}/>\n' for pocket in paths for d, paint in pocket)
    file = os.path.join(work, run + ".svg")
    with open(file, "w", encoding="utf-8") as out:
        out.write(PAGE + body + "</svg>\n")
    parts.append(file)
    truth[file] = facts


def scripts(work, debian, times):
    parts, truth = [], {}
    for script, (name, first, last) in SCRIPTS.items():
        file = glob.glob(os.path.join(debian, "**", name + ".ttf"), recursive=True)[0]
        face = Outlined(file)
        letters = [chr(c) for c in range(first, last + 1) if c in face.face.has and chr(c).isalpha()]
        for number in range(times):
            dice = outline.dice("script", script, number)
            words = ["".join(dice.choice(letters) for _ in range(dice.randint(3, 9))) for _ in range(12)]
            make = dice.choice(("word", "letters"))
            # Half of the runs are right, a quarter wrong as a whole, and a quarter have one odd word.
            planted = ("none", "all", "none", "odd")[number % 4]
            kind = None if planted == "none" else KINDS[number // 4 % 2]
            wrong = {"none": [], "all": list(range(12)), "odd": [number % 12]}[planted]
            paths = [drawn(put(laid(face.glyphs(word), WIDE, HIGH), kind if i in wrong else None), PLACES[i], make,
                           True, dice) for i, word in enumerate(words)]
            write(work, f"script-{script.replace(', ', '-')}-{number}", paths, parts, truth, {
                "table": "scripts", "row": script, "planted": planted, "kind": kind, "count": 12,
                "dress": "plain", "make": make, "wrong": wrong, "words": words})
    return parts, truth


def pieces(sort, dice):
    """The parts in a row of a piece of art that is no lettering."""
    arrow = [(0, 1), (3, 1), (3, 2.5), (6, 0), (3, -2.5), (3, -1), (0, -1)]
    turn = lambda line, k: [[(x, y), (-y, x), (-x, -y), (y, -x)][k % 4] for x, y in line]
    at = lambda line, dx, dy=0.0: [(x + dx, y + dy) for x, y in line]
    box = lambda w, h: [(0, 0), (w, 0), (w, h), (0, h)]
    count = dice.randint(4, 8)
    if sort == "arrows":
        return [[at(turn(arrow, dice.randint(0, 3)), 8 * k)] for k in range(count)]
    if sort == "bars and dots":
        return [[at(box(1.5, dice.uniform(2, 9)), 3 * k)] if dice.random() < 0.6
                else [at(ring(1.2, 1.2, 24), 3 * k + 0.7, dice.uniform(1, 7))] for k in range(count)]
    if sort == "stars and polygons":
        out = []
        for k in range(count):
            n = dice.randint(3, 8)
            star = [(x * r, y * r) for j, (x, y) in enumerate(ring(3, 3, 2 * n))
                    for r in [1 if j % 2 else dice.choice((0.45, 0.9))]]
            out.append([at(star, 7.5 * k)])
        return out
    # Steps, hooks and combs: boxes that hang together in any way.
    out = []
    for k in range(count):
        w, h = dice.uniform(2, 5), dice.uniform(3, 7)
        hook = [(0, 0), (w, 0), (w, h * dice.uniform(0.2, 0.5)), (w * 0.4, h * 0.5), (w * 0.4, h), (0, h)]
        if dice.random() < 0.5:
            hook = [(w - x, y) for x, y in hook]
        if dice.random() < 0.5:
            hook = [(x, h - y) for x, y in hook]
        out.append([at(hook, 6 * k)])
    return out


def art(work, times):
    parts, truth = [], {}
    for sort in SORTS:
        for number in range(times):
            dice = outline.dice("art", sort, number)
            paths = []
            for place in PLACES:
                glyphs = laid(pieces(sort, dice), WIDE, HIGH)
                paths.append(drawn(glyphs, place, dice.choice(("word", "letters")), True, dice))
            write(work, f"art-{sort.replace(' ', '-')}-{number}", paths, parts, truth, {
                "table": "art", "row": sort, "planted": "none", "kind": None, "count": 12,
                "dress": "plain", "make": "word", "wrong": [], "words": [sort] * 12})
    return parts, truth


def even(glyphs, kind):
    """Whether a piece is the same again after a motion about its middle: then nothing is wrong with it."""
    corners = lambda all_: sorted((round(x, 6) + 0.0, round(y, 6) + 0.0) for g in all_ for line in g for x, y in line)
    return corners(glyphs) == corners(put(glyphs, kind))


def among(work, npm, times, split):
    """Eleven names, and one piece of art that is no lettering: right, turned, or in a mirror."""
    lists = outline.pool()
    parts, truth = [], {}
    for style, names in STYLES[split].items():
        for number in range(times):
            name = names[number % len(names)]
            face = face_of(style, name, work, npm)
            dice = outline.dice("among", style, name, number)
            sort, kind = SORTS[number % 4], (None, "turned", "mirrored")[number // 4 % 3]
            case = dice.choice(["Title", "UPPER", "lower"])
            words = plain(dice, lists, case, 11) if style == "stick" else outline.draw(dice, face, lists, case, 11)
            at = dice.randrange(12)
            words.insert(at, sort)
            piece = laid(pieces(sort, dice), WIDE, HIGH)
            while kind and even(piece, kind):
                piece = laid(pieces(sort, dice), WIDE, HIGH)
            paths = [drawn(put(piece, kind), PLACES[i], "word", True, dice) if i == at else
                     drawn(laid(face.glyphs(w), WIDE, HIGH), PLACES[i], "word", face.closed, dice)
                     for i, w in enumerate(words)]
            write(work, f"among-{style}-{name}-{number}", paths, parts, truth, {
                "table": "among", "row": f"{sort}, {kind or 'right'}", "planted": "odd" if kind else "none",
                "kind": kind, "count": 12, "dress": "plain", "make": "word", "wrong": [at] if kind else [],
                "words": words})
    return parts, truth


def sixty(work):
    """The fixture of sixty plain tags."""
    folder = os.path.join(work, "sixty")
    os.makedirs(folder, exist_ok=True)
    (w, h) = HALF
    pockets = "".join(f'<path d="M{x - w} {y - h}H{x + w}V{y + h}H{x - w}Z"/>\n' for x, y in SIXTY)
    with open(os.path.join(folder, "fixture.svg"), "w", encoding="utf-8") as out:
        out.write(PAGE + '<g fill="none" stroke="#7b2d8b" stroke-width="0.1">\n<path d="M2 2H598V398H2Z"/>\n'
                  + pockets + "</g>\n</svg>\n")
    with open(os.path.join(folder, "fixture.toml"), "w", encoding="utf-8") as out:
        out.write(f"""[fixture]
name = "Plain tags, sixty up"
drawing = "fixture.svg"
stops = "front-left"
[bed]
width = "600 mm"
height = "400 mm"
[paints]
cut = ["#7b2d8b"]
engrave = ["#1b1b1b"]
[blank]
size = ["{2 * w} mm", "{2 * h} mm"]
head = "back"
[zone]
margin = "2 mm"
tops = "head"
""")


def main(work, debian, npm, times, what="all", split="test"):
    os.makedirs(work, exist_ok=True)
    sixty(work)
    files, truth = [], {}
    for name, made in (("styles", lambda: styles(work, npm, int(times), split)),
                       ("again", lambda: again(work, npm, int(times), split)),
                       ("scripts", lambda: scripts(work, debian, int(times))),
                       ("art", lambda: art(work, int(times))),
                       ("among", lambda: among(work, npm, int(times), split))):
        if what in (name, "all"):
            own, facts = made()
            files += own
            truth.update(facts)
    with open(os.path.join(work, "truth.json"), "w", encoding="utf-8") as out:
        json.dump(truth, out, ensure_ascii=False)
    print(f"{len(files)} runs", file=sys.stderr)


if __name__ == "__main__":
    main(*sys.argv[1:])
