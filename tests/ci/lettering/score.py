"""What the program made of the runs, against what was planned: a table a face, and the targets."""

import json
import math
import os
import sys
import unicodedata

from runs import PLACES

# Fewest letters of a word whose face is not at hand that is judged at all.
JUDGED = 4

# Rules that hold art for how it lies.
LIES = {"upside-down", "mirrored"}


def distance(a, b):
    """Letters put in, left out or changed between two texts (Levenshtein 1966)."""
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (x != y))
    return row[-1]


def judge(lies, mirrored, turned):
    """Whether a way up is right, None where none was given."""
    if lies is None:
        return None
    x, y = lies["up"]
    expected = 1.0 if turned else -1.0
    return y * expected > 0.999 and abs(x) < 0.05 and lies["mirrored"] == mirrored


class Tally:
    """Counts over runs. `words`, `right` and `wrong` are of the words that are judged, `short` those of
    the shorter ones of a face that is not at hand."""

    def __init__(self):
        self.words = self.right = self.wrong = 0
        self.short = {"words": 0, "right": 0, "wrong": 0}
        self.letters = self.read = 0
        self.runs = {"turned": 0, "mirrored": 0}
        self.found = {"turned": 0, "mirrored": 0}
        self.sound = {"turned": 0, "mirrored": 0}
        self.open = {"turned": 0, "mirrored": 0}

    def add(self, truth, seen, notes):
        turned, mirrored = truth["planted"] == "turned", truth["planted"] == "mirrored"
        pockets = {}
        for pocket in seen["pockets"]:
            place = min(
                range(len(PLACES)),
                key=lambda i: math.dist(PLACES[i], pocket["at"]),
            )
            pockets[place] = pocket
        for i, word in enumerate(truth["words"]):
            odd, pocket = i == truth["odd"], pockets[i]
            right = judge(pocket["way"], mirrored and odd, turned and odd)
            if seen["fonts"] or len(word) >= JUDGED:
                self.words += 1
                self.right += right is True
                self.wrong += right is False
            else:
                self.short["words"] += 1
                self.short["right"] += right is True
                self.short["wrong"] += right is False
            text = "".join(w["text"] for w in pocket["words"]).replace(" ", "")
            text = unicodedata.normalize("NFC", text)
            off = distance(word, text)
            self.letters += len(word)
            self.read += max(0, len(word) - off)
            if seen["fonts"] and (off or right is not True):
                told = {True: "right", False: "WRONG", None: "undecided"}[right]
                notes.append(f"{truth['face']}: {word} read as {text!r}, way {told}")
            elif right is False:
                said = pocket["way"]
                notes.append(f"{truth['face']} not at hand: {word} (planted: {odd}) said {said}")
        planted = truth["planted"]
        held = {p for rule, p, _ in seen["held"] if rule in LIES}
        odd = pockets[truth["odd"]]["pocket"]
        said_open = pockets[truth["odd"]]["way"] is None
        self.runs[planted] += 1
        self.found[planted] += odd in held
        self.sound[planted] += bool(held - {odd})
        self.open[planted] += odd not in held and said_open
        at = os.path.basename(seen["run"])
        word = truth["words"][truth["odd"]]
        if odd not in held:
            notes.append(f"{at}: {word} ({planted}) is {'left open' if said_open else 'NOT FOUND'}")
        for place in sorted(p for p in pockets if pockets[p]["pocket"] in held - {odd}):
            notes.append(f"{at}: {truth['words'][place]} lies right and is HELD")
        others = {rule for rule, _, _ in seen["held"]} - LIES
        if others:
            raise SystemExit(f"{seen['run']}: held by {others}, which was not planned")


def share(part, of):
    return f"{100 * part / of:.2f}" if of else "-"


def table(title, tallies):
    print(f"\n## {title}\n")
    print("Shares in per cent of words. Then runs with one planted: found, that is held; open, that is "
          "not held but named by the caution way-up-unknown; and runs in which a sound one was held. "
          "Words of three letters are not judged where the face is not at hand: they are left out of "
          "the shares there, and open where planted.\n")
    print("| face | words | decided | right | wrong | undecided | letters right "
          "| turned: found | open | sound held | mirrored: found | open | sound held |")
    print("|---" * 13 + "|")
    for name, t in tallies.items():
        decided = t.right + t.wrong
        cells = [
            name, t.words, share(decided, t.words), share(t.right, t.words), share(t.wrong, t.words),
            share(t.words - decided, t.words), share(t.read, t.letters),
        ]
        for planted in ("turned", "mirrored"):
            cells += [f"{t.found[planted]} of {t.runs[planted]}", t.open[planted], t.sound[planted]]
        print("| " + " | ".join(map(str, cells)) + " |")


def load(work):
    with open(os.path.join(work, "truth.json"), encoding="utf-8") as file:
        truth = json.load(file)
    with open(os.path.join(work, "seen.json"), encoding="utf-8") as file:
        return truth, json.load(file)


def verdict(goals):
    """Prints which goals are missed; the exit status."""
    missed = [what for what, met in goals if not met]
    print("\n" + ("\n".join(f"MISSED {m}" for m in missed) if missed else "every target is met"))
    return 1 if missed else 0


def main(work):
    truth, answers = load(work)
    hand, away, cases, notes = {}, {}, {}, []
    for seen in answers:
        planned = truth[seen["run"]]
        tallies = hand if seen["fonts"] else away
        mark = "" if seen["fonts"] else f" ({planned['split']})"
        names = [planned["face"] + mark, "all"]
        if not seen["fonts"] and planned["split"] == "test":
            names.append("all test faces")
            cases.setdefault(planned["case"], Tally()).add(planned, seen, [])
        for name in names:
            tallies.setdefault(name, Tally()).add(planned, seen, notes if name != "all" else [])
    for tallies in (hand, away):
        for name in ("all test faces", "all"):
            if name in tallies:
                tallies[name] = tallies.pop(name)
    table("The face at hand", hand)
    table("The face not at hand", away)
    table("Not at hand, test faces, by case", cases)
    print("\n## Words that were not read right\n")
    print("\n".join(f"- {n}" for n in dict.fromkeys(notes)))
    all_hand, all_away = hand["all"], away["all"]
    return verdict(
        [
            ("at hand: 99 % of words decided", all_hand.right + all_hand.wrong >= 0.99 * all_hand.words),
            ("at hand: none decided wrongly", all_hand.wrong == 0),
            ("at hand: 99 % of letters right", all_hand.read >= 0.99 * all_hand.letters),
            ("at hand: every planted one found", all_hand.found == all_hand.runs),
            ("at hand: no sound one held", not any(all_hand.sound.values())),
            # What is reached today, so that it does not get worse unseen; the goal is in the report.
            ("not at hand: every planted one is found or left open",
             all(all_away.found[k] + all_away.open[k] == n for k, n in all_away.runs.items())),
            ("not at hand: at most 0.2 % wrong", all_away.wrong <= 0.002 * all_away.words),
            ("not at hand: a sound one held in at most 1 % of runs",
             sum(all_away.sound.values()) <= 0.01 * sum(all_away.runs.values())),
        ]
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
