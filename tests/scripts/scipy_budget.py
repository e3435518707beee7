"""The ten-point micrometer budget with numpy, scipy.stats and PyYAML: an independent computation, and a clock.

  python3 tests/scripts/scipy_budget.py budgets/outside-micrometer-0-25.yaml                      (as `show`)
  python3 tests/scripts/scipy_budget.py budgets/outside-micrometer-0-25.yaml 10.3 10.301          (as `judge`)

Reads the one model `reading - block` and the kinds of evidence in that file, no more. First order
(JCGM 100:2008, equation 10), second order of the thermal products (note to 5.1.2), Welch-Satterthwaite
(G.2b) truncated, t quantile at 95.45 %. Timed as a whole process beside the program:

  time python3 tests/scripts/scipy_budget.py budgets/outside-micrometer-0-25.yaml
"""

import math
import re
import sys

import numpy as np
import yaml
from scipy import stats

# Factors to µm, K and 1/K. Units of the file, nothing else.
FACTOR = {"µm": 1.0, "mm": 1000.0, "K": 1.0, "µm/m/K": 1e-6}
# ISO 3650:1998, table 5, grade 0: up to (mm), limit (µm).
GRADE_0 = [(10, 0.12), (25, 0.14), (50, 0.20)]
P = 0.9545


def value(text):
    """`±0.5 µm` or `11.5 µm/m/K` in µm, K or 1/K."""
    number, unit = re.fullmatch(r"±?\s*([-+0-9.eE]+)\s+(\S+)", str(text)).groups()
    return float(number) * FACTOR[unit]


def thermal(parts, at):
    """First- and second-order variance of length·(alpha·difference + alpha_difference·from_20), rectangular parts."""
    length = at * 1000.0
    half = {k: value(v) for k, v in parts.items() if k != "length"}
    u = {k: half[k] / math.sqrt(3) for k in ("alpha_difference", "difference", "from_20")}
    first = (length * half["alpha"] * u["difference"]) ** 2
    return first, (length * u["alpha_difference"] * u["from_20"]) ** 2


def contribution(entry, at):
    """Standard uncertainty in µm, degrees of freedom and second-order variance of one contributor."""
    if "block_grade" in entry:
        return next(t for up_to, t in GRADE_0 if at <= up_to) / math.sqrt(3), math.inf, 0.0
    if "step" in entry:
        return value(entry["step"]) / math.sqrt(12), math.inf, 0.0
    if "readings" in entry:
        return float(np.std(entry["readings"], ddof=1)) * FACTOR[entry["unit"]], len(entry["readings"]) - 1, 0.0
    if "limits" in entry:
        divisor = {"triangular": math.sqrt(6), "rectangular": math.sqrt(3)}[entry.get("shape", "rectangular")]
        return value(entry["limits"]) / divisor, math.inf, 0.0
    first, second = thermal(entry["thermal"], at)
    return math.sqrt(first), math.inf, second


def evaluate(budget, at):
    """Rows (name, u, ν, kept), u_c, effective degrees of freedom, k and U at 95.45 %."""
    rows, second = [], 0.0
    for entry in budget["contributors"]:
        u, dof, extra = contribution(entry, at)
        rows.append([entry["name"], u, dof, True, entry.get("largest_of")])
        second += extra
    for group in {row[4] for row in rows if row[4]}:
        members = [row for row in rows if row[4] == group]
        largest = max(members, key=lambda row: row[1])
        for row in members:
            row[3] = row is largest
    u = np.array([row[1] for row in rows if row[3]])
    dof = np.array([row[2] for row in rows if row[3]], dtype=float)
    first = float(np.sum(u**2))
    # `order: auto`: the second order enters u only where it changes u by 1 % or more.
    variance = first + second if abs(math.sqrt(1 + second / first) - 1) >= 0.01 else first
    effective = variance**2 / float(np.sum(u**4 / dof))
    whole = round(effective) if abs(effective - round(effective)) <= 1e-9 * effective else math.floor(effective)
    k = float(stats.t.ppf((1 + P) / 2, max(whole, 1)))
    return rows, math.sqrt(variance), effective, k, k * math.sqrt(variance), second


def show(budget):
    """Prints the points as a table and the contributors of the last one."""
    tolerance = value(budget["tolerance"])
    print(f"{'L in mm':>8} {'u in µm':>10} {'nu_eff':>9} {'k':>8} {'U in µm':>10} {'TUR':>7} {'limit':>8}")
    for at in budget["points"]["at"]:
        rows, u, effective, k, expanded, _ = evaluate(budget, at)
        print(f"{at:>8} {u:>10.6f} {effective:>9.4f} {k:>8.5f} {expanded:>10.6f} {tolerance / expanded:>7.4f} {tolerance - expanded:>8.5f}")
    for name, u, dof, kept, _ in rows:
        print(f"  {name:<36} {u:.6f} {dof:>5} {'' if kept else 'not the largest of its group'}")


def judge(budget, at, reading):
    """Prints the verdict of the guarded rule and the specific risk of one reading."""
    tolerance = value(budget["tolerance"])
    _, u, effective, _, expanded, _ = evaluate(budget, at)
    error = round((reading - at) * 1000.0, 9)
    verdict = "pass" if abs(error) <= tolerance - expanded else "fail"
    # The true value is taken as shifted and scaled t with the truncated degrees of freedom.
    law = stats.t(math.floor(effective), loc=error, scale=u)
    risk = law.sf(tolerance) + law.cdf(-tolerance)
    print(f"E = {error:g} µm, acceptance limit ±{tolerance - expanded:.4f} µm: {verdict}, specific risk {risk:.6f}")


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        budget = yaml.safe_load(file)
    if len(sys.argv) == 4:
        judge(budget, float(sys.argv[2]), float(sys.argv[3]))
    else:
        show(budget)


if __name__ == "__main__":
    main()
