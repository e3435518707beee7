"""Reference values of consumer's and producer's risk, by direct quadrature with mpmath (24 digits).

Usage: python3 tests/scripts/global_risks.py > tests/data/global_risks.csv

The joint probability is integrated over the true error: prior density times probability of the outcome. It
shares nothing with the program but the definition (JCGM 106:2012, 9.3). The tolerance is -1 to 1, or one
of its sides. U = 2u. Rows: prior (normal mean sd | rectangular, triangular, arcsine low high | trapezoidal
low high top), limits and acceptance limits (empty: none), u, nu (inf: normal), then consumer, producer,
share in tolerance, share accepted.
"""
import itertools
import sys

from mpmath import mp, mpf, quad, erfc, sqrt, exp, pi, inf, findroot, erfinv, betainc, gamma, asin, log, loggamma

mp.dps = 24


def upper(x, u, nu):
    """P(error > x)."""
    if x == inf:
        return mpf(0)
    if x == -inf:
        return mpf(1)
    z = x / u
    if nu == inf:
        return erfc(z / sqrt(2)) / 2
    tail = betainc(nu / 2, mpf(1) / 2, 0, nu / (nu + z * z), regularized=True) / 2
    return tail if z >= 0 else 1 - tail


def outcome(eta, low, high, u, nu):
    """P(low < measured < high), from tails of one side."""
    a, b = low - eta, high - eta
    if a >= 0:
        return upper(a, u, nu) - upper(b, u, nu)
    if b <= 0:
        return upper(-b, u, nu) - upper(-a, u, nu)
    return 1 - upper(-a, u, nu) - upper(b, u, nu)


class Normal:
    def __init__(self, mean, sd):
        self.mean, self.sd = mpf(mean), mpf(sd)
        self.text = ["normal", repr(float(mean)), repr(float(sd)), ""]
        self.ends = (self.mean - 40 * self.sd, self.mean + 40 * self.sd)
        self.marks = [self.mean + k * self.sd for k in (-16, -8, -4, -2, -1, 0, 1, 2, 4, 8, 16)]

    def pdf(self, x):
        z = (x - self.mean) / self.sd
        return exp(-z * z / 2) / (self.sd * sqrt(2 * pi))


class Straight:
    """Trapezoid with a top; 1: rectangle, 0: triangle."""

    def __init__(self, word, low, high, top):
        self.low, self.high, self.top = mpf(low), mpf(high), mpf(top)
        self.text = [word, repr(float(low)), repr(float(high)), repr(float(top)) if word == "trapezoidal" else ""]
        half = (self.high - self.low) / 2
        self.edge = half * (1 - self.top)
        self.height = 1 / (2 * half - self.edge)
        self.ends = (self.low, self.high)
        self.marks = [self.low + self.edge, self.low + half, self.high - self.edge]

    def pdf(self, x):
        inside = min(x - self.low, self.high - x)
        if inside < 0:
            return mpf(0)
        return self.height if inside >= self.edge else self.height * inside / self.edge


class Arcsine:
    def __init__(self, low, high):
        self.low, self.high = mpf(low), mpf(high)
        self.text = ["arcsine", repr(float(low)), repr(float(high)), ""]
        self.ends = (self.low, self.high)
        self.marks = [(self.low + self.high) / 2]

    def pdf(self, x):
        return 1 / (pi * sqrt((x - self.low) * (self.high - x)))


def integrate(prior, f, low, high, marks):
    low, high = max(low, prior.ends[0]), min(high, prior.ends[1])
    if low >= high:
        return mpf(0)
    inner = sorted({m for m in marks + prior.marks if low < m < high})
    return quad(f, [low] + inner + [high], maxdegree=7)


def risks(prior, tol, acc, u, nu):
    marks = [x + k * u for x in acc if abs(x) != inf for k in (-16, -8, -4, -2, -1, 0, 1, 2, 4, 8, 16)]
    marks += [x for x in tol if abs(x) != inf]
    accepted = lambda eta: prior.pdf(eta) * outcome(eta, acc[0], acc[1], u, nu)
    rejected = lambda eta: prior.pdf(eta) * (upper(acc[1] - eta, u, nu) + upper(eta - acc[0], u, nu))
    consumer = integrate(prior, accepted, -inf, tol[0], marks) + integrate(prior, accepted, tol[1], inf, marks)
    producer = integrate(prior, rejected, tol[0], tol[1], marks)
    inside = integrate(prior, prior.pdf, tol[0], tol[1], marks)
    both = integrate(prior, accepted, tol[0], tol[1], marks)
    return consumer, producer, inside, both + consumer


def row(prior, tol, acc, u, nu):
    side = lambda x: "" if abs(x) == inf else repr(float(x))
    # What the program is given are doubles: so are the references.
    u = mpf(float(u))
    tol = tuple(x if abs(x) == inf else mpf(float(x)) for x in tol)
    acc = tuple(x if abs(x) == inf else mpf(float(x)) for x in acc)
    found = risks(prior, tol, acc, u, nu)
    cells = prior.text + [side(x) for x in tol + acc] + [repr(float(u)), "inf" if nu == inf else str(nu)]
    print(",".join(cells + [mp.nstr(x, 17) for x in found]))
    sys.stdout.flush()


def main():
    print("prior,a,b,top,low,high,accept_low,accept_high,u,nu,consumer,producer,in_tolerance,accepted")
    both = (mpf(-1), mpf(1))
    for tur, share, off, guard in itertools.product(
        ["0.5", "1", "2", "4", "20"], ["0.5", "0.8", "0.95", "0.999"], ["0", "0.3", "1"], ["-1", "0", "0.5", "1", "1.5"]
    ):
        expanded = 1 / mpf(tur)
        sd = 1 / (sqrt(2) * erfinv(mpf(share)))
        prior = Normal(float(mpf(off)), float(sd))
        w = mpf(guard) * expanded
        if w < 1:
            row(prior, both, (-1 + w, 1 - w), expanded / 2, inf)
    for prior in [Normal(0.1, 0.5), Normal(-0.4, 0.2)]:
        for guard in ["-0.5", "0", "0.3"]:
            w = mpf(guard)
            row(prior, (-inf, mpf(1)), (-inf, 1 - w), mpf("0.1"), inf)
            row(prior, (mpf(-1), inf), (-1 + w, inf), mpf("0.25"), inf)
            row(prior, (mpf("-0.5"), mpf("1.5")), (mpf("-0.5") + w, mpf("1.5") - w), mpf("0.2"), inf)
    for nu in [1, 3, 10, 50]:
        for u in ["0.02", "0.2", "1"]:
            row(Normal(0.1, 0.5), both, (mpf("-0.8"), mpf("0.8")), mpf(u), nu)
            row(Normal(0, 0.4), (-inf, mpf(1)), (-inf, mpf("0.9")), mpf(u), nu)
    bounded = [Straight("rectangular", -1.5, 1.2, 1), Straight("triangular", -1.5, 1.5, 0)]
    bounded += [Straight("trapezoidal", -1.25, 2, 0.5), Arcsine(-1.25, 1.125)]
    for prior in bounded:
        for u, nu in [("0.05", inf), ("0.5", inf), ("0.2", 4)]:
            row(prior, both, (mpf("-0.75"), mpf("0.75")), mpf(u), nu)


main()
