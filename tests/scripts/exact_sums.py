"""Probabilities beyond a point of sums of independent variables, against which the exact interval is tested.

Writes tests/data/exact_sums.csv:  python3 tests/scripts/exact_sums.py > tests/data/exact_sums.csv
Direct integration with mpmath: P(S > x) = the integral of one density times the survival function of the rest,
30 digits, split at every kink. No characteristic function and no recurrence is used,
so nothing is shared with the code, but for `boxes`: sums of rectangles (and a normal) by inclusion and
exclusion with 80 digits, which the code computes otherwise where they are many.

A mix is a list of terms: N, R, D (triangle), Z (trapezoid; top), A (arcsine), C (curvilinear trapezoid; ratio),
T (dof), each with its standard uncertainty (T: scale); a star is *centre/slope and its arms /slope/product/piece+piece.
Arguments are exact binary64 values.
"""
from itertools import product as pairs
from mpmath import mp, mpf, sqrt, pi, erfc, exp, log, acos, asin, sin, quad, gamma, betainc, factorial, inf

mp.dps = 30


class V:
    """A variable: density, survival, kinks and scale."""

    def __init__(self, text):
        kind, *rest = text.split(":")
        u = mpf(float(rest[0]))
        self.kind, self.u, self.kinks, self.end = kind, u, [], None
        p = mpf(float(rest[1])) if len(rest) > 1 else None
        if kind == "N":
            self.f = lambda x: exp(-(x / u) ** 2 / 2) / (u * sqrt(2 * pi))
            self.s = lambda x: erfc(x / u / sqrt(2)) / 2
        elif kind == "T":
            c = gamma((p + 1) / 2) / gamma(p / 2) / sqrt(p * pi) / u
            self.f = lambda x: c * (1 + (x / u) ** 2 / p) ** (-(p + 1) / 2)
            def s(x):
                tail = betainc(p / 2, mpf(1) / 2, 0, p / (p + (x / u) ** 2), regularized=True) / 2
                return tail if x >= 0 else 1 - tail
            self.s = s
        elif kind == "R":
            a = u * sqrt(3)
            self.end = a
            self.f = lambda x: 1 / (2 * a) if abs(x) < a else mpf(0)
            self.s = lambda x: min(mpf(1), max(mpf(0), (a - x) / (2 * a)))
        elif kind in "DZ":
            b = p if kind == "Z" else mpf(0)
            a = u * sqrt(6 / (1 + b * b))
            self.end, self.kinks = a, [a * b]
            h = 1 / (a * (1 + b))
            self.f = lambda x: h if abs(x) < a * b else max(mpf(0), h * (a - abs(x)) / (a * (1 - b)))
            def s(x):
                if x < 0:
                    return 1 - s(-x)
                if x >= a:
                    return mpf(0)
                return mpf(1) / 2 - h * x if x < a * b else h * (a - x) ** 2 / (2 * a * (1 - b))
            self.s = s
        elif kind == "A":
            a = u * sqrt(2)
            self.end, self.angle = a, True
            self.s = lambda x: mpf(1) if x <= -a else mpf(0) if x >= a else acos(x / a) / pi
        elif kind == "C":
            a = u * sqrt(3 / (1 + p * p / 3))
            d = a * p
            self.end, self.kinks = a + d, [a - d]
            self.f = lambda x: log((a + d) / max(abs(x), a - d)) / (4 * d) if abs(x) < a + d else mpf(0)
            def s(x):
                if x < 0:
                    return 1 - s(-x)
                if x >= a + d:
                    return mpf(0)
                w = max(x, a - d)
                return (a + d - w - x * log((a + d) / w)) / (4 * d) if w else mpf(1) / 2
            self.s = s
        self.marks = ([self.end] if self.end else [u, 8 * u, 60 * u]) + self.kinks


def mean(y, g, breaks):
    """E g(Y)."""
    u = y.u
    end = y.end or (12 * u if y.kind == "N" else None)
    far = [u * mpf(4) ** k for k in range(-1, 3 if y.kind == "N" else 8)] if not y.end else []
    points = [mpf(0)] + [s * k for k in y.kinks + far for s in (1, -1)] + list(breaks)
    if y.kind == "A":
        a = y.end
        points = sorted({asin(p / a) for p in points if abs(p) < a} | {-pi / 2, pi / 2})
        return quad(lambda v: g(a * sin(v)) / pi, points)
    if end:
        points = sorted({p for p in points if abs(p) < end} | {-end, end})
        return quad(lambda v: y.f(v) * g(v), points)
    points = sorted(set(points))
    return quad(lambda v: y.f(v) * g(v), [-inf] + points + [inf])


