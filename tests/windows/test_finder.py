"""When a window opens, and the sentence that says why or why not."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.facts.place import Texture
from models.facts.rules import COMMON_WINDOWS, BusinessRules
from models.facts.season import Pest, Season, SeasonName, Span, Species, Turn, Window, WindowRule
from models.facts.weather import SoilDay
from scheduler.windows.finder import extend, judge_day, mean_c, trailing_days
from scheduler.windows.ground import grounds
from tests.windows.soil import DAY, a_soil_day, between, seattle_soil, steady_soil

RULES = BusinessRules()
SPRING, AUTUMN = COMMON_WINDOWS
FIRST, LAST = date(2027, 4, 15), date(2027, 5, 15)
WINTER = FIRST - 75 * DAY
SEASON = Season(2027, SeasonName.SPRING)
COLD = {"mean_10cm_c": 5.0}


def a_window(season: Season = SEASON) -> Window:
    return Window("oat/lawn", Pest.LEATHERJACKETS, Species.S_FELTIAE, season)


def spring(soil: tuple[SoilDay, ...], today: date, texture: Texture = Texture.LOAM) -> Window:
    return extend(a_window(), soil, SPRING, texture, today, RULES)


def soil_with(mean_c: float = 12.0, **changes: dict[str, object]) -> tuple[SoilDay, ...]:
    """Soil to the end of the season; keywords like `d0415` name the days that differ."""
    named = {date(2027, int(key[1:3]), int(key[3:5])): value for key, value in changes.items()}
    return steady_soil(WINTER, LAST, mean_c, named)


def test_the_calendars_and_limit_are_those_of_the_trade() -> None:
    # Common practice: mid-April to mid-May at double dose, early September to end of October, 10 °C.
    assert [(rule.calendar(2027), rule.limit_c, rule.dose_factor) for rule in (SPRING, AUTUMN)] == [
        (Span(date(2027, 4, 15), date(2027, 5, 15)), 10.0, 2.0),
        (Span(date(2027, 9, 1), date(2027, 10, 31)), 10.0, 1.0),
    ]


def test_before_the_calendar_no_day_is_decided() -> None:
    window = spring(soil_with(), FIRST - DAY)
    assert (window.turns, window.judged_to) == ((), None)
    assert window.reason == "not yet: the calendar opens on 15 April"


def test_warm_soil_opens_on_the_calendars_first_day() -> None:
    reason = "the 7-day mean of the 10 cm soil is 12.0 °C, it needs 10 °C"
    window = spring(soil_with(), FIRST)
    assert window.turns == (Turn(FIRST, True, reason),)
    assert window.reason == f"open since 15 April: {reason}"


def test_cold_soil_keeps_it_shut_and_the_reason_has_the_number() -> None:
    window = spring(soil_with(9.1), FIRST + DAY)
    assert (window.turns, window.judged_to) == ((), FIRST + DAY)
    assert window.reason == "shut: the 7-day mean of the 10 cm soil is 9.1 °C, it needs 10 °C"


def test_a_day_is_judged_by_the_seven_whole_days_before_it() -> None:
    # Six days at 10 °C and one at 9.3 make 9.9; the eighth day back and the day itself do not count.
    soil = {soil.day: soil for soil in soil_with(10.0, d0407={"mean_10cm_c": -9.0}, d0415=COLD)}
    ground = grounds(list(soil.values()), Texture.LOAM, RULES, Span(WINTER, LAST))
    assert judge_day(soil, ground[FIRST - DAY], SPRING, FIRST).is_open
    soil[FIRST - DAY] = a_soil_day(FIRST - DAY, 9.3)
    verdict = judge_day(soil, ground[FIRST - DAY], SPRING, FIRST)
    assert (verdict.is_open, verdict.trailing_mean_c) == (False, pytest.approx(9.9))


@pytest.mark.parametrize(
    ("mean_c", "shown"), [(9.94, "9.9 °C"), (9.96, "9.96 °C"), (9.999, "just below 10 °C")]
)
def test_a_sentence_never_shows_the_limit_for_what_is_below_it(mean_c: float, shown: str) -> None:
    assert spring(soil_with(mean_c), FIRST).reason == (
        f"shut: the 7-day mean of the 10 cm soil is {shown}, it needs 10 °C"
    )


def test_a_cold_spell_shuts_it_and_it_may_open_again() -> None:
    spell = {f"d04{day}": {"mean_10cm_c": 3.0} for day in (20, 21)}
    window = spring(soil_with(12.0, **spell), date(2027, 5, 1))
    # Two days at 3 °C among five at 12 make a mean of 9.4 °C, from the day after the second until one leaves.
    assert window.spans == (Span(FIRST, date(2027, 4, 21)), Span(date(2027, 4, 28), date(2027, 5, 1)))
    assert [turn.is_open for turn in window.turns] == [True, False, True]
    assert window.turns[1].reason == "the 7-day mean of the 10 cm soil is 9.4 °C, it needs 10 °C"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"temperature_min_c": -2.5}, "the turf is frozen: the air fell to -2.5 °C"),
        ({"rain_mm": 60.0}, "the clay is waterlogged: 52 mm stand in it above what it holds"),
    ],
)
def test_ground_that_is_not_fit_shuts_it(change: dict[str, object], reason: str) -> None:
    window = spring(soil_with(12.0, d0419=change), date(2027, 4, 20), Texture.CLAY)
    assert window.reason == (
        f"shut since 20 April: {reason}; the 7-day mean of the 10 cm soil is 12.0 °C, it needs 10 °C"
    )


def test_frozen_soil_is_said_beside_the_cold() -> None:
    week = {f"d04{day:02}": {"mean_10cm_c": 0.5} for day in range(8, 15)}
    assert spring(soil_with(0.5, **week), FIRST).reason == (
        "shut: the 7-day mean of the 10 cm soil is 0.5 °C, it needs 10 °C; "
        "the ground is frozen or near it: the soil was 0.5 °C"
    )


def test_clay_stands_in_water_for_longer_than_sand() -> None:
    wet = soil_with(12.0, d0418={"rain_mm": 60.0})
    open_days = {
        texture: sum(len(span.days()) for span in spring(wet, LAST, texture).spans) for texture in Texture
    }
    # What stands in it falls by 40, 15 or 6 mm a day, less what evaporates: 15 mm or more keep it shut.
    assert open_days == {Texture.SAND: 31 - 1, Texture.LOAM: 31 - 2, Texture.CLAY: 31 - 7}


def test_weeks_without_rain_make_turf_dormant_until_it_rains() -> None:
    dry = {day: {"rain_mm": 0.0, "reference_et_mm": 4.0} for day in Span(WINTER, LAST).days()}
    soil = steady_soil(WINTER, LAST, changes={**dry, date(2027, 4, 25): {"rain_mm": 20.0}})
    window = extend(a_window(), soil, SPRING, Texture.LOAM, date(2027, 4, 26), RULES)
    assert window.spans[0].first == date(2027, 4, 26)
    assert extend(a_window(), soil, SPRING, Texture.LOAM, date(2027, 4, 25), RULES).reason == (
        "shut: the turf is drought-dormant: 100% of the water of the top 20 cm is gone; "
        "the 7-day mean of the 10 cm soil is 12.0 °C, it needs 10 °C"
    )


def test_an_estimate_across_a_long_gap_says_so() -> None:
    gap = {f"d04{day:02}": {"gap_days": 6} for day in range(5, 11)}
    assert spring(soil_with(12.0, **gap), FIRST).reason == (
        "open since 15 April: the 7-day mean of the 10 cm soil is 12.0 °C, it needs 10 °C "
        "(an estimate across a gap of 6 days without weather)"
    )


def test_unknown_soil_keeps_it_shut() -> None:
    soil = between(soil_with(), WINTER, date(2027, 4, 10))
    assert spring(soil, FIRST).reason == "shut: the soil of the 7 days before is not known"


def test_a_decided_day_is_never_decided_again() -> None:
    decided = spring(soil_with(), date(2027, 4, 20))
    colder = steady_soil(WINTER, LAST, 4.0)
    later = extend(decided, colder, SPRING, Texture.LOAM, date(2027, 4, 21), RULES)
    assert later.spans == (Span(FIRST, date(2027, 4, 20)),)
    assert later.turns[0] == decided.turns[0]
    for earlier in (date(2027, 4, 20), date(2027, 4, 18), FIRST - DAY):
        assert extend(decided, colder, SPRING, Texture.LOAM, earlier, RULES) == decided


def test_a_season_that_is_over_keeps_its_spans_and_why_it_opened() -> None:
    over = spring(soil_with(), date(2027, 6, 1))
    assert over.spans == (Span(FIRST, LAST),)
    assert over.turns[-1] == Turn(LAST + DAY, False, "the calendar closed on 15 May")
    assert over.reason == (
        "over: open on 31 of 31 days (15 April to 15 May); it opened on 15 April: "
        "the 7-day mean of the 10 cm soil is 12.0 °C, it needs 10 °C"
    )
    assert extend(over, (), SPRING, Texture.LOAM, date(2027, 7, 1), RULES) == over


def test_a_season_that_never_opened_says_how_near_it_came() -> None:
    window = spring(soil_with(8.0, d0510={"mean_10cm_c": 15.0}), date(2027, 6, 1))
    assert window.spans == ()
    assert window.reason == (
        "never opened in spring 2027: the 7-day mean of the 10 cm soil was at its warmest 9.0 °C, "
        "it needs 10 °C; that was for 15 May"
    )


def test_a_season_that_the_ground_kept_shut_says_so() -> None:
    wet = {day: {"rain_mm": 40.0} for day in Span(WINTER, LAST).days()}
    window = extend(
        a_window(), steady_soil(WINTER, LAST, changes=wet), SPRING, Texture.CLAY, date(2027, 6, 1), RULES
    )
    assert window.reason.startswith(
        "never opened in spring 2027: the soil was warm enough on 31 days, but then the ground was not fit; "
        "on 15 May: the clay is waterlogged: "
    )


@settings(max_examples=60, deadline=None)
@given(
    means=st.lists(st.floats(0, 20), min_size=45, max_size=45),
    stops=st.sets(st.integers(0, 40), max_size=12),
)
def test_deciding_day_by_day_or_late_comes_to_the_same(means: list[float], stops: set[int]) -> None:
    first = FIRST - 12 * DAY
    soil = tuple(a_soil_day(first + n * DAY, value) for n, value in enumerate(means))
    at_once = spring(soil, FIRST + 40 * DAY)
    in_steps = a_window()
    for stop in sorted({*stops, 40}):
        today = FIRST + stop * DAY
        known = between(soil, first, today - DAY)
        in_steps = extend(in_steps, known, SPRING, Texture.LOAM, today, RULES)
    assert in_steps.spans == at_once.spans
    assert in_steps.turns == at_once.turns
    assert all(one.is_open is not two.is_open for one, two in pairwise(in_steps.turns))


def seattle_window(rule: WindowRule, year: int, texture: Texture = Texture.LOAM) -> Window:
    calendar = rule.calendar(year)
    soil = between(seattle_soil(), calendar.first - 75 * DAY, calendar.last)
    return extend(a_window(Season(year, rule.season)), soil, rule, texture, calendar.last + DAY, RULES)


@pytest.mark.parametrize("year", range(2012, 2016))
@pytest.mark.parametrize("rule", COMMON_WINDOWS, ids=lambda rule: str(rule.season))
def test_real_seattle_weather_gives_a_window_each_season(rule: WindowRule, year: int) -> None:
    by_day = {soil.day: soil for soil in seattle_soil()}
    ground = grounds(seattle_soil(), Texture.LOAM, RULES, Span(date(2012, 1, 1), date(2015, 12, 31)))
    window = seattle_window(rule, year)
    calendar = rule.calendar(year)
    assert sum(len(span.days()) for span in window.spans) >= 7
    for day in calendar.days():
        trailing = trailing_days(by_day, rule, day)
        assert trailing is not None
        if window.was_open(day):
            assert mean_c(trailing) >= rule.limit_c
            assert not ground[day - DAY].unfit
    assert all(span.first in calendar and span.last in calendar for span in window.spans)


def test_the_dry_autumn_of_seattle_in_2012_opens_with_the_rain() -> None:
    # Seattle's dry spell of 2012 ended on 12 October after 81 days (National Weather Service, from memory).
    window = seattle_window(AUTUMN, 2012)
    assert date(2012, 10, 12) < window.spans[0].first <= date(2012, 10, 19)
    assert (
        "dormant"
        in extend(
            a_window(Season(2012, SeasonName.AUTUMN)),
            between(seattle_soil(), date(2012, 6, 18), date(2012, 9, 30)),
            AUTUMN,
            Texture.LOAM,
            date(2012, 10, 1),
            RULES,
        ).reason
    )
