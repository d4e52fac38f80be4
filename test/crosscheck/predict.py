"""Readings for one place after another, by polewright_model.py: a line of JSON in, a line of JSON out, until the input ends.

In: mount (the mount file's path), terms (arcminutes by name; scales arcminutes a radian), seconds (UTC since 1970), and star (a
name) or raDeg and decDeg (ICRS). Out: hourAngle and declination in the mount file's counts, altitudeDeg.
"""
import json
import sys

from polewright_model import ARCMINUTE, DEGREE, np, observed, read_mount, read_stars, readings, star_index, wrap

star_named = star_index(read_stars())
mounts = {}


def fixed_place(asked):
    still = dict.fromkeys(("pmRaCosDecMasYr", "pmDecMasYr", "parallaxMas", "radialVelocityKmS"), 0.0)
    return {"raDeg": asked["raDeg"], "decDeg": asked["decDeg"], **still}


for line in sys.stdin:
    asked = json.loads(line)
    mount = mounts.setdefault(asked["mount"], read_mount(asked["mount"]))
    star = star_named(asked["star"]) if "star" in asked else fixed_place(asked)
    hour_angle, declination, altitude = observed(star, asked["seconds"], mount["site"])
    terms = {name: value * ARCMINUTE for name, value in asked["terms"].items()}
    shafts = readings(terms, mount["site"]["latitude"] * DEGREE, [float(hour_angle)], [float(declination)])
    told = {"altitudeDeg": float(altitude) / DEGREE}
    for name, angle in zip(("hourAngle", "declination"), shafts):
        axis = mount["readings"][name]
        told[name] = float(axis["sense"] * wrap(angle)[0] / (2 * np.pi) * axis["perTurn"])
    print(json.dumps(told), flush=True)
