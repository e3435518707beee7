"""Theory behind tests/readings.rs: an invented population of instruments judged at one point.

True errors are normal with mean 0 and standard deviation S, measuring errors normal with standard deviation
U; tolerance +-T; accepted within +-A. All in micrometres. Printed: probabilities of (outside and accepted),
(inside and rejected), accepted. "plain": the reading as it is; "step": the reading rounded to whole
micrometres (half away from zero has probability 0). By mpmath quadrature with 30 digits over the true error.

Writes tests/data/readings_theory.csv.
"""

from mpmath import erf, mp, mpf, quad, sqrt, exp, pi

mp.dps = 30
S, U, T = mpf(2), mpf("0.6"), mpf(4)


def phi(x):
    return (1 + erf(x / sqrt(2))) / 2


def density(x):
    return exp(-((x / S) ** 2) / 2) / (S * sqrt(2 * pi))


def figures(edge):
    accept = lambda x: phi((edge - x) / U) - phi((-edge - x) / U)
    cuts = [-T + T * i / 8 for i in range(17)]
    inside = quad(lambda x: density(x) * accept(x), cuts)
    beyond = 2 * quad(lambda x: density(x) * accept(x), [T, T + 1, T + 2, T + 4, T + 8, T + 20])
    within = phi(T / S) - phi(-T / S)
    return beyond, within - inside, inside + beyond


# Simple acceptance: an unrounded reading is accepted up to T = 4, a rounded one up to 4.5.
# Guarded by 1.2 um: up to 2.8, and by whole micrometres up to 2, so from anything below 2.5.
with open("tests/data/readings_theory.csv", "w") as out:
    out.write("rule,display,outside_accepted,inside_rejected,accepted\n")
    for rule, display, edge in [
        ("simple", "plain", T), ("simple", "step", mpf("4.5")),
        ("guarded", "plain", mpf("2.8")), ("guarded", "step", mpf("2.5")),
    ]:
        out.write(f"{rule},{display}," + ",".join(mp.nstr(it, 17) for it in figures(edge)) + "\n")
