"""The same work by ERFA, NumPy and SciPy, on the same rows: the rival that `npm run bench` is held against.

Usage: erfa_scipy.py CASE.json, with OPENBLAS_NUM_THREADS=1. CASE.json names the mount, the kind of problem and a file
of float64 columns (ra, dec, pm ra cos dec, pm dec, parallax, radial velocity, milliseconds of UTC, hour-angle reading,
declination reading: degrees, mas, km/s, counts). Prints one JSON object: milliseconds of each way, and its answer.

Every way is vectorised over the rows as well as we could: ERFA's `atco13` once for all rows; or, quicker, its frame
once a day and only the Earth's rotation (`aper13`) a row. The model is test/crosscheck/polewright_model.py, the slopes
those of the first order.
"""

import json
import resource
import sys
import time
from pathlib import Path

import erfa
import numpy as np
import scipy
from scipy.optimize import least_squares

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "crosscheck"))
import polewright_model as pm  # noqa: E402

MAS = pm.DEGREE / 3.6e6
COLUMNS = ["ra", "dec", "pmRa", "pmDec", "parallax", "radialVelocity", "timeMs", "readH", "readD"]


# --- where the stars are seen --------------------------------------------------------------------------------------


def observed_each(rows, site):
    """atco13: everything for every row."""
    ra, dec = rows["ra"] * pm.DEGREE, rows["dec"] * pm.DEGREE
    _, _, hour_angle, declination, _, _ = erfa.atco13(
        ra, dec, rows["pmRa"] * MAS / np.cos(dec), rows["pmDec"] * MAS, rows["parallax"] / 1000, rows["radialVelocity"],
        2440587.5, rows["timeMs"] / 86400000, site.get("dut1S", 0.0), site["longitude"] * pm.DEGREE,
        site["latitude"] * pm.DEGREE, site.get("heightM", 0.0), 0.0, 0.0, site["pressureHPa"], site["temperatureC"], 0.5,
        0.55,
    )
    return hour_angle, declination


def observed_daily(rows, site):
    """The frame once a day at noon of the rows' day, the Earth's rotation by aper13 a row: 0.3" off at the day's ends."""
    ra, dec = rows["ra"] * pm.DEGREE, rows["dec"] * pm.DEGREE
    days = rows["timeMs"] / 86400000
    whole, place = np.unique(np.floor(days), return_inverse=True)
    frames, _ = erfa.apco13(
        2440587.5, whole + 0.5, site.get("dut1S", 0.0), site["longitude"] * pm.DEGREE, site["latitude"] * pm.DEGREE,
        site.get("heightM", 0.0), 0.0, 0.0, site["pressureHPa"], site["temperatureC"], 0.5, 0.55,
    )
    each = erfa.aper13(2440587.5, days + site.get("dut1S", 0.0) / 86400, frames[place])
    place_i = erfa.atciq(ra, dec, rows["pmRa"] * MAS / np.cos(dec), rows["pmDec"] * MAS, rows["parallax"] / 1000,
                         rows["radialVelocity"], each)
    _, _, hour_angle, declination, _ = erfa.atioq(*place_i, each)
    return hour_angle, declination


# --- the model's slopes, first order -------------------------------------------------------------------------------


def slopes(names, latitude, h, d):
    """d(H cos D) and dD of each term: the table of the first order."""
    sigma = 1.0 if latitude >= 0 else -1.0
    sin_h, cos_h, sin_d, cos_d = np.sin(h), np.cos(h), np.sin(d), np.cos(d)
    zero = np.zeros_like(h)
    table = {
        "hourAngleZero": lambda: (cos_d, zero),
        "declinationZero": lambda: (zero, zero + 1),
        "polarAltitude": lambda: (sigma * sin_h * sin_d, sigma * cos_h),
        "polarEast": lambda: (sigma * cos_h * sin_d, -sigma * sin_h),
        "cone": lambda: (zero + 1, zero),
        "squareness": lambda: (sin_d, zero),
        "tubeSag": lambda: (-np.cos(latitude) * sin_h, np.sin(latitude) * cos_d - np.cos(latitude) * sin_d * cos_h),
        "ringSag": lambda: (zero, cos_h),
        "trunnionSag": lambda: (np.cos(latitude) * cos_h * cos_d + np.sin(latitude) * sin_d, zero),
        "hourAngleEccentricSin": lambda: (sin_h * cos_d, zero),
        "hourAngleEccentricCos": lambda: (cos_h * cos_d, zero),
        "declinationEccentricSin": lambda: (zero, sin_d),
        "declinationEccentricCos": lambda: (zero, cos_d),
        "hourAngleScale": lambda: (h * cos_d, zero),
        "declinationScale": lambda: (zero, d),
    }
    west = np.empty((h.size, len(names)))
    north = np.empty((h.size, len(names)))
    for j, name in enumerate(names):
        west[:, j], north[:, j] = table[name]()
    return west, north


def circular_median(angles):
    mean = np.angle(np.exp(1j * angles).sum())
    return mean + np.median(pm.wrap(angles - mean))


