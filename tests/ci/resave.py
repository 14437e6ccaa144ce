#!/usr/bin/env python3
"""Re-saves every dialect and every example with general-purpose libraries, and inspects what they wrote.

    tests/ci/resave.py [--list]

Two tables. Rows of the first are dialects (the ways of writing a run that tests/dialects.rs goes
through, and the practice files), with every library's copy counted; rows of the second are the
libraries. Columns are faults: a cell says how many are still caught by the same rule (and in the same
pocket, for the dialects), of how many. "sound" says how many clear runs are clear still. A copy that a
library refuses to write is not counted, and told at the end. --list names every miss.

Needs cargo, node with npm, python3 with venv, rsvg-convert and pdftocairo; fetches svgo, paper-jsdom
and scour into target/ci. What a library changes in substance is told in EXPECTED: those misses are
counted after a plus sign, as are those where an independent renderer (rsvg-convert) shows that the copy
is another drawing: it is judged by what it now is. Status 1 where anything else is missed.
"""

import io
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WORK = ROOT / "target" / "ci"
EXAMPLES = ROOT / "fixtures-examples"
TOOL = Path(os.environ.get("JIGWARDEN") or ROOT / "target" / "release" / "jigwarden")

# Ways of saving that change what is drawn, as far as the comparison of pictures below cannot see it: the
# thing does not show, or the renderer itself does not follow it. By way, and by rule or dialect.
EXPECTED = {
    ("svgo", "doubled"): "joins two lines into one path; within one path only cuts and whole copies are told",
    ("svgo, many passes", "doubled"): "as above",
    ("svgo", "hidden-but-live"): "takes away what is fully transparent",
    ("paper", "practice files"): "knows no stylesheet and no lettering along a curve, and loses pictures",
    ("paper, applied", "practice files"): "as above",
    ("scour, short", "px"): "takes the page's size away; the file is held for that",
    ("scour, short", "no unit"): "as above",
    ("scour, short", "no viewBox"): "as above",
    ("scour, short", "practice files"): "takes away the id of a curve that lettering follows; held for that",
    ("cairo", "inches"): "rounds letters to a coarse grid; the pockets are named by way-up-unknown",
    ("cairo", "quarter millimetres"): "does not know the unit, and writes a page of another size",
    ("cairo", "font-missing"): "draws another face and turns it into outlines: what will be burnt is known",
    ("cairo", "not-proven"): "leaves out what is kept in another file: what will be burnt is known",
    ("cairo", "hidden-but-live"): "leaves out what does not show",
    ("cairo", "sound"): "turns a picture into a pattern, held as a paint that no operation claims",
    ("cairo", "upside-down"): "as above, and knows no lettering along a curve",
    ("PDF and back", "quarter millimetres"): "does not know the unit, and writes a page of another size",
    ("PDF and back", "font-missing"): "draws another face and turns it into outlines",
    ("PDF and back", "not-proven"): "leaves out what is kept in another file",
    ("PDF and back", "hidden-but-live"): "leaves out what does not show",
    ("PDF and back", "sound"): "rounds the page to whole points, and everything with it: lines are off their place",
    ("PDF and back", "upside-down"): "knows no lettering along a curve",
}

# How finely two drawings are rendered to be compared, in dots to a CSS pixel, and how much darker or
# lighter (of 255) a dot must be to have changed: a line of 0.1 mm covers some four tenths of one.
ZOOM, CHANGED = 1, 12


def run(*command, **more):
    return subprocess.run(command, capture_output=True, **more)


