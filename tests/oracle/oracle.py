#!/usr/bin/env python3
"""Reference values for the radiometry tests, from libraries that share no code with oddheat.

    python3 -m venv target/oracle && target/oracle/bin/pip install -r tests/oracle/requirements.txt
    target/oracle/bin/python tests/oracle/oracle.py            # writes golden.json
    target/oracle/bin/python tests/oracle/oracle.py --check    # compares with golden.json, exit status 1 if it differs

scipy integrates and fits, astropy gives Planck's law, uncertainties the propagation; colour-science and ht are asked for
the same spectral radiances, so that no single library is believed alone. Traps (radiometry notes 8): colour-science
defaults to rounded radiation constants, so ours are passed; ht has older ones, so it is compared at 1e-6.
Temperatures are in K, wavelengths in um, radiances in W m-2 sr-1 (um-1).
"""

import argparse
import json
import math
import sys
from pathlib import Path

import astropy.units as u
import ht
import numpy as np
import scipy
import scipy.constants as constants
import uncertainties
from astropy.modeling.physical_models import BlackBody
from scipy.integrate import quad
from scipy.optimize import least_squares
from uncertainties import umath

# After astropy: without matplotlib it leaves a stand-in behind on which astropy's own import fails.
import colour

ICE = 273.15
C2_M = constants.physical_constants["second radiation constant"][0]
C1_M = constants.physical_constants["first radiation constant"][0]
C2 = C2_M * 1e6
C1L = C1_M / math.pi * 1e24
# 12 digits are written; values that come out of an iteration agree to fewer.
DIGITS, RELATIVE, RELATIVE_OF_FITS = 12, 1e-9, 1e-6


def spectral(um, kelvin):
    """Planck's law, W m-2 sr-1 um-1."""
    return C1L / um**5 / math.expm1(C2 / (um * kelvin))


def band(kind, kelvin):
    """In-band radiance and its slope by kelvin."""
    response, low, high = {
        "8-14": (lambda um: 1.0, 8.0, 14.0),
        "7.5-13": (lambda um: 1.0, 7.5, 13.0),
        # Logistic edges at 8.0 and 13.5 um, 0.15 um wide, falling by 2 % per um: the tests' own soft-edged response.
        "soft": (
            lambda um: (1 - 0.02 * (um - 10.75)) / (1 + math.exp((8.0 - um) / 0.15)) / (1 + math.exp((um - 13.5) / 0.15)),
            6.0,
            15.5,
        ),
    }[kind]

    def slope(um):
        x = C2 / (um * kelvin)
        return response(um) * spectral(um, kelvin) * x / kelvin / -math.expm1(-x)

    options = {"epsabs": 0, "epsrel": 2e-14, "limit": 400}
    value = quad(lambda um: response(um) * spectral(um, kelvin), low, high, **options)[0]
    return value, quad(slope, low, high, **options)[0]


def spectral_values():
    """Three libraries must agree before a value is written."""
    rows = []
    for um, kelvin in [(8, 300), (10, 300), (12, 300), (14, 300), (10.5, 293.15), (10, 373.15), (10, 573.15), (7.5, 253.15)]:
        scale = 1 * u.W / (u.m**2 * u.um * u.sr)
        value = float(BlackBody(kelvin * u.K, scale=scale)(um * u.um).value)
        other = float(colour.colorimetry.planck_law(um * 1e-6, kelvin, c1=C1_M, c2=C2_M)) * 1e-6
        older = ht.blackbody_spectral_radiance(kelvin, um * 1e-6) * 1e-6
        assert abs(other / value - 1) < 1e-10, ("colour-science", um, kelvin, other, value)
        assert abs(older / value - 1) < 1e-6, ("ht", um, kelvin, older, value)
        rows.append([um, kelvin, value])
    return rows


def band_values():
    return {
        kind: [[t + ICE, *band(kind, t + ICE)] for t in (-40, -20, 0, 23, 60, 100, 150, 300, 650)]
        for kind in ("8-14", "7.5-13", "soft")
    }


