"""Carries out advised turns on the true mount, as an exact rigid rotation, and prints what polar error is left.

Reads lines of JSON from standard input: {"latitude", "polarAltitude", "polarEast" (arcminutes), "jacks": [{"eastMm",
"northMm", "riseMm"}], "bolts": null or {"end", "leverMm", "direction", "shiftMm"}, "gain": 1}. Prints for each a
line {"polarAltitude", "polarEast", "distance", "hourAngleZeroShift"} in arcminutes.
"""

import json
import sys

import numpy as np

import polewright_model as pm


def base_rotation(jacks, bolts, gain):
    """The base's rotation in east, north, up: tilted to the plane of its feet, then turned about the vertical."""
    feet = np.array([[jack["eastMm"], jack["northMm"], 1.0] for jack in jacks])
    rises = gain * np.array([jack["riseMm"] for jack in jacks])
    slope_east, slope_north, _ = np.linalg.lstsq(feet, rises, rcond=None)[0]
    normal = np.array([-slope_east, -slope_north, 1.0])
    normal /= np.linalg.norm(normal)
    axis = np.cross([0, 0, 1], normal)
    size = np.linalg.norm(axis)
    tilt = pm.turn_by(axis / size * np.arctan2(size, normal[2])) if size > 0 else np.eye(3)
    clockwise = 0.0
    if bolts:
        # From above, clockwise: the north end goes east, the south end west.
        clockwise = gain * bolts["shiftMm"] / bolts["leverMm"] * (1 if (bolts["end"] == "north") == (bolts["direction"] == "east") else -1)
    return pm.turn_z(-clockwise) @ tilt


def after(task):
    latitude = task["latitude"] * pm.DEGREE
    # Rows: east, north and up in the hour-angle frame.
    horizon = np.array([[0, 1, 0], [-np.sin(latitude), 0, np.cos(latitude)], [np.cos(latitude), 0, np.sin(latitude)]])
    mount = pm.polar_rotation(task["polarAltitude"] * pm.ARCMINUTE, task["polarEast"] * pm.ARCMINUTE, latitude)
    turned = horizon.T @ base_rotation(task["jacks"], task["bolts"], task.get("gain", 1)) @ horizon @ mount
    altitude, east = pm.pole_error(turned, latitude)
    # What is left of the turning is about the polar axis itself: it shifts the hour-angle zero.
    spin = pm.polar_rotation(altitude, east, latitude).T @ turned
    return {
        "polarAltitude": altitude / pm.ARCMINUTE, "polarEast": east / pm.ARCMINUTE,
        "distance": float(np.hypot(altitude, east)) / pm.ARCMINUTE,
        # Turned from x towards y is eastward: a reading that stays the same stands for a place further east.
        "hourAngleZeroShift": float(np.arctan2(spin[1, 0], spin[0, 0])) / pm.ARCMINUTE,
    }


if __name__ == "__main__":
    for line in sys.stdin:
        print(json.dumps(after(json.loads(line))), flush=True)
