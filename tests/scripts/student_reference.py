"""Reference values of the normal and of Student's t distribution.

Needs Python 3 and mpmath 1.3 or later. Run from the root of the repository, takes some minutes:

    python3 tests/scripts/student_reference.py

It writes `tests/data/student_quantiles.csv`, `student_scattered.csv`, `student_survival.csv`,
`intervals.csv` and `normal.csv`.
Every argument is the exact value of a binary64 number, written as its shortest text.

Method, which shares nothing with the code under test. With t = sqrt(nu) sinh w the density becomes
cosh(w)^-nu / B(1/2, nu/2), an entire-looking bell, and the probability its integral, taken by
Gauss-Legendre panels with 60 digits (nu = infinity: mpmath's erfc). Quantiles: Newton on the
logarithm. Each quantile is then put into the incomplete beta function of mpmath (nu <= 2e4), which
has to return the probability to 1e-35; the script stops otherwise.
"""

import datetime
import math
import random
import sys

import mpmath
from mpmath import mp, mpf

DIGITS = 50
mp.dps = DIGITS + 10
DOFS = [1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 7.7, 9.7, 10, 16, 16.74, 30, 50, 99.5, 100, 1e3, 9.9e3, 1.9e4,
        2.0e4, 2.1e4, 5e4, 9e4, 1e5, 1e6, 1e7, 1e8, 1e12, 1e15, 1e17, 1e20, math.inf]
PROBABILITIES = [0.5 + 1e-7, 0.5 + 1e-4, 0.6, 0.75, 0.84, 0.9, 0.95, 0.97725, 0.975, 0.995, 0.9999,
                 0.9999999, 1 - 1e-9, 1 - 1e-12]
POINTS = [1e-8, 1e-3, 0.1, 0.5, 1.0, 1.4, 1.42, 1.5, 2.0, 3.0, 5.0, 8.0, 12.0, 30.0, 37.0, 100.0, 1e4,
          1e10, 1e100]
NORMAL_UPPER = [0.4999999, 0.49, 0.4, 0.25, 0.16, 0.1, 0.075, 0.0749, 0.05, 0.02275, 0.025, 0.005, 1e-4,
                1e-7, 1e-9, 1e-12, 1e-16, 1e-30, 1e-100, 1e-200, 1e-300]
INTERVALS = [(-1e-9, 1e-9), (-0.3, 1.2), (0.0, 0.25), (0.1, 0.100001), (0.3, 0.9), (0.9, 2.5), (1.0, 1.0000001),
             (1.4, 1.43), (2.0, 2.2), (-5.0, -4.99), (-4.0, 6.0), (-9.0, -3.0), (8.0, 9.0), (20.0, 20.01), (20.0, 21.0)]
INTERVAL_DOFS = [1, 1.5, 3, 9.7, 50, 1e3, 1e5, 1e8, 1e15, math.inf]
SMALLEST = mpf(10) ** -300


def panels(bell, start, scale, growth):
    """Integrates a decaying function from `start`, panel by panel, until nothing is added."""
    # mp.quad stops on an absolute error: the integrand is therefore 1 at the start.
    unit = bell(start)
    function = lambda w: bell(w) / unit
    total, left = mpf(0), start
    while True:
        part = mp.quad(function, [left, left + scale], method="gauss-legendre", maxdegree=7)
        total += part
        left += scale
        if part < total * mpf(10) ** -(DIGITS + 5):
            return total * unit
        scale *= growth


def bell(nu):
    """The density in w, where t = sqrt(nu) sinh w."""
    half = mpf(nu) / 2
    log_beta = mp.loggamma(mpf(1) / 2) + mp.loggamma(half) - mp.loggamma(half + mpf(1) / 2)
    return lambda w: mp.exp(-nu * mp.log(mp.cosh(w)) - log_beta)


def extra(nu):
    """Digits that loggamma loses for large nu."""
    return int(2 * max(0, mp.log10(nu))) + 10


def student(x, nu):
    """(P(0 < T < x), P(T > x), x times the density)."""
    with mp.workdps(DIGITS + 10 + (0 if mp.isinf(nu) else extra(nu))):
        if mp.isinf(nu):
            root = mp.sqrt(2)
            return mp.erf(x / root) / 2, mp.erfc(x / root) / 2, x * mp.npdf(x)
        f, w = bell(nu), mp.asinh(x / mp.sqrt(nu))
        width = 1 / mp.sqrt(nu)
        density = f(w) * mp.tanh(w)  # x f(x) = tanh(w) cosh(w)^-nu / B
        if x < 1:
            centre = mp.quad(f, [0, w], method="gauss-legendre", maxdegree=7)
            return centre, mpf(1) / 2 - centre, density
        slope = nu * mp.tanh(w)
        tail = panels(f, w, min(width, 4 / slope), mpf("1.1"))
        return mpf(1) / 2 - tail, tail, density