def three_term_values():
    """Radiance of an object through air, and the apparent temperature is left to the tests."""
    cases = [(100, 0.95, 20, 0.98, 25), (60, 0.90, 35, 0.95, 22), (140, 0.60, 40, 0.90, 30), (-10, 0.95, 15, 0.97, 10)]
    rows = []
    for kind in ("8-14", "7.5-13"):
        for t, e, reflected, tau, medium in cases:
            b = lambda celsius: band(kind, celsius + ICE)[0]
            rows.append([kind, t, e, reflected, tau, medium, tau * (e * b(t) + (1 - e) * b(reflected)) + (1 - tau) * b(medium)])
    return rows


def signal(kelvin, a=9.36, b=178.0, c=1.0):
    return c / (umath.exp(C2 / (a * kelvin + b)) - 1)


def temperature(s, a=9.36, b=178.0, c=1.0):
    return (C2 / umath.log(c / s + 1) - b) / a


def budgets():
    """Object temperature and combined standard uncertainty, by automatic differentiation."""
    cases = [
        # object, emissivity, reflected, transmittance, medium in C; their uncertainties with that of the reading first
        (100, 0.90, 23, 0.99, 23, 0.5, 0.02, 2, 0.005, 2),
        (100, 0.30, 23, 1.0, 20, 0.5, 0.05, 3, 0, 0),
        (60, 0.95, 20, 1.0, 20, 0.5, 0.01, 1, 0, 0),
        (300, 0.60, 25, 1.0, 20, 0.5, 0.05, 5, 0, 0),
        (80, 0.10, 25, 1.0, 20, 0.5, 0.02, 2, 0, 0),
        (42, 0.93, 31, 0.97, 12, 0.2, 0.015, 1.5, 0.004, 1.2),
        (-8, 0.90, 5, 0.95, 2, 0.3, 0.02, 2, 0.01, 2),
    ]
    rows = []
    for case in cases:
        t, e, reflected, tau, medium, u_app, u_e, u_refl, u_tau, u_med = case
        measured = tau * (e * signal(t + ICE) + (1 - e) * signal(reflected + ICE)) + (1 - tau) * signal(medium + ICE)
        app = uncertainties.ufloat(temperature(measured), u_app)
        e_, r_ = uncertainties.ufloat(e, u_e), uncertainties.ufloat(reflected + ICE, u_refl)
        tau_, m_ = uncertainties.ufloat(tau, u_tau), uncertainties.ufloat(medium + ICE, u_med)
        surface = (signal(app) - (1 - tau_) * signal(m_)) / tau_
        result = temperature((surface - (1 - e_) * signal(r_)) / e_)
        assert abs(result.nominal_value - t - ICE) < 1e-9
        rows.append([*case, result.std_dev])
    return rows


def emissivities():
    """Emissivity by patch (and by contact: patch emissivity 1 +- 0), with its uncertainty."""
    cases = [
        # patch emissivity, patch, surface, reflected in C; their uncertainties
        (1.0, 100, 70, 20, 0, 0.0, 0.0, 0.0),
        (0.95, 86.6, 63.4, 22, 0.01, 0.3, 0.3, 1.0),
        (0.96, 58.0, 33.0, 21, 0.02, 0.2, 0.2, 0.5),
    ]
    rows = []
    for case in cases:
        p, patch, surface, reflected = case[:4]
        p_ = uncertainties.ufloat(p, case[4])
        s = [signal(uncertainties.ufloat(t + ICE, w)) for t, w in zip((patch, surface, reflected), case[5:])]
        result = p_ * (s[1] - s[2]) / (s[0] - s[2])
        rows.append([*case, result.nominal_value, result.std_dev])
    return rows


