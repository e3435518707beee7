"""Reference values for src/decide/joint: probabilities that all points lie within limits. Writes tests/data/joint_boxes.csv.

Each case is defined here and, under the same name, in tests/joint.rs. None is computed as the kernel does it:

* normal boxes: scipy.stats.multivariate_normal.cdf of the full covariance (2 to 10 dimensions), or mpmath
  quadrature of the one-factor formula for the equicorrelated ones (30 digits);
* rectangular and t draws: tanh-sinh or Gauss-Legendre quadrature with mpmath in the plain variable, split at
  the kinks, with mpmath's own distribution functions;
* multivariate t: scipy.stats.multivariate_t.cdf, or mpmath over chi^2 of closed normal boxes;
* two and three factors: scipy tensor Gauss-Hermite / Gauss-Legendre rules of 200 nodes per dimension.

The column `error` is what the method itself is good for. Run: python3 tests/scripts/joint_boxes.py (about a minute)
"""
import math
from pathlib import Path

import mpmath as mp
import numpy as np
import scipy
from scipy import stats
from scipy.special import ndtr

mp.mp.dps = 30
ROWS = []


def row(name, value, error):
    ROWS.append((name, mp.nstr(mp.mpf(value), 17), error))
    print(ROWS[-1], flush=True)


def phi(x):
    return mp.ncdf(x)


def quad(f, points):
    return mp.quad(f, points)


# One factor. Point i of n: estimate e_i, loading b_i, own normal s_i, limits +-1.
def spread(n):
    """estimates, loadings and own parts of n points: formulas, the same in tests/joint.rs"""
    e = [0.3 * math.sin(1.0 + i) for i in range(n)]
    b = [0.35 + 0.1 * math.cos(2.0 * i) for i in range(n)]
    s = [0.2 + 0.05 * math.sin(3.0 * i) for i in range(n)]
    return e, b, s


def one_factor(n):
    e, b, s = spread(n)

    def f(z):
        p = mp.npdf(z)
        for i in range(n):
            p *= phi((1 - e[i] - b[i] * z) / s[i]) - phi((-1 - e[i] - b[i] * z) / s[i])
        return p

    return quad(f, [-12, -4, -2, -1, 0, 1, 2, 4, 12])


def equicorrelated(n, r, k):
    """n standard normals, correlation r, limits +-k"""
    a, c = mp.sqrt(r), mp.sqrt(1 - r)
    f = lambda z: mp.npdf(z) * (phi((k - a * z) / c) - phi((-k - a * z) / c)) ** n
    return quad(f, [-12, -4, -2, 0, 2, 4, 12])


def rectangular_shared(n):
    """shared: rectangle of half-width 1, rest normal"""
    e, b, s = spread(n)

    def f(z):
        p = mp.mpf(1) / 2
        for i in range(n):
            p *= phi((1 - e[i] - 1.5 * b[i] * z) / s[i]) - phi((-1 - e[i] - 1.5 * b[i] * z) / s[i])
        return p

    return quad(f, [-1, -0.5, 0, 0.5, 1])


def t_pdf(x, v):
    return mp.gamma((v + 1) / 2) / (mp.sqrt(v * mp.pi) * mp.gamma(v / 2)) * (1 + x * x / v) ** (-(v + 1) / 2)


def t_shared(n, v):
    """shared: t, rest rectangular with half-width 0.3; limits +-1"""
    e, b, _ = spread(n)
    a = 0.3
    clip = lambda x: max(mp.mpf(-a), min(mp.mpf(a), x))

    def f(z):
        p = t_pdf(z, mp.mpf(v))
        for i in range(n):
            p *= (clip(1 - e[i] - b[i] * z) - clip(-1 - e[i] - b[i] * z)) / (2 * a)
        return p

    cuts = sorted({(side * 1 - e[i] + kink) / b[i] for i in range(n) for side in (-1, 1) for kink in (-a, a)})
    low = max((-1 - e[i] - a) / b[i] for i in range(n))
    high = min((1 - e[i] + a) / b[i] for i in range(n))
    return quad(f, [low] + [c for c in cuts if low < c < high] + [high])


