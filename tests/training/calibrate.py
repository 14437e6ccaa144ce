"""Sets the temperature in the weights file: what scores are divided by so that
the validation words' log-loss is least.

    python calibrate.py VALIDATION.npz WEIGHTS
"""
import struct
import sys

import numpy as np

from judge import log_odds


def main(validation, weights):
    raw = np.load(validation)["raw"]
    loss, best = min((-log_odds(raw, t)[:, 0].mean(), t) for t in np.arange(0.5, 3.01, 0.05))
    print(f"temperature {best:.2f}: log-loss {loss:.4f}; at 1: {-log_odds(raw, 1.0)[:, 0].mean():.4f}")
    with open(weights, "r+b") as f:
        f.seek(6)
        f.write(struct.pack("<f", best))


if __name__ == "__main__":
    main(*sys.argv[1:])