def foils():
    """Reflected temperature in K by the reflector method, with its uncertainty."""
    cases = [
        # reading in C, foil emissivity, foil in C; their uncertainties
        (22.0, 0.05, 18.0, 0.4, 0.02, 1.0),
        (5.0, 0.10, 25.0, 0.1, 0.03, 3.0),
        (60.0, 0.30, 20.0, 0.05, 0.01, 2.0),
    ]
    rows = []
    for case in cases:
        reading, foil = (signal(uncertainties.ufloat(case[i] + ICE, case[i + 3])) for i in (0, 2))
        e = uncertainties.ufloat(case[1], case[4])
        result = temperature((reading - e * foil) / (1 - e))
        rows.append([*case, result.nominal_value, result.std_dev])
    return rows


def fits():
    """Weighted least squares in temperature by another optimizer, started from another place."""
    rows = []
    celsius = np.array([-20.0, 5, 30, 60, 100, 150, 220, 300])
    errors = np.array([0.06, -0.04, 0.03, -0.08, 0.05, 0.02, -0.07, 0.04])
    counts_off = np.array([2.0, -3.0, 1.0, 4.0, -2.0, 3.0, -4.0, 1.0])
    sd = np.array([0.03, 0.03, 0.05, 0.05, 0.05, 0.08, 0.10, 0.12])
    clean = np.array([1850 + 60 * band("8-14", t + ICE)[0] for t in celsius])
    # Rounded before the fit, so that the file holds exactly what was fitted.
    kelvin, counts = np.round(celsius + ICE + errors, 6), np.round(clean + counts_off, 6)

    def model(p, form):
        if form == "planckian":
            a, b, c, offset = p
            return (C2 / np.log(c / (counts - offset) + 1) - b) / a
        a, shape, c, offset = p
        return C2 / np.log(c / (counts - offset) + shape) / a

    for form, free_offset, start in [
        ("planckian", False, [9.0, 200.0, 380e3, 1850.0]),
        ("planckian", True, [9.0, 200.0, 380e3, 1500.0]),
        ("free-shape", True, [10.0, 1.2, 330e3, 1900.0]),
    ]:
        start = np.array(start)
        free = 4 if free_offset else 3
        full = lambda q: np.concatenate([q * start[:free], start[free:]])
        residual = lambda q: (model(full(q), form) - kelvin) / sd
        # Complex steps: derivatives without differences, exact to rounding.
        step = 1e-30
        jacobian = lambda q: np.array([residual(q + 1j * step * unit).imag / step for unit in np.eye(free)]).T
        found = least_squares(residual, np.ones(free), jacobian, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
        # Its test is relative to the sum of squares; Gauss-Newton takes the last digits.
        best = found.x
        for _ in range(5):
            best = best - np.linalg.lstsq(jacobian(best), residual(best), rcond=None)[0]
        jac, remaining = jacobian(best), residual(best)
        covariance = np.linalg.inv(jac.T @ jac) * np.outer(start[:free], start[:free])
        rows.append(
            {
                "form": form,
                "free_offset": free_offset,
                "points": [[k, s, w] for k, s, w in zip(kelvin, counts, sd)],
                "coefficients": list(full(best)),
                "residuals_k": list(remaining * sd),
                "chi_square": float(remaining @ remaining),
                "standard_uncertainties": list(np.sqrt(np.diag(covariance))),
            }
        )
    return rows


def air():
    """Coefficients of -ln(tau) = (g + w rho^q) d^p, and the loss they give; source: radiometry notes 5.1 (LOWTRAN7)."""
    distances = [0.3, 0.5, 1, 2, 3, 5]
    real = {  # vapor in g/m3: 8-14, 7.5-13
        5.9: ([0.9983, 0.9977, 0.9966, 0.9949, 0.9935, 0.9913], [0.9981, 0.9975, 0.9963, 0.9946, 0.9932, 0.9910]),
        14.0: ([0.9976, 0.9968, 0.9951, 0.9927, 0.9907, 0.9874], [0.9970, 0.9960, 0.9942, 0.9914, 0.9892, 0.9855]),
        19.0: ([0.9972, 0.9962, 0.9943, 0.9914, 0.9890, 0.9849], [0.9964, 0.9952, 0.9930, 0.9896, 0.9868, 0.9823]),
        3.5: ([0.9986, 0.9981, 0.9972, 0.9958, 0.9947, 0.9929], [0.9986, 0.9982, 0.9973, 0.9960, 0.9950, 0.9933]),
    }
    vapor = lambda t, rh: rh * 6.112 * math.exp(17.62 * t / (243.12 + t)) * 1e5 / (461.523 * (t + ICE))
    water_only = [
        (vapor(20, 0.5), [(0.3, 0.9987, 0.9979), (1, 0.9975, 0.9960), (3, 0.9954, 0.9926), (5, 0.9938, 0.9902)]),
        (vapor(30, 0.8), [(0.3, 0.9975, 0.9961), (1, 0.9949, 0.9922), (5, 0.9862, 0.9802)]),
    ]
    result = {}
    for index, kind in enumerate(("8-14", "7.5-13")):
        rows = [(1.0, rho, d, tau) for rho, table in real.items() for d, tau in zip(distances, table[index])]
        rows += [(0.0, rho, row[0], row[1 + index]) for rho, table in water_only for row in table]
        gases, rho, d, tau = np.array(rows).T
        loss = lambda p: (p[0] * gases + p[1] * rho ** p[2]) * d ** p[3]
        p = least_squares(lambda q: 1e3 * (np.exp(-loss(q)) - tau), [0.001, 0.0005, 0.7, 0.6], xtol=1e-15, ftol=1e-15, x_scale=[1e-3, 1e-3, 1, 1]).x
        worst = float(np.max(np.abs(np.exp(-loss(p)) - tau)))
        at = [[t, rh, x, float(math.exp(-(p[0] + p[1] * vapor(t, rh) ** p[2]) * x ** p[3]))] for t, rh, x in [(15, 0.46, 1), (26, 0.75, 5), (20, 0.5, 3), (0, 0.5, 0.3)]]
        result[kind] = {"coefficients": list(map(float, p)), "worst": worst, "at": at}
    return result


def rounded(value):
    if isinstance(value, dict):
        return {key: rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(item) for item in value]
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    return value


def differences(path, old, new, relative):
    if isinstance(old, dict) and isinstance(new, dict) and old.keys() == new.keys():
        for key in old:
            tolerance = RELATIVE_OF_FITS if path in ("", "/fits", "/air") and key in ("fits", "air") else relative
            yield from differences(f"{path}/{key}", old[key], new[key], tolerance)
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for i, (a, b) in enumerate(zip(old, new)):
            yield from differences(f"{path}/{i}", a, b, relative)
    elif isinstance(old, (int, float)) and isinstance(new, (int, float)):
        # Residuals are small differences of large numbers: nanokelvins of them are noise.
        if abs(old - new) > relative * max(abs(old), abs(new)) + 1e-9 * ("residuals" in path):
            yield f"{path}: {old} in golden.json, {new} now"
    elif old != new:
        yield f"{path}: {old} in golden.json, {new} now"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare with golden.json instead of writing it")
    check = parser.parse_args().check
    values = rounded(
        {
            "constants": {"c1l": C1L, "c2": C2, "stefan_boltzmann": constants.sigma},
            "spectral": spectral_values(),
            "band": band_values(),
            "three_terms": three_term_values(),
            "budgets": budgets(),
            "emissivities": emissivities(),
            "foils": foils(),
            "fits": fits(),
            "air": air(),
        }
    )
    golden = Path(__file__).with_name("golden.json")
    if not check:
        golden.write_text(json.dumps(values, indent=1) + "\n")
        print(f"wrote {golden.name} with numpy {np.__version__}, scipy {scipy.__version__}")
        return
    changed = list(differences("", json.loads(golden.read_text()), values, RELATIVE))
    print("\n".join(changed) or f"{golden.name} agrees")
    sys.exit(1 if changed else 0)


if __name__ == "__main__":
    main()
