"""The mount's model, where stars are seen and the two files, written anew with numpy, ERFA and rotation matrices.

Nothing here comes from the project's TypeScript: it is the same definition (frames and signs in the head of
src/mount/model.ts), computed another way, to be held against it. Angles are radians unless the name says otherwise.

Debian: apt install python3-erfa python3-numpy python3-scipy; run with /usr/bin/python3.
"""

import csv
import json
import re
import unicodedata
import warnings
from datetime import datetime, timezone
from pathlib import Path

import erfa
import numpy as np

# ERFA warns of years for which its table of leap seconds may be short; a missed one would be an hour-angle zero.
warnings.filterwarnings("ignore", message=".*dubious year")

DEGREE = np.pi / 180
ARCMINUTE = DEGREE / 60
SKY_RATE = 15.041067 / 3600 * DEGREE  # of hour angle a second of time
ROOT = Path(__file__).resolve().parents[2]

TERMS = [
    "hourAngleZero", "declinationZero", "polarAltitude", "polarEast", "cone", "squareness", "tubeSag", "ringSag",
    "trunnionSag",
]
PRIOR_ARCMIN = {"cone": 20.0, "squareness": 15.0, "tubeSag": 5.0, "ringSag": 3.0, "trunnionSag": 2.0}


# --- files ---------------------------------------------------------------------------------------------------------


def read_mount(path):
    mount = json.loads(Path(path).read_text(encoding="utf-8"))
    mount.setdefault("centringArcmin", 0.7)
    mount.setdefault("timingS", 0.5)
    mount["tolerances"] = {**PRIOR_ARCMIN, **mount.get("tolerances", {})}
    for axis in mount["readings"].values():
        axis.setdefault("sense", 1)
        axis.setdefault("smallest", 1)
        if axis["as"] != "counts":
            axis["perTurn"] = 360 if axis["as"] == "degrees" else 24
    return mount


