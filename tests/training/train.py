"""Trains the network on words drawn in the training faces.

    python train.py STORE.npz OTHERS.npz NET.pt MINUTES SEED [EARLIER.pt] [PEER.pt] [RATE]

Writes NET.pt every minute or two. Two processes, each the other's PEER, share
the work: every so often each takes the mean of both nets. RATE is the highest
learning rate. Nothing of the test
faces is read; the validation faces only give the figures printed on the way.
"""
import os
import sys
import time

import numpy as np
import torch
from torch.nn import functional as F

import rows
import words
from model import Net, scores, widen

torch.set_num_threads(1)
BATCH = 48


# Of what the network sees, so much is no Latin lettering, and so much is drawn otherwise than filled.
NONE, OTHERWISE = 0.3, 0.25


def latin(faces, pool, rng):
    """A word in a face of the pool, and the face's family."""
    family, face = pool.draw(rng)
    text = words.invent(rng)
    tracking = rng.uniform(-0.03, 0.3) if rng.random() < 0.3 else 0.0
    jitter = np.zeros((len(text), 2))
    if rng.random() < 0.1:
        jitter[:, 0] = rng.normal(0, 0.05, len(text))
        jitter[:, 1] = rng.normal(0, 0.07, len(text))
    pts, starts = faces.word(face, text, tracking, jitter)
    if rng.random() < 0.2:
        pts = words.wobble(pts, rng)
    return pts, starts, family


def none(faces, pool, others, rng):
    """What is no Latin lettering, however it lies."""
    kind = rng.random()
    if kind < 0.7:
        return others.word(rng)
    if kind < 0.93:
        return rows.art(rng)
    return rows.jumbled(faces, pool.draw(rng)[1], words.invent(rng), rng)


def sample(faces, pool, others, rng):
    """One distorted word, as the pair of its strips, and the family of its face; -1 for no Latin lettering."""
    while True:
        reads = others is None or rng.random() >= NONE
        pts, starts, family = latin(faces, pool, rng) if reads else (*none(faces, pool, others, rng), -1)
        if len(pts) and np.isfinite(pts).all() and np.ptp(pts[:, 0]) > 1e-3 and np.ptp(pts[:, 1]) > 1e-3:
            pts = words.bend(pts, rng)
            if others is not None and rng.random() < OTHERWISE:
                lying, standing = rows.otherwise(pts, starts, rng)
            else:
                lying, standing = words.two_strips(pts, starts)
            return words.blur(lying, rng), words.blur(standing, rng), family


class Pool:
    """The families of a split, drawn from by turns. The one package of 465 display faces would fill the training
    otherwise; single packages were picked for what the net is weak in. While the net learns, a family whose words it
    has still to learn has up to three turns for one."""

    def __init__(self, faces, split):
        groups = {}
        for f in faces.of(split):
            groups.setdefault(faces.family[f], []).append(f)
        self.groups = list(groups.values())
        packages = [faces.package[g[0]] for g in self.groups]
        self.turns = np.array([1 if "aenigma" in p else 5 if p.startswith("@fontsource") else 2 for p in packages])
        self.loss = np.full(len(packages), 0.15)        # of a family's words, lately
        self.weigh()

    def weigh(self):
        share = self.turns * np.clip(self.loss / self.loss.mean(), 0.6, 3)
        self.ends = np.cumsum(share / share.sum())

    def draw(self, rng):
        """A family, by its place, and one of its faces."""
        g = min(np.searchsorted(self.ends, rng.random()), len(self.groups) - 1)
        return g, rng.choice(self.groups[g])

    def heed(self, family, loss):
        """A word's loss; one word tells little, and a word that reads two ways nothing."""
        if family >= 0:
            self.loss[family] += 0.04 * (min(loss, 2.0) - self.loss[family])


