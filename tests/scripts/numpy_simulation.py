"""The gauge block of JCGM 101:2008, 9.5 (Table 10), with numpy: the counterpart in tests/benches/simulation.rs.

Draws with SFC64, evaluates the linear model and takes both intervals of 99 % from all values sorted.
Prints the time per trial and the results; `numpy_simulation.py 10000000 7` gives trials and seed.
"""
import sys
import time

import numpy as np

trials = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000_000
seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1


def ctrap(rng, half, d, n):
    """Rectangular with a half-width that is rectangular within d (JCGM 101:2008, 6.4.3)."""
    return rng.uniform(half - d, half + d, n) * rng.uniform(-1, 1, n)


def simulate(linear):
    n = trials
    rng = np.random.Generator(np.random.SFC64(seed))
    length = 50_000_623 + 25 * rng.standard_t(18, n)
    difference = 215 + 6 * rng.standard_t(24, n)
    difference += 4 * rng.standard_t(5, n)
    difference += 7 * rng.standard_t(8, n)
    alpha = rng.uniform(9.5e-6, 13.5e-6, n)
    room = rng.normal(-0.1, 0.2, n)
    room += 0.5 * np.sin(2 * np.pi * rng.random(n))
    d_alpha = ctrap(rng, 1e-6, 0.1e-6, n)
    d_theta = ctrap(rng, 0.05, 0.025, n)
    if linear:
        return length + difference - length * (d_alpha * room + alpha * d_theta) - 50_000_000
    above = length * (1 + alpha * (room - d_theta)) + difference
    return above / (1 + (alpha + d_alpha) * room) - 50_000_000


for linear in (True, False):
    start = time.perf_counter()
    y = simulate(linear)
    drawn = time.perf_counter()
    y.sort()
    inside = int(0.99 * trials + 0.5)
    low = (trials - inside + 1) // 2 - 1
    widths = y[inside:] - y[:-inside]
    best = int(np.argmin(widths))
    end = time.perf_counter()
    print("linear" if linear else "non-linear", f"M = {trials}, seed {seed}")
    print(f"  draw and model {(drawn - start) / trials * 1e9:.0f} ns, interval {(end - drawn) / trials * 1e9:.0f} ns a trial")
    print(f"  mean {y.mean():.4f}  u {y.std(ddof=1):.4f}")
    print(f"  symmetric {y[low]:.4f} {y[low + inside]:.4f}  shortest {y[best]:.4f} {y[best + inside]:.4f}")
