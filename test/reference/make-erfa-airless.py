"""Writes erfa-airless.csv: directions without air of 400 random catalogue stars, 1900 to 2100, over the whole globe, the poles included.

ERFA 2.0.0 eraAtco13 (Debian python3-erfa; IAU 2006/2000A), pressure 0, polar motion 0, parallax and radial velocity as given.
Run: /usr/bin/python3 make-erfa-airless.py > erfa-airless.csv
"""
import csv
import math
import pathlib
import warnings

import erfa
import numpy as np

warnings.simplefilter("ignore")
random = np.random.default_rng(20260314)
table = pathlib.Path(__file__).parents[2] / "data" / "stars.csv"
stars = list(csv.DictReader(line for line in table.open() if not line.startswith("#")))
degree = math.pi / 180
mas = degree / 3600e3

print("# Written by make-erfa-airless.py, which gives method and source. Degrees.")
print("hip,utc,dut1S,latitude,longitude,heightM,azimuth,altitude,hourAngle,declination")
for index in range(400):
    star = stars[random.integers(len(stars))]
    number = {key: float(star[key]) for key in ("raDeg", "decDeg", "pmRaCosDecMasYr", "pmDecMasYr", "parallaxMas", "radialVelocityKmS")}
    year, month, day = 1900 + random.integers(201), 1 + random.integers(12), 1 + random.integers(28)
    hour, minute, second = random.integers(24), random.integers(60), random.integers(60)
    dut1 = round(random.uniform(-0.9, 0.9), 3)
    latitude = [90.0, -90.0][index % 2] if index < 10 else round(math.degrees(math.asin(random.uniform(-1, 1))), 4)
    longitude = round(random.uniform(-180, 180), 4)
    height = round(random.uniform(0, 4000))
    utc1, utc2 = erfa.dtf2d("UTC", year, month, day, hour, minute, float(second))
    dec = number["decDeg"] * degree
    azimuth, zenith, hour_angle, declination, _, _ = erfa.atco13(
        number["raDeg"] * degree, dec, number["pmRaCosDecMasYr"] * mas / math.cos(dec), number["pmDecMasYr"] * mas,
        max(0.0, number["parallaxMas"]) / 1000, number["radialVelocityKmS"], utc1, utc2, dut1,
        longitude * degree, latitude * degree, height, 0, 0, 0, 0, 0.5, 0.55)
    utc = f"{year:04d}-{month:02d}-{day:02d}T{hour:02d}:{minute:02d}:{second:02d}Z"
    values = [azimuth, math.pi / 2 - zenith, hour_angle, declination]
    print(",".join([star["hip"], utc, str(dut1), str(latitude), str(longitude), str(height)] + [f"{v / degree:.8f}" for v in values]))
