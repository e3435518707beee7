"""Large samples against which the second-order law of propagation is tested.

Writes tests/data/second_order.csv:  python3 tests/scripts/second_order.py > tests/data/second_order.csv
(a quarter of a minute). The sampling shares nothing with the law of propagation: it draws inputs, evaluates
the model and takes moments. Only numpy (sampling) and mpmath (the check of the neglected terms) are used.

What the samples may be compared with
-------------------------------------
JCGM 100:2008, note to 5.1.2, for independent inputs with standard uncertainty u_i and kurtosis k_i
(fourth central moment over u_i^4: 3 for the normal, 9/5 for the rectangular distribution):

    Var = sum f_i^2 u_i^2
        + sum_i [ (k_i - 1)/4 f_ii^2 + k_i/3 f_i f_iii ] u_i^4
        + sum_{i<j} [ f_ij^2 + f_i f_ijj + f_j f_iij ] u_i^2 u_j^2
    E   = f + 1/2 sum f_ii u_i^2

The first neglected terms are of order u^6 in the variance and u^4 in the mean. Every model here has its
mean and variance in closed form (moments of polynomials; E exp(iax) for sine and cosine), so the
neglected part is not estimated but computed, as the difference `exact - note`, with 50 digits:

  model        neglected in the variance                            neglected in the mean
  x^3          15 u^6 (normal), 27/7 u^6 (rectangular)              0
  x*y^2        3 u_x^2 u_y^4 (normal), 9/5 (rectangular)            0
  x*y, r       0: (1 + r^2) u_x^2 u_y^2 is the last term (normal)   0
  sin, cos     the rest of the series in u^2, from u^6 on           the same from u^4 on: 1/8 u^4 f (normal)

`allowed()` demands of every case, before a number is drawn, that the neglected part of the standard
deviation and of the mean each stay below a tenth of 4 standard errors of the sampled value, and that the
second-order part itself exceeds 5 times those 4 standard errors: a test at 4 standard errors can then
be failed by the missing terms and cannot be failed by the neglected ones. For x*y with r and zero means the
first order vanishes altogether. The margins are printed on standard error.

Standard error of the mean: sd/sqrt(n); of the standard deviation: sqrt((m4 - m2^2)/(4 m2 n)), with the
central moments m2 and m4 of the sample (delta method).
"""

import math
import sys

import mpmath as mp
import numpy as np

mp.mp.dps = 50
SAMPLES = 40_000_000
CHUNK = 1_000_000

# expression, shape, (x, u_x), (y, u_y) or None, r, seed
CASES = [
    ("sin(x)", "normal", (0.5, 0.08), None, 0.0, 1101),
    ("sin(x)", "normal", (1.3, 0.05), None, 0.0, 1102),
    ("sin(x)", "rectangular", (0.5, 0.08), None, 0.0, 1103),
    ("sin(x)", "rectangular", (1.3, 0.05), None, 0.0, 1104),
    ("cos(x)", "normal", (0.3, 0.05), None, 0.0, 1201),
    ("cos(x)", "normal", (1.0, 0.08), None, 0.0, 1202),
    ("cos(x)", "rectangular", (0.3, 0.05), None, 0.0, 1203),
    ("cos(x)", "rectangular", (1.0, 0.08), None, 0.0, 1204),
    ("x^3", "normal", (2.0, 0.16), None, 0.0, 1301),
    ("x^3", "rectangular", (2.0, 0.16), None, 0.0, 1302),
    ("x*y^2", "normal", (3.0, 0.2), (2.0, 0.1), 0.0, 1401),
    ("x*y^2", "rectangular", (3.0, 0.2), (2.0, 0.1), 0.0, 1402),
    ("x*y", "normal", (1.0, 0.2), (2.0, 0.3), 0.8, 1501),
    ("x*y", "normal", (0.0, 1.0), (0.0, 1.0), 0.8, 1502),
]

KURTOSIS = {"normal": mp.mpf(3), "rectangular": mp.mpf(9) / 5}


def central(shape, u, k):
    """k-th central moment of a distribution with standard deviation u."""
    if k % 2:
        return mp.mpf(0)
    if shape == "normal":
        return u**k * mp.fac2(k - 1)
    return (mp.sqrt(3) * u) ** k / (k + 1)


def raw(shape, m, u, p):
    """E x^p."""
    return mp.fsum(mp.binomial(p, k) * m ** (p - k) * central(shape, u, k) for k in range(p + 1))


def damp(shape, u, a):
    """E cos(a (x - m)), the damping of a sine or cosine of a*x."""
    return mp.exp(-((a * u) ** 2) / 2) if shape == "normal" else mp.sinc(a * mp.sqrt(3) * u)


def exact(case):
    """Exact mean and variance of the model."""
    name, shape, (x, ux), second, r, _ = case
    x, ux = mp.mpf(str(x)), mp.mpf(str(ux))
    if name in ("sin(x)", "cos(x)"):
        f, sign = (mp.sin, -1) if name == "sin(x)" else (mp.cos, 1)
        mean = f(x) * damp(shape, ux, 1)
        return mean, (1 + sign * mp.cos(2 * x) * damp(shape, ux, 2)) / 2 - mean**2
    if name == "x^3":
        mean = raw(shape, x, ux, 3)
        return mean, raw(shape, x, ux, 6) - mean**2
    y, uy = (mp.mpf(str(v)) for v in second)
    if name == "x*y^2":
        mean = x * raw(shape, y, uy, 2)
        return mean, raw(shape, x, ux, 2) * raw(shape, y, uy, 4) - mean**2
    r = mp.mpf(str(r))
    mean = x * y + r * ux * uy
    variance = (y * ux) ** 2 + (x * uy) ** 2 + 2 * x * y * r * ux * uy + (1 + r * r) * (ux * uy) ** 2
    return mean, variance


