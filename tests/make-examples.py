#!/usr/bin/env python3
"""Writes the artwork of fixtures-examples/: drawings and run files, not settings, locks or texts.

    pip install fonttools
    tests/make-examples.py "$(find ~/.cargo/registry/src -name Ubuntu-Light.ttf | head -1)"

The committed files are what counts; this is how they were made, and how to make more of their
kind. The same input gives the same files. After a change to a drawing, enrol its folder again.
"""

import base64
import math
import struct
import sys
import zlib
from pathlib import Path

from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

EXAMPLES = Path(__file__).resolve().parent.parent / "fixtures-examples"
FACE = TTFont(sys.argv[1])
EM = FACE["head"].unitsPerEm
GLYPHS = FACE.getGlyphSet()
CMAP = FACE.getBestCmap()

CUT, SCORE, ENGRAVE, OFF = "#7b2d8b", "#0a7d55", "#1b1b1b", "#9aa0a6"
LIVE = f'font-family="Ubuntu" font-weight="300" text-anchor="middle" fill="{ENGRAVE}"'


def n(value):
    """A number as short as it can be, to a thousandth."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def write(folder, name, expect, head, body):
    path = EXAMPLES / folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = [head]
    if expect:
        lines.append(f"<!-- expect: {expect} -->")
    lines += [line for line in body if line]
    path.write_text("\n".join(lines) + "\n</svg>\n", encoding="utf-8")


class Relative(SVGPathPen):
    """Path data in relative steps of a hundredth, so that a name stays short enough to read."""

    def __init__(self):
        super().__init__(GLYPHS)
        self.text, self.at = "", (0, 0)

    def step(self, letter, *points):
        parts = [(round(x * 100) - self.at[0], round(y * 100) - self.at[1]) for x, y in points]
        numbers = [n(v / 100).replace("0.", ".") if abs(v) < 100 else n(v / 100) for p in parts for v in p]
        self.text += letter + " ".join(numbers).replace(" -", "-")
        self.at = (self.at[0] + parts[-1][0], self.at[1] + parts[-1][1])

    def _moveTo(self, point):
        self.start = (round(point[0] * 100), round(point[1] * 100))
        self.step("m", point)

    def _lineTo(self, point):
        self.step("l", point)

    def _qCurveToOne(self, control, point):
        self.step("q", control, point)

    def _closePath(self):
        self.text += "z"
        self.at = self.start


def outlined(text, x, y, size):
    """The outlines of a centred line of lettering, as path data (no kerning: a shop's editor has
    its own idea of it, and nothing here depends on it)."""
    width = sum(GLYPHS[CMAP[ord(c)]].width for c in text) * size / EM
    at, pen = x - width / 2, Relative()
    for c in text:
        glyph = GLYPHS[CMAP[ord(c)]]
        glyph.draw(TransformPen(pen, (size / EM, 0, 0, -size / EM, at, y)))
        at += glyph.width * size / EM
    return pen.text


def picture(width, height, dark):
    """A grey PNG with transparent ground; `dark(x, y)` in 0..1 says what is inked."""
    rows = b""
    for row in range(height):
        pixels = (
            0 if dark((col + 0.5) / width, (row + 0.5) / height) else 1 for col in range(width)
        )
        bits = "".join(map(str, pixels)).ljust((width + 7) // 8 * 8, "1")
        rows += b"\0" + int(bits, 2).to_bytes(len(bits) // 8, "big")

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    png = (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(rows, 9))
        + chunk(b"IEND", b"")
    )
    return "data:image/png;base64," + base64.b64encode(png).decode()


def bee(x, y):
    """A bee from above, its head at the top: two wings, a striped body, two feelers."""
    x, y = (x - 0.5) * 2, (y - 0.5) * 2

    def oval(cx, cy, rx, ry, turn=0.0):
        s, c = math.sin(math.radians(turn)), math.cos(math.radians(turn))
        u, v = (x - cx) * c + (y - cy) * s, (y - cy) * c - (x - cx) * s
        return (u / rx) ** 2 + (v / ry) ** 2 <= 1

    body = oval(0, 0.3, 0.3, 0.58) and int((y + 0.3) * 6) % 2 == 0
    wings = oval(-0.55, -0.05, 0.42, 0.2, 20) or oval(0.55, -0.05, 0.42, 0.2, -20)
    head = oval(0, -0.45, 0.24, 0.2)
    feelers = abs(abs(x) - (-0.6 - y) * 0.6 - 0.06) < 0.05 and -0.92 < y < -0.58
    return body or wings or head or feelers


# --- hive-tags ---------------------------------------------------------------------------------

TAGS = "hive-tags"
BED = 'width="600mm" height="400mm" viewBox="0 0 600 400"'
SVG = '<svg xmlns="http://www.w3.org/2000/svg" {}>'
HEAD = SVG.format(BED)
NAMES = ["Bramble", "Clover", "Sorrel", "Tansy", "Yarrow", "Heather",
         "Linden", "Mallow", "Borage", "Teasel", "Vetch", "Comfrey"]
POCKETS = {f"{row}{col + 1}": (8 + 36 * col, back) for row, back in (("A", 296), ("B", 196)) for col in range(6)}
SHEET = "M0 184H224V400H0z"
ARROW = "M3 397h8l-8-8z"


def tag(x, back, long=92):
    """A tag of 28 × 92: a body of 28 × 64 at the front, a rounder head of 20 × 28 at the back."""
    return (f"M{n(x + 3)} {n(back + long)}h22a3 3 0 0 0 3-3v-{n(long - 35)}a4 4 0 0 0-4-4v-18"
            f"a10 10 0 0 0-20 0v18a4 4 0 0 0-4 4v{n(long - 35)}a3 3 0 0 0 3 3z")


def lines(pocket_paint=OFF, mark_paint=None, instead=None, attributes=""):
    """The fixture's own lines; `instead` replaces single ones by name ("" leaves one out)."""
    instead = instead or {}
    out = [f'<g fill="none" stroke="{pocket_paint}" stroke-width="0.1"{attributes}>',
           f'<path d="{SHEET}"/>']
    for name, (x, back) in POCKETS.items():
        out.append(instead.get(name, f'<path d="{tag(x, back)}"/>'))
    mark = f' stroke="{mark_paint}"' if mark_paint else ""
    out.append(instead.get("arrow", f'<path d="{ARROW}"{mark}/>'))
    return [*out, "</g>"]


