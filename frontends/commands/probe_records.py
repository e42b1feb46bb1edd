"""Soil days at measured stations, and probes simulated there, for fitting and judging readings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import cos, exp, pi
from random import Random

from frontends.commands.soil_records import SoilRecord
from models.agronomy.judging import scored_days
from models.agronomy.moisture import reference_et_mm
from models.agronomy.probe import DIFFUSIVITY_M2_S, damping_depth_cm
from models.facts.place import Texture
from models.facts.readings import LawnSoil, Reading
from models.facts.weather import SoilDay

PROBE_SD_C = 0.5
USUAL_SD_C = 0.85  # of an estimate that does not say
MOST_OF_A_YEAR = 330  # days measured, for a year to be judged by
FIRST_HOUR, LAST_HOUR = 9.0, 17.0  # working hours, UTC
# Of a season: survey or late-winter count, treatment, follow-up check, as (month, day); and its end.
AUTUMN_VISITS, AUTUMN_ENDS = ((9, 5), (9, 20), (10, 18)), (11, 30)
SPRING_VISITS, SPRING_ENDS = ((2, 20), (4, 25), (5, 20)), (5, 31)


@dataclass(frozen=True, slots=True)
class ProbedStation:
    """A station as if it were a lawn: the site's soil days, what was measured, the air's daily range."""

    file: str
    lawn: LawnSoil
    soil_days: tuple[SoilDay, ...]
    measured_c: Mapping[date, float]
    ranges_c: Mapping[date, float]


@dataclass(frozen=True, slots=True)
class Attendance:
    """The days of some seasons' visits in order, the end of the last of those seasons, and the days of the
    visits in the year after it."""

    days: tuple[date, ...]
    ends: date
    later: tuple[date, ...]


def attendances(station: ProbedStation, seasons: int) -> Iterator[Attendance]:
    """Every run of so many seasons after which most of a year was measured, in order of its start."""
    years = range(min(station.measured_c).year, max(station.measured_c).year + 1)
    rows = [row for year in years for row in _seasons_of(year)]
    for start in range(len(rows) - seasons + 1):
        run = rows[start : start + seasons]
        days, ends = tuple(day for visits, _ in run for day in visits), run[-1][1]
        after = sum(ends + timedelta(days=n) in station.measured_c for n in range(1, 366))
        if after >= MOST_OF_A_YEAR and all(day in station.measured_c for day in days):
            following = rows[start + seasons : start + seasons + 2]
            yield Attendance(days, ends, tuple(day for visits, _ in following for day in visits))


def _seasons_of(year: int) -> Iterator[tuple[tuple[date, ...], date]]:
    for visits, ends in ((SPRING_VISITS, SPRING_ENDS), (AUTUMN_VISITS, AUTUMN_ENDS)):
        yield tuple(date(year, *day) for day in visits), date(year, *ends)


def probed_station(
    record: SoilRecord, mean_c: Mapping[date, float], sd_c: Mapping[date, float], shift_c: float = 0.0
) -> ProbedStation:
    """The station with the estimate's means, moved by `shift_c`, and standard deviations, by day."""
    measured = scored_days(record.days[0].day, record.soil_10cm_c)
    moved = {day: estimated_c + shift_c for day, estimated_c in mean_c.items()}
    return ProbedStation(
        file=record.station.file,
        lawn=LawnSoil(Texture.LOAM, record.station.position.longitude),
        soil_days=tuple(_soil_days(record, moved, sd_c, min(measured))),
        measured_c=measured,
        ranges_c={day.day: day.temperature_max_c - day.temperature_min_c for day in record.days},
    )


def _soil_days(
    record: SoilRecord, mean_c: Mapping[date, float], sd_c: Mapping[date, float], first: date
) -> Iterator[SoilDay]:
    """From some weeks before `first`, so that the correction can look back."""
    evaporation = reference_et_mm(record.days, record.station.position.latitude)
    for day, depth_mm in zip(record.days, evaporation, strict=True):
        if day.day >= first - timedelta(days=60) and day.day in mean_c:
            yield SoilDay(
                day=day.day,
                mean_10cm_c=mean_c[day.day],
                sd_c=sd_c.get(day.day, USUAL_SD_C),
                reference_et_mm=depth_mm,
                rain_mm=day.rain_mm,
                temperature_min_c=day.temperature_min_c,
                provenance=day.provenance,
                weather_revision=day.revision,
                gap_days=day.gap_days,
            )


def probes(station: ProbedStation, days: Sequence[date], seed: int) -> tuple[Reading, ...]:
    """A probe at 10 cm on each of those days that was measured: the measured mean, the day's wave, an error.

    The wave's swing, hour and damping are drawn, not those that the conversion reckons with. A draw is a
    function of (seed, station, day).
    """
    return tuple(_probe(station, day, seed) for day in days if day in station.measured_c)


def _probe(station: ProbedStation, day: date, seed: int) -> Reading:
    chance = Random(f"{seed}/{station.file}/{day}")
    hour = chance.uniform(FIRST_HOUR, LAST_HOUR)
    in_sun = chance.random() < 0.5
    damping_cm = damping_depth_cm(DIFFUSIVITY_M2_S[Texture.LOAM]) * chance.uniform(0.75, 1.25)
    depth_cm = max(1.0, chance.gauss(10.0, 1.0))
    swing_c = (1.0 if in_sun else 0.6) * chance.uniform(0.6, 1.4) * station.ranges_c.get(day, 8.0) / 2
    peak = chance.gauss(13.5, 0.75)
    angle = 2 * pi * (hour + station.lawn.longitude / 15 - peak) / 24 - depth_cm / damping_cm
    wave_c = swing_c * exp(-depth_cm / damping_cm) * cos(angle)
    taken_at = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(minutes=round(hour * 60))
    value_c = round(station.measured_c[day] + wave_c + chance.gauss(0.0, PROBE_SD_C), 1)
    return Reading(station.file, taken_at, day, 10.0, value_c, in_sun, recorded_at=taken_at)