def arcsine_shared(n):
    """shared: arcsine of half-width 1 with loading 2 b, rest normal"""
    e, b, s = spread(n)

    def f(th):
        z = mp.sin(th)
        p = 1 / mp.pi
        for i in range(n):
            p *= phi((1 - e[i] - 2 * b[i] * z) / s[i]) - phi((-1 - e[i] - 2 * b[i] * z) / s[i])
        return p

    return quad(f, [-mp.pi / 2, -0.5, 0.5, mp.pi / 2])


def one_sided(n):
    """upper limit 0.5 only, one normal factor"""
    e, b, s = spread(n)

    def f(z):
        p = mp.npdf(z)
        for i in range(n):
            p *= phi((0.5 - e[i] - b[i] * z) / s[i])
        return p

    return quad(f, [-12, -4, -2, -1, 0, 1, 2, 4, 12])


def sharp(n):
    """rest a hundred times smaller"""
    e, b, s = spread(n)
    edges = [min((1 - e[i]) / b[i] for i in range(n)), max((-1 - e[i]) / b[i] for i in range(n))]

    def f(z):
        p = mp.npdf(z)
        for i in range(n):
            p *= phi((1 - e[i] - b[i] * z) / (s[i] / 100)) - phi((-1 - e[i] - b[i] * z) / (s[i] / 100))
        return p

    cuts = sorted(c + d for c in edges for d in (-0.1, -0.05, -0.02, -0.01, 0, 0.01, 0.02, 0.05, 0.1))
    return quad(f, [-12, -4] + cuts + [4, 12])


def loadings(n, m):
    """loading of point i on factor j"""
    return np.array([[0.4 / (j + 1) * math.cos(1.0 + i * (j + 1)) for j in range(m)] for i in range(n)])


def factors(n, m, nodes):
    """m normal factors, own normal; tensor Gauss-Legendre on +-9 (m <= 3)"""
    e, _, s = map(np.array, spread(n))
    B = loadings(n, m)
    x, w = np.polynomial.legendre.leggauss(nodes)
    x, w = 9 * x, 9 * w * stats.norm.pdf(9 * x)
    grids = np.meshgrid(*[x] * m, indexing="ij")
    weight = np.ones([nodes] * m)
    for g in np.meshgrid(*[w] * m, indexing="ij"):
        weight = weight * g
    for i in range(n):
        mean = e[i] + sum(B[i, j] * grids[j] for j in range(m))
        weight = weight * (ndtr((1 - mean) / s[i]) - ndtr((-1 - mean) / s[i]))
    return weight.sum()


def rectangles(n, m, nodes):
    """m rectangular factors of half-width 1.5, own normal"""
    e, _, s = map(np.array, spread(n))
    B = loadings(n, m)
    x, w = np.polynomial.legendre.leggauss(nodes)
    x, w = 1.5 * x, w / 2
    grids = np.meshgrid(*[x] * m, indexing="ij")
    weight = np.ones([nodes] * m)
    for g in np.meshgrid(*[w] * m, indexing="ij"):
        weight = weight * g
    for i in range(n):
        mean = e[i] + sum(B[i, j] * grids[j] for j in range(m))
        weight = weight * (ndtr((1 - mean) / s[i]) - ndtr((-1 - mean) / s[i]))
    return weight.sum()


def box(n, m, maxpts=4_000_000):
    """the same as factors(), by multivariate_normal on the full covariance"""
    e, _, s = map(np.array, spread(n))
    B = loadings(n, m)
    cov = B @ B.T + np.diag(s * s)
    rng = np.random.default_rng(1)
    args = dict(mean=e, cov=cov, lower_limit=-np.ones(n), maxpts=maxpts, abseps=1e-9, releps=0, rng=rng)
    return stats.multivariate_normal.cdf(np.ones(n), **args)


def thermal(n):
    """error i = e_i + 0.2 z1 + 0.3 b_i z1 z2 (rectangles of half-width 1), own normal s_i, limits +-0.6"""
    e, b, s = map(np.array, spread(n))
    x, w = np.polynomial.legendre.leggauss(150)
    z1, z2 = np.meshgrid(x, x, indexing="ij")
    weight = np.outer(w / 2, w / 2)
    for i in range(n):
        mean = 0.5 * e[i] + 0.2 * z1 + 0.3 * b[i] * z1 * z2 * 3
        weight = weight * (ndtr((0.6 - mean) / s[i]) - ndtr((-0.6 - mean) / s[i]))
    return weight.sum()


