#!/usr/bin/env python3
"""Reference values for the fits of the measuring tools, by scipy.optimize.curve_fit and numpy.linalg.lstsq.

    python3 -m venv target/oracle && target/oracle/bin/pip install -r tests/oracle/requirements.txt
    target/oracle/bin/python tests/oracle/measure.py            # writes measure.json
    target/oracle/bin/python tests/oracle/measure.py --check    # compares with measure.json, exit status 1 if it differs

Data: noisy samples drawn here from a fixed seed and written into the file, so the Rust test needs no generator, and three
sets of the NIST Statistical Reference Datasets (public domain): Norris, Eckerle4, Misra1a. The site could not be
reached; data and certified values are from memory, and agree with each other to nine digits and more, which wrong
data would not. That agreement is checked here on every run.
"""

import argparse
import json
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import curve_fit

TIGHT = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15, "maxfev": 100_000}

NORRIS = """0.2 0.1 337.4 338.8 118.2 118.1 884.6 888.0 10.1 9.2 226.5 228.1 666.3 668.5 996.3 998.5 448.6 449.1 777.0 778.9
558.2 559.2 0.4 0.3 0.6 0.1 775.5 778.1 666.9 668.8 338.0 339.3 447.5 448.9 11.6 10.8 556.0 557.7 228.1 228.3 995.8 998.0
887.6 888.8 120.2 119.6 0.3 0.3 0.3 0.6 556.8 557.6 339.1 339.3 887.2 888.0 999.0 998.5 779.0 778.9 11.1 10.2 118.3 117.6
229.2 228.9 669.1 668.4 448.9 449.2 0.5 0.2"""
NORRIS_CERTIFIED = [-0.262323073774029, 1.00211681802045, 0.232818234301152, 0.429796848199937e-03]

ECKERLE4_X = [400 + 5 * i for i in range(8)] + [436.5 + 1.5 * i for i in range(20)] + [470 + 5 * i for i in range(7)]
ECKERLE4_Y = """0.0001575 0.0001699 0.0002350 0.0003102 0.0004917 0.0008710 0.0017418 0.0046400 0.0065895 0.0097302 0.0149002
0.0237310 0.0401683 0.0712559 0.1264458 0.2073413 0.2902366 0.3445623 0.3698049 0.3668534 0.3106727 0.2078154 0.1164354
0.0616764 0.0337200 0.0194023 0.0117831 0.0074357 0.0022732 0.0008800 0.0004579 0.0002345 0.0001586 0.0001143 0.0000710"""
# b1, b2, b3 of y = b1/b2 exp(-((x - b3)/b2)^2 / 2), and their standard deviations.
ECKERLE4_CERTIFIED = [1.5543827178, 4.0888321754, 451.54121844]

MISRA1A_X = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
MISRA1A_Y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
MISRA1A_CERTIFIED = [238.94212918, 5.5015643181e-4]


def agree(got, certified, what):
    for value, wanted in zip(got, certified):
        if abs(value / wanted - 1) > 1e-8:
            sys.exit(f"{what}: {value} is not the certified {wanted}")


def fitted(model, x, y, start):
    values, covariance = curve_fit(model, x, y, start, **TIGHT)
    return list(values), list(np.sqrt(np.diag(covariance)))


def case(x, y, values, deviations, **more):
    return {"x": list(map(float, x)), "y": list(map(float, y)), "values": values, "deviations": deviations, **more}


def straight(x, y):
    matrix = np.column_stack([np.ones_like(x), x])
    values, squares, _, _ = np.linalg.lstsq(matrix, y, rcond=None)
    return values, np.linalg.inv(matrix.T @ matrix), float(squares[0])


def norris():
    data = np.array(NORRIS.split(), float).reshape(-1, 2)
    values, inverse, squares = straight(data[:, 0], data[:, 1])
    deviations = np.sqrt(np.diag(inverse) * squares / (len(data) - 2))
    agree([*values, *deviations], NORRIS_CERTIFIED, "Norris")
    return case(data[:, 0], data[:, 1], NORRIS_CERTIFIED[:2], NORRIS_CERTIFIED[2:])


