"""Reference values of statistics: lines, covariances, tails of chi-squared and F.

Needs Python 3 with mpmath 1.3, numpy and scipy. Run from the root of the repository, takes a minute:

    python3 tests/scripts/statistics.py

It writes `tests/data/statistics.csv` (numpy and scipy, seeded data, one line per figure),
`chi_squared.csv` and `f_tails.csv` (mpmath).

Lines: `numpy.linalg.lstsq` on the columns 1 and x, rows divided by the uncertainties, and the inverse of the
normal matrix; covariances `numpy.cov` and `numpy.corrcoef`; groups `scipy.stats.f_oneway`; probabilities
`scipy.stats.chi2.sf`. These are double precision: about 1e-12 is what they hold.

Tails: mpmath with 40 digits, by quadrature of the densities in ln x, which shares nothing with the series and
continued fractions under test. Chi-squared is compared with mpmath's own incomplete gamma function up
to 2000 degrees of freedom; F is mpmath's incomplete beta function up to 400 and the quadrature beyond.
"""

import datetime
import sys

import mpmath
import numpy
import scipy
import scipy.stats
from mpmath import mp, mpf

mp.dps = 40
TODAY = datetime.date.today()


def text(value):
    return mpmath.nstr(value, 25)


def log_tail(log_density, rate, start):
    """The integral of exp(log_density(t)) over t > start, by panels as wide as the change `rate` allows."""
    total, low = mpf(0), mpf(start)
    while True:
        high = low + min(2, 2 / rate(low))
        at_low = log_density(low)  # the accuracy of quad is absolute, so the integrand begins at 1
        panel = mp.quad(lambda t: mp.exp(log_density(t) - at_low), [low, high], method="gauss-legendre")
        panel *= mp.exp(at_low)
        total += panel
        if panel < total * mpf(10) ** -30:
            return total
        low = high


def chi_squared(x, dof):
    if x == 0:
        return mpf(1)
    a, x = mpf(dof) / 2, mpf(x) / 2
    norm = mp.loggamma(a)
    value = log_tail(lambda t: a * t - mp.exp(t) - norm, lambda t: abs(a - mp.exp(t)) + mp.sqrt(mp.exp(t)), mp.log(x))
    if dof <= 2000:
        other = mp.gammainc(a, x, mp.inf, regularized=True)
        assert abs(value / other - 1) < mpf(10) ** -25, (x, dof, value, other)
    return value


def f_tail(f, above, below):
    """By mpmath's betainc up to 400 degrees of freedom, by quadrature beyond; None far out on either side."""
    q, p, f = mpf(above) / 2, mpf(below) / 2, mpf(f)
    if above + below <= 400:
        return mp.betainc(p, q, 0, 1 / (1 + q * f / p), regularized=True)
    if min(above, below) >= 300 and not 0.9 <= f <= 3:
        return None
    norm = mp.loggamma(p) + mp.loggamma(q) - mp.loggamma(p + q)

    def rate(t):
        share = 1 / (1 + mp.exp(-t))
        return abs(q - (p + q) * share) + mp.sqrt((p + q) * share * (1 - share))

    # with z = ν1 F/ν2 = e^t the density in t is e^(q t)/(1 + e^t)^(p + q)/B
    return log_tail(lambda t: q * t - (p + q) * mp.log1p(mp.exp(t)) - norm, rate, mp.log(q * f / p))


def write(name, header, rows):
    with open(f"tests/data/{name}", "w", encoding="utf-8") as out:
        out.write(header + "\n")
        out.writelines(row + "\n" for row in rows)


ORIGIN = f"# mpmath {mpmath.__version__}, 40 digits (25 shown), tests/scripts/statistics.py, {TODAY}; arguments are exact binary64 values"


def chi_squared_tails():
    rows = []
    for dof in [1, 1.5, 2, 3, 4, 7, 9.7, 10, 19.5, 34, 98, 1000, 9998, 1e5, 1e7]:
        spread = (2.0 / dof) ** 0.5
        points = [dof * max(0.0, 1 + z * spread) for z in [-3, -1, -0.1, 0, 0.05, 0.5, 1, 2, 4, 8, 20]]
        for x in sorted(set(points + ([0.01, 600.0, 1350.0] if dof < 1000 else []))):
            q = chi_squared(x, dof)
            if q > mpf(10) ** -300:
                rows.append(f"{float(dof)!r},{float(x)!r},{text(q)}")
    write("chi_squared.csv", f"{ORIGIN}\ndof,x,survival", rows)