def prepare():
    WORK.mkdir(parents=True, exist_ok=True)
    if not (WORK / "node_modules" / "svgo").is_dir() or not (
        WORK / "node_modules" / "paper-jsdom"
    ).is_dir():
        subprocess.check_call(
            ["npm", "install", "--silent", "--no-audit", "--no-fund", "--prefix", str(WORK)]
            + ["svgo@3", "paper-jsdom@0.12"]
        )
    if not (WORK / "venv" / "bin" / "scour").exists():
        subprocess.check_call([sys.executable, "-m", "venv", str(WORK / "venv")])
        subprocess.check_call([str(WORK / "venv" / "bin" / "pip"), "install", "-q", "scour", "pillow"])
    # The face that the program brings along, for libraries that turn lettering into outlines.
    fonts = WORK / "fonts"
    fonts.mkdir(exist_ok=True)
    registry = Path(os.environ.get("CARGO_HOME", Path.home() / ".cargo")) / "registry" / "src"
    for face in registry.glob("*/epaint_default_fonts-*/fonts/*.ttf"):
        shutil.copy(face, fonts)
    (WORK / "fonts.conf").write_text(
        f"<?xml version='1.0'?><!DOCTYPE fontconfig SYSTEM 'fonts.dtd'><fontconfig><dir>{fonts}</dir>"
        f"<cachedir>{WORK}/fontcache</cachedir></fontconfig>"
    )
    os.environ["FONTCONFIG_FILE"] = str(WORK / "fonts.conf")
    if "JIGWARDEN" not in os.environ:
        subprocess.check_call(["cargo", "build", "--release", "--quiet", "--bin", "jigwarden"], cwd=ROOT)


SVGO = """
import { createRequire } from "node:module";
import { readFileSync, writeFileSync } from "node:fs";
const { optimize } = createRequire(process.argv[2] + "/package.json")("svgo");
const configs = {
  "svgo": { plugins: ["preset-default"] },
  "svgo, many passes": { multipass: true, floatPrecision: 3, plugins: [
    { name: "preset-default", params: { overrides: { removeViewBox: false, removeHiddenElems: false } } },
    "convertStyleToAttrs", "sortAttrs", "removeDimensions-not" ].filter((p) => p !== "removeDimensions-not") },
  "svgo, shapes to paths": { plugins: [
    { name: "convertShapeToPath", params: { convertArcs: true } },
    { name: "convertPathData", params: { floatPrecision: 4 } }, "convertTransform", "collapseGroups",
    "moveGroupAttrsToElems", "reusePaths" ] },
};
for (const job of JSON.parse(readFileSync(0, "utf8"))) {
  try {
    writeFileSync(job.out, optimize(readFileSync(job.in, "utf8"), { path: job.in, ...configs[job.way] }).data);
  } catch { /* no text in UTF-8, say: no copy is written */ }
}
"""

PAPER = """
import { createRequire } from "node:module";
import { readFileSync, writeFileSync } from "node:fs";
const paper = createRequire(process.argv[2] + "/package.json")("paper-jsdom");
for (const job of JSON.parse(readFileSync(0, "utf8"))) try {
  const text = readFileSync(job.in, "utf8");
  const head = /<svg[^>]*>/s.exec(text)[0];
  const attribute = (name) => (new RegExp(`\\\\s${name}=["']([^"']*)`).exec(head) ?? [])[1];
  const [x, y, w, h] = attribute("viewBox").split(/[ ,]+/).map(Number);
  paper.setup(new paper.Size(w, h));
  paper.project.importSVG(text, { expandShapes: false, applyMatrix: job.way.includes("applied") });
  let out = paper.project.exportSVG({ asString: true, bounds: new paper.Rectangle(x, y, w, h), matchShapes: true });
  // The library knows no physical size and moves the page's corner to the origin; whoever saves with
  // it writes the page's head.
  out = out.replace(/<svg[^>]*>/s, `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="${attribute("width")}" height="${attribute("height")}" viewBox="0 0 ${w} ${h}">`);
  writeFileSync(job.out, out);
  paper.project.remove();
} catch { /* no text in UTF-8, say: no copy is written */ }
"""


def by_node(script, jobs):
    path = WORK / "script.mjs"
    path.write_text(script)
    done = run("node", str(path), str(WORK), input=json.dumps(jobs).encode())
    if done.returncode:
        print(done.stderr.decode()[-2000:], file=sys.stderr)


