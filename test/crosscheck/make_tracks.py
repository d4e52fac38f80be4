"""Courses of tracked stars with known errors of the drive, by ERFA and plain rotations: nothing of the project is in them.

Usage: /usr/bin/python3 make_tracks.py FOLDER [--tracks N] [--seed N]
Writes FOLDER/track-NNN.csv (time, raDeg, decDeg, westArcsec, northArcsec, segment) and FOLDER/truth.json.

The star: ERFA's atco13 (ICRS to observed, refraction included). The telescope: its shaft turns at the sidereal rate times
(1 + error), carrying periodic errors; the polar axis is off by a rotation of the whole frame. Where the star stands in the
picture is the gnomonic offset from the telescope's line along the mount's own west and north.
Noise: each picture's own scatter, and a wander that dies away (an Ornstein-Uhlenbeck process, simulated exactly).
"""
import argparse
import json
import os

import erfa
import numpy as np

ARCSEC = np.pi / 180 / 3600
OMEGA = 7.292115e-5  # radians a second, IERS Conventions 2010

parser = argparse.ArgumentParser()
parser.add_argument("folder")
parser.add_argument("--tracks", type=int, default=500)
parser.add_argument("--seed", type=int, default=1)
given = parser.parse_args()
os.makedirs(given.folder, exist_ok=True)
chance = np.random.default_rng(given.seed)

SITES = {
    "south": dict(latitude=-30.0, longitude=20.0, heightM=1000, pressureHPa=900, temperatureC=12),
    "north": dict(latitude=46.5, longitude=8.0, heightM=600, pressureHPa=945, temperatureC=5),
}
WORM_S = 478.7
ROLLER_S = 4786.9


def observed(ra, dec, jd, site):
    """Hour angle and declination as seen, radians."""
    _, _, hob, dob, _, _ = erfa.atco13(
        np.radians(ra), np.radians(dec), 0.0, 0.0, 0.0, 0.0, jd[0], jd[1], 0.0,
        np.radians(site["longitude"]), np.radians(site["latitude"]), site["heightM"], 0.0, 0.0,
        site["pressureHPa"], site["temperatureC"], 0.5, 0.55)
    return hob, dob


def vector(h, d):
    return np.array([np.cos(d) * np.cos(h), -np.cos(d) * np.sin(h), np.sin(d)])


def rotation(v):
    """Rodrigues."""
    angle = np.linalg.norm(v)
    if angle < 1e-15:
        return np.eye(3)
    k = v / angle
    cross = np.array([[0, -k[2], k[1]], [k[2], 0, -k[0]], [-k[1], k[0], 0]])
    return np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross


def polar_axis(altitude, east, latitude):
    """The rotation that carries the true pole to where the axis points; altitude too high, east too far east, radians."""
    sign = 1 if latitude >= 0 else -1
    return rotation(np.array([-sign * east, sign * altitude, 0.0]))


def wander(seconds, size, memory):
    out = np.zeros(len(seconds))
    out[0] = chance.normal(0, size)
    for i in range(1, len(seconds)):
        keep = np.exp(-(seconds[i] - seconds[i - 1]) / memory)
        out[i] = keep * out[i - 1] + chance.normal(0, size * np.sqrt(1 - keep**2))
    return out


def course(site, ra, dec, seconds, start, error, waves, axis):
    jd = (start, np.asarray(seconds) / 86400)
    h, d = observed(ra, dec, jd, site)
    frame = polar_axis(axis[0], axis[1], site["latitude"])
    stars = np.array([frame.T @ vector(a, b) for a, b in zip(h, d)])
    # In the mount's own frame: where the shafts stand when the star is set.
    shaft0 = np.arctan2(-stars[0][1], stars[0][0])
    tilt0 = np.arcsin(stars[0][2])
    shaft = shaft0 + OMEGA * (1 + error) * np.asarray(seconds)
    lead = sum(a * (np.sin(2 * np.pi * np.asarray(seconds) / p + f) - np.sin(f)) for p, a, f in waves)
    shaft = shaft + lead * ARCSEC
    west = np.zeros(len(seconds))
    north = np.zeros(len(seconds))
    for i in range(len(seconds)):
        line = vector(shaft[i], tilt0)
        east_way = np.array([np.sin(shaft[i]), np.cos(shaft[i]), 0.0])
        north_way = np.cross(line, east_way)
        ahead = stars[i] @ line
        west[i] = -(stars[i] @ east_way) / ahead / ARCSEC
        north[i] = (stars[i] @ north_way) / ahead / ARCSEC
    return west, north, d[0]


