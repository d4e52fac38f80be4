#!/usr/bin/python3
"""Writes zones.csv: clock times and the moments at which the clocks of a zone show them, by Python's zoneinfo (IANA database).

Run: /usr/bin/python3 test/reference/make-zones.py > test/reference/zones.csv
"""
import random
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

ZONES = [
    "Africa/Johannesburg", "Africa/Windhoek", "America/New_York", "America/Santiago", "America/St_Johns", "Asia/Kolkata",
    "Australia/Lord_Howe", "Australia/Sydney", "Europe/Berlin", "Europe/Dublin", "Pacific/Apia", "Pacific/Auckland",
]


def moments(zone, wall):
    """Every moment at which the clocks show the time, milliseconds of UTC."""
    found = set()
    for fold in (0, 1):
        moment = wall.replace(tzinfo=ZoneInfo(zone), fold=fold).astimezone(timezone.utc)
        if moment.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == wall:
            found.add(round(moment.timestamp() * 1000))
    return sorted(found)


def changes(zone):
    """Moments at which the zone's offset changes, to the minute."""
    step, day = timedelta(hours=6), datetime(1975, 1, 1, tzinfo=timezone.utc)
    offset = lambda moment: moment.astimezone(ZoneInfo(zone)).utcoffset()
    while day < datetime(2025, 6, 1, tzinfo=timezone.utc):
        if offset(day) != offset(day + step):
            low, high = day, day + step
            while high - low > timedelta(minutes=1):
                middle = low + (high - low) / 2
                low, high = (middle, high) if offset(middle) == offset(low) else (low, middle)
            yield high.replace(second=0, microsecond=0)
        day += step


random.seed(1)
print("# Written by make-zones.py: Python's zoneinfo with the IANA database. moments: none, one or two, milliseconds of UTC.")
print("zone,clock,moments")
for zone in ZONES:
    walls = [datetime(1975, 1, 1) + timedelta(minutes=random.randrange(26_000_000)) for _ in range(12)]
    turns = list(changes(zone))
    for turn in random.sample(turns, min(8, len(turns))):
        at = turn.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
        walls += [at + timedelta(minutes=minutes) for minutes in (-75, -20, 20, 75)]
    for wall in walls:
        print(f"{zone},{wall.isoformat()},{' '.join(map(str, moments(zone, wall)))}")