def scour(flags):
    def save(jobs):
        for job in jobs:
            run(str(WORK / "venv" / "bin" / "scour"), "-i", job["in"], "-o", job["out"], *flags)

    return save


def cairo(jobs):
    for job in jobs:
        run("rsvg-convert", "-f", "svg", "-o", job["out"], job["in"])


def pdf(jobs):
    for job in jobs:
        middle = job["out"] + ".pdf"
        run("rsvg-convert", "-f", "pdf", "-o", middle, job["in"])
        run("pdftocairo", "-svg", middle, job["out"])


WAYS = {
    "as it is": lambda jobs: [shutil.copy(j["in"], j["out"]) for j in jobs],
    "svgo": lambda jobs: by_node(SVGO, jobs),
    "svgo, many passes": lambda jobs: by_node(SVGO, jobs),
    "svgo, shapes to paths": lambda jobs: by_node(SVGO, jobs),
    "paper": lambda jobs: by_node(PAPER, jobs),
    "paper, applied": lambda jobs: by_node(PAPER, jobs),
    "scour": scour([]),
    "scour, short": scour(
        ["--enable-viewboxing", "--enable-id-stripping", "--shorten-ids", "--create-groups"]
        + ["--strip-xml-prolog", "--remove-descriptive-elements", "--no-line-breaks"]
    ),
    "cairo": cairo,
    "PDF and back": pdf,
}


def inspected(fixture, files, *more):
    if not files:
        return {}
    said = run(
        str(TOOL), "inspect", "--fixture", str(fixture), "--format", "json", *more, *files
    )
    try:
        return {os.path.basename(r["file"]): r for r in json.loads(said.stdout)["runs"]}
    except (ValueError, KeyError):
        print(said.stderr.decode()[-500:], file=sys.stderr)
        return {}


def write_dialects():
    """Every run in every dialect: (file, dialect, [(rule, pocket or "")])."""
    folder = WORK / "dialects"
    shutil.rmtree(folder, ignore_errors=True)
    subprocess.check_call(
        ["cargo", "run", "--quiet", "--example", "dialects", "--", str(folder)], cwd=ROOT
    )
    listed = json.loads((folder / "list.json").read_text())
    return [(folder / e["file"], e["dialect"], [tuple(f) for f in e["faults"]]) for e in listed]


def examples():
    """The practice files likewise, with the pocket left open, and the options of their call."""
    for folder in sorted(p.parent for p in EXAMPLES.glob("*/fixture.toml")):
        for kind in ("clear", "hold"):
            for file in sorted((folder / kind).glob("*.svg")):
                rule = file.name.split("--")[0]
                faults = [] if kind == "clear" else [(rule, None)]
                args = file.with_suffix(".args")
                options = args.read_text().split() if args.exists() else []
                options = [str(file.parent / o) if o.endswith(".csv") else o for o in options]
                yield file, folder, faults, options


def misses(run, faults):
    """[(column, whether caught, what was found)] of one copy."""
    if not faults:
        return [("sound", run["verdict"] == "clear")]
    found = {(f["rule"], f.get("pocket") or "") for f in run["findings"]}
    rules = {rule for rule, _ in found}
    return [
        # Outlined lettering is many shapes, each of which lies on a blank or on none.
        (rule, rule in rules if pocket is None or rule == "off-blank" else (rule, pocket) in found)
        for rule, pocket in faults
    ]


def another(one, other):
    """Whether a renderer shows two files as different drawings."""
    from PIL import Image, ImageChops

    pictures = []
    for file in (one, other):
        done = run("rsvg-convert", "-f", "png", "-b", "white", "-z", str(ZOOM), file)
        if done.returncode:
            return True
        pictures.append(Image.open(io.BytesIO(done.stdout)).convert("L"))
    if any(abs(a - b) > 1 for a, b in zip(pictures[0].size, pictures[1].size)):
        return True
    size = [min(a, b) for a, b in zip(pictures[0].size, pictures[1].size)]
    crops = [p.crop((0, 0, *size)) for p in pictures]
    return ImageChops.difference(*crops).getextrema()[1] > CHANGED


