"""The five main checks in plain Python, for a comparison: what a shop could write in an afternoon with
svgelements (reads SVG) and shapely (areas), and no more.

    checks.py FIXTURE RUN...

1 a pocket's outline moved    2 a fixture line still cut    3 outlines past the zone
4 live lettering upside down  5 ink outside the bed

It reads no CSS beyond what svgelements does, lays out no lettering, knows no clips, masks or hidden
layers, and nothing that it cannot read is reported.
"""

import json
import math
import sys
import tomllib
from pathlib import Path

import shapely
import svgelements as svg
from shapely.geometry import LineString, Polygon, box

MM = 25.4 / 96
PLACE = 0.1  # how far an outline may be off, as the settings of the examples have it
STEPS = 12  # straight pieces to a curve


def length(text):
    """Millimetres of "600 mm" and the like."""
    number, unit = text.split()
    return float(number) * {"mm": 1, "cm": 10, "in": 25.4}[unit]


def rings(path, scale):
    """Every subpath as points in millimetres, and whether it is closed."""
    for sub in path.as_subpaths():
        points, closed = [], False
        for part in svg.Path(sub):
            if isinstance(part, svg.Move):
                points.append((part.end.x * scale, part.end.y * scale))
            elif isinstance(part, svg.Line):
                points.append((part.end.x * scale, part.end.y * scale))
            elif isinstance(part, svg.Close):
                closed = True
            else:
                for i in range(1, STEPS + 1):
                    p = part.point(i / STEPS)
                    points.append((p.x * scale, p.y * scale))
        if len(points) > 1:
            yield points, closed or points[0] == points[-1]


def area(points):
    shape = Polygon(points)
    return shape if shape.is_valid else shape.buffer(0)


class Fixture:
    def __init__(self, folder):
        folder = Path(folder)
        settings = tomllib.loads((folder / "fixture.toml").read_text())
        lock = json.loads((folder / "fixture.lock.json").read_text())
        bed = settings["bed"]
        keep = length(bed["keep-clear"]) if isinstance(bed.get("keep-clear"), str) else 0
        self.bed = box(
            keep, keep, length(bed["width"]) - keep, length(bed["height"]) - keep
        )
        self.operation = {}
        for operation in ("cut", "score", "engrave", "off"):
            for paint in settings["paints"].get(operation, []):
                self.operation[paint.lower()] = operation
        self.outlines = [
            [p for p, _ in rings(svg.Path(o["path"]), 1)][0] for o in lock["outlines"]
        ]
        self.lines = [LineString(o + o[:1]) for o in self.outlines]
        self.pockets = []
        for pocket in lock["pockets"]:
            zone = [area(p) for p, _ in rings(svg.Path(pocket["zone"]), 1)]
            outline = area(self.outlines[pocket["outline"]])
            self.pockets.append(
                (pocket["name"], outline, shapely.union_all(zone), pocket["head"])
            )


def inspect(fixture, file):
    """What is wrong with a run, as (check, pocket) pairs."""
    found = set()
    drawing = svg.SVG.parse(str(file), reify=True)
    ink = []
    lines = []
    for element in drawing.elements():
        if isinstance(element, svg.Text):
            operation = paint(fixture, element.fill)
            if operation in (None, "off"):
                continue
            m = element.transform
            at = m.point_in_matrix_space((element.x or 0, element.y or 0))
            here = shapely.Point(at.x * MM, at.y * MM)
            for name, outline, _, head in fixture.pockets:
                if outline.contains(here):
                    up = math.degrees(math.atan2(-m.c, m.d))
                    turn = (up - head + 180) % 360 - 180
                    if abs(turn) > 45:
                        found.add(("upside-down", name))
            if not fixture.bed.contains(here):
                found.add(("outside-bed", None))
        elif isinstance(element, svg.Shape):
            path = svg.Path(element)
            stroke = paint(fixture, element.stroke)
            fill = paint(fixture, element.fill)
            for points, closed in rings(path, MM):
                if stroke is not None:
                    lines.append((stroke, points, closed))
                if fill not in (None, "off") and len(points) > 3:
                    ink.append(area(points))
                elif stroke not in (None, "off"):
                    half = (element.stroke_width or 0) * MM / 2
                    ink.append(LineString(points).buffer(max(half, 0.005)))
    taken = set()
    for index, line in enumerate(fixture.lines):
        near = [
            (line.hausdorff_distance(LineString(p + p[:1])), operation, i)
            for i, (operation, p, closed) in enumerate(lines)
            if closed and abs(LineString(p).length - line.length) < 0.2 * line.length
        ]
        name = next(
            (n for (n, *_), o in zip(fixture.pockets, fixture.outlines) if o is fixture.outlines[index]),
            None,
        )
        if not near:
            continue
        distance, operation, i = min(near)
        taken.add(i)
        if distance > PLACE and distance < 20:
            found.add(("pocket-moved", name))
        if operation != "off":
            found.add(("fixture-still-cut", name))
    fixture_ink = [LineString(lines[i][1]) for i in taken]
    for shape in ink:
        if any(shape.boundary.distance(f) < 0.2 and shape.intersects(f) for f in fixture_ink):
            continue
        if not fixture.bed.contains(shape):
            found.add(("outside-bed", None))
        for name, outline, zone, _ in fixture.pockets:
            if outline.intersection(shape).area > 0.5 * shape.area:
                if shape.difference(zone.buffer(0.02)).area > 0:
                    found.add(("past-zone", name))
    return sorted(found, key=str)


def paint(fixture, colour):
    """The operation of a paint; None for no paint."""
    if colour is None or colour.value is None:
        return None
    return fixture.operation.get(colour.hex[:7].lower(), "unknown")


def main():
    fixture = Fixture(sys.argv[1])
    for file in sys.argv[2:]:
        found = inspect(fixture, file)
        verdict = "HOLD" if found else "CLEAR"
        print(verdict, file, ", ".join(f"{c} {p}" if p else c for c, p in found))


if __name__ == "__main__":
    main()
