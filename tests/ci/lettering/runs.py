"""Run files for the fixture `hive-tags`, each with twelve outlined names."""

import json
import os
import sys

from fontTools.ttLib import TTFont

import outline

# Middles of the tags' zones on the bed, in millimetres, and the box that a name is scaled into.
PLACES = [(22 + 36 * column, y) for y in (255, 355) for column in range(6)]
WIDE, HIGH = 19.0, 7.0

PAGE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400">\n'
)

CASES = ["Title", "UPPER", "lower"]

# Of every face at hand and away, so many runs with one name half turned and as many with one mirrored.
BOTH = [CASES[number % 3] for number in range(9)]

# Of every unseen face, the cases of the runs with one name half turned, and again with one mirrored.
UNSEEN = ["Title", "UPPER", "lower", "Title", "UPPER"]


def faces():
    """Name, split and source of the faces in faces.txt."""
    with open(os.path.join(os.path.dirname(__file__), "faces.txt"), encoding="utf-8") as file:
        for line in file:
            if line.strip() and not line.startswith("#"):
                yield line.split()


def unseen(split):
    """Name, split and source of the faces of one split of tests/training/faces.txt that a `@fontsource`
    package holds."""
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "..", "..", "training", "faces.txt"), encoding="utf-8") as file:
        for line in file:
            package, name, _, own = line.rstrip("\n").split("\t") if line[:1] == "@" else [""] * 4
            if own == split:
                yield name, split, package


def source(place, debian, npm):
    """The font file of a line in faces.txt."""
    if not place.startswith("@"):
        return os.path.join(debian, place)
    package = place.rsplit("@", 1)[0]
    name = package.split("/")[1]
    return os.path.join(npm, "node_modules", package, "files", f"{name}-latin-400-normal.woff2")


def write(folder, name, paths):
    file = os.path.join(folder, name + ".svg")
    with open(file, "w", encoding="utf-8") as out:
        out.write(PAGE + "".join(paths) + "</svg>\n")
    return file


def drawn(face, words, odd, mirrored, how):
    """SVG paths of twelve words, the odd one mirrored or half turned: one path a word, one a letter, or
    one for all twelve, as editors do each."""
    paths = [
        face.outlined(
            word,
            WIDE,
            HIGH,
            PLACES[i],
            quarters=2 if i == odd and not mirrored else 0,
            mirrored=i == odd and mirrored,
            whole=how != 1,
        )
        for i, word in enumerate(words)
    ]
    if how == 2:
        data = " ".join(p.split('"')[1] for p in paths)
        paths = [f'<path d="{data}" fill="#1b1b1b"/>\n']
    return paths


def plan(work, chosen, cases, at_hand, debian, npm):
    """Runs of the chosen faces, one for each of `cases` with one name half turned and one mirrored;
    to be inspected with the face away, and where `at_hand` is set with the face at hand as well."""
    lists = outline.pool()
    parts, truth = [], {}
    for name, split, place in chosen:
        fonts = os.path.join(work, "fonts", name)
        os.makedirs(fonts, exist_ok=True)
        file = os.path.join(fonts, name + ".ttf")
        font = TTFont(source(place, debian, npm))
        font.flavor = None
        font.save(file)
        face = outline.Face(file)
        files = []
        for planted in ("turned", "mirrored"):
            for number, case in enumerate(cases):
                dice = outline.dice(name, planted, number)
                words = outline.draw(dice, face, lists, case)
                mirrored = planted == "mirrored"
                odd = dice.choice([i for i, w in enumerate(words) if outline.plantable(w, mirrored)])
                # Each way of drawing with each case, as far as there are so many runs.
                how = (number + number // 3) % 3
                run = write(
                    work, f"{name}-{planted}-{number}", drawn(face, words, odd, mirrored, how)
                )
                files.append(run)
                truth[run] = {
                    "face": name,
                    "split": split,
                    "case": case,
                    "planted": planted,
                    "odd": odd,
                    "words": words,
                }
        if at_hand:
            parts.append({"fonts": fonts, "runs": files})
        parts.append({"fonts": None, "runs": files})
        print(f"{name}: {len(files)} runs", file=sys.stderr)
    with open(os.path.join(work, "plan.json"), "w", encoding="utf-8") as out:
        json.dump(parts, out)
    with open(os.path.join(work, "truth.json"), "w", encoding="utf-8") as out:
        json.dump(truth, out, ensure_ascii=False)


def main(what, work, debian, npm, times=1):
    """What: `both`, the faces of faces.txt at hand and away; or a split, its faces away, each case
    `times` times over."""
    if what == "both":
        plan(work, faces(), BOTH, True, debian, npm)
    else:
        plan(work, unseen(what), UNSEEN * int(times), False, debian, npm)


if __name__ == "__main__":
    main(*sys.argv[1:])
