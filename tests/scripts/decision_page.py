"""The worked number of docs/decision-rules.md, from the evidence alone (scipy 1.17.1; any version does).

Input: budgets/outside-micrometer-0-25.yaml at 20.2 mm, typed again below. Prints u, degrees of freedom, k, U, the column
`specific risk`, and the guard band for a specific risk of 5 %. The results stand in tests/decision_rules.rs, so that no test needs
Python. Independent of the program: first order only (the second order changes u by less than 1 % and does not enter).
"""

from math import floor, sqrt
from statistics import stdev

from scipy.optimize import brentq
from scipy.stats import norm, t

READINGS = [0, 1, 0, 0, -1, 0, 0, 1, 0, 0]  # µm
LENGTH = 0.0202  # m
TOLERANCE = 4.0  # µm

block = 0.14 / sqrt(3)  # ISO 3650, grade 0, over 10 mm up to 25 mm: 0.14 µm
expansion = 11.5 * LENGTH * 0.3 / sqrt(3)
zero = 1 / sqrt(12)
scatter = stdev(READINGS)  # larger than the step at the reading, 1/√12
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
