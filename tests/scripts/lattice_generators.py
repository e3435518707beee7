"""Search for the generators of the rank-1 lattices in src/decide/joint/lattice.rs.

A Korobov lattice of n points (n prime) has the generating vector 1, a, a^2, ... mod n. For each n this takes, of
all a in 2..n-1 (n = 1021) or of a fixed random sample of them, the one with the least worst-case error

    P2(a) = -1 + 1/n sum_k prod_j (1 + g_j 2 pi^2 B2({k a^(j-1) / n})),   B2(x) = x^2 - x + 1/6,

in 12 dimensions with weights g_j = 1/j^2 (the kernel puts the dimensions in order of importance). No data.
Run: python3 tests/scripts/lattice_generators.py   (numpy; some minutes)
"""
import numpy as np

DIMENSIONS = 12
SAMPLE = {1021: None, 4093: 1500, 16381: 1000, 65521: 400, 262139: 120}


def criterion(n, a):
    k = np.arange(n, dtype=np.int64)
    product = np.ones(n)
    power = 1
    for j in range(1, DIMENSIONS + 1):
        x = (k * power % n) / n
        product *= 1 + 2 * np.pi**2 / j**2 * (x * x - x + 1 / 6)
        power = power * a % n
    return product.mean() - 1


def main():
    rng = np.random.default_rng(20261124)
    for n, count in SAMPLE.items():
        candidates = range(2, n // 2) if count is None else rng.integers(2, n // 2, count)
        best = min((criterion(n, int(a)), int(a)) for a in candidates)
        print(f"({n}, {best[1]}),  # P2 = {best[0]:.3e}", flush=True)


main()