def middle(name):
    """Where the baseline of a one-line name stands: the middle of the zone."""
    x, back = POCKETS[name]
    return x + 14, back + 62


def name_in(pocket, text, size=5, extra=""):
    x, y = middle(pocket)
    return f'<text x="{n(x)}" y="{n(y)}" font-size="{n(size)}"{extra}>{text}</text>'


def names(instead=None):
    """Twelve names; `instead` replaces single ones by pocket."""
    instead = instead or {}
    out = [f"<g {LIVE}>"]
    for pocket, text in zip(POCKETS, NAMES):
        out.append(instead.get(pocket, name_in(pocket, text)))
    return [*out, "</g>"]


def bee_in(pocket, size=16, extra=""):
    x, y = middle(pocket)
    return (f'<image x="{n(x - size / 2)}" y="{n(y - 2 - size / 2)}" width="{n(size)}" '
            f'height="{n(size)}"{extra} href="{picture(160, 160, bee)}"/>')


def tags(name, expect, body, head=HEAD):
    write(TAGS, name, expect, head, body)


def hive_tags():
    tags("fixture.svg", None, lines(CUT, SCORE))

    # Clear.
    tags("clear/live-lettering.svg", "clear", [*lines(), *names()])
    letters = [f'<g fill="{ENGRAVE}">']
    letters += [f'<path d="{outlined(t, *middle(p), 5)}"/>' for p, t in zip(POCKETS, NAMES)]
    tags("clear/outlined-lettering.svg", "clear", [*lines(), *letters, "</g>"])
    tags("clear/picture.svg", "clear", [*lines(), *names({"A3": bee_in("A3")})])
    hidden = lines(CUT, SCORE, attributes=' display="none"')
    tags("clear/lines-hidden.svg", "clear", [*hidden, *names()])
    tags("clear/lines-absent.svg", "clear, fixture-absent", names())
    # An editor's own way: one compound path, a layer, classes, points as the unit.
    k = 72 / 25.4
    compound = " ".join([SHEET, *(tag(*p) for p in POCKETS.values()), ARROW])
    tags("clear/in-points.svg", "clear", [
        "<style>.line{fill:none;stroke:" + OFF + ";stroke-width:.1}"
        ".name{font:300 5px Ubuntu;text-anchor:middle;fill:" + ENGRAVE + "}</style>",
        f'<g id="layer1" transform="scale({k:.7f})">',
        f'<path class="line" d="{compound}"/>',
        *(name_in(p, t).replace('font-size="5"', 'class="name"') for p, t in zip(POCKETS, NAMES)),
        "</g>",
    ], SVG.format(f'width="{600 * k:.5f}pt" height="{400 * k:.5f}pt" viewBox="0 0 {600 * k:.5f} {400 * k:.5f}"'))

    # A look.
    tags("look/fixture-absent--names-alone.svg", "fixture-absent", names())
    x, y = middle("A3")
    tags("look/too-fine--hairline.svg", "too-fine A3",
         [*lines(), *names(), f'<path d="M{x - 8} {y + 4}h16" fill="none" stroke="{ENGRAVE}" stroke-width="0.08"/>'])
    tags("look/letter-too-small--batch-number.svg", "letter-too-small B4",
         [*lines(), *names(), f'<g {LIVE}>', name_in("B4", "Lot 7", 2.4, f' dy="8" stroke="{ENGRAVE}" stroke-width="0.1"'), "</g>"])
    tags("look/picture-coarse--stretched.svg", "picture-coarse A5",
         [*lines(), *names({"A5": bee_in("A5", 22)})])
    tags("look/pocket-bare--one-forgotten.svg", "pocket-bare B2", [*lines(), *names({"B2": ""})])

    # Hold: the fixture.
    tags("hold/fixture-shifted--dragged.svg", "fixture-shifted",
         ['<g transform="translate(3.2 -1.5)">', *lines(), *names(), "</g>"])
    k = 600 * 96 / 25.4
    # Short names in the first column: at three quarters of its place "Bramble" would lack run-out too.
    short = {p: name_in(p, t) for p, t in (("A1", "Ivy"), ("B1", "Rue"))}
    tags("hold/fixture-shifted--saved-at-72.svg", "fixture-shifted",
         [f'<g transform="scale({72 / 25.4:.7f})">', *lines(), *names(short), "</g>"],
         SVG.format(f'width="600mm" height="400mm" viewBox="0 0 {n(k)} {n(k * 2 / 3)}"'))
    tags("hold/fixture-shifted--turned-half-round.svg", "fixture-shifted",
         ['<g transform="rotate(180 112 292)">', *lines(), *names(), "</g>"])
    x, back = POCKETS["A3"]
    tags("hold/pocket-moved--nudged.svg", "pocket-moved A3",
         [*lines(instead={"A3": f'<path d="{tag(x + 0.3, back + 0.2)}"/>'}), *names()])
    x, back = POCKETS["B4"]
    tags("hold/pocket-moved--turned.svg", "pocket-moved B4",
         [*lines(instead={"B4": f'<path transform="rotate(0.5 {x + 14} {back + 46})" d="{tag(x, back)}"/>'}),
          *names()])
    x, back = POCKETS["B2"]
    tags("hold/pocket-reshaped--longer.svg", "pocket-reshaped B2",
         [*lines(instead={"B2": f'<path d="{tag(x, back, 93)}"/>'}), *names()])
    tags("hold/pocket-missing--deleted.svg", "pocket-missing B6",
         [*lines(instead={"B6": ""}), *names()])
    tags("hold/pocket-added--a-thirteenth.svg", "pocket-added",
         [*lines(), f'<path d="{tag(240, 296)}" fill="none" stroke="{OFF}" stroke-width="0.1"/>', *names()])
    tags("hold/page-changed--narrower.svg", "page-changed", [*lines(), *names()],
         SVG.format('width="500mm" height="400mm" viewBox="0 0 500 400"'))
    x, back = POCKETS["A5"]
    tags("hold/fixture-still-cut--one-outline.svg", "fixture-still-cut A5",
         [*lines(instead={"A5": f'<path stroke="{CUT}" d="{tag(x, back)}"/>'}), *names()])
    tags("hold/fixture-still-cut--loading-arrow.svg", "fixture-still-cut",
         [*lines(mark_paint=SCORE), *names()])
    x, y = middle("B3")
    tags("hold/stray-cut--a-line.svg", "stray-cut B3",
         [*lines(), *names(), f'<path d="M{x - 9} {y + 3}h18" fill="none" stroke="{CUT}" stroke-width="0.1"/>'])
    # Hold: the art.
    tags("hold/past-zone--long-name.svg", "past-zone A3",
         [*lines(), *names({"A3": name_in("A3", "Meadowsweet")})])
    x, _ = middle("B5")
    tags("hold/past-zone--into-the-head.svg", "past-zone B5",
         [*lines(), *names({"B5": f'<text x="{x}" y="226" font-size="5">Vetch</text>'})])
    x, y = middle("A2")
    tags("hold/off-blank--between-two.svg", "off-blank A2",
         [*lines(), *names({"A2": f'<text x="{x + 17.5}" y="{y + 12}" font-size="5">Clover</text>'})])
    tags("hold/off-blank--beside-the-sheet.svg", "off-blank",
         [*lines(), *names(), f'<text {LIVE} x="300" y="350" font-size="5">2 of 3</text>'])
    x, y = middle("B2")
    turned = f' transform="rotate(180 {x} {y - 2})"'
    tags("hold/upside-down--turned-about.svg", "upside-down B2",
         [*lines(), *names({"B2": name_in("B2", "Mallow", extra=turned)})])
    x, y = middle("A4")
    tags("hold/upside-down--on-its-side.svg", "upside-down A4",
         [*lines(), *names({"A4": name_in("A4", "Tansy", extra=f' transform="rotate(90 {x} {y - 2})"')})])
    x, y = middle("A3")
    tags("hold/upside-down--picture.svg", "upside-down A3",
         [*lines(), *names({"A3": bee_in("A3", extra=f' transform="rotate(180 {x} {y - 2})"')})])
    x, y = middle("A1")
    tags("hold/outside-bed--no-run-out.svg", "outside-bed A1",
         [*lines(), *names({"A1": name_in("A1", "Bramble", 6.4)})])
    tags("hold/pocket-unloaded--no-blank-there.svg", "pocket-unloaded B6", [*lines(), *names()])
    (EXAMPLES / TAGS / "hold/pocket-unloaded--no-blank-there.args").write_text("--loaded A1-A6,B1-B5\n")
    tags("hold/paint-unknown--nearly-black.svg", "paint-unknown B4",
         [*lines(), *names({"B4": name_in("B4", "Teasel", extra=' fill="#1c1b1b"')})])
    tags("hold/font-missing--not-at-hand.svg", "font-missing A4",
         [*lines(), *names({"A4": name_in("A4", "Tansy", extra=' font-family="Quillfern Script" font-weight="400"')})])
    x, y = middle("A2")
    old = f'<g {LIVE}>' + name_in("A2", "Willow") + "</g>"
    tags("hold/hidden-but-live--under-a-patch.svg", "hidden-but-live A2",
         [*lines(), old, f'<rect x="{x - 11}" y="{y - 6}" width="22" height="9" fill="{OFF}"/>',
          *names({"A2": name_in("A2", "Clover", extra=' dy="10"')})])
    tags("hold/hidden-but-live--fully-transparent.svg", "hidden-but-live B1",
         [*lines(), *names(), f'<g {LIVE} opacity="0">', name_in("B1", "Sage", extra=' dy="10"'), "</g>"])
    tags("hold/hidden-but-live--clipped-away.svg", "hidden-but-live A6",
         [*lines(), '<clipPath id="window"><rect x="300" y="300" width="20" height="20"/></clipPath>', *names(),
          f'<g {LIVE} clip-path="url(#window)">', name_in("A6", "Rue", extra=' dy="10"'), "</g>"])
    tags("hold/doubled--pasted-twice.svg", "doubled B5",
         [*lines(), *names(), f"<g {LIVE}>", name_in("B5", "Vetch"), "</g>"])
    x, y = middle("A4")
    tags("hold/doubled--rule-over-rule.svg", "doubled A4",
         [*lines(), *names(), f'<g fill="none" stroke="{SCORE}" stroke-width="0.2">',
          f'<path d="M{x - 8} {y + 4}h12"/>', f'<path d="M{x + 8} {y + 4}h-12"/>', "</g>"])
    tags("clear/date-under-name.svg", "clear",
         [*lines(), *names({p: name_in(p, t, extra=' dy="-2.5"') + name_in(p, "14 May", 4.2, ' dy="3.5"')
                            for p, t in zip(POCKETS, NAMES)})])
    sorrel = outlined("Sorrel", *middle("A3"), 5)
    tags("clear/line-round-letters.svg", "clear",
         [*lines(), *names({"A3": f'<path d="{sorrel}"/>'}),
          f'<path d="{sorrel}" fill="none" stroke="{SCORE}" stroke-width="0.3"/>'])
    tags("hold/written-over--last-batch-under-it.svg", "written-over B1",
         [*lines(), *names({"B1": name_in("B1", "Sage") + name_in("B1", "Linden")})])
    x, y = middle("A4")
    tags("hold/written-over--outlined-under-live.svg", "written-over A4",
         [*lines(), f'<path fill="{ENGRAVE}" d="{outlined("Juniper", x, y - 1, 5)}"/>', *names()])
    x, y = middle("A6")
    tags("hold/not-proven--linked-picture.svg", "not-proven",
         [*lines(), *names(),
          f'<image x="{x - 8}" y="{y + 5}" width="16" height="16" href="crest.png"/>'])
    # Which way up, and whose name.
    x, y = middle("B3")
    tags("hold/mirrored--flipped.svg", "mirrored B3",
         [*lines(), *names({"B3": name_in("B3", "Borage", extra=f' transform="matrix(-1 0 0 1 {2 * x} 0)"')})])
    x, y = middle("A5")
    tags("look/tilted--by-hand.svg", "tilted A5",
         [*lines(), *names({"A5": name_in("A5", "Yarrow", extra=f' transform="rotate(3 {x} {y - 2})"')})])
    x, y = middle("B1")
    tags("look/off-centre--dragged.svg", "off-centre B1",
         [*lines(), *names({"B1": name_in("B1", "Linden", extra=' dx="-2.5"')})])
    x, y = middle("A2")
    leaf = f'<path transform="translate({x} {y + 8})" fill="{ENGRAVE}" d="M0 0c-4-1-6-4-5-9 5 0 8 3 7 7l4 5-1 1z"/>'
    tags("look/way-up-unknown--a-leaf.svg", "way-up-unknown A2", [*lines(), *names(), leaf])
    # A sprig under every name, drawn once and copied: the back row was turned with the copies.
    sprig = "M0 0c-4-1-6-4-5-9 5 0 8 3 7 7l4 5-1 1z"
    sprigs = [f'<path transform="translate({x} {n(y + 4.5)}){turn}" d="{sprig}"/>'
              for pocket in POCKETS for x, y in [middle(pocket)]
              for turn in [" rotate(180 0.3 -2.5)" if pocket.startswith("B") else ""]]
    high = {p: name_in(p, t, extra=' dy="-8"') for p, t in zip(POCKETS, NAMES)}
    tags("hold/upside-down--a-row-of-sprigs.svg", "upside-down",
         [*lines(), *names(high), f'<g fill="{ENGRAVE}">', *sprigs, "</g>"])
    tags("hold/name-placeholder--still-there.svg", "name-placeholder A6",
         [*lines(), *names({"A6": name_in("A6", "Name")})])

    listed = "--names orders.csv --column Name\n"
    rows = [f"{1001 + i},{t},{p}" for i, (p, t) in enumerate(zip(POCKETS, NAMES))]
    (EXAMPLES / TAGS / "hold/orders.csv").write_text("Order,Name,Tag\r\n" + "\r\n".join(rows) + "\r\n", newline="")

    def against(name, expect, instead, options=listed):
        tags(f"hold/{name}.svg", expect, [*lines(), *names(instead)])
        (EXAMPLES / TAGS / f"hold/{name}.args").write_text(options)

    against("name-missing--one-letter-off", "name-missing A3", {"A3": name_in("A3", "Sorel")})
    against("name-missing--two-exchanged", "name-missing B2, name-missing B4",
            {"B2": name_in("B2", "Teasel"), "B4": name_in("B4", "Mallow")},
            "--names orders.csv --column Name --pocket-column Tag\n")
    against("name-extra--from-last-week", "name-extra A4",
            {"A4": name_in("A4", "Tansy") + name_in("A4", "Basil", extra=' dy="9"')})
    against("name-twice--copied", "name-twice B6",
            {"B6": name_in("B6", "Comfrey") + name_in("B6", "Vetch", extra=' dy="9"')})