def meet(net, target, peer):
    """Leaves this process's net for the peer and takes the mean with the peer's."""
    torch.save(net.state_dict(), target + ".part")
    os.replace(target + ".part", target + ".now")
    if os.path.exists(peer + ".now"):
        other = torch.load(peer + ".now")
        with torch.no_grad():
            for k, v in net.state_dict().items():
                v.mul_(0.5).add_(other[k], alpha=0.5)


def main(store, strange, target, minutes, seed=1, earlier=None, peer=None, peak=None):
    faces, others = words.Faces(store), rows.Others(strange)
    rng = np.random.default_rng(int(seed))
    torch.manual_seed(0)                                # peers begin alike
    pool, tried = Pool(faces, "train"), Pool(faces, "validation")
    held = np.random.default_rng(99)
    check = [sample(faces, tried, None, held)[:2] for _ in range(600)]
    odd = [sample(faces, tried, others, held) for _ in range(1200)]
    odd = [pair[:2] for pair in odd if pair[2] < 0]
    net = Net().to(memory_format=torch.channels_last)
    if earlier:
        net.load_state_dict(widen(torch.load(earlier)))
    peak = float(peak) if peak else 1.3e-3 if earlier else 2e-3
    optimiser = torch.optim.AdamW(net.parameters(), lr=peak, weight_decay=1e-3)
    begun, limit = time.time(), float(minutes) * 60
    average = {k: v.clone() for k, v in net.state_dict().items()}
    step, losses, shown = 0, [], 0
    while True:
        part = (time.time() - begun) / limit
        if part >= 1:
            break
        for g in optimiser.param_groups:                # short warm-up, then a cosine
            g["lr"] = peak * min(1, (step + 1) / 200) * (0.02 + 0.98 * (0.5 + 0.5 * np.cos(np.pi * part)))
        pool.weigh()
        pairs = [sample(faces, pool, others, rng) for _ in range(BATCH * 8)]
        pairs.sort(key=lambda p: p[0].shape[1])         # words of like length share a batch
        for b in rng.permutation(8):
            part_of = pairs[b * BATCH:(b + 1) * BATCH]
            with torch.autocast("cpu", torch.bfloat16):
                s = scores(net, part_of)
            # State 0 is the truth for every word as drawn: the others are the same strips turned. What is no
            # Latin lettering is none of the eight, and that has the score nought.
            told = torch.tensor([0 if p[2] >= 0 else 8 for p in part_of])
            each = F.cross_entropy(torch.cat([s.float(), torch.zeros(len(s), 1)], 1), told, reduction="none")
            for p, own in zip(part_of, each.tolist()):
                pool.heed(p[2], own)
            loss = each.mean()
            optimiser.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
            optimiser.step()
            losses.append(loss.item())
            step += 1
            keep = min(0.998, step / (step + 20))
            for k, v in net.state_dict().items():
                average[k].mul_(keep).add_(v, alpha=1 - keep)
        if peer and step % 32 == 0:
            meet(net, target, peer)
        if time.time() - shown > 90 or part > 0.995:
            shown = time.time()
            twin = Net()
            twin.load_state_dict(average)
            with torch.no_grad():
                s, n = (torch.cat([scores(twin, of[i:i + 50]) for i in range(0, len(of), 50)])
                        for of in (check, odd))
            print(f"{time.time() - begun:6.0f} s  {step:6d} steps  loss {np.mean(losses[-200:]):.4f}  "
                  f"validation loss {F.cross_entropy(s, torch.zeros(len(s), dtype=torch.long)):.4f}  "
                  f"right {np.mean(s.argmax(1).numpy() == 0):.4f}  "
                  f"known {np.mean(s.max(1).values.numpy() > 0):.4f}, {np.mean(s.max(1).values.numpy() > 3):.4f}  "
                  f"none {np.mean(n.max(1).values.numpy() > 0):.4f}, {np.mean(n.max(1).values.numpy() > 3):.4f}  "
                  f"half turn {np.mean((s[:, 0] > s[:, 4]).numpy()):.4f}", flush=True)
            torch.save(average, target)


if __name__ == "__main__":
    main(*sys.argv[1:])
