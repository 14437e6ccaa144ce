"""What the program made of batches in unseen faces: a row a face, the goals, and what was missed."""

import sys

from score import JUDGED, Tally, load, share, verdict

COLUMNS = [
    "face", "runs", "turned: found", "mirrored: found", "open", "sound held", "words of 4+",
    "right %", "wrong %", "words of 3", "right %", "wrong %",
]


def row(name, t):
    runs = sum(t.runs.values())
    found = [f"{t.found[planted]} of {t.runs[planted]}" for planted in ("turned", "mirrored")]
    return [
        name, runs, *found, sum(t.open.values()), sum(t.sound.values()),
        t.words, share(t.right, t.words), share(t.wrong, t.words),
        t.short["words"], share(t.short["right"], t.short["words"]),
        share(t.short["wrong"], t.short["words"]),
    ]


def main(work):
    truth, answers = load(work)
    total, lengths, cases, by_face, notes = Tally(), {}, {}, {}, []
    for seen in answers:
        planned = truth[seen["run"]]
        short = len(planned["words"][planned["odd"]]) < JUDGED
        total.add(planned, seen, notes)
        for tallies, key in (
            (lengths, "odd name of three letters" if short else "odd name of four and more"),
            (cases, planned["case"]),
            (by_face, planned["face"]),
        ):
            tallies.setdefault(key, Tally()).add(planned, seen, [])
    print(
        "Open: the odd pocket is not held, but way-up-unknown names it. Sound held: runs in which a "
        "pocket that lies right is held. Right and wrong are shares of all words of that length, the "
        "sound ones included; the rest is undecided.\n"
    )
    print("| " + " | ".join(COLUMNS) + " |")
    print("|---" * len(COLUMNS) + "|")
    worst = lambda item: (item[1].right - 10 * item[1].wrong) / max(item[1].words, 1)
    rows = [(f"all {len(by_face)} faces", total), *sorted(lengths.items(), reverse=True)]
    rows += [*cases.items(), *sorted(by_face.items(), key=worst)]
    for name, tally in rows:
        print("| " + " | ".join(map(str, row(name, tally))) + " |")
    print("\n## Missed, or wrong\n")
    print("\n".join(f"- {n}" for n in dict.fromkeys(notes)))
    runs, found = total.runs, total.found
    return verdict(
        [
            ("99 % of half turned names found", found["turned"] >= 0.99 * runs["turned"]),
            ("99 % of mirrored names found", found["mirrored"] >= 0.99 * runs["mirrored"]),
            ("no sound pocket held in any run", not any(total.sound.values())),
            ("99 % of words of four letters and more right", total.right >= 0.99 * total.words),
            ("at most 0.2 % of them wrong", total.wrong <= 0.002 * total.words),
        ]
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
