"""Writes erfa-sun-moon.csv: where the centres of Sun and Moon stand, seen from a site, without air. 60 random times, 1972 to 2050.

ERFA 2.0.0 (Debian python3-erfa): Sun from epv00, light time and aberration, Moon from moon98 (good to about 10″), pnm06a, gst06a, the site
by gc2gd's inverse gd2gc (WGS84). Terrestrial Time from UTC by leap seconds; 37 s from 2017 on.
Run: /usr/bin/python3 make-erfa-sun-moon.py > erfa-sun-moon.csv
"""
import math
import warnings

import erfa
import numpy as np

warnings.simplefilter("ignore")
random = np.random.default_rng(8)
AU, C_AU_DAY = 149597870700.0, 299792458.0 * 86400 / 149597870700.0

print("# Written by make-erfa-sun-moon.py, which gives method and source. Degrees.")
print("utc,latitude,longitude,heightM,sunHourAngle,sunDeclination,moonHourAngle,moonDeclination")
for _ in range(60):
    year, month, day = 1972 + random.integers(79), 1 + random.integers(12), 1 + random.integers(28)
    hour, minute, second = random.integers(24), random.integers(60), random.integers(60)
    latitude = round(math.degrees(math.asin(random.uniform(-1, 1))), 4)
    longitude, height = round(random.uniform(-180, 180), 4), int(random.integers(4000))
    utc1, utc2 = erfa.dtf2d("UTC", year, month, day, hour, minute, float(second))
    tt1, tt2 = erfa.taitt(*erfa.utctai(utc1, utc2))
    matrix = erfa.pnm06a(tt1, tt2)
    sidereal = erfa.gst06a(utc1, utc2, tt1, tt2) + math.radians(longitude)
    site = erfa.gd2gc(1, math.radians(longitude), math.radians(latitude), height) / AU
    distance, angle = math.hypot(site[0], site[1]), sidereal
    site_of_date = np.array([distance * math.cos(angle), distance * math.sin(angle), site[2]])
    # The Sun: where it stood a light time ago against where the Earth is now, barycentric, then aberration.
    (_, bary) = erfa.epv00(tt1, tt2)
    helio, _ = erfa.epv00(tt1, tt2)
    light = np.linalg.norm(helio["p"]) / C_AU_DAY
    helio_then, bary_then = erfa.epv00(tt1, tt2 - light)
    sun = (bary_then["p"] - helio_then["p"]) - bary["p"]
    span = np.linalg.norm(sun)
    v = bary["v"] / C_AU_DAY
    sun = erfa.ab(sun / span, v, np.linalg.norm(helio["p"]), math.sqrt(1 - v @ v)) * span
    moon = erfa.moon98(tt1, tt2)["p"]
    row = [f"{year:04d}-{month:02d}-{day:02d}T{hour:02d}:{minute:02d}:{second:02d}Z", latitude, longitude, height]
    for place in (sun, moon):
        of_date = matrix @ place - site_of_date
        right_ascension, declination = erfa.c2s(of_date)
        row += [f"{math.degrees(erfa.anpm(sidereal - right_ascension)):.6f}", f"{math.degrees(declination):.6f}"]
    print(",".join(map(str, row)))
