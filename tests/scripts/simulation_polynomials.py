"""Coefficients of the polynomials in src/propagate/simulation/elementary.rs.

Chebyshev interpolation with mpmath at 40 digits; prints each polynomial in powers of z = w^2,
lowest first, and its largest error (absolute, before the factor w).
"""
from mpmath import mp, mpf, pi, sin, cos, sqrt, chebyfit, nstr

mp.dps = 40
TINY = mpf(10) ** -30


def sine(z):
    return sin(pi * sqrt(z)) / sqrt(z) if z > TINY else pi


def cosine(z):
    return cos(pi * sqrt(z))


for name, function, end, terms in [
    ("sin(pi w)/w, |w| <= 1/2", sine, mpf(1) / 4, 9),
    ("sin(pi w)/w, |w| <= 1/4", sine, mpf(1) / 16, 7),
    ("cos(pi w), |w| <= 1/4", cosine, mpf(1) / 16, 8),
]:
    polynomial, error = chebyfit(function, [0, end], terms, error=True)
    print(name, "error", nstr(error, 2))
    for coefficient in reversed(polynomial):
        print("    ", repr(float(coefficient)))
