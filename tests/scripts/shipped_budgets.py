"""Key figures of the shipped budgets, computed apart from the program: python3 tests/scripts/shipped_budgets.py > tests/data/shipped_budgets.csv

Reads no file: the numbers of `budgets/*.yaml` are written out here once more, and each budget is a sum by
hand with sensitivities by hand. mpmath, 30 digits. First order: JCGM 100:2008, equation (10); second order
of the thermal product alpha_difference x from_20: note to 5.1.2, taken where it changes u by 1 % or more;
degrees of freedom: (G.2b), truncated for t. t quantile by the regularised incomplete beta function.
Limits of gauge blocks: ISO 3650:1998, table 5, grade 0; ASME B89.1.9-2002, grade 0 (recalled).
"""

import mpmath as mp

mp.mp.dps = 30
P = mp.mpf("0.9545")
INF = mp.inf


def m(text):
    return mp.mpf(text)


def rect(a):
    return m(a) / mp.sqrt(3)


def tri(a):
    return m(a) / mp.sqrt(6)


def step(d):
    return m(d) / mp.sqrt(12)


def sd(readings):
    values = [m(it) for it in readings]
    mean = mp.fsum(values) / len(values)
    return mp.sqrt(mp.fsum((it - mean) ** 2 for it in values) / (len(values) - 1))


def t_factor(dof):
    """Two-sided factor at 95.45 %."""
    if dof == INF:
        return mp.sqrt(2) * mp.erfinv(P)
    inside = lambda k: mp.betainc(m("0.5"), dof / 2, 0, k * k / (dof + k * k), regularized=True) - P
    return mp.findroot(inside, (mp.mpf("1.9"), mp.mpf("2.5")), solver="secant", tol=1e-25)


def figures(lines, second):
    """u, effective degrees of freedom, k and U of lines (u, dof) and a second-order variance."""
    first = mp.fsum(u * u for u, _ in lines)
    enters = abs(mp.sqrt((first + second) / first) - 1) >= m("0.01")
    variance = first + second if enters else first
    sum_ = mp.fsum(u**4 / dof for u, dof in lines if dof != INF)
    dof = variance**2 / sum_ if sum_ > 0 else INF
    k = t_factor(INF if dof == INF else max(mp.floor(dof), 1))
    u = mp.sqrt(variance)
    return u, dof, k, k * u


def row(name, at, laboratory, instrument, second, tolerance):
    """`instrument`: groups of lines, of which the largest counts."""
    owned = [max(group, key=lambda it: it[0]) for group in instrument]
    all_, lab = figures(laboratory + owned, second), figures(laboratory, second)
    show = lambda v: "infinite" if v == INF else mp.nstr(v, 15)
    cells = [*all_, *lab, tolerance / all_[3], tolerance / lab[3]]
    print(",".join([name, at, *map(show, cells)]))


def thermal(length, alpha, spread, d, t):
    """Line of length·alpha·difference, and the second-order variance of length·spread·from_20."""
    return (length * m(alpha) * rect(d), INF), (length * rect(spread) * rect(t)) ** 2


ISO_0 = [(10, "0.12"), (25, "0.14")]
STEP = (step("1"), INF)


def micrometer_25():
    scatter = (sd([0, 1, 0, 0, -1, 0, 0, 1, 0, 0]), 9)
    for at in ["2.5", "5.1", "7.7", "10.3", "12.9", "15", "17.6", "20.2", "22.8", "25"]:
        line, second = thermal(m(at) * 1000, "11.5e-6", "1e-6", "0.3", "1")
        grade = next(limit for up_to, limit in ISO_0 if m(at) <= up_to)
        lab = [(rect(grade), INF), line]
        row("outside-micrometer-0-25", at, lab, [[STEP], [STEP, scatter], [(tri("0.5"), INF)]], second, 4)


