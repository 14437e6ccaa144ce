#!/usr/bin/env python3
"""Re-saves every example with general-purpose libraries, and inspects what they wrote.

    tests/ci/resave.py [--list]

Rows are ways of saving, columns are faults (the rule in an example's name); a cell says how many of the
examples with that fault are still caught by the same rule, of how many. "sound" says how many clear
examples still hold nothing. --list names every cell that is not full, with what was found instead.

Needs node with npm, python3 with venv, rsvg-convert and pdftocairo; fetches svgo, paper-jsdom and
scour into target/ci. What a library changes in substance is told in EXPECTED: those cells are printed
with an asterisk and judged by what the file now is. Status 1 where another cell is not full.
"""

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
TOOL = Path(os.environ.get("JIGWARDEN") or ROOT / "target" / "debug" / "jigwarden")

# What a way of saving takes away from the file itself, so that the fault cannot show, or shows as
# another one; (way, rule) or (way, "*").
EXPECTED = {
    ("paper", "sound"): "knows no lettering along a curve and no stylesheet: what used them is held",
    ("paper, applied", "sound"): "as above",
    ("paper", "upside-down"): "lettering along a curve is lost; the file is held for what became of it",
    ("paper, applied", "upside-down"): "as above",
    ("scour, short", "sound"): "takes away the id of a curve that lettering follows; the lettering is held",
    ("scour, short", "upside-down"): "as above",
    ("cairo", "sound"): "turns a picture into a pattern, held as a paint that no operation claims",
    ("cairo", "upside-down"): "turns lettering into outlines and pictures into patterns",
    ("cairo", "font-missing"): "draws another face and turns it into outlines: what will be burnt is known",
    ("cairo", "not-proven"): "leaves out what is kept in another file: what will be burnt is known",
    ("PDF and back", "sound"): "rounds the page to whole points, and everything with it: lines are off their place",
    ("PDF and back", "upside-down"): "turns lettering into outlines",
    ("PDF and back", "font-missing"): "draws another face and turns it into outlines",
    ("PDF and back", "not-proven"): "leaves out what is kept in another file",
}


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
        subprocess.check_call([str(WORK / "venv" / "bin" / "pip"), "install", "-q", "scour"])
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
        subprocess.check_call(["cargo", "build", "--quiet", "--bin", "jigwarden"], cwd=ROOT)


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
for (const job of JSON.parse(readFileSync(0, "utf8")))
  writeFileSync(job.out, optimize(readFileSync(job.in, "utf8"), { path: job.in, ...configs[job.way] }).data);
"""

PAPER = """
import { createRequire } from "node:module";
import { readFileSync, writeFileSync } from "node:fs";
const paper = createRequire(process.argv[2] + "/package.json")("paper-jsdom");
for (const job of JSON.parse(readFileSync(0, "utf8"))) {
  const text = readFileSync(job.in, "utf8");
  const head = /<svg[^>]*>/s.exec(text)[0];
  const attribute = (name) => (new RegExp(`\\\\s${name}=["']([^"']*)`).exec(head) ?? [])[1];
  const [x, y, w, h] = attribute("viewBox").split(/[ ,]+/).map(Number);
  paper.setup(new paper.Size(w, h));
  paper.project.importSVG(text, { expandShapes: false, applyMatrix: job.way.includes("applied") });
  let out = paper.project.exportSVG({ asString: true, bounds: new paper.Rectangle(x, y, w, h), matchShapes: true });
  // The library knows no physical size; whoever saves with it writes the page's head.
  out = out.replace(/<svg[^>]*>/s, `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="${attribute("width")}" height="${attribute("height")}" viewBox="${x} ${y} ${w} ${h}">`);
  writeFileSync(job.out, out);
  paper.project.remove();
}
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


def main():
    prepare()
    show = "--list" in sys.argv[1:]
    cells = {}
    notes = []
    rules = []
    for way, save in WAYS.items():
        for fixture in sorted(p.parent for p in EXAMPLES.glob("*/fixture.toml")):
            folder = WORK / "resaved" / re.sub(r"\W+", "-", way) / fixture.name
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir(parents=True)
            jobs = []
            for kind in ("clear", "hold"):
                for file in sorted((fixture / kind).glob("*.svg")):
                    out = str(folder / f"{kind}--{file.name}")
                    jobs.append({"in": str(file), "out": out, "way": way})
            save(jobs)
            outs = [j["out"] for j in jobs if os.path.exists(j["out"])]
            said = run(str(TOOL), "inspect", "--fixture", str(fixture), "--format", "json", *outs)
            try:
                runs = {os.path.basename(r["file"]): r for r in json.loads(said.stdout)["runs"]}
            except (ValueError, KeyError):
                print(said.stderr.decode()[-500:], file=sys.stderr)
                runs = {}
            for job in jobs:
                name = os.path.basename(job["out"])
                found = runs.get(name, {"verdict": "not written", "findings": []})
                held = sorted({f["rule"] for f in found["findings"] if f["severity"] == "hold"})
                if name.startswith("clear--"):
                    rule, good = "sound", found["verdict"] == "clear"
                else:
                    rule = name.split("--")[1].removesuffix(".svg")
                    good = rule in {f["rule"] for f in found["findings"]}
                if rule not in rules:
                    rules.append(rule)
                caught, total = cells.get((way, rule), (0, 0))
                cells[way, rule] = (caught + good, total + 1)
                if not good:
                    what = "; ".join(
                        f"{f['rule']}: {f['message'][:90]}" for f in found["findings"][:2]
                    )
                    notes.append((way, rule, f"{fixture.name}/{name}: {found['verdict']} {held} {what}"))
    rules.sort(key=lambda r: (r != "sound", r))
    full = True
    for at in range(0, len(rules), 8):
        part = rules[at : at + 8]
        print(" " * 22 + " ".join(f"{r[:15]:>15}" for r in part))
        for way in WAYS:
            row = []
            for rule in part:
                caught, total = cells.get((way, rule), (0, 0))
                mark = "*" if (way, rule) in EXPECTED or (way, "*") in EXPECTED else ""
                full &= caught == total or bool(mark)
                row.append(f"{caught}/{total}{mark}")
            print(f"{way:22}" + " ".join(f"{c:>15}" for c in row))
        print()
    for (way, rule), why in EXPECTED.items():
        print(f"* {way}, {rule}: {why}")
    if show:
        for note in notes:
            print(*note, sep=" | ")
    sys.exit(0 if full else 1)


main()