class Table:
    def __init__(self, title):
        self.title, self.cells, self.rows = title, {}, []

    def add(self, row, column, caught, excused):
        if row not in self.rows:
            self.rows.append(row)
        good, more, total = self.cells.get((row, column), (0, 0, 0))
        self.cells[row, column] = (good + caught, more + (excused and not caught), total + 1)

    def show(self):
        columns = sorted({c for _, c in self.cells}, key=lambda c: (c != "sound", c))
        print(f"== {self.title}\n")
        for at in range(0, len(columns), 8):
            part = columns[at : at + 8]
            print(" " * 24 + " ".join(f"{c[:15]:>15}" for c in part))
            for row in self.rows:
                line = []
                for column in part:
                    good, more, total = self.cells.get((row, column), (0, 0, 0))
                    line.append(f"{good}{f'+{more}' if more else ''}/{total}" if total else "-")
                print(f"{row:24}" + " ".join(f"{cell:>15}" for cell in line))
            print()


def main():
    prepare()
    own = WORK / "venv" / "bin" / "python"
    if Path(sys.prefix).resolve() != (WORK / "venv").resolve():
        os.execv(own, [str(own), *sys.argv])
    show = "--list" in sys.argv[1:]
    by_dialect, by_way = Table("by dialect, all libraries"), Table("by library, all dialects")
    notes, unwritten, bad = [], {}, 0
    written = [(file, EXAMPLES / "hive-tags", faults, [], dialect) for file, dialect, faults in write_dialects()]
    written += [(file, folder, faults, options, "practice files") for file, folder, faults, options in examples()]
    for way, save in WAYS.items():
        folder = WORK / "resaved" / re.sub(r"\W+", "-", way)
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        jobs = []
        for number, (file, *_) in enumerate(written):
            ending = file.suffix if way == "as it is" else ".svg"
            out = folder / f"{number:04}-{file.stem}{ending}"
            jobs.append({"in": str(file), "out": str(out), "way": way})
        save(jobs)
        calls = {}
        for job, (_, fixture, _, options, _) in zip(jobs, written):
            if os.path.exists(job["out"]) and os.path.getsize(job["out"]):
                calls.setdefault((str(fixture), *options), []).append(job["out"])
            else:
                unwritten[way] = unwritten.get(way, 0) + 1
        runs = {}
        for (fixture, *options), outs in calls.items():
            # Runs with a list are compared with it together, and each example is a day of its own.
            for some in [[out] for out in outs] if options else [outs]:
                runs |= inspected(fixture, some, *options)
        for job, (_, _, faults, _, dialect) in zip(jobs, written):
            run = runs.get(os.path.basename(job["out"]))
            if run is None:
                continue
            for column, caught in misses(run, faults):
                excused = not caught and (
                    (way, column) in EXPECTED
                    or (way, dialect) in EXPECTED
                    or another(job["in"], job["out"])
                )
                bad += not caught and not excused
                by_way.add(way, column, caught, excused)
                if way != "as it is":
                    by_dialect.add(dialect, column, caught, excused)
                if not caught:
                    what = "; ".join(f"{f['rule']} {f.get('pocket') or ''}: {f['message'][:110]}" for f in run["findings"][:3])
                    notes.append((way, column, dialect, os.path.basename(job["in"]), run["verdict"], what))
    by_dialect.show()
    by_way.show()
    for (way, rule), why in EXPECTED.items():
        print(f"+ {way}, {rule}: {why}")
    for way, count in unwritten.items():
        print(f"{way}: {count} files that the library did not write a copy of")
    print(f"{bad} missed without a reason")
    if show:
        for note in notes:
            print(*note, sep=" | ")
    sys.exit(1 if bad else 0)


main()
