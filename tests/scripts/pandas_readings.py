"""The verdicts of `judge --readings` by pandas and numpy, for the speed in docs/performance.md.

    python3 tests/scripts/pandas_readings.py make ROWS FILE.csv    writes invented readings at ten points
    python3 tests/scripts/pandas_readings.py judge FILE.csv OUT.csv   judges them, and prints rows a second
    python3 tests/scripts/pandas_readings.py compare OUT.csv OTHER.csv   stops where verdicts differ

Acceptance limits in whole micrometres are those of `card budgets/outside-micrometer-0-25.yaml`.
"""

import sys
import time

import numpy as np
import pandas as pd

POINTS = ["2.5", "5.1", "7.7", "10.3", "12.9", "15", "17.6", "20.2", "22.8", "25"]
ACCEPTED = 2  # within +-2 um at each of the ten points


def make(rows, path):
    random = np.random.default_rng(118)
    errors = np.clip(np.rint(random.normal(0, 1.2, rows)), -9, 9).astype(int)
    nominal = [int(round(float(it) * 1000)) for it in POINTS]
    with open(path, "w") as out:
        out.write("instrument,at,reading,shelf\n")
        for start in range(0, rows, 100000):
            lines = []
            for row in range(start, min(start + 100000, rows)):
                point = row % 10
                um = nominal[point] + errors[row]
                lines.append(f"M-{row // 10},{POINTS[point]},{um // 1000}.{um % 1000:03d},A {row % 7}\n")
            out.write("".join(lines))


def judge(path, target):
    begin = time.perf_counter()
    frame = pd.read_csv(path, dtype={"instrument": str, "shelf": str})
    um = np.rint((frame["reading"] - frame["at"]) * 1000).astype(np.int64)
    good = um.abs() <= ACCEPTED
    frame["result"] = um
    frame["verdict"] = np.where(good, "pass", "fail")
    all_good = good.groupby(frame["instrument"], sort=False).transform("all")
    frame["instrument_verdict"] = np.where(all_good, "pass", "fail")
    frame.to_csv(target, index=False)
    took = time.perf_counter() - begin
    print(f"{len(frame)} rows in {took:.2f} s: {len(frame) / took / 1e6:.2f} million rows a second")


def compare(one, other):
    columns = ["instrument", "result", "verdict", "instrument_verdict"]
    first, second = (pd.read_csv(it, usecols=columns, dtype=str)[columns] for it in (one, other))
    assert len(first) == len(second), (len(first), len(second))
    assert (first == second).all().all(), first[(first != second).any(axis=1)].head()
    print(f"{len(first)} rows alike")


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["make", rows, path]:
            make(int(rows), path)
        case ["judge", path, target]:
            judge(path, target)
        case ["compare", one, other]:
            compare(one, other)
        case _:
            sys.exit(__doc__)