def around(x, v):
    return [x] + [x + s * m for m in v.marks for s in (1, -1)]


def two(a, b):
    """Y = a is integrated over."""
    a, b = V(a), V(b)
    return lambda x: mean(a, lambda y: b.s(x - y), around(x, b))


def boxed(w, integral):
    """Survival of a rectangle of half-width w and a variable, from the integral of its survival from x on."""
    return lambda x: (integral(x - w) - integral(x + w)) / (2 * w)


def over_boxed(a, u_box, integral, marks):
    """A variable over a rectangle and another one."""
    w = mpf(float(u_box)) * sqrt(3)
    a, g = V(a), boxed(w, integral)
    near = lambda x: [x + s * w + r * m for s in (1, -1) for m in marks for r in (0, 1, -1)]
    return lambda x: mean(a, lambda y: g(x - y), near(x))


def arcsine_integral(u):
    a = mpf(float(u)) * sqrt(2)
    unit = lambda z: -z if z < -1 else mpf(0) if z > 1 else (sqrt(1 - z * z) - z * acos(z)) / pi
    return lambda x: a * unit(x / a)


def two_dof_integral(s):
    s = mpf(float(s))
    return lambda x: s * (sqrt((x / s) ** 2 + 2) - x / s) / 2


def box_normal(w, sigma):
    """Survival of a rectangle of half-width w and a normal, closed form."""
    def k(x):  # integral of the normal's survival from x on
        return sigma * (exp(-(x / sigma) ** 2 / 2) / sqrt(2 * pi) - x / sigma * erfc(x / sigma / sqrt(2)) / 2)
    return lambda x: (k(x - w) - k(x + w)) / (2 * w) if w else erfc(x / sigma / sqrt(2)) / 2


def over_box_normal(a, u_box, u_normal):
    w, sigma = mpf(float(u_box)) * sqrt(3), mpf(float(u_normal))
    a, g = V(a), box_normal(w, sigma)
    near = lambda x: [x + s * w + r * sigma for s in (1, -1) for r in (0, 8, -8)]
    return lambda x: mean(a, lambda y: g(x - y), near(x))


def star(y, slope, given, breaks):
    y = V(y)
    return lambda x: mean(y, lambda v: given(v)(x - slope * v), breaks(x))


def scaled(b, factor):
    """Survival of factor·B."""
    if factor == 0:
        return lambda x: mpf(1) if x < 0 else mpf(0) if x > 0 else mpf(1) / 2
    return lambda x: b.s(x / abs(factor))


def shifted(y, slope, a, c, b):
    """slope·Y + (a + c·Y)·B."""
    b = V(b)
    slope, a, c = (mpf(float(it)) for it in (slope, a, c))
    def breaks(x):
        found = [-a / c]
        for m in b.marks:
            for s in (1, -1):
                if slope + s * m * c:
                    found.append((x - s * m * a) / (slope + s * m * c))
        return found
    return star(y, slope, lambda v: scaled(b, a + c * v), breaks)


def two_arms(y, slope, a1, c1, box, a2, c2, sigma):
    """slope·Y + (a1 + c1·Y)·rectangle + (a2 + c2·Y)·normal."""
    w = mpf(float(box)) * sqrt(3)
    slope, a1, c1, a2, c2, sigma = (mpf(float(it)) for it in (slope, a1, c1, a2, c2, sigma))
    given = lambda v: box_normal(abs(a1 + c1 * v) * w, abs(a2 + c2 * v) * sigma)
    zero = lambda a, c: [-a / c] if c else []
    def breaks(x):
        ends = [(x - s * w * a1) / (slope + s * w * c1) for s in (1, -1) if slope + s * w * c1]
        return zero(a1, c1) + zero(a2, c2) + ends
    return star(y, slope, given, breaks)


def log_product(u, v):
    """Density log(w/|x|)/(2w) and survival of the product of two rectangles."""
    w = 3 * mpf(float(u)) * mpf(float(v))
    return lambda x: mpf(0) if x >= w else (w - x - x * log(w / x)) / (2 * w)


