"""Invented soils for the pictures, the golden picture, and how it is written anew."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date, timedelta
from math import cos, pi

from models.facts.season import LikelyDay, Span
from models.facts.weather import Provenance, SoilDay
from models.facts.work import VisitKind, VisitState
from notifiers.pictures.facts import SoilPicture
from notifiers.pictures.soil import soil_svg
from tests.post.cast import a_visit
from tests.post.golden_files import GOLDEN

DAY = timedelta(days=1)
TODAY = date(2026, 4, 21)


def a_soil_day(day: date, mean_c: float, sd_c: float = 1.0, gap_days: int = 0) -> SoilDay:
    return SoilDay(day, mean_c, sd_c, 1.0, 0.0, 4.0, Provenance.MEASURED, 1, gap_days)


def a_course(first: date, days: int, *, without: Collection[int] = ()) -> tuple[SoilDay, ...]:
    """A year's swing of 6 °C about 11 °C, coldest in late January, with ups and downs of weeks on it."""
    return tuple(
        a_soil_day(first + place * DAY, 11 - 6 * _swing(first + place * DAY) + _ups(place))
        for place in range(days)
        if place not in without
    )


def _swing(day: date) -> float:
    return cos(2 * pi * (day.timetuple().tm_yday - 25) / 365)


def _ups(place: int) -> float:
    return cos(2 * pi * place / 17) + 0.5 * cos(2 * pi * place / 7)


def a_small_picture() -> SoilPicture:
    """Three weeks about the opening of a spring: a hole, filled days, two forecast days, visits."""
    first = date(2026, 4, 6)
    days = [
        a_soil_day(
            first + place * DAY, 8.5 + 0.2 * place, 2.0 if 8 <= place < 11 else 1.0, 3 * (8 <= place < 11)
        )
        for place in range(17)
        if place not in (4, 5)
    ]
    days[-2:] = [replace(soil, provenance=Provenance.FORECAST, sd_c=1.5) for soil in days[-2:]]
    done = replace(a_visit(VisitKind.COUNT), state=VisitState.DONE, day=date(2026, 4, 8))
    booked = replace(a_visit(VisitKind.TREATMENT), state=VisitState.BOOKED, day=date(2026, 4, 24))
    return SoilPicture(
        name="Back lawn; beside the pond & north",
        shown=Span(first, date(2026, 4, 30)),
        today=TODAY,
        days=tuple(days),
        limit_c=10.0,
        open_spans=(Span(date(2026, 4, 18), TODAY),),
        chances=tuple((TODAY + place * DAY, (9 - place) / 10) for place in range(10)),
        closing=LikelyDay(date(2026, 4, 23), date(2026, 4, 27), date(2026, 5, 9)),
        visits=(done, booked),
    )


def write_golden_picture() -> None:
    (GOLDEN / "soil.svg").write_bytes(soil_svg(a_small_picture()))


if __name__ == "__main__":
    write_golden_picture()
