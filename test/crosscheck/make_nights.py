"""Draws fresh nights with ERFA and exact rotations: folders with mount.json, night.csv and truth.json.

Usage: make_nights.py FOLDER [--nights 20] [--seed 12345] [--kinds clean,misnamed,...]

Without --seed a fresh one is drawn; it is printed either way, and the same seed draws the same nights. Kinds: see KINDS.
truth.json holds the terms (arcminutes), the fault and the note that must be found: {"code", "row", "star"}.
"""

import argparse
import json
import secrets
from pathlib import Path

import numpy as np

import polewright_model as pm

STARS = pm.read_stars()
KINDS = [
    "clean", "fine", "turnable", "few", "strip", "misnamed", "slip", "outlier", "reversed", "steps", "clock", "longitude",
]
FAINTEST = 3.5
SEPARATE_DEG = 0.15  # stars nearer than this are seen together


def draw_terms(rng, mount, widest_arcmin, modest_zeros):
    tolerances = mount["tolerances"]
    # Three sigma at most: a builder who is off by more would have seen it.
    held = {name: float(np.clip(rng.normal(), -3, 3) * tolerances[name]) for name in pm.PRIOR_ARCMIN}
    distance = float(np.exp(rng.uniform(np.log(2), np.log(widest_arcmin))))
    towards = rng.uniform(0, 2 * np.pi)
    zero = 60.0 if modest_zeros else 180 * 60.0
    return {
        "hourAngleZero": float(rng.uniform(-zero, zero)), "declinationZero": float(rng.uniform(-zero, zero)),
        "polarAltitude": distance * float(np.cos(towards)), "polarEast": distance * float(np.sin(towards)), **held,
    }


def draw_base(rng, roomy):
    half_east, half_north = float(rng.integers(300, 900)), float(rng.integers(500, 1200))
    jacks = [
        {"name": f"{north}-{east}", "eastMm": sx * half_east, "northMm": sy * half_north}
        for north, east, sx, sy in [("north", "east", 1, 1), ("north", "west", -1, 1), ("south", "west", -1, -1), ("south", "east", 1, -1)]
    ]
    travel = 400.0 if roomy else 30.0
    return {
        "jacks": jacks, "pitchMm": float(rng.choice([1.5, 2.0, 3.0])), "clockwise": str(rng.choice(["raises", "lowers"])),
        "smallestTurn": 0.125, "raiseLeftMm": travel, "lowerLeftMm": travel, "warpLimitMm": 0.3, "tiltLimitDeg": 8,
        "azimuthBolts": {"end": str(rng.choice(["north", "south"])), "leverMm": 1500, "pitchMm": 1.5, "smallestTurn": 0.125},
    }


def draw_mount(rng, kind):
    north = rng.random() < 0.5
    latitude = float(round(rng.uniform(12, 60) * (1 if north else -1), 3))
    longitude = float(round(rng.uniform(-178, 178), 3))
    if kind == "longitude":
        # The zero is then twice the longitude: it must be far from nothing.
        longitude = float(round(rng.uniform(10, 85) * rng.choice([-1, 1]), 3))
    steps = 2**23 if kind == "fine" else 10_000 if kind == "turnable" else int(rng.choice([10_000, 16_384, 2**23]))
    height = float(rng.integers(0, 2500))
    return {
        "name": f"Invented mount {kind}",
        "site": {
            "latitude": latitude, "longitude": longitude, "heightM": height,
            "pressureHPa": float(round(1013.25 * np.exp(-height / 8400), 1)), "temperatureC": float(rng.integers(-5, 25)),
        },
        "kind": "split-ring",
        "readings": {
            "hourAngle": {"as": "counts", "perTurn": steps, "sense": int(rng.choice([-1, 1]))},
            "declination": {"as": "counts", "perTurn": steps, "sense": int(rng.choice([-1, 1]))},
        },
        "centringArcmin": 0.7, "timingS": 0.5, "tolerances": dict(pm.PRIOR_ARCMIN),
        "limits": {"altitudeDeg": 15, "hourAngleHours": [-6, 6], "declinationDeg": [-90, 90], "horizon": []},
        "base": draw_base(rng, kind == "turnable"),
    }


def dark_span(rng, site):
    """Some hours after nightfall, the Sun under -12 degrees all the while."""
    while True:
        noon = pm.seconds_of("2018-01-01T12:00:00Z") + 86400 * int(rng.integers(0, 3600)) - 240 * site["longitude"]
        times = noon + np.arange(0, 86400, 900.0)
        dark = np.flatnonzero(pm.sun_altitude(times, site) < -12 * pm.DEGREE)
        if len(dark) == 0:
            continue
        hours = rng.uniform(1.5, 4)
        begin = times[dark[0]]
        if begin + 3600 * hours <= times[dark[-1]]:
            return begin, begin + 3600 * hours


