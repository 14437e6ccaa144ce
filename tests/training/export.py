"""Writes a trained network as the weights file that src/readback/letter_shape.rs reads.

    python export.py NET.pt [NET.pt ...] TEMPERATURE WEIGHTS

Several nets (of processes that shared the training) are averaged. Weights become signed bytes with one scale for each output channel; the layout
is told at `Model::from_bytes`.
"""
import struct
import sys

import numpy as np
import torch

from model import LAYERS, Net


def write(net, temperature, path):
    out = [b"JWLS\x01", struct.pack("<Bf", len(LAYERS), temperature)]
    for conv, (i, o, kh, kw, sh, sw, ph, pw) in zip(net.convs, LAYERS):
        w = conv.weight.detach().float().numpy()                     # out, in, kh, kw
        scale = np.maximum(np.abs(w).reshape(o, -1).max(1), 1e-12).astype(np.float32) / 127
        q = np.clip(np.round(w / scale[:, None, None, None]), -127, 127).astype(np.int8)
        out.append(struct.pack("<HH6B", i, o, kh, kw, sh, sw, ph, pw))
        out.append(scale.astype("<f4").tobytes())
        out.append(conv.bias.detach().float().numpy().astype("<f4").tobytes())
        out.append(q.transpose(2, 3, 1, 0).tobytes())                # kh, kw, in, out
    with open(path, "wb") as f:
        f.write(b"".join(out))


def read(path):
    """The network as the weights file has it, and its temperature."""
    data = open(path, "rb").read()
    assert data[:5] == b"JWLS\x01"
    count, temperature = struct.unpack_from("<Bf", data, 5)
    at, net = 10, Net()
    for conv in net.convs:
        i, o, kh, kw, *_ = struct.unpack_from("<HH6B", data, at)
        at += 10
        scale = np.frombuffer(data, "<f4", o, at)
        bias = np.frombuffer(data, "<f4", o, at + 4 * o)
        at += 8 * o
        q = np.frombuffer(data, np.int8, kh * kw * i * o, at).reshape(kh, kw, i, o)
        at += q.size
        conv.weight.data = torch.from_numpy((q * scale).astype(np.float32).transpose(3, 2, 0, 1).copy())
        conv.bias.data = torch.from_numpy(bias.copy())
    assert at == len(data) and count == len(net.convs)
    return net, temperature


if __name__ == "__main__":
    net = Net()
    *nets, temperature, path = sys.argv[1:]
    states = [torch.load(n) for n in nets]
    net.load_state_dict({k: sum(s[k] for s in states) / len(states) for k in states[0]})
    write(net, float(temperature), path)
