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

# Of every face so many runs with one name half turned, and as many with one mirrored.
RUNS = 9
CASES = ["Title", "UPPER", "lower"]


def faces():
    with open(os.path.join(os.path.dirname(__file__), "faces.txt"), encoding="utf-8") as file:
        for line in file:
            if line.strip() and not line.startswith("#"):
                yield line.split()


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


def plan(work, debian, npm):
    lists = outline.pool()
    parts, truth = [], {}
    for name, split, place in faces():
        fonts = os.path.join(work, "fonts", name)
        os.makedirs(fonts, exist_ok=True)
        file = os.path.join(fonts, name + ".ttf")
        font = TTFont(source(place, debian, npm))
        font.flavor = None
        font.save(file)
        face = outline.Face(file)
        files = []
        for planted in ("turned", "mirrored"):
            for number in range(RUNS):
                case = CASES[number % 3]
                dice = outline.dice(name, planted, number)
                words = outline.draw(dice, face, lists, case)
                mirrored = planted == "mirrored"
                odd = dice.choice([i for i, w in enumerate(words) if outline.plantable(w, mirrored)])
                # One path a word, one a letter, or one for all twelve: editors do each.
                how = (number // 3) % 3
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
                run = write(work, f"{name}-{planted}-{number}", paths)
                files.append(run)
                truth[run] = {
                    "face": name,
                    "split": split,
                    "case": case,
                    "planted": planted,
                    "odd": odd,
                    "words": words,
                }
        parts.append({"fonts": fonts, "runs": files})
        parts.append({"fonts": None, "runs": files})
        print(f"{name}: {len(files)} runs", file=sys.stderr)
    with open(os.path.join(work, "plan.json"), "w", encoding="utf-8") as out:
        json.dump(parts, out)
    with open(os.path.join(work, "truth.json"), "w", encoding="utf-8") as out:
        json.dump(truth, out, ensure_ascii=False)


if __name__ == "__main__":
    plan(*sys.argv[1:4])
