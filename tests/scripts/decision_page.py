"""The worked number of docs/decision-rules.md, from the evidence alone (scipy 1.17.1; any version does).

Input: budgets/outside-micrometer-0-25.yaml at 20.2 mm, typed again below. Prints u, degrees of freedom, k, U, the column
`specific risk`, and the guard band for a specific risk of 5 %. The results stand in tests/decision_rules.rs, so that no test needs
Python. Independent of the program. By t, as the U of the decision: first order only (the second order changes u by less than 1 % and does not enter).
"""

from math import floor, sqrt
from numpy import std

from scipy.optimize import brentq
from scipy.stats import norm, t

READINGS = [0, 1, 0, 0, -1, 0, 0, 1, 0, 0]  # µm
LENGTH = 0.0202  # m
TOLERANCE = 4.0  # µm

block = 0.14 / sqrt(3)  # ISO 3650, grade 0, over 10 mm up to 25 mm: 0.14 µm
expansion = 11.5 * LENGTH * 0.3 / sqrt(3)
zero = 1 / sqrt(12)
scatter = float(std(READINGS, ddof=1))  # larger than the step at the reading, 1/√12
faces = 0.5 / sqrt(6)

variance = block**2 + expansion**2 + zero**2 + scatter**2 + faces**2
u = sqrt(variance)
dof = variance**2 / (scatter**4 / (len(READINGS) - 1))
n = floor(dof)
k = t.ppf((1 + 0.9545) / 2, n)
print(f"u {u:.12g} dof {dof:.12g} k {k:.12g} U {k * u:.12g}")
for error in range(2, 7):
    risk = t.sf((TOLERANCE - error) / u, n) + t.sf((TOLERANCE + error) / u, n)
    print(f"{error} µm: risk {risk:.12g}, normal {norm.sf((TOLERANCE - error) / u):.12g}")
w = brentq(lambda w: t.sf(w / u, n) + t.sf((2 * TOLERANCE - w) / u, n) - 0.05, 0, TOLERANCE, xtol=1e-14)
print(f"w for 5 %: {w:.12g}, one limit {t.isf(0.05, n) * u:.12g}")


# The specific risk is that of the exact distribution, as repeatability has over 30 % of u². By direct integration (numpy): the mean of
# G(x − product − t) over the density of t and the product alpha_difference × from_20, G the survival function of the sum of
# rectangles (a triangle is two) by inclusion and exclusion; Gauss-Legendre between the kinks of G.
from itertools import product as signs
from math import factorial

import numpy as np


def exact(length):
    alphas = [0.14, 11.5 * length * 0.3, 0.5, 0.25, 0.25]  # µm; the triangle ±0.5 µm is two of ±0.25 µm
    corners = [(sum(s * a for s, a in zip(sign, alphas)), np.prod(sign)) for sign in signs((-1, 1), repeat=5)]
    nodes, weights = np.polynomial.legendre.leggauss(40)
    few, few_weights = np.polynomial.legendre.leggauss(12)
    shifts = [(1.0 * length * x * y, 0.25 * v * w) for x, v in zip(few, few_weights) for y, w in zip(few, few_weights)]
    scatter_s, n9 = float(std(READINGS, ddof=1)), len(READINGS) - 1

    def rectangles(x):
        """P(sum > x): by symmetry that of the smaller tail, so that nothing cancels."""
        x = np.asarray(x)
        low = -np.abs(x)
        total = sum(sign * np.maximum(low - corner, 0) ** 5 for corner, sign in corners)
        cdf = np.abs(total) / (factorial(5) * np.prod([2 * a for a in alphas]))
        return np.where(x >= 0, cdf, 1 - cdf)

    def survival(x):
        kinks = sorted({x - corner for corner, _ in corners})
        edges = np.array([-200.0, -50, -20, -10, -6, -4, -3, -2, -1, 0, 1, 2, 3, 4, 6, 10, 20, 50, 200])
        edges = np.unique(np.concatenate([edges, kinks]))
        half, mid = 0.5 * np.diff(edges)[:, None], 0.5 * (edges[1:] + edges[:-1])[:, None]
        at = mid + half * nodes
        dense = t.pdf(at / scatter_s, n9) / scatter_s * half * weights
        # The product moves the kinks a little, over which the fourth derivative is still continuous.
        return sum(w * (np.sum(dense * rectangles(x - s - at))) for s, w in shifts) + t.sf(200 / scatter_s, n9)

    return survival


survival = exact(LENGTH)
for error in range(2, 7):
    print(f"{error} µm: exact risk {survival(TOLERANCE - error) + survival(TOLERANCE + error):.13g}")
w = brentq(lambda w: survival(w) + survival(2 * TOLERANCE - w) - 0.05, 0.5, TOLERANCE, xtol=1e-14)
print(f"w for 5 %, exact: {w:.13g}")
survival = exact(0.0176)
print(f"17.6 mm, +3 µm: exact risk {survival(1) + survival(7):.13g}")
