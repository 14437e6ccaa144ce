"""Sets the thresholds on the validation faces, then counts on the test faces.

    python evaluate.py STORE.npz WEIGHTS VALIDATION.npz TEST.npz

The two .npz are written by judge.py. Prints the tables of REPORT.md.
Thresholds are read off the validation faces alone.
"""
import os
import sys

import numpy as np

import export
import words
from faces import shown
from judge import CASES, log_odds, raw_scores

WRONG_ALLOWED = 0.001       # on validation faces; the goal on test faces is 0.002
TWELVE, RUNS_A_CASE = 12, 40
LEAD = 8.0                  # how far the siblings' sum must be ahead before they judge one of them
BEYOND_DOUBT = 12.0         # what a sibling's log-odds count at most when trust is worked out
HALF, MIRROR = 4, 1         # states: half turned; mirrored


def compose(k, turn):
    """The state of a word in state k after the whole was put through lay `turn`
    (mirror first, then quarter turns), as q, m of both."""
    q, m = k // 2, k % 2
    r, n = turn // 2, turn % 2
    return 2 * ((r + (-q if n else q)) % 4) + (m ^ n)


def laid(odds, turn):
    """The eight log-probabilities that the same word would have in lay `turn`."""
    out = np.empty_like(odds)
    for k in range(8):
        out[..., compose(k, turn)] = odds[..., k]
    return out


def margins(odds):
    """Right minus best wrong, for the half turn (upright or half turned, nothing
    else thought possible) and for all eight states."""
    return odds[:, 0] - odds[:, HALF], odds[:, 0] - odds[:, 1:].max(1)


def threshold(margin):
    """The least multiple of 0.1 that keeps wrong answers within WRONG_ALLOWED."""
    for t in np.arange(0.5, 30, 0.1):
        if np.mean(margin <= -t) <= WRONG_ALLOWED:
            return round(float(t), 1)
    return 30.0


def counts(margin, t):
    right, wrong = np.mean(margin >= t), np.mean(margin <= -t)
    return f"{100 * right:.2f} | {100 * wrong:.2f} | {100 * (1 - right - wrong):.2f}"


def evidence(batch):
    """For each word of a batch [..., n, 8], from what its siblings say:

    lead: how far the siblings' summed log-odds put their best state, the base,
    ahead of their second; protest: how far the word itself puts its own best
    state ahead of the base; trust, 0 to 1: what a protest is worth in this
    face. If the log-odds of base against that state have mean m and variance v
    among the siblings, and would have -m and v for turned words, a protest p
    speaks for a turn by 2 m p / v (normal distributions); v is taken 4 larger,
    as eleven words do not tell it well.
    """
    n = batch.shape[-2]
    others = batch.sum(-2, keepdims=True) - batch                    # [..., n, 8]
    base = others.argmax(-1)
    two = np.sort(others, -1)[..., -2:]
    lead = two[..., 1] - two[..., 0]
    own = batch.argmax(-1)
    protest = batch.max(-1) - np.take_along_axis(batch, base[..., None], -1)[..., 0]
    trust = np.empty_like(lead)
    for i in range(n):
        rest = np.delete(batch, i, -2)                               # [..., n - 1, 8]
        pick = lambda k: np.take_along_axis(rest, k[..., i, None, None], -1)[..., 0]
        d = np.minimum(pick(base) - pick(own), BEYOND_DOUBT)
        trust[..., i] = np.clip(2 * d.mean(-1) / (d.var(-1) + 4), 0, 1)
    return lead, protest, trust


def held(lead, protest, trust, odd):
    return (lead >= LEAD) & (protest * trust >= odd)


def draw_runs(rows, odds, rng):
    """Per case and lay, [runs] of evidence: twelve words of one face and case,
    the first of them half turned (or mirrored), the others as they should be."""
    out = {(lay, c): [] for lay in (HALF, MIRROR) for c in range(3)}
    for f in np.unique(rows[:, 0]):
        for c in range(3):
            pool = np.flatnonzero((rows[:, 0] == f) & (rows[:, 1] == c))
            picks = np.stack([rng.choice(pool, TWELVE, replace=False) for _ in range(RUNS_A_CASE)])
            for lay in (HALF, MIRROR):
                batch = odds[picks].copy()
                batch[:, 0] = laid(batch[:, 0], lay)
                out[lay, c].append(evidence(batch))
    return {k: [np.concatenate(x) for x in zip(*v)] for k, v in out.items()}


def tally(runs, odd):
    """{(lay, case or 3 for all): (runs, turned pocket held, a sound pocket held)}"""
    out = {}
    for (lay, c), e in runs.items():
        h = held(*e, odd)
        for key in ((lay, c), (lay, 3)):
            n = out.setdefault(key, np.zeros(3, int))
            n += (len(h), h[:, 0].sum(), h[:, 1:].any(1).sum())
    return out


def kind(package):
    if package.startswith("@fontsource"):
        return "@fontsource packages"
    if package.startswith("fonts-aenigma"):
        return "one package of 465 display faces"
    if package.startswith("texlive"):
        return "one package of text faces"
    return "other packages"


