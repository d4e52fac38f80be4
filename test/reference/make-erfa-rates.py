"""Best rates by ERFA: how fast the observed hour angle of a star grows against the sidereal rate. Writes erfa-rates.csv.

Run: /usr/bin/python3 make-erfa-rates.py > erfa-rates.csv   (Debian's python3-erfa)
The star's unrefracted direction is turned at the sidereal rate; ERFA's refco gives A and B, and its atioq the observed place, as
its atco13 does. Columns: latitude, pressure and temperature, unrefracted hour angle and declination (degrees), observed altitude
(degrees), the rate of the observed hour angle over the sidereal one less 1 (parts per million), and the observed declination's
rate (arcseconds a minute).
"""
import erfa
import numpy as np

OMEGA = 7.292115e-5
STEP = 30.0


def observed(latitude, pressure, temperature, h, d):
    astrom = erfa.apio13(2461000.5, 0.0, 0.0, 0.0, np.radians(latitude), 0.0, 0.0, 0.0, pressure, temperature, 0.5, 0.55)
    # Local apparent sidereal time is eral (no polar motion, no diurnal aberration wanted: it is 0.3" and nearly constant).
    astrom["diurab"] = 0.0
    _, zob, hob, dob, _ = erfa.atioq(astrom["eral"] - h, d, astrom)
    return zob, hob, dob


print("latitude,pressureHPa,temperatureC,hourAngleDeg,declinationDeg,altitudeDeg,ratePpm,northArcsecPerMinute")
for latitude, pressure, temperature in [(-30, 910, 12), (46.5, 945, 5), (8, 1010, 27), (60, 1000, -10)]:
    for h in (-60, -30, 0, 20, 45):
        for d in (-50, -20, 0, 25, 50):
            hr, dr = np.radians(h), np.radians(d)
            a = observed(latitude, pressure, temperature, hr - OMEGA * STEP / 2, dr)
            b = observed(latitude, pressure, temperature, hr + OMEGA * STEP / 2, dr)
            middle = observed(latitude, pressure, temperature, hr, dr)
            altitude = 90 - np.degrees(middle[0])
            if altitude < 25:
                continue
            turn = (b[1] - a[1] + np.pi) % (2 * np.pi) - np.pi
            rate = (turn / (OMEGA * STEP) - 1) * 1e6
            north = (b[2] - a[2]) / np.radians(1 / 3600) / STEP * 60
            print(f"{latitude},{pressure},{temperature},{h},{d},{altitude:.3f},{rate:.2f},{north:.4f}")