def can_be_sighted(hour_angle, declination, altitude, limits):
    low, high = limits["hourAngleHours"]
    return (altitude > limits["altitudeDeg"] * pm.DEGREE) & (hour_angle > low * np.pi / 12) & (hour_angle < high * np.pi / 12)


def vectors():
    ra = np.array([s["raDeg"] for s in STARS]) * pm.DEGREE
    dec = np.array([s["decDeg"] for s in STARS]) * pm.DEGREE
    return np.stack([np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)])


UNIT = vectors()
APART = np.degrees(np.arccos(np.clip(UNIT.T @ UNIT, -1, 1)))
np.fill_diagonal(APART, 180)
ALONE = APART.min(axis=0) > SEPARATE_DEG


def draw_plan(rng, mount, terms, count, kind):
    """Stars and times; None when the draw has too few stars."""
    site = mount["site"]
    radians = {name: value * pm.ARCMINUTE for name, value in terms.items() if not name.endswith("Zero") and name != "ringSag"}
    begin, end = dark_span(rng, site)
    times = begin + (np.arange(count) + rng.uniform(0.2, 0.8, count)) / count * (end - begin)
    times = np.round(times)
    taken, plan = set(), []
    for time in times:
        h, d, a = pm.observed_all(STARS, time, site)
        possible = can_be_sighted(h, d, a, mount["limits"])
        # Nearer to the mount's pole than cone and squareness together the tube cannot be brought.
        possible &= np.abs(np.cos(pm.readings(radians, site["latitude"] * pm.DEGREE, h, d)[1])) > 0.002
        open_stars = [
            k for k in np.flatnonzero(possible)
            if STARS[k]["vMag"] <= FAINTEST and ALONE[k] and (kind != "strip" or abs(STARS[k]["decDeg"]) < 12)
        ]
        if not open_stars:
            return None
        # A star twice rather than none: the strip has few.
        allowed = [k for k in open_stars if k not in taken] or open_stars
        k = int(rng.choice(allowed))
        taken.add(k)
        plan.append((k, float(time)))
    return plan


