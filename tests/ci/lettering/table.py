"""The table of what is found, named, passed over and wrongly held by the built program on the runs that
cases.py made: rows are styles, scripts, kinds of art; then, of the styles, cases by how they were planted,
made, dressed.

    python table.py WORK PROGRAM FIXTURE

A wrong pocket is found where it is held (by itself, or in one of two groups of which one is wrong), named
where way-up-unknown names it, else silent. Exit 1 where a goal is missed.
"""

import json
import os
import re
import subprocess
import sys

from score import LIES, share, verdict

# Files in one call: a command line holds no more than so many names.
AT_ONCE = 100

# Pockets of the two fixtures in the order of PLACES in runs.py, and of SIXTY in cases.py.
TWELVE = [f"{row}{column}" for row in "BA" for column in range(1, 7)]
SIXTY = [f"{row}{column}" for row in "EDCBA" for column in range(1, 13)]


def pockets(truth):
    return SIXTY if truth["count"] == 60 else TWELVE


def listed(text):
    """The pockets that a message names: A1, A2–A4 and B1–B6."""
    out = set()
    for first, last in re.findall(r"\b([A-Z]\d+)(?:–([A-Z]\d+))?", text):
        row, low, high = first[0], int(first[1:]), int((last or first)[1:])
        out |= {f"{row}{n}" for n in range(low, high + 1)}
    return out


# What puts each slip right on a fixture whose heads are at the back: a motion's linear part, to whole numbers.
RIGHT = {"turned": {(-1, 0, 0, -1)}, "mirrored": {(-1, 0, 0, 1)}, "quarter": {(0, -1, 1, 0), (0, 1, -1, 0)}}
ROTATIONS = {"180": (-1, 0, 0, -1), "90": (0, 1, -1, 0), "-90": (0, -1, 1, 0)}


def motions(remedy):
    """How the pieces of a pocket are moved by a remedy that was tried: None where there is none; else the whole
    of each motion with its linear part. Where names share one path, its data are written anew: no motion is seen."""
    if not remedy["certain"]:
        return None
    out = set()
    for edit in remedy["edits"]:
        if found := re.search(r'transform="matrix\(([^)]*)\)', edit["text"]):
            numbers = [float(n) for n in found[1].split(",")]
            out.add((found[1], tuple(round(n) for n in numbers[:4])))
        elif found := re.search(r'transform="rotate\((-?[\d.]+)[^)]*\)', edit["text"]):
            out.add((found[0], ROTATIONS.get(found[1])))
    return out


def told(work, program, fixture, truth, refused):
    """By run: pockets held, pockets in a finding that blames one of two groups, pockets left open, and how remedies
    move the art of those held. Files that the program refuses to inspect go into `refused`."""
    # A home without fonts and caches of its own.
    empty = os.path.join(work, "home")
    os.makedirs(empty, exist_ok=True)
    environment = dict(os.environ, HOME=empty, XDG_CACHE_HOME=empty, XDG_DATA_HOME=empty)
    sixty = os.path.join(work, "sixty")
    subprocess.run([program, "enrol", sixty, "--renew"], check=False, stdout=subprocess.DEVNULL)
    calls = []
    for own in (fixture, sixty):
        files = [f for f, t in truth.items() if (t["count"] == 60) == (own == sixty)]
        calls += [(own, files[start:start + AT_ONCE]) for start in range(0, len(files), AT_ONCE)]
    while calls:
        own, files = calls.pop(0)
        done = subprocess.run(
            [program, "inspect", *files, "--fixture", own, "--format", "json"],
            capture_output=True, env=environment, encoding="utf-8", check=False,
        )
        if done.returncode == 2 and len(files) > 1:
            # One of them is refused: its message stands for all.
            half = len(files) // 2
            calls += [(own, files[:half]), (own, files[half:])]
            continue
        if done.returncode == 2:
            refused.append(f"{os.path.basename(files[0])}: {done.stderr.strip()}")
            continue
        for run in json.loads(done.stdout)["runs"]:
            held, split, named, moved = {}, set(), set(), {}
            for f in run["findings"]:
                if f["rule"] in LIES and f["pocket"]:
                    held.setdefault(f["pocket"], []).append((f["rule"], f["message"]))
                    moved[f["pocket"]] = motions(f["remedy"])
                elif f["rule"] in LIES:
                    split |= listed(f["message"])
                elif f["rule"] == "way-up-unknown":
                    named |= {f["pocket"]} if f["pocket"] else listed(f["message"])
            yield run["file"], held, split, named, moved


