"""Solved pictures written by astropy (Debian's python3-astropy), and where astropy says that their centres are.

Usage: make_pictures.py FOLDER COUNT; prints JSON: for each file its name, time (ISO), ra, dec of the centre, and of the corner pixel.
"""
import json
import sys

import numpy as np
from astropy.io import fits
from astropy.time import Time, TimeDelta
from astropy.wcs import WCS

folder, count = sys.argv[1], int(sys.argv[2])
random = np.random.default_rng(2002)
told = []
for n in range(count):
    wide, high = 640, 481
    wcs = WCS(naxis=2)
    kind = n % 4
    wcs.wcs.ctype = ["RA---TAN-SIP", "DEC--TAN-SIP"] if kind == 3 else ["RA---TAN", "DEC--TAN"]
    dec = [-89.5, 89.9, 0.0][n] if n < 3 else random.uniform(-88, 88)
    wcs.wcs.crval = [random.uniform(0, 360), dec]
    wcs.wcs.crpix = [random.uniform(-200, 900), random.uniform(-200, 900)]
    turn = random.uniform(0, 2 * np.pi)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    scale = random.uniform(0.5, 20) / 3600
    if kind in (1, 3):
        wcs.wcs.cd = rotation @ np.diag([-scale, scale])
    else:
        wcs.wcs.cdelt = [-scale, scale]
        wcs.wcs.pc = rotation
    if kind == 2:
        wcs.wcs.lonpole = random.uniform(100, 250)
    header = wcs.to_header(relax=True)
    if kind == 3:
        header["A_ORDER"], header["B_ORDER"] = 2, 2
        header["A_0_2"], header["A_1_1"], header["B_2_0"] = 3e-6, -2e-6, 4e-6
        header["CTYPE1"], header["CTYPE2"] = "RA---TAN-SIP", "DEC--TAN-SIP"
        wcs = WCS(header)
    start = Time("2026-03-14T18:00:00.250", scale="utc") + TimeDelta(17.0 * n, format="sec")
    exposure = float(random.uniform(0.5, 30))
    header["DATE-OBS"] = start.isot
    header["EXPTIME"] = (exposure, "seconds")
    header["ENCODER1"], header["ENCODER2"] = 1000 + n, -2000 - n
    header["OBJECT"] = "It's a / test"
    data = np.zeros((high, wide), dtype=np.int16)
    name = f"{folder}/picture{n:03d}.fits"
    if n % 5 == 4:
        fits.HDUList([fits.PrimaryHDU(), fits.CompImageHDU(data, header)]).writeto(name)
    else:
        fits.PrimaryHDU(data, header).writeto(name)
    def at(x, y):
        ra, dec = wcs.all_pix2world([[x, y]], 1)[0]
        return [float(ra), float(dec)]
    middle = start + TimeDelta(exposure / 2, format="sec")
    told.append({"file": name, "timeMs": middle.unix * 1000, "centre": at((wide + 1) / 2, (high + 1) / 2), "corner": at(1, high)})
print(json.dumps(told))