def draw_night(rng, kind):
    while True:
        mount = draw_mount(rng, kind)
        count = {"few": 8, "fine": 40, "strip": 14}.get(kind, 24)
        terms = draw_terms(rng, mount, 60 if kind == "turnable" else 300, kind in ("clock", "longitude"))
        plan = draw_plan(rng, mount, terms, count, kind)
        if plan is not None:
            break
    site = mount["site"]
    latitude = site["latitude"] * pm.DEGREE
    truth = {"kind": kind, "terms": terms, "fault": None, "expected": None}
    written = [k for k, _ in plan]
    in_field = list(written)
    times = np.array([t for _, t in plan])
    row = int(rng.integers(4, count - 2))  # counted from 1

    if kind == "misnamed":
        near = rng.random() < 0.5
        h, d, a = pm.observed_all(STARS, times[row - 1], site)
        radians = {name: terms[name] * pm.ARCMINUTE for name in ("polarAltitude", "polarEast", "cone", "squareness", "tubeSag")}
        reachable = np.abs(np.cos(pm.readings(radians, latitude, h, d)[1])) > 0.002
        others = [
            k for k in np.flatnonzero((a > 15 * pm.DEGREE) & reachable)
            if ALONE[k] and k != written[row - 1] and (not near or APART[k, written[row - 1]] < 15)
        ]
        if not others:
            return draw_night(rng, kind)
        in_field[row - 1] = int(rng.choice(others))
        star = STARS[in_field[row - 1]]["label"]
        truth["fault"] = {"kind": kind, "row": row, "written": STARS[written[row - 1]]["label"], "star": star}
        truth["expected"] = {"code": "misnamed-star", "row": row, "star": star}

    observations = [pm.observed(STARS[k], t, site) for k, t in zip(in_field, times)]
    hour_angle, declination, altitude = (np.array([o[i] for o in observations]) for i in range(3))
    # Centring and timing: the telescope points a little beside the star.
    west = rng.normal(size=count) * mount["centringArcmin"] * pm.ARCMINUTE
    west += rng.normal(size=count) * mount["timingS"] * pm.SKY_RATE * np.cos(declination)
    north = rng.normal(size=count) * mount["centringArcmin"] * pm.ARCMINUTE
    if kind == "outlier":
        # Far from every star, so that no other name fits.
        while True:
            size, towards = rng.uniform(40, 120), rng.uniform(0, 2 * np.pi)
            dx, dy = size * np.sin(towards), size * np.cos(towards)
            k = in_field[row - 1]
            dec = STARS[k]["decDeg"] + dy / 60
            ra = STARS[k]["raDeg"] - dx / 60 / np.cos(dec * pm.DEGREE)
            place = np.array([np.cos(dec * pm.DEGREE) * np.cos(ra * pm.DEGREE), np.cos(dec * pm.DEGREE) * np.sin(ra * pm.DEGREE), np.sin(dec * pm.DEGREE)])
            if np.degrees(np.arccos(np.clip(place @ UNIT, -1, 1))).min() > 0.6 and abs(dec) < 89:
                break
        west[row - 1] += dx * pm.ARCMINUTE
        north[row - 1] += dy * pm.ARCMINUTE
        truth["fault"] = {"kind": kind, "row": row, "west": dx, "north": dy}
        truth["expected"] = {"code": "outlier", "row": row}
    s = pm.star_vector(hour_angle, declination)
    to_west = np.stack([-np.sin(hour_angle), -np.cos(hour_angle), np.zeros(count)])
    to_north = np.stack([-np.sin(declination) * np.cos(hour_angle), np.sin(declination) * np.sin(hour_angle), np.cos(declination)])
    p = s + west * to_west + north * to_north
    p /= np.linalg.norm(p, axis=0)
    angle_h, angle_d = pm.readings(
        {name: value * pm.ARCMINUTE for name, value in terms.items()}, latitude, -np.arctan2(p[1], p[0]),
        np.arctan2(p[2], np.hypot(p[0], p[1])),
    )
    if kind == "slip":
        axis = str(rng.choice(["hourAngle", "declination", "both"]))
        # At least eight times a sighting's expected error, towards the pole too.
        size = float(rng.uniform(20, 400) * rng.choice([-1, 1]))
        moved = np.arange(1, count + 1) >= row
        if axis != "declination":
            angle_h = angle_h + moved * size * pm.ARCMINUTE
        if axis != "hourAngle":
            angle_d = angle_d + moved * size * pm.ARCMINUTE
        truth["fault"] = {"kind": kind, "row": row, "axis": axis, "size": size}
        truth["expected"] = {"code": "zeros-moved", "row": row}

    true_axes = {name: dict(axis) for name, axis in mount["readings"].items()}
    counts = [
        np.round(axis["sense"] * angle * axis["perTurn"] / (2 * np.pi)).astype(int)
        for axis, angle in ((true_axes["hourAngle"], angle_h), (true_axes["declination"], angle_d))
    ]
    if rng.random() < 0.5:
        # A counter that goes round to nought after a full turn.
        counts = [c % axis["perTurn"] for c, axis in zip(counts, true_axes.values())]
    # What the builder got wrong is in his mount file or his clock, not in the sky.
    if kind == "reversed":
        axis = str(rng.choice(["hourAngle", "declination"]))
        mount["readings"][axis]["sense"] *= -1
        truth["fault"] = {"kind": kind, "axis": axis}
        truth["expected"] = {"code": "sense-reversed", "row": None}
    if kind == "steps":
        axis, factor = str(rng.choice(["hourAngle", "declination"])), float(rng.choice([0.25, 0.5, 2, 4]))
        mount["readings"][axis]["perTurn"] = int(mount["readings"][axis]["perTurn"] * factor)
        truth["fault"] = {"kind": kind, "axis": axis, "factor": factor}
        truth["expected"] = {"code": "sense-reversed", "row": None}
    if kind == "clock":
        hours = float(rng.choice([h for h in np.arange(-11, 12, 0.5) if abs(h) >= 1]))
        times = times + 3600 * hours
        truth["fault"] = {"kind": kind, "hours": hours}
        truth["expected"] = {"code": "clock-zone", "row": None}
    if kind == "longitude":
        mount["site"]["longitude"] *= -1
        truth["fault"] = {"kind": kind}
        truth["expected"] = {"code": "clock-zone", "row": None}

    lines = ["# Invented: drawn by test/crosscheck/make_nights.py.", "time,star,hourAngle,declination"]
    lines += [f"{pm.iso(t)},{STARS[k]['label']},{h},{d}" for t, k, h, d in zip(times, written, *counts)]
    return mount, "\n".join(lines) + "\n", truth


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder")
    parser.add_argument("--nights", type=int, default=len(KINDS))
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--kinds", default=",".join(KINDS))
    given = parser.parse_args()
    seed = secrets.randbelow(2**31) if given.seed is None else given.seed
    kinds = given.kinds.split(",")
    print(f"seed {seed}", flush=True)
    for number in range(given.nights):
        kind = kinds[number % len(kinds)]
        mount, night, truth = draw_night(np.random.default_rng([seed, number]), kind)
        folder = Path(given.folder) / f"{number:04d}-{kind}"
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "mount.json").write_text(json.dumps(mount, indent=2) + "\n", encoding="utf-8")
        (folder / "night.csv").write_text(night, encoding="utf-8")
        (folder / "truth.json").write_text(json.dumps({"seed": seed, "number": number, **truth}, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
