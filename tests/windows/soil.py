"""Invented soil days, and the real Seattle ones, for tests of windows and watering."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache

from models.agronomy.moisture import reference_et_mm
from models.agronomy.soil import advance
from models.facts.season import Span
from models.facts.weather import Provenance, SoilDay, WeatherDay
from scheduler.weather.gaps import as_known, complete
from tests.agronomy.seattle import LATITUDE_DEGREES, seattle_days

DAY = timedelta(days=1)
KNOWN_AT = datetime(2016, 1, 1, tzinfo=UTC)


def a_soil_day(day: date, mean_c: float = 12.0, **more: object) -> SoilDay:
    """A mild day on which rain gives back what evaporates."""
    mild = SoilDay(
        day=day,
        mean_10cm_c=mean_c,
        sd_c=0.9,
        reference_et_mm=2.0,
        rain_mm=2.0,
        temperature_min_c=6.0,
        provenance=Provenance.MEASURED,
        weather_revision=1,
    )
    return replace(mild, **more)  # type: ignore[arg-type]


def steady_soil(
    first: date, last: date, mean_c: float = 12.0, changes: Mapping[date, Mapping[str, object]] | None = None
) -> tuple[SoilDay, ...]:
    """A soil day for each day of the span, all alike but for `changes`."""
    changed = changes or {}
    return tuple(
        replace(a_soil_day(day, mean_c), **changed.get(day, {}))  # type: ignore[arg-type]
        for day in Span(first, last).days()
    )


def between(soil_days: tuple[SoilDay, ...], first: date, last: date) -> tuple[SoilDay, ...]:
    return tuple(soil for soil in soil_days if first <= soil.day <= last)


@cache
def seattle_soil() -> tuple[SoilDay, ...]:
    """Estimated from the real Seattle weather of 2012 to 2015, as the soil step would."""
    recorded = [
        WeatherDay(day.day, day.temperature_min_c, day.temperature_max_c, day.rain_mm)
        for day in seattle_days()
    ]
    days = complete(as_known(recorded, KNOWN_AT), recorded[0].day, recorded[-1].day)
    estimates, _ = advance(None, days, LATITUDE_DEGREES)
    return tuple(
        SoilDay(
            day=day.day,
            mean_10cm_c=estimate.mean_10cm_c,
            sd_c=estimate.sd_c,
            reference_et_mm=depth_mm,
            rain_mm=day.rain_mm,
            temperature_min_c=day.temperature_min_c,
            provenance=day.provenance,
            weather_revision=day.revision,
        )
        for day, estimate, depth_mm in zip(
            days, estimates, reference_et_mm(days, LATITUDE_DEGREES), strict=True
        )
    )