class Problem:
    def __init__(self, case, rows, seen):
        mount = case["mount"]
        self.names = case["terms"]
        self.latitude = mount["site"]["latitude"] * pm.DEGREE
        self.h, self.d = seen
        self.read_h = pm.reading_angle(rows["readH"], mount["readings"]["hourAngle"])
        self.read_d = pm.reading_angle(rows["readD"], mount["readings"]["declination"])
        west, north = pm.expected_errors(mount, self.d)
        self.weight_west, self.weight_north = 1 / west, 1 / (north + np.zeros_like(self.d))
        priors = mount["tolerances"] if case["priors"] else {}
        self.held = [j for j, name in enumerate(self.names) if name in priors]
        self.prior_weight = np.array([1 / (priors[self.names[j]] * pm.ARCMINUTE) for j in self.held])
        self.prior_rows = np.zeros((len(self.held), len(self.names)))
        self.prior_rows[range(len(self.held)), self.held] = self.prior_weight
        start = np.zeros(len(self.names))
        start[self.names.index("hourAngleZero")] = circular_median(pm.wrap(self.read_h - self.h))
        start[self.names.index("declinationZero")] = circular_median(pm.wrap(self.read_d - self.d))
        self.start = start
        self.zero_d = self.names.index("declinationZero")
        self._jacobian = None

    def residuals(self, parameters):
        model_h, model_d = pm.readings(dict(zip(self.names, parameters)), self.latitude, self.h, self.d)
        cos_d = np.abs(np.cos(model_d - parameters[self.zero_d]))
        return np.concatenate([
            pm.wrap(self.read_h - model_h) * cos_d * self.weight_west,
            pm.wrap(self.read_d - model_d) * self.weight_north,
            parameters[self.held] * self.prior_weight,
        ])

    def jacobian(self, _=None):
        if self._jacobian is None:
            west, north = slopes(self.names, self.latitude, self.h, self.d)
            west *= -self.weight_west[:, None]
            north *= -self.weight_north[:, None]
            self._jacobian = np.concatenate([west, north, self.prior_rows])
        return self._jacobian


def by_least_squares(problem, method, slopes_given):
    found = least_squares(
        problem.residuals, problem.start, jac=problem.jacobian if slopes_given else "2-point", method=method,
        x_scale=pm.ARCMINUTE,
    )
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    return found.x, 2 * found.cost, np.sqrt(np.diag(covariance))


def by_lstsq(problem):
    """Steps of numpy.linalg.lstsq with the first-order slopes, until the fit stands still."""
    x = problem.start.copy()
    jacobian = problem.jacobian()
    for _ in range(6):
        step, *_ = np.linalg.lstsq(jacobian, problem.residuals(x), rcond=None)
        x -= step
        if np.linalg.norm(jacobian @ step) < 1e-2:
            break
    r = problem.residuals(x)
    return x, float(r @ r), np.sqrt(np.diag(np.linalg.inv(jacobian.T @ jacobian)))


def main():
    case = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    rows = dict(zip(COLUMNS, np.fromfile(case["rows"]).reshape(len(COLUMNS), -1)))
    site = case["mount"]["site"]
    reductions = {"atco13 a row": observed_each, "a frame a day, aper13 a row": observed_daily}
    if case["kind"] == "many":
        fits = {"numpy.linalg.lstsq": by_lstsq}
    else:
        fits = {
            "least_squares trf, 2-point": lambda p: by_least_squares(p, "trf", False),
            "least_squares lm, 2-point": lambda p: by_least_squares(p, "lm", False),
            "least_squares trf, slopes given": lambda p: by_least_squares(p, "trf", True),
            "least_squares lm, slopes given": lambda p: by_least_squares(p, "lm", True),
        }
    timed = {"reduce": {}, "fit": {}}
    seen = None
    for name, reduce in reductions.items():
        best, value = best_of(lambda: reduce(rows, site), case["repeats"])
        timed["reduce"][name] = best
        seen = seen or value
    answers = {}
    for name, fit in fits.items():
        best, (x, chi_square, errors) = best_of(lambda: fit(Problem(case, rows, seen)), case["repeats"])
        timed["fit"][name] = best
        answers[name] = {
            "terms": dict(zip(case["terms"], (x / pm.ARCMINUTE).tolist())),
            "chiSquare": float(chi_square),
            "standardErrors": dict(zip(case["terms"], (errors / pm.ARCMINUTE).tolist())),
        }
    print(json.dumps({
        "versions": {"numpy": np.__version__, "scipy": scipy.__version__, "erfa": erfa.__version__},
        "milliseconds": timed,
        "peakMegabytes": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "answers": answers,
    }))


def best_of(work, repeats):
    """Median milliseconds of the repeats after one to warm up, and the work's value."""
    value = work()
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        value = work()
        times.append(1000 * (time.perf_counter() - began))
    return float(np.median(times)), value


if __name__ == "__main__":
    main()