def read_night(path):
    lines = [line for line in Path(path).read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    return list(csv.DictReader(lines))


def _key(name):
    plain = unicodedata.normalize("NFD", name)
    return re.sub(r"[^a-z0-9\u03b1-\u03c9]", "", plain.lower())


def read_stars():
    rows = [line for line in (ROOT / "data" / "stars.csv").read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    stars = list(csv.DictReader(rows))
    for star in stars:
        star["label"] = star["name"] or star["bayer"] or star["flamsteed"] or f"HIP {star['hip']}"
        for column in ("vMag", "raDeg", "decDeg", "pmRaCosDecMasYr", "pmDecMasYr", "parallaxMas", "radialVelocityKmS"):
            star[column] = float(star[column])
    return stars


def star_index(stars):
    index = {}
    for star in stars:
        for text in (star["label"], star["name"], star["bayer"], star["flamsteed"], f"HIP {star['hip']}"):
            if text:
                index.setdefault(_key(text), star)
    return lambda name: index[_key(name)]


# --- sky -----------------------------------------------------------------------------------------------------------


def seconds_of(text):
    return datetime.fromisoformat(text.replace("Z", "+00:00")).astimezone(timezone.utc).timestamp()


def iso(seconds):
    return datetime.fromtimestamp(round(seconds), timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def observed(star, seconds, site):
    """Observed hour angle and declination (ERFA atco13: refraction at 0.55 um and half humidity included).

    `star` may hold arrays; so may `seconds`.
    """
    column = lambda name: np.array([row[name] for row in star]) if isinstance(star, list) else star[name]
    ra, dec = column("raDeg") * DEGREE, column("decDeg") * DEGREE
    mas = DEGREE / 3.6e6
    _, zenith, hour_angle, declination, _, _ = erfa.atco13(
        ra, dec, column("pmRaCosDecMasYr") * mas / np.cos(dec), column("pmDecMasYr") * mas,
        column("parallaxMas") / 1000, column("radialVelocityKmS"),
        2440587.5, np.asarray(seconds) / 86400, site.get("dut1S", 0.0),
        site["longitude"] * DEGREE, site["latitude"] * DEGREE, site.get("heightM", 0.0), 0.0, 0.0,
        site["pressureHPa"], site["temperatureC"], 0.5, 0.55,
    )
    return np.asarray(hour_angle), np.asarray(declination), np.pi / 2 - np.asarray(zenith)


def observed_all(stars, seconds, site):
    """As observed(), for many stars at one moment: the frame is made once."""
    column = lambda name: np.array([row[name] for row in stars])
    ra, dec = column("raDeg") * DEGREE, column("decDeg") * DEGREE
    mas = DEGREE / 3.6e6
    frame, _ = erfa.apco13(
        2440587.5, seconds / 86400, site.get("dut1S", 0.0), site["longitude"] * DEGREE, site["latitude"] * DEGREE,
        site.get("heightM", 0.0), 0.0, 0.0, site["pressureHPa"], site["temperatureC"], 0.5, 0.55,
    )
    place = erfa.atciq(
        ra, dec, column("pmRaCosDecMasYr") * mas / np.cos(dec), column("pmDecMasYr") * mas, column("parallaxMas") / 1000,
        column("radialVelocityKmS"), frame,
    )
    _, zenith, hour_angle, declination, _ = erfa.atioq(*place, frame)
    return hour_angle, declination, np.pi / 2 - zenith


def sun_altitude(seconds, site):
    """Geometric altitude of the Sun: ERFA's Earth ephemeris, precession-nutation and sidereal time."""
    days = np.asarray(seconds) / 86400
    heliocentric, _ = erfa.epv00(2440587.5, days + 69.2 / 86400)
    direction = -np.asarray(heliocentric["p"])
    # Precession and nutation stand still for a day.
    of_date = direction @ erfa.pnm06a(2440587.5, float(np.mean(days))).T
    ra, dec = np.arctan2(of_date[..., 1], of_date[..., 0]), np.arctan2(of_date[..., 2], np.hypot(of_date[..., 0], of_date[..., 1]))
    hour_angle = erfa.gmst06(2440587.5, days, 2440587.5, days) + site["longitude"] * DEGREE - ra
    latitude = site["latitude"] * DEGREE
    return np.arcsin(np.sin(latitude) * np.sin(dec) + np.cos(latitude) * np.cos(dec) * np.cos(hour_angle))


# --- mount ---------------------------------------------------------------------------------------------------------


def turn_x(angle):
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[1, 0, 0], [0, c, -s], [0, s, c]])


def turn_z(angle):
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


def turn_by(vector):
    """The rotation by a rotation vector, as a matrix (Rodrigues)."""
    vector = np.asarray(vector, float)
    angle = np.linalg.norm(vector)
    if angle == 0:
        return np.eye(3)
    x, y, z = vector / angle
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * k @ k


def star_vector(hour_angle, declination):
    return np.stack([np.cos(declination) * np.cos(hour_angle), -np.cos(declination) * np.sin(hour_angle), np.sin(declination)])


def polar_rotation(polar_altitude, polar_east, latitude):
    """Carries the true frame's axes into the mount's: the mount's pole is its last column."""
    elevated = 1 if latitude >= 0 else -1
    return turn_by([-elevated * polar_east, elevated * polar_altitude, 0])


def pole_error(rotation, latitude):
    """The exact inverse of polar_rotation for the direction of the axis: altitude and east errors, radians."""
    elevated = 1 if latitude >= 0 else -1
    x, y, z = rotation @ [0, 0, 1]
    distance = np.arctan2(np.hypot(x, y), z)
    scale = distance / np.hypot(x, y) if x or y else 1.0
    # The rotation vector at right angles to both poles: (-y, x, 0), so many radians long.
    return elevated * x * scale, elevated * y * scale


def readings(terms, latitude, hour_angle, declination, beyond=None):
    """Angles of the two axes that make the telescope look at a direction, zeros and sags included.

    `terms` in radians by name (scales: plain ratios); `beyond`: where the tube is turned over the pole. Sags of ring and
    trunnions, eccentricities and scales are taken at the angles of the axes.
    """
    get = lambda name: terms.get(name, 0.0)
    s = star_vector(np.asarray(hour_angle, float), np.asarray(declination, float))
    up = np.array([np.cos(latitude), 0, np.sin(latitude)])[:, None]
    s = s + get("tubeSag") * (up - (up * s).sum(axis=0) * s)
    s = s / np.linalg.norm(s, axis=0)
    m = polar_rotation(get("polarAltitude"), get("polarEast"), latitude).T @ s
    c, n = get("cone"), get("squareness")
    sin_d = np.clip((m[2] + np.sin(c) * np.sin(n)) / (np.cos(c) * np.cos(n)), -1, 1)
    d = np.arcsin(sin_d)
    if beyond is not None:
        d = np.where(beyond, np.pi - d, d)
    tube = np.stack([np.cos(c) * np.cos(d), np.full_like(d, np.sin(c)), np.cos(c) * np.sin(d)])
    p = turn_x(-n) @ tube
    h = np.arctan2(p[1], p[0]) - np.arctan2(m[1], m[0])
    h = (h + np.pi) % (2 * np.pi) - np.pi
    # Checked: m = Rz(-h) Rx(-n) tube.
    reading_h = h + get("hourAngleZero") + get("trunnionSag") * (np.cos(latitude) * np.cos(h) + np.sin(latitude) * np.tan(d))
    reading_d = d + get("declinationZero") + get("ringSag") * np.cos(h)
    reading_h = reading_h + get("hourAngleEccentricSin") * np.sin(h) + get("hourAngleEccentricCos") * np.cos(h) + get("hourAngleScale") * h
    reading_d = reading_d + get("declinationEccentricSin") * np.sin(d) + get("declinationEccentricCos") * np.cos(d) + get("declinationScale") * d
    return reading_h, reading_d


def wrap(angle):
    return (np.asarray(angle) + np.pi) % (2 * np.pi) - np.pi


def reading_angle(value, axis):
    return axis["sense"] * np.asarray(value, float) * 2 * np.pi / axis["perTurn"]


def expected_errors(mount, declination):
    """One sigma on the sky, westward and northward: step / sqrt 12, centring, timing."""
    cos_dec = np.cos(declination)
    step = lambda name: mount["readings"][name]["smallest"] * 2 * np.pi / mount["readings"][name]["perTurn"] / np.sqrt(12)
    centring = mount["centringArcmin"] * ARCMINUTE
    west = np.sqrt(centring**2 + (step("hourAngle") * cos_dec) ** 2 + (mount["timingS"] * SKY_RATE * cos_dec) ** 2)
    return west, np.hypot(centring, step("declination"))
