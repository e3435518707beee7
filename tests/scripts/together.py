"""Probabilities that all true errors lie within tolerance, for tests/together/{zero,normal,bench}.yaml.

Python 3 with numpy and scipy, which share no code with the program:

- `zero`: direct quadrature over what the points share (a rectangle and a triangle, nested `quad`), the
  rest a t, or t plus normal, whose distribution is made by quadrature again;
- `normal`: `multivariate_normal` over the covariance, 4 dimensions, 1e-8 asked for;
- `bench`: a simulation of the whole, 40 million instruments, seed 20261125; with its standard error.

Each line: case, scope, errors in µm, probability, the same with independent points, and the error of
each: bound of the quadrature, or standard error of the simulation (of the product the sum of the points').

    python3 tests/scripts/together.py > tests/data/together.csv
"""

import numpy as np
from scipy import stats
from scipy.integrate import quad

ERRORS = {
    "zero": [0.5, -1.0, 0.0, 1.0, 1.3],
    "normal": [0.5, 0.8, -0.2, 1.0],
    "bench": [0.5, -1.0, 1.0, 1.5, 2.0],
}


def zero():
    errors = np.array(ERRORS["zero"])
    # Own part: t with scale 0.6 and ν = 6 plus normal of 0.25; Gauss–Hermite over the normal.
    nodes, weights = np.polynomial.hermite_e.hermegauss(80)
    weights = weights / weights.sum()

    def own(x):
        return (weights[:, None] * stats.t.cdf((x[None, :] - 0.25 * nodes[:, None]) / 0.6, 6)).sum(axis=0)

    triangle = lambda z: (0.8 - abs(z)) / 0.64

    def inside(shift, cdf):
        return cdf(2 - errors - shift) - cdf(-2 - errors - shift)

    legendre = np.polynomial.legendre.leggauss(60)
    # Over the zero setting ±0.5 (rectangle), and each half of the triangle: smooth integrands.
    zs, zw = 0.5 * legendre[0], 0.5 * legendre[1]

    def over(function, pieces):
        total = 0
        for low, high, density in pieces:
            x = 0.5 * (high + low) + 0.5 * (high - low) * legendre[0]
            total += sum(0.5 * (high - low) * w * density(a) * function(a) for a, w in zip(x, legendre[1]))
        return total

    halves = [(-0.8, 0, triangle), (0, 0.8, triangle)]
    box = [(-0.5, 0.5, lambda _: 1.0)]
    whole = lambda f: over(lambda m: over(lambda z: f(m + z), box), halves)
    each = whole(lambda s: inside(s, own))
    joint = whole(lambda s: np.prod(inside(s, own)))
    normal = lambda x: stats.norm.cdf(x / 0.25)
    # The laboratory's part is narrow: `quad` with the kinks of the triangle.
    lab = lambda f: quad(lambda m: triangle(m) * f(m), -0.8, 0.8, points=[0.0], epsabs=1e-13, limit=400)[0]
    lab_each = [lab(lambda m: inside(m, normal)[i]) for i in range(len(errors))]
    return [("all", joint, np.prod(each), 1e-9, 1e-9),
            ("laboratory", lab(lambda m: np.prod(inside(m, normal))), np.prod(lab_each), 1e-10, 1e-10)]


def normal():
    errors, length = np.array(ERRORS["normal"]), np.array([10.0, 20, 30, 40])
    n = len(length)
    a, b = 0.4 * np.ones(n), 0.02 * length
    lab = np.outer(a, a) + np.outer(b, b) - 0.5 * (np.outer(a, b) + np.outer(b, a))
    lab += 0.36 * (0.4 * np.ones((n, n)) + 0.6 * np.eye(n))
    found = []
    for scope, matrix in [("all", lab + 0.25 * np.eye(n)), ("laboratory", lab)]:
        law = stats.multivariate_normal(cov=matrix, allow_singular=True, maxpts=20_000_000, abseps=1e-8, releps=0, seed=1)
        joint = law.cdf(2 - errors, lower_limit=-2 - errors)
        s = np.sqrt(np.diag(matrix))
        product = np.prod(stats.norm.cdf((2 - errors) / s) - stats.norm.cdf((-2 - errors) / s))
        found.append((scope, joint, product, 1e-7, 1e-12))
    return found


def bench():
    errors, length = np.array(ERRORS["bench"]), np.array([0.1, 0.2, 0.3, 0.4, 0.5])
    random, total, block = np.random.default_rng(20261125), 40_000_000, 500_000
    n = len(length)
    hits = {"all": [0, np.zeros(n)], "laboratory": [0, np.zeros(n)]}
    for _ in range(total // block):
        rectangle = lambda a, *shape: random.uniform(-a, a, (block, *shape))
        warm = (11.5 + rectangle(1, 1)) * rectangle(0.3, 1) + rectangle(2, 1) * rectangle(2, 1)
        lab = length * warm + rectangle(0.7, n)
        own = rectangle(1, 1) + 0.5 * random.standard_t(5, (block, n)) + random.triangular(-0.9, 0, 0.9, (block, n))
        for scope, error in [("all", errors + lab + own), ("laboratory", errors + lab)]:
            inside = np.abs(error) <= 4
            hits[scope][0] += np.count_nonzero(inside.all(axis=1))
            hits[scope][1] += np.count_nonzero(inside, axis=0)
    found = []
    for scope, (joint, each) in hits.items():
        p, each = joint / total, each / total
        product = np.prod(each)
        # The points' frequencies go together at worst: their relative errors add.
        worst = product * np.sum(np.sqrt((1 - each) / each / total))
        found.append((scope, p, product, np.sqrt(p * (1 - p) / total), worst))
    return found


print("case,scope,errors,probability,independent_product,error,product_error")
for make in [zero, normal, bench]:
    for scope, joint, product, error, product_error in make():
        errors = " ".join(str(it) for it in ERRORS[make.__name__])
        print(f"{make.__name__},{scope},{errors},{joint:.15g},{product:.15g},{error:.3g},{product_error:.3g}")