def micrometer_50():
    scatter = (1000 * sd("25.000 25.001 25.000 25.000 25.000 24.999 25.000 25.000 25.001 25.000".split()), 9)
    for at in ["25", "27.5", "30.1", "32.7", "35.3", "37.9", "40", "42.6", "45.2", "47.8", "50"]:
        wrung = m(at) - 25
        line, second = thermal(wrung * 1000, "11.5e-6", "1e-6", "0.3", "1")
        lab = [(rect(m(25000) * m("11.5e-6") * m("0.2")), INF)]
        if wrung > 0:
            grade = next(limit for up_to, limit in ISO_0 if wrung <= up_to)
            lab += [(rect(grade), INF), (rect("0.02"), INF), line]
        # The error of the 25 mm block goes into test and zero setting with the same sign and cancels.
        row("outside-micrometer-25-50", at, lab, [[STEP], [STEP, scatter], [(tri("0.5"), INF)]], second, 4)


def micrometer_inch():
    for at in ["0.1025", "0.2050", "0.3075", "0.4100", "0.5125", "0.6150", "0.7175", "0.8200", "0.9225", "1.0000"]:
        line, second = thermal(m(at) * 10**6, "6.4e-6", "0.6e-6", "0.5", "2")
        lab = [(rect(5 if m(at) <= m("0.4") else 6), INF), line]
        vernier = (step("100"), INF)
        row("inch-micrometer-0-1", at, lab, [[vernier], [vernier, (m(32), 27)], [(tri("25"), INF)]], second, 200)


def torque():
    for at in ["20", "60", "100"]:
        moment = m(at)
        lab = [(m("0.002") * moment / 2, INF), (rect(m("0.001") * moment), INF), (step("0.01"), INF)]
        lab += [(tri(m("0.002") * moment), 1 / (2 * m("0.25") ** 2))]
        digital = (step("0.1"), INF)
        row("torque-wrench", at, lab, [[digital], [digital, (m("0.1"), 12)]], mp.mpf(0), m("0.04") * moment)


def line(x, y, at):
    """u of intercept + slope·x + residual at x = `at`, and the degrees of freedom (JCGM 100:2008, H.3)."""
    x, y = [m(it) for it in x], [m(it) for it in y]
    n, mean_x, mean_y = len(x), mp.fsum(x) / len(x), mp.fsum(y) / len(y)
    sxx = mp.fsum((it - mean_x) ** 2 for it in x)
    slope = mp.fsum((a - mean_x) * (b - mean_y) for a, b in zip(x, y)) / sxx
    s2 = mp.fsum((b - mean_y - slope * (a - mean_x)) ** 2 for a, b in zip(x, y)) / (n - 2)
    return mp.sqrt(s2 * (1 + m(1) / n + (at - mean_x) ** 2 / sxx)), m(n - 2)


def components(groups):
    """s of a later single reading in a group of its own, and Satterthwaite's dof; groups of one size."""
    j, k = len(groups), len(groups[0])
    means = [m(sum(it)) / k for it in groups]
    grand = mp.fsum(means) / j
    within = mp.fsum((m(x) - mean) ** 2 for it, mean in zip(groups, means) for x in it) / (j * (k - 1))
    between = k * mp.fsum((mean - grand) ** 2 for mean in means) / (j - 1)
    assert between > within
    a, b = between / k, within * (1 - m(1) / k)
    return mp.sqrt(a + b), (a + b) ** 2 / (a**2 / (j - 1) + b**2 / (j * (k - 1)))


def indicator():
    tester = "0.3 0.4 0.3 0.6 0.7 0.6 0.8 1.0 0.9 1.1 1.2".split()
    operators = [[0, 1, 0, 1, 0], [1, 2, 1, 1, 2], [0, 0, -1, 1, 0], [1, 0, 1, 1, 0]]
    for at in ["1", "2.5", "5", "7.5", "10"]:
        travel = m(at)
        lab = [line(range(11), tester, travel), ((m("0.1") + m("0.02") * travel) / 2, INF)]
        lab += [(rect(m("11.5e-3") * m("0.3") * travel), INF)]
        row("dial-indicator-0-10", at, lab, [[STEP], [STEP], [components(operators)]], mp.mpf(0), 8)


def main():
    print("# Origin: tests/scripts/shipped_budgets.py, mpmath", mp.__version__ + ", 30 digits; u and U in the measurand's unit, k and U at 95.45 %")
    print("budget,at,u,dof,k,U,u_lab,dof_lab,k_lab,U_lab,tur,tur_lab")
    indicator()
    micrometer_25()
    micrometer_50()
    micrometer_inch()
    torque()


if __name__ == "__main__":
    main()