def quantile(middle, upper, nu):
    """x > 0 with P(0 < T < x) = middle, P(T > x) = upper: Newton in log x on log of the smaller one."""
    z = mp.sqrt(2) * mp.erfinv(2 * middle) if upper > mpf(10) ** -20 else mp.sqrt(-2 * mp.log(upper))
    if mp.isinf(nu):
        return z
    x = z if nu > 30 else mp.sqrt(nu * mp.expm1(z * z * ((8 * nu + 3) / (8 * nu + 1)) ** 2 / nu))
    for _ in range(60):
        centre, tail, density = student(x, nu)
        if middle < mpf("0.2"):
            step = mp.log(centre / middle) * centre / density
        else:
            step = -mp.log(tail / upper) * tail / density
        x *= mp.exp(-step)
        if abs(step) < mpf(10) ** -22:  # quadratic: the next would be below 1e-42
            break
    else:
        sys.exit(f"no convergence: nu={nu} q={upper}")
    if nu <= 20000:
        y = nu / (nu + x * x)
        again = mp.betainc(nu / 2, mpf(1) / 2, 0, y, regularized=True) / 2
        if abs(again / upper - 1) > mpf(10) ** -35:
            sys.exit(f"incomplete beta disagrees: nu={nu} q={upper}: {mp.nstr(again / upper - 1, 5)}")
    return x


def text(value):
    return mp.nstr(value, 25, min_fixed=0, max_fixed=0)


def number(value):
    return "inf" if math.isinf(value) else repr(float(value))


def write(name, columns, rows):
    with open(f"tests/data/{name}", "w", encoding="utf-8") as out:
        out.write(f"# mpmath {mpmath.__version__}, {DIGITS} digits (25 shown), tests/scripts/student_reference.py, "
                  f"{datetime.date.today().isoformat()}; arguments are exact binary64 values\n")
        out.write(columns + "\n")
        for row in rows:
            out.write(",".join(row) + "\n")


def quantiles():
    for nu in DOFS:
        for p in PROBABILITIES:
            yield number(nu), number(p), text(quantile(mpf(p) - mpf(1) / 2, 1 - mpf(p), mpf(nu)))


def scattered():
    """Quantiles off the grid: dof and upper probability evenly in their logarithm."""
    numbers = random.Random(20261124)
    for row in range(300):
        nu = 10 ** numbers.uniform(0, 4.3)
        q = 10 ** numbers.uniform([-300, -15, -1.5][row % 3], -0.302)
        yield number(nu), number(q), text(quantile(mpf(1) / 2 - mpf(q), mpf(q), mpf(nu)))


def survivals():
    for nu in DOFS:
        for x in POINTS:
            if math.isfinite(nu) and nu > 30 and x > 100 or math.isinf(nu) and x > 37:
                continue
            centre, tail, _ = student(mpf(x), mpf(nu))
            if tail > SMALLEST:
                yield number(nu), number(x), text(centre), text(tail)


def intervals():
    for nu in INTERVAL_DOFS:
        for lo, hi in INTERVALS:
            with mp.workdps(DIGITS + 10 + (0 if math.isinf(nu) else extra(mpf(nu)))):
                n, a, b = mpf(nu), mpf(lo), mpf(hi)
                f = mp.npdf if math.isinf(nu) else bell(n)
                if math.isfinite(nu):
                    a, b = mp.asinh(a / mp.sqrt(n)), mp.asinh(b / mp.sqrt(n))
                unit = f(max(a, -b, mpf(0)))  # as in panels
                value = mp.quad(lambda w: f(w) / unit, mp.linspace(a, b, 9), method="gauss-legendre", maxdegree=7)
                yield number(nu), number(lo), number(hi), text(value * unit)


def normal():
    for q in NORMAL_UPPER:
        start = mp.sqrt(-2 * mp.log(mpf(q))) if q < 0.05 else mp.sqrt(2) * mp.erfinv(1 - 2 * mpf(q))
        x = mp.findroot(lambda t: mp.log(mp.erfc(t / mp.sqrt(2)) / 2) - mp.log(mpf(q)), start)
        if abs(mp.erfc(x / mp.sqrt(2)) / 2 / mpf(q) - 1) > mpf(10) ** -40:
            sys.exit(f"normal: q={q}")
        yield number(q), text(x)


if __name__ == "__main__":
    write("normal.csv", "upper_probability,x", normal())
    write("intervals.csv", "dof,lo,hi,probability", intervals())
    write("student_survival.csv", "dof,x,centre,survival", survivals())
    write("student_scattered.csv", "dof,upper_probability,x", scattered())
    write("student_quantiles.csv", "dof,p,x", quantiles())
