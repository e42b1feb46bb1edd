"""What cannot be true is left out and said; what moved as a whole is another unit."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from models.facts.weather import Provenance, WeatherDay
from scheduler.weather.gaps import as_known
from scheduler.weather.plausible import moved_c, sort_out
from tests.weather.places import days_from, invented

FIRST = date(2024, 3, 1)
DAYS = invented(days_from(FIRST, 10))
KNOWN = as_known(DAYS, datetime(2024, 3, 11, tzinfo=UTC))


def test_a_value_outside_its_range_is_left_out_alone_and_said_once() -> None:
    """Sun in minutes taken for hours, and a maximum in Fahrenheit."""
    days = (
        replace(DAYS[0], sun_h=150.0),
        replace(DAYS[1], sun_h=90.0, temperature_max_c=68.0),
        DAYS[2],
    )
    kept, said = sort_out(days, yesterday=date(2024, 3, 11))
    assert kept == (DAYS[0], replace(DAYS[1], temperature_max_c=None), DAYS[2])
    assert said == (
        "sun_h left out where it is outside 0 to 24: 150 on 2024-03-01 and 1 more; check its unit",
        "temperature_max_c left out where it is outside -60 to 60: 68 on 2024-03-02; check its unit",
    )


def test_a_day_that_is_not_over_is_kept_only_as_a_forecast() -> None:
    ahead = replace(DAYS[5], provenance=Provenance.FORECAST)
    assert sort_out((*DAYS[:6], ahead), yesterday=DAYS[4].day) == ((*DAYS[:5], ahead), ())


def warmer(days: tuple[WeatherDay, ...], by_c: float) -> tuple[WeatherDay, ...]:
    return tuple(
        replace(
            day,
            temperature_min_c=(day.temperature_min_c or 0) + by_c,
            temperature_max_c=(day.temperature_max_c or 0) + by_c,
        )
        for day in days
    )


def in_fahrenheit(days: tuple[WeatherDay, ...]) -> tuple[WeatherDay, ...]:
    return tuple(
        replace(
            day,
            temperature_min_c=1.8 * (day.temperature_min_c or 0) + 32,
            temperature_max_c=1.8 * (day.temperature_max_c or 0) + 32,
        )
        for day in days
    )


@pytest.mark.parametrize("by_c", [-3.0, 0.0, 0.4, 5.0])
def test_corrections_are_no_other_unit(by_c: float) -> None:
    assert moved_c(warmer(DAYS, by_c), KNOWN) is None


def test_another_unit_is_seen_beside_what_was_known() -> None:
    assert (moved_c(in_fahrenheit(DAYS), KNOWN) or 0.0) > 30
    assert moved_c(warmer(DAYS, 273.15), KNOWN) == pytest.approx(273.15)  # kelvin: BIPM, SI brochure


def test_a_few_days_or_days_of_another_kind_decide_nothing() -> None:
    hot = warmer(DAYS, 30.0)
    assert moved_c(hot[:4], KNOWN) is None
    assert moved_c(tuple(replace(day, provenance=Provenance.MODELLED) for day in hot), KNOWN) is None
    assert moved_c(hot, ()) is None