def main(store, weights, validation, test):
    faces = words.Faces(store)
    net, temperature = export.read(weights)
    v, t = ({"rows": z["rows"], "odds": log_odds(z["raw"], temperature)} for z in map(np.load, (validation, test)))
    half_v, eight_v = margins(v["odds"])
    t_half, t_eight = threshold(half_v), threshold(eight_v)
    print(f"thresholds from validation: half turn {t_half}, eight states {t_eight}")
    for label, rows, odds in (("validation", v["rows"], v["odds"]), ("test", t["rows"], t["odds"])):
        half, eight = margins(odds)
        print(f"\n### {label}: {len(np.unique(rows[:, 0]))} faces, {len(odds)} words\n")
        print("| words | half turn right | wrong | undecided | eight states right | wrong | undecided |")
        print("|---|---|---|---|---|---|---|")
        for c in range(4):
            m = rows[:, 1] == c if c < 3 else np.ones(len(rows), bool)
            print(f"| {(CASES + ('all',))[c]} | {counts(half[m], t_half)} | {counts(eight[m], t_eight)} |")
        sort = np.array([kind(faces.package[f]) for f in rows[:, 0]])
        for k in sorted(set(sort)):
            m = sort == k
            print(f"| {k} ({len(np.unique(rows[m, 0]))} faces) | {counts(half[m], t_half)} | {counts(eight[m], t_eight)} |")
        print("\nwithout undecided (threshold 0): half turn right "
              f"{100 * np.mean(half > 0):.2f} %, eight states right {100 * np.mean(eight > 0):.2f} %")

    rows, odds = t["rows"], t["odds"]
    half, eight = margins(odds)
    table = []
    for f in np.unique(rows[:, 0]):
        m = rows[:, 0] == f
        table.append((shown(faces.package[f]), faces.family[f], os.path.basename(faces.source[f]), int(m.sum()),
                      *(f"{np.mean(x):.4f}" for x in (half[m] >= t_half, half[m] <= -t_half,
                                                       eight[m] >= t_eight, eight[m] <= -t_eight))))
    print("\n### The 15 worst test faces (by half turn wrong, then half turn right)\n")
    print("| family | file | half right | wrong | eight right | wrong |\n|---|---|---|---|---|---|")
    for r in sorted(table, key=lambda r: (-float(r[5]), float(r[4])))[:15]:
        print(f"| {r[1]} | {r[2]} | {r[4]} | {r[5]} | {r[6]} | {r[7]} |")

    # The batch: the least threshold that holds no sound pocket on validation faces.
    runs = {"validation": draw_runs(v["rows"], v["odds"], np.random.default_rng(7)),
            "test": draw_runs(rows, odds, np.random.default_rng(8))}
    odd = next(o for o in np.arange(1, 40, 0.1) if not any(n[2] for n in tally(runs["validation"], o).values()))
    print(f"\n### Twelve pockets, one turned; protest times trust {odd:.1f} from validation, lead {LEAD}\n")
    print("| split | turned | words | runs | found % | runs with a sound pocket held % |\n|---|---|---|---|---|---|")
    for label, own in runs.items():
        for (lay, c), n in sorted(tally(own, odd).items(), reverse=True):
            print(f"| {label} | {'half turn' if lay == HALF else 'mirrored'} | {(CASES + ('all',))[c]} | {n[0]} | "
                  f"{100 * n[1] / n[0]:.2f} | {100 * n[2] / n[0]:.3f} |")

    print("\n| test faces from | turned | runs | found % | runs with a sound pocket held % |\n|---|---|---|---|---|")
    sort = np.array([kind(faces.package[f]) for f in rows[:, 0]])
    for k in sorted(set(sort)):
        own = tally(draw_runs(rows[sort == k], odds[sort == k], np.random.default_rng(9)), odd)
        for lay in (HALF, MIRROR):
            n = own[lay, 3]
            print(f"| {k} | {'half turn' if lay == HALF else 'mirrored'} | {n[0]} | {100 * n[1] / n[0]:.2f} | "
                  f"{100 * n[2] / n[0]:.3f} |")

    # Words that read alike two ways, in plain test faces.
    print("\n### Words that read alike, or nearly alike, two ways (mean over test faces of the log-odds)\n")
    print("| word | upright over half turned | upright over mirrored | half turn told % | of it wrong % |\n|---|---|---|---|---|")
    some = faces.of("test")[::6]
    for text in "NOON SIS XOX OHO SOS NON OXO MOM TOOT AVA OTTO TIMMY pod bob dip suns HANNAH".split():
        o = log_odds(raw_scores(net, [words.views(*faces.word(f, text)) for f in some]), temperature)
        d = o[:, 0] - o[:, HALF]
        print(f"| {text} | {d.mean():+.1f} | {(o[:, 0] - o[:, MIRROR]).mean():+.1f} | "
              f"{100 * np.mean(np.abs(d) >= t_half):.0f} | {100 * np.mean(d <= -t_half):.0f} |")


if __name__ == "__main__":
    main(*sys.argv[1:])