# --- round-coasters ----------------------------------------------------------------------------

COASTERS = "round-coasters"
ZONE = "#c2185b"
ROUND = {f"{row}{col + 1}": (58 + 104 * col, y) for row, y in (("A", 242), ("B", 138)) for col in range(3)}
TABLES = ["Heron", "Otter", "Plover", "Grebe", "Teal", "Dipper"]


def coaster_lines(paint=OFF, tick=None, zones=False, instead=None):
    instead = instead or {}
    tick = f' stroke="{tick}"' if tick else ""
    out = [f'<g fill="none" stroke="{paint}" stroke-width="0.1">',
           '<rect x="0" y="80" width="324" height="220"/>']
    for name, (x, y) in ROUND.items():
        out.append(instead.get(name, f'<circle cx="{x}" cy="{y}" r="48"/>'))
        out.append(f'<path d="M{x} {y - 49}v-2.5"{tick}/>')
    if zones:
        out.append(f'<g stroke="{ZONE}">')
        out += [f'<circle cx="{x}" cy="{y}" r="42"/>' for x, y in ROUND.values()]
        out.append("</g>")
    return [*out, "</g>"]


def table(pocket, text, size=16, extra=""):
    x, y = ROUND[pocket]
    return f'<text x="{n(x)}" y="{n(y + 5)}" font-size="{n(size)}"{extra}>{text}</text>'


