"""Risk and guard band where a digital step dominates, by direct integration.

python3 tests/scripts/step_decision.py
mpmath, 30 digits: P(S > x) of a rectangle +-0.5 um, a normal 0.1 um and t (scale 0.05 um, 6 degrees of freedom), as the mean over the
rectangle of P(normal + t > x - r), the latter by quadrature of the density of t times erfc. The guard band solves P(S > w) = 5 % (the
other limit is 8 um away and adds P(S > 8 - w), which counts).
"""
from mpmath import mp, mpf, quad, gamma, sqrt, pi, erfc, findroot, inf

mp.dps = 30
A, U, S, NU = mpf("0.5"), mpf("0.1"), mpf("0.05"), mpf(6)
C = gamma((NU + 1) / 2) / gamma(NU / 2) / sqrt(NU * pi) / S


def upper(x):
    """Integral of the normal's survival function from x on."""
    z = x / U
    return U * (mp.exp(-z * z / 2) / sqrt(2 * pi) - z * erfc(z / sqrt(2)) / 2)


def survival(x):
    x = mpf(x)
    inner = lambda y: (upper(x - y - A) - upper(x - y + A)) / (2 * A)
    dense = lambda y: C * (1 + (y / S) ** 2 / NU) ** (-(NU + 1) / 2)
    cuts = sorted({mpf(it) for it in (-40, -8, -2, -1, -0.5, -0.2, -0.1, 0, 0.1, 0.2, 0.5, 1, 2, 8, 40)} | {x - A, x + A})
    return quad(lambda y: dense(y) * inner(y), [-inf] + cuts + [inf])


for reading in ("3.2", "3.5", "3.9", "4.0", "4.3", "4.7", "-3.6"):
    e = mpf(reading)
    print(reading, mp.nstr(survival(4 - e) + survival(4 + e), 17))
print("w", mp.nstr(findroot(lambda w: survival(w) + survival(8 - w) - mpf("0.05"), mpf("0.48")), 17))
