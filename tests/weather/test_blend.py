"""One record from several stations: whole days from one of them, heights accounted for, changes named."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.facts.place import Position, Site
from models.facts.weather import Provenance, WeatherDay
from scheduler.weather.blend import StationDays, blend, height_difference_m, nearness_km

SITE = Site("fjord", "Fjord", Position(52.3, -6.5), 100.0, "meteostat")
FIRST, SECOND, THIRD = (date(2024, 3, n) for n in (1, 2, 3))


def a_station(
    key: str, *days: WeatherDay, north: float = 0.0, elevation_m: float | None = 100.0
) -> StationDays:
    """`north` of the site by that many degrees; one is 111.2 km (a meridian of a sphere of 6371 km)."""
    return StationDays(key, Position(52.3 + north, -6.5), elevation_m, days)


def told(days: tuple[WeatherDay, ...]) -> list[tuple[float | None, float | None, float | None, str]]:
    return [(day.temperature_min_c, day.temperature_max_c, day.rain_mm, day.source) for day in days]


def test_the_nearest_answers_and_the_next_stands_in_a_whole_day_at_a_time() -> None:
    """Not even the maximum is taken from the nearest on a day on which it has no minimum."""
    near = a_station("A", WeatherDay(FIRST, 2.0, 9.0, 1.0), WeatherDay(SECOND, None, 10.0, 2.0), north=0.1)
    far = a_station("B", *(WeatherDay(day, 5.0, 15.0, 9.0) for day in (FIRST, SECOND, THIRD)), north=0.3)
    assert told(blend("meteostat", SITE, [near, far])) == [
        (2.0, 9.0, 1.0, "meteostat A (11 km away)"),
        (5.0, 15.0, 2.0, "meteostat B (33 km away) in place of A; rain from A (11 km away)"),
        (5.0, 15.0, None, "meteostat B (33 km away) in place of A"),
    ]


def test_rain_comes_from_the_nearest_that_records_any() -> None:
    near = a_station("A", WeatherDay(FIRST, 2.0, 9.0, None), WeatherDay(SECOND, 2.0, 9.0, None))
    far = a_station("B", WeatherDay(FIRST, 5.0, 15.0, 0.0), north=0.3)
    assert told(blend("meteostat", SITE, [near, far])) == [
        (2.0, 9.0, 0.0, "meteostat A (0 km away); rain from B (33 km away)"),
        (2.0, 9.0, None, "meteostat A (0 km away)"),
    ]


# ISO 2533:1975, table 5 and ICAO Doc 7488/3: 15.00 °C at 0 m, 8.50 °C at 1000 m, 11.75 °C at 500 m.
@pytest.mark.parametrize(("station_m", "site_m", "least_c"), [(1000.0, 500.0, 11.75), (500.0, 1000.0, 8.5)])
def test_height_is_made_up_for_by_the_standard_atmosphere(
    station_m: float, site_m: float, least_c: float
) -> None:
    at_station_c = 15.0 - 6.5 * station_m / 1000
    station = a_station("A", WeatherDay(FIRST, at_station_c, 20.0, 0.0), elevation_m=station_m)
    blended = blend("meteostat", replace(SITE, elevation_m=site_m), [station])
    assert blended[0].temperature_min_c == least_c
    which = "higher" if station_m > site_m else "lower"
    assert blended[0].source == f"meteostat A (0 km away, 500 m {which})"


@pytest.mark.parametrize(("station_m", "site_m"), [(None, 100.0), (100.0, 0.0)])
def test_an_unknown_height_corrects_nothing(station_m: float | None, site_m: float) -> None:
    assert height_difference_m(station_m, site_m) == 0.0


def test_height_counts_beside_distance() -> None:
    """A hundred metres weigh as ten kilometres."""
    assert sorted([(12.0, 0.0), (1.0, 120.0), (20.0, -5.0)], key=lambda one: nearness_km(*one)) == [
        (12.0, 0.0),
        (1.0, 120.0),
        (20.0, -5.0),
    ]


def test_models_and_forecasts_come_from_the_first_alone_and_beside_what_is_measured() -> None:
    modelled = WeatherDay(FIRST, 3.0, 8.0, 0.5, provenance=Provenance.MODELLED)
    near = a_station("A", modelled)
    far = a_station("B", WeatherDay(FIRST, 5.0, 15.0, 9.0), modelled, north=0.3)
    assert [(day.provenance, day.source) for day in blend("meteostat", SITE, [near, far])] == [
        (Provenance.MEASURED, "meteostat B (33 km away) in place of A"),
        (Provenance.MODELLED, "meteostat A (0 km away)"),
    ]


DAY_SETS = st.lists(st.tuples(st.integers(1, 28), st.booleans(), st.booleans()), unique_by=lambda one: one[0])


@given(DAY_SETS, DAY_SETS, st.floats(-250, 250))
def test_every_day_is_one_stations_own_shifted_as_a_whole(
    near: list[tuple[int, bool, bool]], far: list[tuple[int, bool, bool]], higher_m: float
) -> None:
    """The range of a day is never narrowed, and a further station never changes a day of a nearer one."""
    stations = [
        a_station("A", *_days(near, range_c=7.0), elevation_m=100 + higher_m),
        a_station("B", *_days(far, range_c=11.0), north=0.2),
    ]
    both, alone = (blend("meteostat", SITE, some) for some in (stations, stations[:1]))
    assert [day.day for day in both] == sorted({date(2024, 3, n) for n, _, _ in near + far})
    whole = {day.day: day for day in alone if day.has_temperature}
    for day in both:
        if day.has_temperature:
            expected = 7.0 if " in place of " not in day.source else 11.0
            assert (day.temperature_max_c or 0) - (day.temperature_min_c or 0) == pytest.approx(expected)
        if day.day in whole:
            assert replace(day, rain_mm=None, source="") == replace(whole[day.day], rain_mm=None, source="")


def _days(told: list[tuple[int, bool, bool]], range_c: float) -> list[WeatherDay]:
    return [
        WeatherDay(date(2024, 3, n), 2.0 if least else None, 2.0 + range_c, 1.0 if rain else None)
        for n, least, rain in sorted(told)
    ]
