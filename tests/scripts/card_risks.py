"""Risks on a card: both tails of a normal and of Student's t about the error of each reading.

python3 tests/scripts/card_risks.py
mpmath, 30 digits. Tolerance +-4 um, u 0.6 um; the tail of t is half the regularised incomplete beta function of nu/(nu + x^2).
"""
from mpmath import mp, mpf, betainc, erfc, sqrt

mp.dps = 30
TOLERANCE, U, NU = mpf(4), mpf("0.6"), mpf(8)


def normal(x):
    return erfc(x / sqrt(2)) / 2


def student(x):
    half = betainc(NU / 2, mpf("0.5"), 0, NU / (NU + x * x), regularized=True) / 2
    return half if x > 0 else 1 - half


for name, tail in (("normal", normal), ("t", student)):
    for error in (0, 2, 3, 4, 5, 6):
        risk = tail((TOLERANCE - error) / U) + tail((TOLERANCE + error) / U)
        print(name, error, mp.nstr(risk, 17))
