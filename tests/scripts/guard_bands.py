"""The table "What a width risks" of docs/decision-rules.md, by scipy.

Usage: python3 tests/scripts/guard_bands.py

Tolerance ±2 µm, u = 0.5 µm (normal; U = 2u = 1 µm, TUR = 2), population N(0, 1 µm). Prints guard band, acceptance limit, the
specific risk there, consumer's and producer's risk.
"""
from math import exp, log, sqrt

from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import norm

T, U_STANDARD, SD = 2.0, 0.5, 1.0


def accepted(x, a):
    return norm.cdf((a - x) / U_STANDARD) - norm.cdf((-a - x) / U_STANDARD)


def consumer(a):
    return 2 * quad(lambda x: norm.pdf(x, 0, SD) * accepted(x, a), T, T + 12, epsabs=1e-15, epsrel=1e-12)[0]


def producer(a):
    return 2 * quad(lambda x: norm.pdf(x, 0, SD) * (1 - accepted(x, a)), 0, T, epsabs=1e-15, epsrel=1e-12)[0]


def at_limit(a):
    return norm.sf((T - a) / U_STANDARD) + norm.cdf((-T - a) / U_STANDARD)


bands = {
    "none": 0.0,
    "{times_U: 1}": 1.0,
    "{specific_risk: 5 %}": brentq(lambda w: at_limit(T - w) - 0.05, 0, 1.9),
    "{consumer_risk: 0.5 %}": brentq(lambda w: consumer(T - w) - 0.005, 0, 1.9),
    "{from_tur: quadrature}": T - sqrt(T * T - 1),
    "{from_tur: two-percent}": 1.04 - exp(0.38 * log(2) - 0.54),
}
for name, w in bands.items():
    a = T - w
    print(f"{name:26} {w:.6f} {a:.6f} {100 * at_limit(a):.6f} % {100 * consumer(a):.6f} % {100 * producer(a):.6f} %")