def boxes(us, sigma=None):
    """Inclusion and exclusion, 80 digits."""
    def value(x):
        mp.dps = 80
        ws = [mpf(float(u)) * sqrt(3) for u in us]
        n, total = len(ws), mpf(0)
        for signs in pairs((1, -1), repeat=n):
            z, sign = -mpf(x), 1
            for s, w in zip(signs, ws):
                z, sign = z + s * w, sign * s
            total += sign * repeated(n, z, sigma)
        for w in ws:
            total /= 2 * w
        mp.dps = 30
        return +total
    return value


def repeated(n, z, sigma):
    if sigma is None:
        return z ** n / factorial(n) if z > 0 else mpf(0)
    s = mpf(float(sigma))
    last, this = exp(-(z / s) ** 2 / 2) / sqrt(2 * pi), erfc(-z / s / sqrt(2)) / 2
    for k in range(1, n + 1):
        last, this = this, (z / s * this + last) / k
    return this * s ** n


def many(kind, us, sigma=None):
    text = " ".join("R:%r" % u for u in us) + (" N:%r" % sigma if sigma else "")
    return (text, boxes(us, sigma), kind)


def mixes():
    far = [0.125, 1.75, 3.25]
    bounded = [0.125, 1.25, 1.625]
    pair = lambda a, b, xs=far: (a + " " + b, two(a, b), xs)
    yield pair("R:1", "T:1:4", [0.125, 2.0, 8.0])
    yield pair("R:1", "T:1:1", [0.125, 12.0, 6000.0])
    yield pair("R:1", "T:1:1.5", [0.125, 8.0, 700.0])
    yield pair("R:1", "T:1:3", [0.125, 3.0, 14.0])
    yield pair("R:1", "T:0.02:9", bounded)
    yield pair("R:1", "T:0.001:9", bounded + [1.73])
    yield pair("R:1", "T:0.0001:2", bounded + [1.73])
    yield pair("R:1", "T:0.0000001:1", bounded + [1.75])
    yield pair("R:1", "T:1:100000")
    yield pair("T:0.5:5", "T:1:2", [0.125, 5.0, 60.0])
    yield pair("T:1:1.5", "T:1:1.5", [0.125, 8.0])
    yield pair("T:1e-6:3", "T:1:4", [0.125, 2.75])
    yield pair("N:0.3", "T:1:50")
    yield pair("N:1", "T:0.25:7.5")
    yield pair("A:1", "T:0.25:6")
    yield pair("A:1", "T:1e-4:6", bounded)
    yield pair("C:1:0.3", "T:0.25:6")
    yield pair("D:1", "T:0.5:3")
    yield pair("Z:1:0.4", "T:0.5:30")
    for u in ["0.5", "0.01", "0.0002", "0.0001", "1e-6"]:
        yield pair("A:1", "N:" + u, bounded if u != "0.5" else far)
    for u in ["1", "0.3", "0.001"]:
        yield pair("A:1", "R:" + u, [0.125, 1.25, 1.40625])
    yield pair("A:1", "A:0.7", [0.125, 1.25, 2.25])
    yield pair("A:1", "D:0.1", [0.125, 1.25, 1.5])
    for u in ["0.1", "1e-5", "1e-10"]:
        yield pair("R:1", "N:" + u, [0.125, 1.625, 1.7320507764816284])
    yield pair("C:1:0.3", "N:0.2", far)
    yield pair("C:1:0.001", "N:0.1", bounded)
    yield pair("C:1:1", "N:1e-5", [0.125, 1.5, 2.75])
    yield pair("C:1:1", "R:0.5", [0.125, 1.5, 2.75])
    yield pair("C:1:0.5", "A:0.5", [0.125, 1.5, 2.5])
    yield ("A:1 R:1 N:0.1", over_box_normal("A:1", 1, 0.1), [0.125, 2.25, 3.25])
    yield ("T:1:4 R:1 N:0.5", over_box_normal("T:1:4", 1, 0.5), [0.125, 3.0, 12.0])
    yield ("A:1 R:0.01 N:0.0001", over_box_normal("A:1", "0.01", "0.0001"), [0.125, 1.40625, 1.4296875])
    yield ("A:1 A:0.5 R:0.1", over_boxed("A:1", "0.1", arcsine_integral("0.5"), [sqrt(mpf(2)) / 2]), [0.125, 1.25, 2.0625])
    yield ("T:1:4 T:0.5:2 R:1", over_boxed("T:1:4", 1, two_dof_integral("0.5"), [mpf(1), mpf(8)]), [0.125, 3.0, 30.0])
    yield ("*R:1/0/0/1/R:1", log_product(1, 1), [0.125, 1.5, 2.75])
    box = lambda u: "*R:1/0/0/1/R:1 N:%s" % u
    for u in ["0.5", "0.005", "0.0005"]:
        yield (box(u), two_arms("R:1", 0, 0, 1, 1, u, 0, 1), [0.125, 1.75, 2.75])
    yield ("*N:1/0/0/1/N:1", shifted("N:1", 0, 0, 1, "N:1"), [0.125, 2.0, 8.0])
    yield ("*R:1/0/0/1/N:1 N:0.001", plus_normal("R:1", "0.001"), [0.125, 2.0, 5.0])
    yield ("*T:1:5/0/0/1/R:1", shifted("R:1", 0, 0, 1, "T:1:5"), [0.125, 2.0, 9.0])
    yield ("*T:1:5/0/0/1/T:0.5:4", shifted("T:1:5", 0, 0, 1, "T:0.5:4"), [0.125, 2.0, 9.0])
    yield ("*A:1/0/0/1/R:1", shifted("A:1", 0, 0, 1, "R:1"), [0.125, 1.5, 2.25])
    yield ("*R:1/0.5/1/0.25/R:1", shifted("R:1", 0.5, 1, 0.25, "R:1"), [-2.0, -0.5, 0.125, 1.75, 2.75])
    yield ("*R:1/0.5/1/0.25/N:1", shifted("R:1", 0.5, 1, 0.25, "N:1"), [-3.0, -0.5, 2.0, 4.5])
    yield ("*N:1/0.5/1/0.25/N:1", shifted("N:1", 0.5, 1, 0.25, "N:1"), [-3.0, -0.5, 2.0, 5.0])
    yield ("*D:1/0.5/1/0.25/A:1", shifted("D:1", 0.5, 1, 0.25, "A:1"), [-1.5, 0.125, 2.0, 3.0])
    yield ("*R:1/0/1/0.5/R:1+N:0.3", two_arms("R:1", 0, 1, 0.5, 1, 0.3, 0.15, 1), [0.125, 2.0, 3.25])
    yield ("*N:1/0.5/1/0.25/R:1/0.5/-0.125/N:1", two_arms("N:1", 0.5, 1, 0.25, 1, 0.5, -0.125, 1), [-2.0, 0.125, 2.0, 4.0])
    yield ("*Z:1:0.5/0.5/0/0.25/R:1/0.001/0/N:1", two_arms("Z:1:0.5", 0.5, 0, 0.25, 1, "0.001", 0, 1), [0.125, 0.875, 1.25])
    yield many([0.5, 2.5, 4.5], [1, 1, 1])
    yield many([0.5, 3.5, 5.5], [1] * 5)
    yield many([0.5, 4.0, 6.5], [1] * 6)
    yield many([0.5, 4.5, 7.5], [1] * 8)
    yield many([0.5, 2.5, 4.0], [1, 0.9, 0.8, 0.7, 0.6], 1e-5)
    yield many([0.5, 2.5, 3.5], [1, 0.9, 0.8, 0.1, 0.01], 0.001)
    yield many([0.5, 1.75, 1.9296875], [1, 0.1, 0.01, 0.001], 1e-6)
    yield many([0.5, 1.75, 1.9296875], [1, 0.1, 0.01, 1e-9])
    yield many([0.5, 1.75, 2.75], [1, 0.1, 0.1, 0.1, 0.1], 0.02)
    yield many([0.5, 1.75, 2.75], [1, 0.1, 0.1, 0.1, 0.1], 0.0002)


def plus_normal(box, sigma):
    """Rectangle times a unit normal, plus a normal: given the rectangle a normal of variance y² + σ²."""
    s = mpf(float(sigma))
    return star(box, 0, lambda v: (lambda x: erfc(x / sqrt(2 * (v * v + s * s))) / 2), lambda x: [s, -s, 8 * s, -8 * s])


if __name__ == "__main__":
    import sys

    print("# mpmath %s, 30 digits (24 shown), tests/scripts/exact_sums.py; arguments are exact binary64 values" % __import__("mpmath").__version__)
    print("mix,x,survival")
    for mix, survival, xs in mixes():
        for x in xs:
            print("%s,%r,%s" % (mix, float(x), mp.nstr(survival(mpf(float(x))), 24)), flush=True)
        print(mix, file=sys.stderr, flush=True)
