"""Coverage rasters of closed rings under the non-zero winding rule.

The same sums are made in letter_raster.rs; evaluate.py compares the two.
Each pixel row is cut into SUB scan lines; along a scan line the covered
stretches are exact, so flipping the rings left-right or top-bottom flips the
raster (up to rounding), which is what lets one raster serve four states.
"""
import numpy as np
from numba import njit

SUB = 4


@njit(cache=True)
def coverage(pts, ring_start, first, last, out):
    """Adds rings first..last (points in pixels, y down) into out[h, w], which
    must be zero at the start; values end in 0..1."""
    h, w = out.shape
    lines = h * SUB
    # Count the crossings of each scan line, then store them line by line.
    count = np.zeros(lines + 1, np.int64)
    for store in range(2):
        if store == 1:
            total = 0
            for i in range(lines + 1):
                c = count[i]
                count[i] = total
                total += c
            xs = np.empty(total, np.float64)
            ws = np.empty(total, np.int64)
            at = count.copy()
        for r in range(first, last):
            a, b = ring_start[r], ring_start[r + 1]
            for i in range(a, b):
                j = i + 1 if i + 1 < b else a
                x0, y0 = float(pts[i, 0]), float(pts[i, 1])
                x1, y1 = float(pts[j, 0]), float(pts[j, 1])
                if y0 == y1:
                    continue
                wind = 1
                if y0 > y1:
                    x0, y0, x1, y1 = x1, y1, x0, y0
                    wind = -1
                # Scan line k runs at (k + 0.5) / SUB; take y0 <= line < y1.
                k0 = max(int(np.ceil(y0 * SUB - 0.5)), 0)
                k1 = min(int(np.ceil(y1 * SUB - 0.5)), lines)
                slope = (x1 - x0) / (y1 - y0)
                for k in range(k0, k1):
                    if store == 0:
                        count[k] += 1
                    else:
                        xs[at[k]] = x0 + ((k + 0.5) / SUB - y0) * slope
                        ws[at[k]] = wind
                        at[k] += 1
    for k in range(lines):
        a, b = count[k], count[k + 1]
        if b <= a:
            continue
        # Insertion sort: a scan line has few crossings.
        for i in range(a + 1, b):
            x, v = xs[i], ws[i]
            j = i - 1
            while j >= a and xs[j] > x:
                xs[j + 1] = xs[j]
                ws[j + 1] = ws[j]
                j -= 1
            xs[j + 1] = x
            ws[j + 1] = v
        row = k // SUB
        wind = 0
        start = 0.0
        for i in range(a, b):
            before = wind
            wind += ws[i]
            if before == 0 and wind != 0:
                start = xs[i]
            elif before != 0 and wind == 0:
                s = max(start, 0.0)
                e = min(xs[i], float(w))
                c = int(s)
                while c < w and c < e:
                    out[row, c] += (min(e, c + 1.0) - max(s, float(c))) / SUB
                    c += 1


def raster_glyph(rings, side):
    """A glyph fitted into side x side, both axes stretched to fill it."""
    pts = np.concatenate(rings).astype(np.float64)
    low, high = pts.min(0), pts.max(0)
    pts = (pts - low) / np.maximum(high - low, 1e-6) * side
    pts[:, 1] = side - pts[:, 1]
    starts = np.cumsum([0] + [len(r) for r in rings])
    out = np.zeros((side, side))
    coverage(pts, starts, 0, len(rings), out)
    return out
