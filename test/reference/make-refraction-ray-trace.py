"""Writes refraction-ray-trace.csv: refraction by tracing a ray through a layered atmosphere.

Method: L. H. Auer and E. M. Standish 2000, Astronomical Journal 119, 2472 (integration over the zenith distance along the
ray). Atmosphere: C. Y. Hohenkerk and A. T. Sinclair 1985, NAO Technical Note 63 (as in the Explanatory Supplement to the
Astronomical Almanac 1992, 3.281): 6.5 K/km up to 11 km, then one temperature. Refractivity of air: 287.6155 + 1.62887/λ² +
0.01360/λ⁴. Latitude 45°, at sea level, 50 % humidity, 0.55 µm.
Run: /usr/bin/python3 make-refraction-ray-trace.py > refraction-ray-trace.csv
"""
import math
import sys

from scipy.integrate import quad
from scipy.optimize import brentq


def trace(zenith_distance, pressure, celsius, humidity=0.5, wavelength=0.55, lapse=0.0065, latitude=math.radians(45), height=0.0):
    gas, dry, wet, earth = 8314.32, 28.9644, 18.0152, 6378120.0
    delta, tropopause, top = 18.36, 11000.0, 80000.0
    kelvin = celsius + 273.15
    gravity = 9.784 * (1 - 0.0026 * math.cos(2 * latitude) - 0.00000028 * height)
    w2 = wavelength**2
    a = (287.6155 + (1.62887 + 0.01360 / w2) / w2) * 273.15e-6 / 1013.25
    gamal = gravity * dry / gas
    gamma = gamal / lapse
    saturated = 10 ** ((0.7859 + 0.03477 * celsius) / (1 + 0.00412 * celsius)) * (1 + pressure * (4.5e-6 + 6e-10 * celsius**2))
    vapour = humidity * saturated / (1 - (1 - humidity) * saturated / pressure)
    w = vapour * (1 - wet / dry) * gamma / (delta - gamma)
    c1 = a * (pressure + w) / kelvin
    c2 = (a * w + 11.2684e-6 * vapour) / kelvin
    c3 = (gamma - 1) * lapse * c1 / kelvin
    c4 = (delta - 1) * lapse * c2 / kelvin
    r0 = earth + height

    def troposphere(r):
        t = kelvin - lapse * (r - r0)
        q = t / kelvin
        g, d = q ** (gamma - 2), q ** (delta - 2)
        return t, 1 + (c1 * g - c2 * d) * q, r * (-c3 * g + c4 * d)

    rt = earth + tropopause
    tt, nt, _ = troposphere(rt)
    b = gamal / tt

    def stratosphere(r):
        x = (nt - 1) * math.exp(-b * (r - rt))
        return tt, 1 + x, -r * b * x

    rs = earth + top
    n0 = troposphere(r0)[1]
    constant = n0 * r0 * math.sin(zenith_distance)

    def angle(r, layer):
        return math.asin(min(1.0, constant / (r * layer(r)[1])))

    def bend(start, end, low, high, layer):
        def integrand(z):
            r = brentq(lambda x: x * layer(x)[1] * math.sin(z) - constant, low - 1, high + 1, xtol=1e-6)
            _, n, slope = layer(r)
            return slope / (n + slope)

        return quad(integrand, end, start, epsabs=1e-11, epsrel=1e-10, limit=200)[0]

    zt = angle(rt, troposphere)
    total = bend(zenith_distance, zt, r0, rt, troposphere) + bend(angle(rt, stratosphere), angle(rs, stratosphere), rt, rs, stratosphere)
    return -total * 180 * 3600 / math.pi


if __name__ == "__main__":
    print(f"# {__doc__.strip().splitlines()[0]} Written by make-refraction-ray-trace.py, which gives method and sources.")
    print("observedAltitudeDeg,pressureHPa,temperatureC,refractionArcsec")
    for pressure, celsius in [(1010, 10), (1010, -15), (1010, 35), (910, 12), (700, 0), (600, -10)]:
        for altitude in [0.01, 0.5, 1, 2, 3, 4, 5, 7, 10, 12.5, 15, 20, 25, 30, 40, 50, 60, 70, 80, 89]:
            if len(sys.argv) > 1:
                break
            print(f"{altitude},{pressure},{celsius},{trace(math.radians(90 - altitude), pressure, celsius):.3f}")
