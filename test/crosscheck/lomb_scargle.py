"""Lomb-Scargle powers of a course by astropy and by SciPy, for holding the project's own periodogram against.

Reads one JSON object a line ({"seconds", "values", "frequencies"}), answers one a line:
"floating": astropy's LombScargle(fit_mean=True, normalization="model")  (Zechmeister and Kuerster 2009), power (chi0 - chi) / chi;
"centred": scipy.signal.lombscargle of the values less their mean, normalised the same way.
"""
import json
import sys

import numpy as np
from astropy.timeseries import LombScargle
from scipy.signal import lombscargle

for line in sys.stdin:
    given = json.loads(line)
    seconds = np.array(given["seconds"])
    values = np.array(given["values"])
    frequencies = np.array(given["frequencies"])
    floating = LombScargle(seconds, values, fit_mean=True, center_data=True, normalization="model").power(
        frequencies, method="cython", assume_regular_frequency=False)
    less = values - values.mean()
    raw = lombscargle(seconds, less, 2 * np.pi * frequencies)
    share = raw / (0.5 * np.sum(less**2))
    print(json.dumps({"floating": list(map(float, floating)), "centred": list(map(float, share / (1 - share)))}), flush=True)
