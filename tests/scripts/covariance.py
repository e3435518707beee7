"""Covariances of the results at all points, for tests/together/{linear,thermal,square}.yaml.

Python 3 with numpy, which share no code with the program: the covariance of all contributors over all
points is written down as one matrix (Kronecker products of the correlation between contributors and that
between points), and sent through the sensitivities as J·Σ·Jᵀ. Products of independent inputs have the
exact covariance m_x²·C_y + m_y²·C_x + C_x·C_y (elementwise), squares E s⁴ − (E s²)². All in µm².

    python3 tests/scripts/covariance.py > tests/data/covariance.csv
"""

import numpy as np

STEP = 1 / np.sqrt(12)


def between(n, shared):
    """Correlation of one contributor over n points."""
    return np.full((n, n), float(shared)) + (1 - shared) * np.eye(n)


def linear():
    length = np.array([10.0, 20.0, 40.0])
    n = len(length)
    one = np.ones(n)
    # Each: contributions c·u with their sign at each point (µm), correlation between points.
    zero = STEP * one
    block = -0.2 * one
    slope = -length * 1000 * 3e-5 / np.sqrt(3)
    repeatability = 0.3 * one
    wide = np.where(0.25 >= 0.01 * length, -0.25, 0), np.where(0.25 >= 0.01 * length, 0, 0.01 * length)
    linked = np.array([-0.2 * one, 0.01 * length, -length * 1000 * 1e-5])
    r = np.array([[1, 0.6, 0], [0.6, 1, -0.3], [0, -0.3, 1]])
    sums = {"all": np.zeros((n, n)), "laboratory": np.zeros((n, n))}
    alone = [("instrument", zero, 1), ("laboratory", block, 1), ("laboratory", slope, 0.5),
             ("instrument", repeatability, 0), ("laboratory", wide[0], 1), ("laboratory", wide[1], 1)]
    for owner, a, shared in alone:
        here = np.diag(a) @ between(n, shared) @ np.diag(a)
        sums["all"] += here
        if owner == "laboratory":
            sums["laboratory"] += here
    jacobian = np.hstack([np.diag(a) for a in linked])
    here = jacobian @ np.kron(r, between(n, 0.7)) @ jacobian.T
    for scope in sums:
        sums[scope] += here
    return sums


def thermal():
    length = np.array([100.0, 250.0, 500.0]) / 1000
    n = len(length)

    def product(x, y, shared):
        """x and y: mean and half-width of a rectangle."""
        s = between(n, shared)
        cx, cy = x[1] ** 2 / 3 * s, y[1] ** 2 / 3 * s
        return x[0] ** 2 * cy + y[0] ** 2 * cx + cx * cy

    def contributor(at, alpha, mismatch, difference, room, shared):
        return np.outer(at, at) * (product(alpha, difference, shared) + product(mismatch, room, shared))

    lab = contributor(length, (11.5, 1), (0, 2), (0, 0.5), (0, 3), 1)
    lab = lab + contributor(length, (8, 2), (0, 1), (0, 0.2), (0, 2), 0.5)
    lab = lab + contributor(0.02 * np.ones(n), (11.5, 0), (0, 1), (0, 0.5), (0, 3), 0)
    return {"all": lab + STEP**2 * np.eye(n), "laboratory": lab}


def square():
    length = np.array([100.0, 200.0, 400.0]) * 1000
    n = len(length)
    # Second and fourth moments: rectangle a²/3, a⁴/5; normal σ², 3σ⁴; triangle a²/6, a⁴/15.
    tilt, other, wobble = (0.003**2 / 3, 0.003**4 / 5), (0.001**2, 3 * 0.001**4), (0.002**2 / 6, 0.002**4 / 15)

    def plus(x, y):
        return x[0] + y[0], x[1] + y[1] + 6 * x[0] * y[0]

    common, whole = plus(tilt, other), plus(plus(tilt, other), wobble)
    of_square = lambda x: x[1] - x[0] ** 2
    lab = np.outer(length, length) / 4 * of_square(common)
    lab[np.diag_indices(n)] = length**2 / 4 * of_square(whole)
    return {"all": lab + 0.01 * np.eye(n), "laboratory": lab}


print("case,scope,p,q,covariance")
for make in [linear, thermal, square]:
    for scope, matrix in make().items():
        for p in range(len(matrix)):
            for q in range(len(matrix)):
                print(f"{make.__name__},{scope},{p},{q},{matrix[p, q]:.17g}")
