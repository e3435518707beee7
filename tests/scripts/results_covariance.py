"""Covariances between the results of invented budgets, for tests/results_covariance.rs (numpy 2, mpmath 1.3).

  python3 tests/scripts/results_covariance.py > tests/data/results_covariance.json

Linear models: C·V·Cᵀ by numpy. Nonlinear models: the same with derivatives by mpmath's numerical differentiation at 40
digits, so that nothing is shared with the program's exact derivatives. V has random correlations rounded to three decimals;
draws whose rounded matrix is not safely positive definite are drawn again. First order (`order: first`).
"""

import json

import mpmath as mp
import numpy as np

mp.mp.dps = 40
RNG = np.random.default_rng(20111)


def correlations(n):
    while True:
        f = RNG.normal(size=(n, n + 1))
        v = f @ f.T
        d = np.sqrt(np.diag(v))
        r = np.round(v / np.outer(d, d), 3)
        if np.linalg.eigvalsh(r).min() > 1e-3:
            return r


def budget(models, values, us, r):
    n = len(values)
    lines = ["surebound: 1", "title: Invented", "measurand: {symbol: y0, name: First, unit: 1}", f"model: {models[0]}", "results:"]
    lines += [f"  - {{symbol: y{k}, name: Result {k}, unit: 1, model: '{m}'}}" for k, m in enumerate(models) if k]
    lines.append("estimates: {" + ", ".join(f"x{i}: {v}" for i, v in enumerate(values)) + "}")
    lines.append("contributors:")
    lines += [f"  - {{name: c{i}, adds_to: x{i}, standard_uncertainty: {u}}}" for i, u in enumerate(us)]
    lines.append("linked:")
    lines += [f"  - {{between: [c{a}, c{b}], r: {r[a, b]}}}" for a in range(n) for b in range(a)]
    lines.append("order: first")
    return "\n".join(lines) + "\n"


def case(name, models, functions, values, us, r):
    x = tuple(mp.mpf(v) for v in values)
    n = len(x)
    unit = lambda k: tuple(int(k == j) for j in range(n))
    jacobian = np.array([[float(mp.diff(f, x, unit(k))) for k in range(n)] for f in functions])
    u = np.array([float(v) for v in us])
    cov = jacobian @ (r * np.outer(u, u)) @ jacobian.T
    return {"name": name, "budget": budget(models, values, us, r), "estimates": [float(f(*x)) for f in functions], "covariance": cov.tolist()}


def linear(index):
    n, m = int(RNG.integers(2, 7)), int(RNG.integers(2, 5))
    c = [[f"{v:.3f}" for v in row] for row in RNG.uniform(-3, 3, size=(m, n))]
    models = [" + ".join(f"({v}) * x{i}" for i, v in enumerate(row)) for row in c]
    functions = [lambda *x, row=row: mp.fsum(mp.mpf(v) * it for v, it in zip(row, x)) for row in c]
    values = [f"{v:.3f}" for v in RNG.uniform(-5, 5, size=n)]
    us = [f"{v:.4f}" for v in RNG.uniform(0.01, 0.5, size=n)]
    return case(f"linear {index}", models, functions, values, us, correlations(n))


def nonlinear(index):
    models = ["x0 * x1 / x2", "sqrt(x0^2 + x1^2)", "exp(-x2 / x3) * x0", "atan2(x1, x0) + y0 * x3", "ln(y1) - y2"]
    y0 = lambda a, b, c, d: a * b / c
    y1 = lambda a, b, c, d: mp.sqrt(a * a + b * b)
    y2 = lambda a, b, c, d: mp.exp(-c / d) * a
    y3 = lambda a, b, c, d: mp.atan2(b, a) + y0(a, b, c, d) * d
    y4 = lambda a, b, c, d: mp.log(y1(a, b, c, d)) - y2(a, b, c, d)
    values = [f"{v:.3f}" for v in RNG.uniform(0.5, 4, size=4)]
    us = [f"{v:.4f}" for v in RNG.uniform(0.001, 0.05, size=4)]
    return case(f"nonlinear {index}", models, [y0, y1, y2, y3, y4], values, us, correlations(4))


if __name__ == "__main__":
    cases = [linear(k) for k in range(12)] + [nonlinear(k) for k in range(8)]
    print(json.dumps(cases, indent=1, ensure_ascii=False))