class Row:
    def __init__(self):
        self.runs = self.wrong = self.found = self.named = self.silent = 0
        self.sound = self.held = self.open = 0
        self.one = self.one_found = 0
        self.alone = self.right = self.mended = self.spoilt = 0

    def add(self, run, truth, held, split, named, moved, notes):
        self.runs += 1
        for i, word in enumerate(truth["words"]):
            name = pockets(truth)[i]
            at = f"{os.path.basename(run)} {name}: {word}"
            if i in truth["wrong"]:
                found = name in held or name in split
                silent = not found and name not in named
                self.wrong += 1
                self.found += found
                self.alone += name in held
                rule = "mirrored" if truth["kind"] == "mirrored" else "upside-down"
                self.right += {r for r, _ in held.get(name, [])} == {rule}
                how = moved.get(name)
                spoilt = how is not None and (
                    len(how) > 1 or not {linear for _, linear in how} <= RIGHT[truth["kind"]])
                self.mended += how is not None and not spoilt
                self.spoilt += spoilt
                if spoilt:
                    notes.append(f"{at} ({truth['kind']}) SPOILT by its remedy: {sorted(how)}")
                self.named += not found and not silent
                self.silent += silent
                one = truth["planted"] == "one" and truth["count"] >= 6
                self.one += one
                self.one_found += one and found
                if silent or (one and not found):
                    notes.append(f"{at} ({truth['kind']}) {'SILENT' if silent else 'not found'}")
            else:
                # One of two groups is wrong, and which is not said: that blames nobody, if it is so.
                bad = name in held or (name in split and not truth["wrong"])
                self.sound += 1
                self.held += bad
                self.open += name in named
                if bad:
                    why = " ".join(m for _, m in held.get(name, [("", "one of two groups")]))
                    notes.append(f"{at} lies right and is HELD: {why}")

    def cells(self):
        return [self.runs, self.wrong, share(self.found, self.wrong), share(self.named, self.wrong),
                self.silent, f"{self.one_found} of {self.one}", f"{self.right} of {self.alone}",
                f"{self.mended} of {self.alone}", self.spoilt,
                self.sound, self.held,
                share(self.open, self.sound)]


COLUMNS = ["", "runs", "wrong pockets", "found %", "unknown %", "silent", "one odd of six or more: found",
           "held by the one rule that fits", "with a remedy that puts the name right as one",
           "with one that spoils it", "sound pockets", "of them held", "of them unknown %"]


def main(work, program, fixture):
    with open(os.path.join(work, "truth.json"), encoding="utf-8") as file:
        truth = json.load(file)
    tables, notes, refused = {}, [], []
    total = Row()
    for run, *seen in told(work, program, fixture, truth, refused):
        planned = truth[run]
        total.add(run, planned, *seen, notes)
        rows = [(planned["table"], planned["row"])]
        if planned["table"] == "styles":
            for key in ("planted", "kind", "count", "dress", "make"):
                rows.append((f"styles, by {key}", str(planned[key])))
        for table, row in rows:
            tables.setdefault(table, {}).setdefault(row, Row()).add(run, planned, *seen, [])
    for table, rows in [*tables.items(), ("all", {"all": total})]:
        print(f"\n## {table}\n\n| " + " | ".join(COLUMNS) + " |\n" + "|---" * len(COLUMNS) + "|")
        for name, row in rows.items():
            print("| " + " | ".join(map(str, [name, *row.cells()])) + " |")
    print("\n## Silent, held when right, spoilt by a remedy, or odd and not found\n")
    print("\n".join(f"- {n}" for n in notes))
    print(f"\n## Refused: {len(refused)}\n\n" + "\n".join(f"- {n}" for n in refused))
    return verdict([
        ("silent nowhere", total.silent == 0),
        ("sound pockets held at most 1 in 2,000", total.held * 2000 <= total.sound),
        ("no name spoilt by its remedy", total.spoilt == 0),
        ("98 % of one odd of six or more found, in every style",
         all(row.one_found >= 0.98 * row.one for row in tables.get("styles", {}).values())),
    ])


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
