"""The network: one strip in, one number out (how much the strip looks like
upright, unmirrored Latin lettering; below nought if it does not). The eight states of a word are told apart by
showing it the strips of all eight ways of laying the word back upright.

State k = 2 * quarter + mirrored: the word as found is upright lettering,
first mirrored left-right if `mirrored`, then turned clockwise by
quarter * 90 degrees (as seen, y down).
"""
import numpy as np
import torch
from torch import nn
from torch.nn import functional as F

# (in, out, kernel h, kernel w, stride h, stride w, pad h, pad w)
LAYERS = [(1, 16, 5, 5, 2, 2, 2, 2), (16, 32, 3, 3, 1, 1, 1, 1), (32, 48, 3, 3, 2, 2, 1, 1),
          (48, 64, 3, 3, 1, 1, 1, 1), (64, 112, 3, 3, 2, 1, 1, 1), (112, 160, 3, 3, 1, 1, 0, 1),
          (160, 112, 1, 5, 1, 1, 0, 2), (112, 96, 1, 3, 1, 1, 0, 1), (96, 1, 1, 1, 1, 1, 0, 0)]


class Net(nn.Module):
    def __init__(self):
        super().__init__()
        self.convs = nn.ModuleList(nn.Conv2d(i, o, (kh, kw), (sh, sw), (ph, pw))
                                   for i, o, kh, kw, sh, sw, ph, pw in LAYERS)

    def forward(self, x, widths):
        """x [B, 1, HEIGHT, W]; widths [B]: columns that are the strip's own.
        Columns beyond are held at nought, as if the strip ended there."""
        for n, (conv, spec) in enumerate(zip(self.convs, LAYERS)):
            x = conv(x)
            widths = torch.div(widths, spec[5], rounding_mode="floor")
            if n + 1 < len(LAYERS):
                x = F.relu(x)
            mask = torch.arange(x.shape[3])[None, :] < widths[:, None]
            x = x * mask[:, None, None, :].to(x.dtype)
        return x.sum((1, 2, 3)).float()


def widen(state):
    """The weights of a net with fewer channels (as the weights before the fifth were), in this one. What is added
    sees something, by chance, and says nothing at first: the function is the same."""
    new = Net().state_dict()
    for name, own in new.items():
        old = state[name]
        if name.endswith("weight"):
            own[:old.shape[0], old.shape[1]:] = 0
            own[:old.shape[0], :old.shape[1]] = old
        else:
            own.zero_()
            own[:len(old)] = old
    return new


def batch(strips):
    width = max(s.shape[1] for s in strips)
    x = np.zeros((len(strips), 1, strips[0].shape[0], width), np.float32)
    for i, s in enumerate(strips):
        x[i, 0, :, :s.shape[1]] = s
    return torch.from_numpy(x), torch.tensor([s.shape[1] for s in strips])


def four(strip):
    """A strip as it is, mirrored, turned by a half, and both."""
    return [strip, strip[:, ::-1], strip[::-1, ::-1], strip[::-1, :]]


def eight_strips(lying, standing):
    """The strips that undo states 0..7, from `words.two_strips`.

    Undoing state (q, m): turn back by q quarters, then mirror if m. `standing`
    is the word turned back by one quarter; by three is that and a half turn.
    """
    a, b = four(lying), four(standing)
    return [a[0], a[1], b[0], b[1], a[2], a[3], b[2], b[3]]


def scores(net, pairs):
    """[B, 8] scores of (lying, standing) strip pairs."""
    lying = [s for p in pairs for s in four(p[0])]
    standing = [s for p in pairs for s in four(p[1])]
    a = net(*batch(lying)).view(-1, 4)
    b = net(*batch(standing)).view(-1, 4)
    return torch.stack([a[:, 0], a[:, 1], b[:, 0], b[:, 1], a[:, 2], a[:, 3], b[:, 2], b[:, 3]], 1)