truth = []
for number in range(given.tracks):
    name = "south" if number % 2 == 0 else "north"
    site = SITES[name]
    latitude = site["latitude"]
    # A star low in declination or anywhere, above 35 degrees.
    while True:
        start = 2461000.5 + chance.uniform(0, 300)
        ra = chance.uniform(0, 360)
        dec = chance.uniform(-60, 60)
        h, d = observed(ra, dec, (start, np.array([0.0, 0.15])), site)
        up = np.sin(np.radians(latitude)) * np.sin(d) + np.cos(np.radians(latitude)) * np.cos(d) * np.cos(h)
        if np.all(up > np.sin(np.radians(35))) and abs(np.degrees(d[0])) < 60:
            break
    hours = chance.uniform(1.4, 2.6)
    step = chance.choice([10.0, 15.0, 20.0, 30.0])
    seconds = np.arange(0, 3600 * hours, step)
    seconds = seconds + chance.uniform(-0.2, 0.2, len(seconds)) * step
    seconds = np.sort(seconds - seconds[0])
    if number % 3 == 1:  # clouds
        a = chance.uniform(0.2, 0.7) * seconds[-1]
        seconds = seconds[(seconds < a) | (seconds > a + 600)]
    error = chance.normal(0, 500e-6)
    period = chance.uniform(200, 900)
    amplitude = chance.uniform(4, 20)
    waves = [(period, amplitude, chance.uniform(0, 2 * np.pi))]
    axis = chance.normal(0, 10, 2) / 60 * np.pi / 180
    west, north, d0 = course(site, ra, dec, seconds, start, error, waves, axis)
    scatter = chance.uniform(0.4, 1.5)
    slow = chance.uniform(0, 1.5)
    memory = chance.uniform(20, 300)
    bump = None
    if number % 5 == 4:  # a knock
        at = chance.integers(len(seconds) // 4, 3 * len(seconds) // 4)
        bump = dict(row=int(at) + 1, west=float(chance.uniform(25, 60)), north=float(-chance.uniform(25, 60)))
        west[at:] += bump["west"]
        north[at:] += bump["north"]
    west = west + chance.normal(0, scatter, len(seconds)) + wander(seconds, slow, memory)
    north = north + chance.normal(0, scatter, len(seconds)) + wander(seconds, slow, memory)
    path = os.path.join(given.folder, f"track-{number:03d}.csv")
    with open(path, "w") as out:
        out.write("time,raDeg,decDeg,westArcsec,northArcsec,segment\n")
        for s, w, n in zip(seconds, west, north):
            ms = round((start - 2440587.5) * 86400e3) + round(s * 1000)
            stamp = np.datetime64(ms, "ms")
            out.write(f"{stamp}Z,{ra:.6f},{dec:.6f},{w:.3f},{n:.3f},a\n")
    truth.append(dict(file=os.path.basename(path), site=site, errorPpm=error * 1e6, periodS=period,
                      amplitudeArcsec=amplitude, altitude=float(np.degrees(axis[0]) * 60),
                      east=float(np.degrees(axis[1]) * 60), decDeg=dec, bump=bump, scatter=scatter, wander=slow,
                      memory=memory, axisKnownArcmin=1.0))
with open(os.path.join(given.folder, "truth.json"), "w") as out:
    json.dump(truth, out)
print(f"{len(truth)} tracks written")