def eckerle4():
    x, y = np.array(ECKERLE4_X, float), np.array(ECKERLE4_Y.split(), float)
    bell = lambda x, height, place, width: height * np.exp(-0.5 * ((x - place) / width) ** 2)
    values, deviations = fitted(bell, x, y, [0.4, 450, 5])
    b1, b2, b3 = ECKERLE4_CERTIFIED
    agree([values[0] * values[2], values[2], values[1]], ECKERLE4_CERTIFIED, "Eckerle4")
    return case(x, y, [b1 / b2, b3, b2], deviations)


APPROACH = lambda t, end, amplitude, constant: end + amplitude * np.exp(-t / constant)


def misra1a():
    """Certified with the start tied to zero; with a free start, which is our form, by scipy."""
    x, y = np.array(MISRA1A_X), np.array(MISRA1A_Y)
    values, _ = fitted(lambda x, b1, b2: b1 * (1 - np.exp(-b2 * x)), x, y, [250, 5e-4])
    agree(values, MISRA1A_CERTIFIED, "Misra1a")
    return case(x, y, *fitted(APPROACH, x - x[0], y, [240, -230, 1800]))


def drawn():
    draw = np.random.Generator(np.random.PCG64(20261125))
    t = np.cumsum(draw.uniform(0.5, 1.5, 60))
    warm = APPROACH(t - t[0], 331.5, -22.0, 17.0) + draw.normal(0, 0.08, t.size)
    along = np.arange(48.0)
    cable = 296.2 + 14.0 * np.exp(-along / 11.0) + draw.normal(0, 0.15, along.size)
    place = np.arange(25.0)
    line = 295.0 + 6.0 * np.exp(-0.5 * ((place - 11.37) / 1.4) ** 2) + draw.normal(0, 0.1, place.size)
    hose = np.arange(80.0)
    opens = 300 + 0.05 * hose + 0.6 * np.clip(hose - 43.3, 0, None) + draw.normal(0, 0.2, hose.size)
    return {
        "approach": case(t, warm, *fitted(APPROACH, t - t[0], warm, [330, -20, 15])),
        "decay": case(
            along, cable, *fitted(lambda x, height, length: 296.2 + height * np.exp(-x / length), along, cable, [10, 10]),
            base=296.2,
        ),
        "peak": case(
            place, line,
            *fitted(lambda x, h, p, w: 295.0 + h * np.exp(-0.5 * ((x - p) / w) ** 2), place, line, [5, 11, 1.5]),
            base=295.0,
        ),
        "knee": knee(hose, opens),
    }


def knee(x, y):
    """Best cut by brute force, independent lines on either side, where they meet; deviations by the delta method."""
    best = None
    for cut in range(4, len(x) - 3):
        left, right = straight(x[:cut], y[:cut]), straight(x[cut:], y[cut:])
        if best is None or left[2] + right[2] < best[0]:
            best = (left[2] + right[2], left, right)
    squares, (a, inverse_a, _), (b, inverse_b, _) = best
    variance = squares / (len(x) - 4)
    meet = (a[0] - b[0]) / (b[1] - a[1])
    at = np.array([1.0, meet])
    deviation = np.sqrt(variance * (at @ inverse_a @ at + at @ inverse_b @ at)) / abs(b[1] - a[1])
    slopes = np.sqrt(variance * np.array([inverse_a[1, 1], inverse_b[1, 1]]))
    return case(x, y, [float(meet), float(a[1]), float(b[1])], [float(deviation), *map(float, slopes)])


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args().check
    cases = {"norris": norris(), "eckerle4": eckerle4(), "misra1a": misra1a(), **drawn()}
    path = Path(__file__).with_name("measure.json")
    if not check:
        path.write_text(json.dumps(cases, indent=0) + "\n")
        return
    committed = json.loads(path.read_text())
    for name, now in cases.items():
        for key, values in now.items():
            if not np.allclose(values, committed[name][key], rtol=1e-6):
                sys.exit(f"{name} {key} differs from measure.json")
    print(f"{len(cases)} cases as committed")


if __name__ == "__main__":
    main()
