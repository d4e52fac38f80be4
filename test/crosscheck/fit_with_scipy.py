"""Fits a night with scipy.optimize.least_squares and prints the terms and their standard errors as JSON.

Usage: fit_with_scipy.py MOUNT.json NIGHT.csv [--terms hourAngleZero,declinationZero,...] [--without 3,7]

With --terms the classical fit of just those, without tolerances as prior knowledge; --without leaves rows out. Several
nights at once: pairs of files on standard input, one JSON list of [mount, night, terms or null, rows left out] a line.
The readings are compared with the model as in the project's definition: ΔH cos D and ΔD, each in units of its
expected error, cos D of the model and moving with it. Standard errors are those of the expected errors, not scaled by chi-square.
"""

import argparse
import json
import sys

import numpy as np
from scipy.optimize import least_squares

import polewright_model as pm

STARS = pm.read_stars()
FIND = pm.star_index(STARS)


def circular_median(angles):
    """The middle of angles that lie close together anywhere on the circle."""
    mean = np.angle(np.exp(1j * angles).sum())
    return mean + np.median(pm.wrap(angles - mean))


def fit(mount_path, night_path, chosen=None, without=()):
    mount = pm.read_mount(mount_path)
    rows = [row for k, row in enumerate(pm.read_night(night_path), 1) if k not in set(without)]
    site = mount["site"]
    latitude = site["latitude"] * pm.DEGREE
    hour_angle, declination, altitude = pm.observed(
        [FIND(row["star"]) for row in rows], np.array([pm.seconds_of(row["time"]) for row in rows]), site
    )
    beyond = np.array([row.get("side") == "beyond" for row in rows])
    axes = mount["readings"]
    read_h = pm.reading_angle([float(row["hourAngle"]) for row in rows], axes["hourAngle"])
    read_d = pm.reading_angle([float(row["declination"]) for row in rows], axes["declination"])
    sigma_west, sigma_north = pm.expected_errors(mount, declination)

    names = list(chosen or pm.TERMS)
    priors = {} if chosen else {name: mount["tolerances"][name] * pm.ARCMINUTE for name in pm.PRIOR_ARCMIN}

    def difference(parameters):
        terms = dict(zip(names, parameters))
        model_h, model_d = pm.readings(terms, latitude, hour_angle, declination, beyond)
        cos_d = np.abs(np.cos(model_d - terms.get("declinationZero", 0.0)))
        return pm.wrap(read_h - model_h) * cos_d, pm.wrap(read_d - model_d)

    def residuals(parameters):
        west, north = difference(parameters)
        held = [value / priors[name] for name, value in zip(names, parameters) if name in priors]
        return np.concatenate([west / sigma_west, north / sigma_north, held])

    start = np.zeros(len(names))
    if "hourAngleZero" in names:
        start[names.index("hourAngleZero")] = circular_median(pm.wrap(read_h - hour_angle))
    if "declinationZero" in names:
        model_d = np.where(beyond, np.pi - declination, declination)
        start[names.index("declinationZero")] = circular_median(pm.wrap(read_d - model_d))
    found = least_squares(
        residuals, start, jac="3-point", method="trf", x_scale=pm.ARCMINUTE, ftol=1e-15, xtol=1e-15, gtol=1e-12,
        max_nfev=400,
    )
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    west, north = difference(found.x)
    count = len(rows)
    return {
        "terms": {name: value / pm.ARCMINUTE for name, value in zip(names, found.x)},
        "standardErrors": {name: e / pm.ARCMINUTE for name, e in zip(names, np.sqrt(np.diag(covariance)))},
        "covariance": (covariance / pm.ARCMINUTE**2).tolist(),
        "chiSquare": float(2 * found.cost),
        "degreesOfFreedom": 2 * count + len(priors) - len(names),
        "skyRmsArcmin": float(np.sqrt((west**2 + north**2).mean()) / pm.ARCMINUTE),
        "hourAngleDeg": (hour_angle / pm.DEGREE).tolist(),
        "declinationDeg": (declination / pm.DEGREE).tolist(),
        "altitudeDeg": (altitude / pm.DEGREE).tolist(),
        "success": bool(found.success),
    }


def main():
    if len(sys.argv) == 1:
        for line in sys.stdin:
            mount, night, terms, without = json.loads(line)
            print(json.dumps(fit(mount, night, terms, without or ())), flush=True)
        return
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("mount")
    parser.add_argument("night")
    parser.add_argument("--terms")
    parser.add_argument("--without", default="")
    given = parser.parse_args()
    terms = given.terms.split(",") if given.terms else None
    print(json.dumps(fit(given.mount, given.night, terms, [int(k) for k in given.without.split(",") if k]), indent=2))


if __name__ == "__main__":
    main()