def table_names(instead=None):
    instead = instead or {}
    out = [f"<g {LIVE}>"]
    out += [instead.get(p, table(p, t)) for p, t in zip(ROUND, TABLES)]
    return [*out, "</g>"]


def round_coasters():
    head = SVG.format('width="400mm" height="300mm" viewBox="0 0 400 300"')

    def put(name, expect, body):
        write(COASTERS, name, expect, head, body)

    def ring(pocket, words, turned):
        x, y = ROUND[pocket]
        r = 34
        ends = (x + r, x - r) if turned else (x - r, x + r)
        return (f'<path id="ring" fill="none" stroke="none" d="M{ends[0]} {y}A{r} {r} 0 0 1 {ends[1]} {y}"/>'
                f'<text font-size="7"><textPath href="#ring" startOffset="50%">{words}</textPath></text>')

    put("fixture.svg", None, coaster_lines(CUT, SCORE, True))
    put("clear/table-names.svg", "clear", [*coaster_lines(), *table_names()])
    put("clear/zones-left-in.svg", "clear", [*coaster_lines(zones=True), *table_names()])
    put("clear/round-the-rim.svg", "clear",
        [*coaster_lines(), *table_names({"A2": ring("A2", "At the Osier Weir", False)})])
    put("hold/past-zone--too-large.svg", "past-zone B3",
        [*coaster_lines(), *table_names({"B3": table("B3", "Dipper", 34)})])
    put("hold/upside-down--under-the-rim.svg", "upside-down A2",
        [*coaster_lines(), *table_names({"A2": ring("A2", "At the Osier Weir", True)})])
    x, y = ROUND["B1"]
    put("hold/pocket-moved--nudged.svg", "pocket-moved B1",
        [*coaster_lines(instead={"B1": f'<circle cx="{x - 0.5}" cy="{y}" r="48"/>'}), *table_names()])
    x, y = ROUND["A1"]
    put("hold/pocket-reshaped--smaller.svg", "pocket-reshaped A1",
        [*coaster_lines(instead={"A1": f'<circle cx="{x}" cy="{y}" r="47.5"/>'}), *table_names()])
    put("hold/fixture-still-cut--zones-and-all.svg", "fixture-still-cut",
        [*coaster_lines(CUT, SCORE, True), *table_names()])