def bare_two(n):
    """no rest: two normal factors, point i: |cos(a_i) z1 + sin(a_i) z2| <= 1.5, a_i = pi i / n: a regular polygon of 2n
    sides of apothem 1.5. By mpmath in polar coordinates: 1 - (n/pi) int over a sector of exp(-rho^2/2)."""
    h = mp.pi / (2 * n)
    f = lambda t: mp.e ** (-(mp.mpf("1.5") / mp.cos(t)) ** 2 / 2)
    return 1 - quad(f, [-h, 0, h]) * 2 * n / (2 * mp.pi)


def student_polygon(n, v):
    """the polygon under a bivariate t: density radial, P(R > rho) = (1 + rho^2/v)^(-v/2)"""
    h = mp.pi / (2 * n)
    f = lambda t: (1 + (mp.mpf("1.5") / mp.cos(t)) ** 2 / v) ** (-mp.mpf(v) / 2)
    return 1 - quad(f, [-h, 0, h]) * 2 * n / (2 * mp.pi)


def student_box(n, m, v):
    """m columns of a multivariate t with v degrees of freedom, no rest, |T_i| <= 2, T = n columns of their own:
    independent numerators, common chi^2: E[(2 Phi(2 s) - 1)^n], s^2 = chi^2/v"""
    def f(s):
        x = s * s * v
        density = x ** (mp.mpf(v) / 2 - 1) * mp.e ** (-x / 2) / (2 ** (mp.mpf(v) / 2) * mp.gamma(mp.mpf(v) / 2))
        return density * 2 * s * v * mp.erf(2 * s / mp.sqrt(2)) ** n
    return quad(f, [0, 0.5, 1, 1.5, 2, 4, 8])


def main():
    for n in (2, 3, 5, 10, 60):
        row(f"one_factor_{n}", one_factor(n), 1e-15)
    row("rectangular_shared_60", rectangular_shared(60), 1e-15)
    for v in (1, 4):
        row(f"t_shared_{v}", t_shared(10, v), 1e-14)
    row("arcsine_shared_10", arcsine_shared(10), 1e-14)
    row("one_sided_10", one_sided(10), 1e-15)
    row("sharp_5", sharp(5), 1e-12)
    for n in (3, 5, 10):
        for r in ("0.2", "0.5", "0.95"):
            row(f"equicorrelated_{n}_{r}", equicorrelated(n, mp.mpf(r), mp.mpf("1.5")), 1e-15)
    row("equicorrelated_60_0.5", equicorrelated(60, mp.mpf("0.5"), mp.mpf("2.5")), 1e-15)
    for m in (2, 3):
        a, b = factors(10, m, 120), factors(10, m, 160)
        row(f"factors_10_{m}", b, max(abs(a - b), 1e-14))
        a, b = rectangles(10, m, 60), rectangles(10, m, 80)
        row(f"rectangles_10_{m}", b, max(abs(a - b), 1e-14))
    a, b = factors(60, 3, 120), factors(60, 3, 140)
    row("factors_60_3", b, max(abs(a - b), 1e-14))
    a, b = rectangles(10, 5, 18), rectangles(10, 5, 20)
    row("rectangles_10_5", b, max(abs(a - b), 1e-14))
    for n in (2, 3, 5, 10):
        first, second = box(n, 5), box(n, 5, 2_000_000)
        row(f"box_{n}_5", first, max(3 * abs(first - second), 1e-7))
    row("thermal_10", thermal(10), 1e-13)
    row("polygon_7", bare_two(7), 1e-15)
    row("student_polygon_7", student_polygon(7, 3), 1e-15)
    for n in (2, 5):
        row(f"student_box_{n}", student_box(n, n, 5), 1e-15)
    head = f"# mpmath {mp.__version__} (30 digits), scipy {scipy.__version__}, tests/scripts/joint_boxes.py; `error` as there\n"
    path = Path(__file__).parent.parent / "data" / "joint_boxes.csv"
    lines = [f"{name},{value},{error:.1e}\n" for name, value, error in ROWS]
    path.write_text(head + "case,probability,error\n" + "".join(lines))


main()
