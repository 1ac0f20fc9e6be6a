"""Coefficients of src/weather/sun_from_air.rs, from the weather samples that ship. numpy 2.4.6.

    python tests/data/scripts/sun_from_air.py

For hours with sun: share of a clear sky's global (Haurwitz 1945) = usual share + range (day's share -
usual) + warming (K/h beyond usual) - damp (relative humidity beyond usual), usual being the mean at the
same hour of fifteen days on either side, day's share that of FAO-56, equation 50. Each place has a factor
of its own. Prints the errors of each place with the coefficients from the others, then those from all.
"""
import csv
import datetime as dt
import math
from pathlib import Path

import numpy as np

SAMPLES = Path(__file__).resolve().parents[3] / "weather-samples"
MOST_OF_CLEAR, DARKEST, CLEAREST_DAY, RANGE = 1.0, 0.15, 0.75, 0.17


def over_water(temp_c):
    return 611.2 * np.exp(17.62 * temp_c / (243.12 + temp_c))


def number(text):
    value = float(text)
    return math.nan if value <= -9000 else value


def rows(name):
    lines = (SAMPLES / name).read_text().splitlines()
    return list(csv.DictReader(line for line in lines if line and line[0] != "#"))


def california():
    """Half hours to hours: air at the hour, global over it."""
    table = rows("delta-california-2017-summer.csv")
    start = dt.datetime.strptime(table[0]["TIMESTAMP_END"], "%Y%m%d%H%M") - dt.timedelta(minutes=30)
    temp, humidity, sun = (
        np.array([number(row[key]) for row in table]) for key in ("TA", "RH", "SW_IN")
    )
    hours = len(table) // 2 - 1
    between = lambda column: 0.5 * (column[1 : 2 * hours : 2] + column[2 : 2 * hours + 1 : 2])
    return start + dt.timedelta(hours=1), between(temp), between(humidity), between_sun(sun, hours), (38.1159, -121.6467, -8)


def between_sun(sun, hours):
    return np.maximum(0.0, 0.5 * (sun[2 : 2 * hours + 1 : 2] + sun[3 : 2 * hours + 2 : 2]))


def piedmont():
    """Stamps UTC; the sun is that of 0.18 h later."""
    table = [row for row in rows("piedmont-typical-summer.csv") if row["T2m"] and row["time(UTC)"][:2] == "20"]
    temp, humidity, sun = (np.array([float(row[key]) for row in table]) for key in ("T2m", "RH", "G(h)"))
    month = dt.datetime.strptime(table[0]["time(UTC)"], "%Y%m%d:%H%M")
    later = 0.5 - 0.1761
    mean = np.r_[sun[:-1] * (1 - later) + sun[1:] * later, 0.0]
    return month + dt.timedelta(hours=1), temp, humidity, mean, (45.0, 8.0, 1)


def florida():
    """Stamps in the middle of the hour."""
    table = rows("miami-typical-july.csv")
    temp, dew, sun = (np.array([float(row[key]) for row in table]) for key in ("temp_air", "dew_point", "ghi"))
    humidity = 100 * over_water(dew) / over_water(temp)
    at = lambda column: 0.5 * (column[1:] + column[:-1])
    return dt.datetime(2001, 7, 1, 1), at(temp), at(humidity), sun[1:], (25.77, -80.18, -5)


def carolina():
    """Stamps at the end of the hour."""
    lines = (SAMPLES / "greensboro-typical-summer.tmy3.csv").read_text().splitlines()
    lines = [line for line in lines if line and line[0] != "#"]
    table = list(csv.DictReader(lines[1:]))
    key = lambda start: next(name for name in table[0] if name.startswith(start))
    temp, humidity, sun = (
        np.array([float(row[key(name)]) for row in table]) for name in ("Dry-bulb (C)", "RHum (%)", "GHI (W/m^2)")
    )
    month, day, _ = map(int, table[0][key("Date")].split("/"))
    return dt.datetime(2001, month, day, 1), temp[:-1], humidity[:-1], sun[1:], (36.1, -79.95, -5)