def note(case):
    """Mean, first-order variance and second-order part by the note to 5.1.2 (derivatives by hand)."""
    name, shape, (x, ux), second, r, _ = case
    x, ux, k = mp.mpf(str(x)), mp.mpf(str(ux)), KURTOSIS[shape]
    if second is None:
        f, f1, f2, f3 = {
            "sin(x)": (mp.sin(x), mp.cos(x), -mp.sin(x), -mp.cos(x)),
            "cos(x)": (mp.cos(x), -mp.sin(x), -mp.cos(x), mp.sin(x)),
            "x^3": (x**3, 3 * x**2, 6 * x, mp.mpf(6)),
        }[name]
        return f + f2 * ux**2 / 2, (f1 * ux) ** 2, ((k - 1) / 4 * f2**2 + k / 3 * f1 * f3) * ux**4
    y, uy = (mp.mpf(str(v)) for v in second)
    if name == "x*y^2":
        first = (y**2 * ux) ** 2 + (2 * x * y * uy) ** 2
        mixed = ((2 * y) ** 2 + y**2 * 2 + 0) * (ux * uy) ** 2
        return x * y**2 + x * uy**2, first, (k - 1) / 4 * (2 * x) ** 2 * uy**4 + mixed
    r = mp.mpf(str(r))
    first = (y * ux) ** 2 + (x * uy) ** 2 + 2 * x * y * r * ux * uy
    return x * y + r * ux * uy, first, (1 + r * r) * (ux * uy) ** 2


def allowed(case, se_mean, se_sd):
    """Checks and reports the two conditions of the module text."""
    mean, variance = exact(case)
    shifted, first, second = note(case)
    lost_sd = abs(mp.sqrt(variance) - mp.sqrt(first + second))
    lost_mean = abs(mean - shifted)
    gained = abs(mp.sqrt(first + second) - mp.sqrt(first))
    assert lost_sd < 0.1 * 4 * se_sd, (case, "sd", mp.nstr(lost_sd / (4 * se_sd), 4))
    assert lost_mean < 0.1 * 4 * se_mean, (case, "mean", mp.nstr(lost_mean / (4 * se_mean), 4))
    assert gained > 5 * 4 * se_sd, (case, "weak", mp.nstr(gained / (4 * se_sd), 4))
    shares = [mp.nstr(v, 3) for v in (lost_sd / (4 * se_sd), lost_mean / (4 * se_mean), gained / (4 * se_sd))]
    print(case[0], case[1], "in units of 4 standard errors: neglected sd, mean, second order in sd", *shares, file=sys.stderr)


def predicted_errors(case):
    """Standard errors expected beforehand, from a small sample's kurtosis and the exact variance."""
    y = draw(case, np.random.Generator(np.random.PCG64(7)), CHUNK)
    mean, variance = exact(case)
    kurtosis = float(np.mean((y - float(mean)) ** 4)) / float(variance) ** 2
    return mp.sqrt(variance / SAMPLES), mp.sqrt(variance * (kurtosis - 1) / (4 * SAMPLES))


def draw(case, rng, n):
    """n values of the model."""
    name, shape, (x, ux), second, r, _ = case
    standard = rng.standard_normal if shape == "normal" else lambda size: math.sqrt(3) * (2 * rng.random(size) - 1)
    a = standard(n)
    xs = x + ux * a
    if name == "sin(x)":
        return np.sin(xs)
    if name == "cos(x)":
        return np.cos(xs)
    if name == "x^3":
        return xs * xs * xs
    y, uy = second
    ys = y + uy * (r * a + math.sqrt(1 - r * r) * standard(n))
    return xs * ys * ys if name == "x*y^2" else xs * ys


def sample(case):
    """Mean, sd and their standard errors from SAMPLES draws."""
    rng = np.random.Generator(np.random.PCG64(case[5]))
    origin = float(exact(case)[0])
    sums = [[], [], [], []]
    for _ in range(SAMPLES // CHUNK):
        d = draw(case, rng, CHUNK) - origin
        power = d.copy()
        for k in range(4):
            sums[k].append(float(np.sum(power)))
            power *= d
    a1, a2, a3, a4 = (math.fsum(s) / SAMPLES for s in sums)
    m2 = a2 - a1 * a1
    m4 = a4 - 4 * a1 * a3 + 6 * a1 * a1 * a2 - 3 * a1**4
    sd = math.sqrt(m2 * SAMPLES / (SAMPLES - 1))
    return origin + a1, sd, sd / math.sqrt(SAMPLES), math.sqrt((m4 - m2 * m2) / (4 * m2 * SAMPLES))


def main():
    for case in CASES:
        allowed(case, *predicted_errors(case))
    print("# Origin: tests/scripts/second_order.py, numpy", np.__version__ + ", Generator(PCG64(seed)); columns in the inputs' unit")
    print("# neglected terms beyond the second order: below a tenth of 4 standard errors in every row (see the script)")
    print("case,shape,x,u_x,y,u_y,r,mean,sd,se_mean,se_sd,n,seed")
    for case in CASES:
        name, shape, (x, ux), second, r, seed = case
        mean, sd, se_mean, se_sd = sample(case)
        true_mean, true_variance = exact(case)
        assert abs(mean - true_mean) < 4 * se_mean and abs(sd - mp.sqrt(true_variance)) < 4 * se_sd, case
        y, uy = second or ("", "")
        row = [name, shape, x, ux, y, uy, r if second else ""]
        row += [f"{v:.12g}" for v in (mean, sd)] + [f"{v:.4g}" for v in (se_mean, se_sd)] + [SAMPLES, seed]
        print(",".join(str(v) for v in row), flush=True)


if __name__ == "__main__":
    main()