# --- brass-fobs --------------------------------------------------------------------------------

FOBS = "brass-fobs"
FOB = {f"{row}{col + 1}": (0.35 + 4.95 * col, y) for row, y in
       (("A", 14.46), ("B", 12.92), ("C", 11.38), ("D", 9.84)) for col in range(2)}
ROOMS = ["Boiler", "Loft", "Cellar", "Dairy", "Stable", "Forge", "Cart shed", "Granary"]


def fob(x, y):
    """A fob of 4.6 × 1.19: a ring end of 1.97 × 0.8 to the left, a body of 2.63 × 1.19 to the right."""
    return (f"M{n(x + 4.5)} {n(y)}a.1 .1 0 0 1 .1 .1v.99a.1 .1 0 0 1-.1 .1h-2.43a.1 .1 0 0 1-.1-.1v-.095"
            f"h-1.57a.4 .4 0 0 1 0-.8h1.57v-.095a.1 .1 0 0 1 .1-.1z")


def brass_fobs():
    head = SVG.format('width="24in" height="16in" viewBox="0 0 24 16"')

    def put(name, expect, body, head=head):
        write(FOBS, name, expect, head, body)

    def fob_lines(paint=OFF, mark=None, instead=None):
        instead = instead or {}
        mark = f' stroke="{mark}"' if mark else ""
        out = [f'<g fill="none" stroke="{paint}" stroke-width=".004">', '<path d="M0 9.5H10.3V16H0z"/>']
        out += [instead.get(p, f'<path d="{fob(*at)}"/>') for p, at in FOB.items()]
        return [*out, f'<path d="M.1 15.9h.3l-.3-.3z"{mark}/>', "</g>"]

    def room(pocket, text, size=0.4, extra=""):
        x, y = FOB[pocket]
        return f'<text x="{n(x + 3.285)}" y="{n(y + 0.74)}" font-size="{n(size)}"{extra}>{text}</text>'

    def rooms(instead=None):
        instead = instead or {}
        return [f"<g {LIVE}>", *(instead.get(p, room(p, t)) for p, t in zip(FOB, ROOMS)), "</g>"]

    put("fixture.svg", None, fob_lines(CUT, SCORE))
    put("clear/rooms.svg", "clear", [*fob_lines(), *rooms()])
    put("hold/past-zone--long-room.svg", "past-zone D2",
        [*fob_lines(), *rooms({"D2": room("D2", "Threshing floor")})])
    x, y = FOB["B1"]
    put("hold/pocket-moved--a-sixteenth.svg", "pocket-moved B1",
        [*fob_lines(instead={"B1": f'<path d="{fob(x + 0.0625, y)}"/>'}), *rooms()])
    x, y = FOB["C2"]
    turned = f' transform="rotate(180 {n(x + 3.285)} {n(y + 0.595)})"'
    put("hold/upside-down--turned-about.svg", "upside-down C2",
        [*fob_lines(), *rooms({"C2": room("C2", "Forge", extra=turned)})])
    put("hold/fixture-shifted--one-inch-along.svg", "fixture-shifted",
        ['<g transform="translate(1 0)">', *fob_lines(), *rooms(), "</g>"])
    put("hold/fixture-shifted--lines-alone.svg", "fixture-shifted",
        ['<g transform="translate(.5 0)">', *fob_lines(), "</g>", *rooms()])
    x, y = FOB["B1"]
    year = f'<text x="{n(x + 3.285)}" y="{n(y + 1.113)}" font-size=".2">1987</text>'
    put("hold/past-zone--year-below.svg", "past-zone B1",
        [*fob_lines(), *rooms({"B1": room("B1", "Cellar") + year})])


