"""Brute-force Monte Carlo of the budgets in tests/exact_budgets.rs, apart from the program.

python3 tests/scripts/exact_budgets.py > tests/data/exact_budgets.csv
Each budget is written out once more by hand, as draws in micrometres about its estimate. numpy, 4 000 000 draws in 40
blocks, fixed seed. Standard errors: binomial for probabilities, of the mean of the blocks for quantiles.
Columns: budget, what (above x, below -x, end of the 95 % interval with equal tails), x, value, standard error.
Limit deviation of a block up to 10 mm, grade 0: 0.12 um (ISO 3650:1998, table 5).
"""
import math

import numpy as np

N, BLOCKS = 4_000_000, 40
g = np.random.default_rng(20240611)


def rect(a):
    return g.uniform(-a, a, N)


def normal(u):
    return g.standard_normal(N) * u


def t(s, dof):
    return g.standard_t(dof, N) * s


def tri(a):
    return 0.5 * (rect(a) + rect(a))


def arcsine(a):
    return a * np.sin(g.uniform(-np.pi / 2, np.pi / 2, N))


def trapezoid(a, top):
    return rect(0.5 * a * (1 + top)) + rect(0.5 * a * (1 - top))


def doubtful(a, part):
    return (1 + rect(part)) * rect(a)


def thermal():
    alpha, difference = 11.5 + rect(1), 0.5 + rect(0.3)
    return alpha * difference - 5.75 + rect(2) * (1 + rect(1.5)) + rect(0.2) + normal(0.1)


def star():
    k, a, b = 1 + rect(0.5), 2 + rect(1), -1 + normal(0.5)
    return k * (a + b) - 1


def observed():
    a, b = np.array([0.3, 0.1, -0.4, 0.2, 0.0]), np.array([0.2, 0.0, -0.1, 0.3, 0.1])
    d = a - 2 * b
    return t(d.std(ddof=1) / math.sqrt(len(d)), len(d) - 1) + rect(0.6)


def linked():
    z1, z2 = g.standard_normal(N), g.standard_normal(N)
    return 0.5 * z1 + 0.4 * (-0.6 * z1 + 0.8 * z2) + rect(1)


def readings():
    return t(np.std([0.1, 0.3, -0.2, 0.0, 0.4], ddof=1), 4)


CASES = [
    ("step and normal", lambda: rect(1) + normal(0.2), (0.6, 1.0, 1.3)),
    ("two rectangles and readings", lambda: rect(2) + rect(1) + readings(), (1.0, 2.0, 3.0)),
    ("thermal with shifted parts", thermal, (1.5, 3.0, 4.5)),
    ("product of two about zero", lambda: rect(2) * rect(1) + normal(0.2), (0.3, 0.8, 1.4)),
    ("star", star, (0.5, 1.2, 2.0)),
    ("three draws", lambda: rect(1) + rect(1) + rect(1) + normal(0.1) + arcsine(0.5), (0.7, 1.4, 2.4)),
    ("stack of calibrated blocks", lambda: rect(0.12) + rect(0.12) + normal(0.15) + normal(0.15) + rect(0.5), (0.3, 0.6, 0.9)),
    ("negative sensitivity", lambda: -2 * arcsine(1) + t(0.3, 3), (0.8, 1.8, 2.3)),
    ("largest of, all", lambda: rect(1.5) + tri(1), (0.5, 1.3, 2.0)),
    ("largest of, laboratory", lambda: tri(1), (0.2, 0.5, 0.9)),
    ("observations", observed, (0.3, 0.6, 0.8)),
    ("linked normals", linked, (0.5, 1.0, 1.5)),
    ("linked by zero", lambda: rect(1) + normal(0.3) + tri(0.5), (0.5, 1.0, 1.5)),
    ("rough shapes", lambda: trapezoid(2, 0.4) + tri(1) + doubtful(1, 0.2), (0.8, 1.6, 2.6)),
    ("asymmetric product", lambda: (3 + rect(1)) * (2 + normal(0.6)) - 6, (1.0, 3.0, 5.0)),
    ("first order", lambda: 2 * rect(1) + 3 * normal(0.6), (1.0, 3.0, 5.0)),
    ("several contributors on both", lambda: (1 + normal(0.2) + normal(0.15)) * (2 + rect(1) + rect(0.25)) - 2, (0.5, 1.0, 1.6)),
]

print("# tests/scripts/exact_budgets.py")
print("budget,what,x,value,se")
for name, draw, limits in CASES:
    y = draw()
    for x in limits:
        for what, p in (("above", np.mean(y > x)), ("below", np.mean(y < -x))):
            print(f"{name.replace(',', ';')},{what},{x},{p:.9g},{math.sqrt(max(p * (1 - p), 1 / N) / N):.3g}")
    for what, q in (("low", 0.025), ("high", 0.975)):
        ends = np.array([np.quantile(it, q) for it in y.reshape(BLOCKS, -1)])
        se = ends.std(ddof=1) / math.sqrt(BLOCKS)
        print(f"{name.replace(',', ';')},{what},,{np.quantile(y, q):.9g},{se:.3g}")