def sines(start, hours, place):
    """Mean sine of the sun's elevation over each hour, extraterrestrial on the level, clear global."""
    latitude, longitude, offset = place
    mean, outside, clear = np.zeros((3, hours))
    for hour in range(hours):
        for part in range(12):
            at = start + dt.timedelta(hours=hour + (part + 0.5) / 12 - offset)
            year = 2 * math.pi * (at.timetuple().tm_yday - 1 + at.hour / 24) / 365.24
            declination = (
                0.006918 - 0.399912 * math.cos(year) + 0.070257 * math.sin(year)
                - 0.006758 * math.cos(2 * year) + 0.000907 * math.sin(2 * year)
            )
            equation = 229.18 * (
                0.000075 + 0.001868 * math.cos(year) - 0.032077 * math.sin(year)
                - 0.014615 * math.cos(2 * year) - 0.040849 * math.sin(2 * year)
            )
            minutes = at.hour * 60 + at.minute + at.second / 60 + equation + 4 * longitude
            angle = math.radians(minutes / 4 - 180)
            tilt = math.radians(latitude)
            sine = math.sin(tilt) * math.sin(declination) + math.cos(tilt) * math.cos(declination) * math.cos(angle)
            if sine > 0.02:
                mean[hour] += sine / 12
                outside[hour] += 1361 * (1 + 0.033 * math.cos(year)) * sine / 12
                clear[hour] += 1098 * sine * math.exp(-0.057 / sine) / 12
    return mean, outside, clear


def beyond_usual(values):
    out = np.full(len(values), np.nan)
    for i in range(len(values)):
        near = values[i % 24 :: 24][max(0, i // 24 - 15) : i // 24 + 16]
        out[i] = values[i] - np.nanmean(near)
    return out


def case(make):
    start, temp, humidity, sun, place = make()
    hours = len(sun) - 1
    _, outside, clear = sines(start, hours, place)
    share = np.full(hours, np.nan)
    days = [(start + dt.timedelta(hours=i)).date() for i in range(hours)]
    for day in sorted(set(days)):
        own = [i for i in range(hours) if days[i] == day]
        if len(own) < 18:
            continue
        ends = temp[own[0] : own[-1] + 2]
        ratio = min(RANGE * math.sqrt(np.nanmax(ends) - np.nanmin(ends)), CLEAREST_DAY)
        share[own] = ratio * outside[own].sum() / clear[own].sum()
    unusual = beyond_usual(share)
    signs = np.column_stack([
        unusual,
        beyond_usual(np.diff(temp[: hours + 1])),
        -0.01 * beyond_usual(0.5 * (humidity[:hours] + humidity[1 : hours + 1])),
    ])
    good = (clear > 60) & np.isfinite(signs).all(1) & np.isfinite(sun[:hours])
    return make.__name__, (share - unusual)[good], signs[good], clear[good], sun[:hours][good]


def misses(one, by):
    """Errors of the hours as shares of the mean global, with the place's own factor."""
    _, usual, signs, clear, sun = one
    found = np.clip(usual + signs @ by, DARKEST, MOST_OF_CLEAR) * clear
    return (found * (found @ sun) / (found @ found) - sun) / sun.mean()


def fitted(cases, free):
    """Gauss-Newton over all hours, every place of the same weight."""
    by = np.where(free, [0.5, 0.05, 0.5], [1.0, 0.0, 0.0])
    which = np.flatnonzero(free)
    weighed = lambda by: np.hstack([misses(one, by) / math.sqrt(len(one[1])) for one in cases])
    for _ in range(30):
        slopes = np.column_stack([(weighed(by + 1e-4 * np.eye(3)[k]) - weighed(by)) / 1e-4 for k in which])
        by[which] -= 0.7 * np.linalg.lstsq(slopes, weighed(by), rcond=None)[0]
    return by


cases = [case(make) for make in (california, piedmont, florida, carolina)]
rms = lambda one, by: math.sqrt((misses(one, by) ** 2).mean())
for name, free in (("range, warming, damp", [1, 1, 1]), ("range, warming", [1, 1, 0])):
    free = np.array(free, bool)
    for one in cases:
        by = fitted([other for other in cases if other is not one], free)
        print(f"{one[0]:12s} range alone {rms(one, np.array([1.0, 0, 0])):.3f}  {name} {rms(one, by):.3f}")
    print(name, np.round(fitted(cases, free), 3))