def f_tails():
    rows = []
    dofs = [1, 1.5, 2, 5, 9.7, 40, 300, 1e4, 1e6]
    for above in dofs:
        for below in dofs:
            for f in [1e-3, 0.3, 0.9, 1.0, 1.001, 1.1, 2.12, 30.0, 1e3, 1e6]:
                q = f_tail(f, above, below)
                if q is not None and q > mpf(10) ** -300 and 1 - q > mpf(10) ** -20:
                    rows.append(f"{float(above)!r},{float(below)!r},{f!r},{text(q)}")
    write("f_tails.csv", f"{ORIGIN}\nabove,below,f,survival", rows)


def fitted(x, y, u):
    """Returns intercept, slope, u of both, correlation, chi-squared for rows divided by u."""
    design = numpy.column_stack([numpy.ones_like(x), x]) / u[:, None]
    (a, b), *_ = numpy.linalg.lstsq(design, y / u, rcond=None)
    inverse = numpy.linalg.inv(design.T @ design)
    ua, ub = numpy.sqrt(numpy.diag(inverse))
    chi = float(numpy.sum(((y - a - b * x) / u) ** 2))
    return a, b, ua, ub, inverse[0, 1] / (ua * ub), chi


def decimals(values, places):
    return [f"{value:.{places}f}" for value in values]


def statistics():
    random = numpy.random.Generator(numpy.random.PCG64(20260))
    rows = []
    for case in range(6):
        n = [3, 5, 8, 11, 25, 60][case]
        x_text = decimals(numpy.sort(random.uniform(-2, 8, n)), 2)
        x = numpy.array([float(it) for it in x_text])
        u_text = decimals(random.uniform(0.05, 0.4, n), 3)
        u = numpy.array([float(it) for it in u_text])
        y_text = decimals(1.5 - 0.7 * x + u * random.standard_normal(n) * [1, 1, 1, 1, 1.6, 0.8][case], 4)
        y = numpy.array([float(it) for it in y_text])
        data = [" ".join(it) for it in (x_text, y_text, u_text)]
        a, b, ua, ub, r, chi = fitted(x, y, u)
        known = [a, b, ua, ub, r, chi, scipy.stats.chi2.sf(chi, n - 2)]
        rows.append(["line known", *data, *known])
        s = (chi / (n - 2)) ** 0.5
        rows.append(["line relative", *data, a, b, ua * s, ub * s, r, s, ""])
        a, b, ua, ub, r, chi = fitted(x, y, numpy.ones(n))
        s = (chi / (n - 2)) ** 0.5
        rows.append(["line equal", *data, a, b, ua * s, ub * s, r, s, ""])
        table = numpy.array([x, y, u])
        means, cov, r = table.mean(axis=1), numpy.cov(table) / n, numpy.corrcoef(table)
        rows.append(["columns", *data, means[0], means[1], means[2], cov[0, 1], cov[1, 2], r[0, 1], r[1, 2]])
    for case, sizes in enumerate([(5, 5, 5, 5), (2, 3), (1, 4, 2, 7), (3, 3, 3), (10,) * 8]):
        shift = [0.3, 0.0, 0.5, 0.0, 0.2][case]
        lists = [decimals(10 + shift * random.standard_normal() + 0.2 * random.standard_normal(k), 3) for k in sizes]
        groups = [numpy.array([float(it) for it in one]) for one in lists]
        f, p = scipy.stats.f_oneway(*groups)
        n, j = sum(sizes), len(sizes)
        within = sum(((g - g.mean()) ** 2).sum() for g in groups) / (n - j)
        n0 = (n - sum(k * k for k in sizes) / n) / (j - 1)
        means = numpy.array([g.mean() for g in groups])
        data = ["/".join(" ".join(one) for one in lists), "", ""]
        rows.append(["groups", *data, f, p, within ** 0.5, (f - 1) * within / n0, means.std(ddof=1), means.mean(), n0])
    lines = [",".join(it if isinstance(it, str) else repr(float(it)) for it in row) for row in rows]
    origin = f"# Origin: tests/scripts/statistics.py, numpy {numpy.__version__}, scipy {scipy.__version__}, Generator(PCG64(20260)), {TODAY}"
    names = ("# lines: intercept, slope, u of both, r, then chi-squared and its probability, or s; columns: three means, "
             "cov(1,2), cov(2,3), r(1,2), r(2,3)\n"
             "# groups: F, its probability, s within, variance between, s of means, mean of means, n0\n"
             "case,x,y,u,v1,v2,v3,v4,v5,v6,v7")
    write("statistics.csv", f"{origin}\n{names}", lines)


if __name__ == "__main__":
    statistics()
    if "--quick" not in sys.argv:
        chi_squared_tails()
        f_tails()
