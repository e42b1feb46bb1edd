"""What a client should do this morning, by hand-made fortnights and against an account written anew."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.facts.place import Texture
from models.facts.rules import WateringRules
from models.facts.weather import SoilDay
from models.facts.work import Watering, WateringDay
from scheduler.watering.plan import fortnight, last_rain, plan_morning
from tests.watering.fortnight import LAWN, TREATED, TREATMENT, water
from tests.windows.soil import a_soil_day

RULES = WateringRules()
DAY = timedelta(days=1)


def dry(*rains_mm: float, et_mm: float = 2.0) -> tuple[SoilDay, ...]:
    """Days from the treatment on with that rain, each evaporating `et_mm` of reference."""
    return tuple(
        a_soil_day(TREATED + n * DAY, rain_mm=rain_mm, reference_et_mm=et_mm, weather_revision=n + 1)
        for n, rain_mm in enumerate(rains_mm)
    )


def morning(
    soil: tuple[SoilDay, ...], after: int, waterings: tuple[Watering, ...] = (), **lawn: object
) -> WateringDay:
    changed = replace(LAWN, **lawn)  # type: ignore[arg-type]
    found = plan_morning(TREATMENT, changed, soil, waterings, TREATED + after * DAY, RULES)
    assert found is not None
    return found


def test_the_fortnight_is_two_weeks() -> None:
    # Common practice: two weeks.
    assert fortnight(TREATMENT, RULES).days() == tuple(TREATED + n * DAY for n in range(1, 15))
    for day in (TREATED, TREATED + 15 * DAY):
        assert plan_morning(TREATMENT, LAWN, dry(*[0.0] * 20), (), day, RULES) is None


def test_the_morning_after_nothing_is_missing() -> None:
    # 6 to 13 mm of washing in fill the top 5 cm (University of Wisconsin; G. Jagdale).
    assert morning(dry(0.0), 1) == WateringDay(
        visit_key=TREATMENT.visit_key,
        lawn_key=LAWN.key,
        day=TREATED + DAY,
        rain_mm=0.0,
        turf_et_mm=pytest.approx(1.7),
        watered_mm=0.0,
        deficit_mm=0.0,
        capacity_mm=pytest.approx(8.5),
        advice_mm=0.0,
        advice_litres=0.0,
        advice_minutes=0.0,
        reason=(
            "no water is needed: the top 5 cm is 0.0 mm short of the 8.5 mm it can give; "
            "no rain to speak of since the treatment on 3 May"
        ),
        weather_revision=1,
    )


def test_dry_days_ask_for_water_in_millimetres_litres_and_minutes() -> None:
    # Three days of 0.85 x 2.0 mm are 5.1 mm, more than half of 8.5 mm. 5.1 mm on 150 m² are 765 L
    # (1 mm is 1 L/m²), 51 minutes at 15 L/min.
    assert morning(dry(0, 0, 0), 3).advice_mm == 0.0
    asked = morning(dry(0, 0, 0, 0), 4)
    assert (asked.advice_mm, asked.advice_litres, asked.advice_minutes) == pytest.approx((5.1, 765.0, 51.0))
    assert asked.reason == (
        "water is needed: the top 5 cm is 5.1 mm short of the 8.5 mm it can give; "
        "no rain to speak of since the treatment on 3 May"
    )


def test_where_there_is_no_tap_no_minutes_are_told() -> None:
    asked = morning(dry(0, 0, 0, 0), 4, tap_litres_per_minute=None)
    assert (asked.advice_minutes, asked.advice_litres) == (None, pytest.approx(765.0))


def test_sand_asks_sooner_and_not_for_less_than_reaches_down() -> None:
    asked = morning(dry(0, 0, 0), 3, texture=Texture.SAND)
    assert (asked.deficit_mm, asked.capacity_mm, asked.advice_mm) == pytest.approx((3.4, 4.0, 5.0))


def test_rain_that_counts_puts_it_off_and_a_shower_does_not() -> None:
    soaked = morning(dry(0, 0, 9.0, 0), 4)
    assert (soaked.deficit_mm, soaked.advice_mm) == (pytest.approx(1.7), 0.0)
    assert soaked.reason.endswith("the last rain was 9.0 mm on 5 May")
    assert morning(dry(0, 0, 1.9, 0), 4).advice_mm == pytest.approx(5.1)


def test_water_that_was_given_counts_from_the_next_morning_on() -> None:
    fifth_day = TREATED + 4 * DAY
    given = (water(fifth_day, 6.0), Watering("another/lawn", fifth_day - DAY, 6.0, TREATMENT.recorded_at))
    assert morning(dry(0, 0, 0, 0), 4, given).advice_mm == pytest.approx(5.1)
    after = morning(dry(0, 0, 0, 0, 0), 5, given)
    assert (after.deficit_mm, after.watered_mm, after.advice_mm) == (pytest.approx(0.8), 6.0, 0.0)
    assert after.reason.endswith(
        "no rain to speak of since the treatment on 3 May, 6.0 mm were given on 7 May"
    )


def test_days_without_weather_are_taken_as_dry_and_said() -> None:
    known = tuple(soil for soil in dry(0, 0, 5.0, 0) if soil.day != TREATED + 2 * DAY)
    asked = morning(known, 4)
    assert asked.advice_mm == pytest.approx(5.1)
    assert asked.reason.endswith(" (estimated: days without weather on record: 1)")
    nothing_yet = morning(dry(0, 0), 4)
    assert (nothing_yet.deficit_mm, nothing_yet.weather_revision) == (pytest.approx(5.1), 0)
    assert plan_morning(TREATMENT, LAWN, (), (), TREATED + DAY, RULES) is None


def test_the_last_rain_is_the_last_that_counted() -> None:
    soil = dry(0, 4.0, 1.0, 6.0)
    assert last_rain(TREATMENT, soil, TREATED + 3 * DAY, RULES) == (TREATED + DAY, 4.0)
    assert last_rain(TREATMENT, soil, TREATED + 4 * DAY, RULES) == (TREATED + 3 * DAY, 6.0)
    assert last_rain(TREATMENT, soil, TREATED + DAY, RULES) is None


@given(
    weather=st.lists(st.tuples(st.floats(0, 40), st.floats(0, 8)), min_size=14, max_size=14),
    given_mm=st.dictionaries(st.integers(1, 13), st.floats(0.1, 50), max_size=6),
    texture=st.sampled_from(list(Texture)),
    after=st.integers(1, 14),
)
def test_advice_is_given_just_when_an_account_written_anew_is_half_empty(
    weather: list[tuple[float, float]], given_mm: dict[int, float], texture: Texture, after: int
) -> None:
    soil = tuple(
        a_soil_day(TREATED + n * DAY, rain_mm=rain_mm, reference_et_mm=et_mm)
        for n, (rain_mm, et_mm) in enumerate(weather)
    )
    waterings = tuple(water(TREATED + n * DAY, depth_mm) for n, depth_mm in given_mm.items())
    planned = morning(soil, after, waterings, texture=texture)
    # FAO-56 (Allen et al. 1998), table 19 from memory: 0.08, 0.17 and 0.16 m3/m3, over 5 cm.
    held_mm = full_mm = {"sand": 4.0, "loam": 8.5, "clay": 8.0}[texture.value]
    for n in range(1, after):
        rain_mm, et_mm = weather[n]
        held_mm += (0.8 * rain_mm if rain_mm >= 2 else 0) + given_mm.get(n, 0) - 0.85 * et_mm
        held_mm = sorted((0.0, held_mm, full_mm))[1]
    assert planned.deficit_mm == pytest.approx(full_mm - held_mm, abs=1e-9)
    if abs(held_mm - full_mm / 2) > 1e-9:
        assert (planned.advice_mm > 0) is (held_mm < full_mm / 2)
    assert planned.advice_mm in (0.0, max(5.0, planned.deficit_mm))