# --- drawings: fixtures before they are cut ------------------------------------------------------

DRAWINGS = "drawings"
LABELS = """\
# Luggage labels of a ferry that never was: three of 30 x 60 mm, the strap's hole to the back.

[fixture]
name = "{name}"
drawing = "fixture.svg"
stops = "front-left"

[bed]
width = "300 mm"
height = "200 mm"

[paints]
cut = ["#7b2d8b"]
score = ["#0a7d55"]
engrave = ["#1b1b1b"]
off = ["#9aa0a6"]

[blank]
size = ["30 mm", "60 mm"]            # across, along
body = "46 mm"                       # from the tail: the end with the hole stays free
head = "back"
"""


def drawings():
    """Drawings for `enrol`: three pockets of 30.2 x 60.2, each with a scored tick at its head."""
    head = SVG.format('width="300mm" height="200mm" viewBox="0 0 300 200"')

    def box(x, y=130, w=30.2, h=60.2):
        return f'<rect x="{n(x)}" y="{n(y)}" width="{n(w)}" height="{n(h)}"/>'

    def put(name, expect, pockets=None, ticks=(8, 44, 80), more=(), sheet="M0 116H120V200H0z"):
        pockets = pockets or [box(8), box(44), box(80)]
        body = [f'<g fill="none" stroke="{CUT}" stroke-width="0.1">', f'<path d="{sheet}"/>', *pockets, *more]
        body += [f'<path d="M{n(x + 12.1)} 127h6l-3-4z" stroke="{SCORE}"/>' for x in ticks]
        write(f"{DRAWINGS}/{name}", "fixture.svg", expect, head, [*body, "</g>"])
        case = name.split("/")[1].replace("--", ": ").replace("-", " ")
        (EXAMPLES / DRAWINGS / name / "fixture.toml").write_text(LABELS.format(name=f"Labels, {case}"))

    put("clear/three-labels", "clear")
    put("hold/open-cut--last-side-missing", "open-cut",
        [box(8), '<path d="M44 130h30.2v60.2h-30.2v-59.6"/>', box(80)])
    put("hold/cut-twice--pasted-in-place", "cut-twice", more=[box(44)])
    put("hold/cut-twice--shared-side", "cut-twice", [box(8), box(44), box(74.2)], (8, 44, 74.2))
    put("hold/web-too-thin--pockets-overlap", "web-too-thin A2", [box(8), box(44), box(73)], (8, 44, 73))
    put("hold/outside-bed--page-too-far-left", "outside-bed A1, outside-bed", [box(-1), box(44), box(80)], (-1, 44, 80),
        sheet="M-9 116H120V200H-9z")
    put("look/web-too-thin--close-neighbours", "web-too-thin A2", [box(8), box(44), box(76)], (8, 44, 76))
    put("look/blank-does-not-fit--too-tight", "blank-does-not-fit A3", [box(8), box(44), box(80, w=29.5)])
    put("look/blank-does-not-fit--loose", "blank-does-not-fit A3", [box(8), box(44), box(80, h=62.4)])
    put("look/no-loading-mark--both-ends-alike", "no-loading-mark A3", ticks=(8, 44))


hive_tags()
round_coasters()
brass_fobs()
drawings()
