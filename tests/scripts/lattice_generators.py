"""Search for the generators of the rank-1 lattices in src/decide/joint/lattice.rs.

A Korobov lattice of n points (n prime) has the generating vector 1, a, a^2, ... mod n. For each n this takes, of
all a in 2..n-1 (n = 1021) or of a fixed random sample of them, the one with the least worst-case error

    P2(a) = -1 + 1/n sum_k prod_j (1 + g_j 2 pi^2 B2({k a^(j-1) / n})),   B2(x) = x^2 - x + 1/6,

with weights g_j = 1/j^2, or

    P4(a) = -1 + 1/n sum_k prod_j (1 - h_j B4({k a^(j-1) / n})),   B4(x) = x^2 (1 - x)^2 - 1/30,

with weights h_j = 65/j, in 12 dimensions (the kernel puts the dimensions in order of importance). The kernel takes
1021, 8191 and 65521 by P2 and 32749 by P4: of both, those with the smaller scatter between shifts on products of
normal probabilities in 4 to 9 dimensions. No data.
Run: python3 tests/scripts/lattice_generators.py   (numpy; some minutes)
"""
import numpy as np

DIMENSIONS = 12
SEED = 20261124


def p2(j, x):
    return 1 + 2 * np.pi**2 / j**2 * (x * x - x + 1 / 6)


def p4(j, x):
    y = x * (1 - x)
    return 1 + 65 / j * (1 / 30 - y * y)


def criterion(kernel, n, a):
    # Points k and n - k give the same.
    k = np.arange((n + 1) // 2, dtype=np.int64)
    product = np.ones(len(k))
    power = 1
    for j in range(1, DIMENSIONS + 1):
        product *= kernel(j, (k * power % n) / n)
        power = power * a % n
    return (2 * product[1:].sum() + product[0]) / n - 1


def search(kernel, sample):
    rng = np.random.default_rng(SEED)
    for n, count in sample.items():
        candidates = range(2, n // 2) if count is None else rng.integers(2, n // 2, count)
        best = min((criterion(kernel, n, int(a)), int(a)) for a in candidates)
        print(f"({n}, {best[1]}),  # {kernel.__name__} = {best[0]:.3e}", flush=True)


search(p2, {1021: None, 4093: 1500, 16381: 1000, 65521: 400})
search(p2, {2039: None, 8191: 1000, 32749: 400})
search(p4, {1021: None, 4093: 1200, 8191: 900, 16381: 600, 32749: 400})
