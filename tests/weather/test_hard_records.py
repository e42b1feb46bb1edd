"""Records with holes, without past years, without rain, of moved sites: an answer, wider, and why."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import event

from models.facts.place import Position, Site
from models.facts.weather import Provenance, SoilDay, WeatherDay
from models.store.engine import Store
from models.store.people import save_sites
from models.store.soil import save_soil_states
from scheduler.steps.soil import EstimateSoil
from scheduler.steps.soil_site import RENEWED_AFTER_DAYS, STATE_LAG_DAYS
from scheduler.steps.weather import FetchWeather
from tests.weather.places import VALLEY, days_from, invented, morning, set_up
from tests.weather.test_fetch_step import Teller
from tests.weather.test_soil_step import all_at_once, append, each_morning, kept, soil, without

ONE_DAY = timedelta(days=1)
FIRST = date(2021, 1, 1)
YEARS = days_from(FIRST, 3 * 365)
LAST = YEARS[-1]
WHOLE = invented(YEARS)


def at_random(share: float) -> tuple[WeatherDay, ...]:
    draw = random.Random("holes at random")
    return without(WHOLE, *(day for day in YEARS if draw.random() < share))


def in_long_gaps(share: float, length: int = 24) -> tuple[WeatherDay, ...]:
    """Gaps of `length` days at even distances."""
    every = round(length / share)
    return without(WHOLE, *(day for n, day in enumerate(YEARS) if n % every < length))


def estimate(store: Store, record: tuple[WeatherDay, ...]) -> tuple[tuple[SoilDay, ...], tuple[str, ...]]:
    set_up(store, VALLEY)
    append(store, record, morning(LAST + ONE_DAY))
    outcome = EstimateSoil(store).run(morning(LAST + ONE_DAY))
    return soil(store), outcome.said


@pytest.mark.parametrize("record", [at_random(0.2), in_long_gaps(0.2)], ids=["at random", "in long gaps"])
def test_with_a_fifth_of_its_days_missing_every_day_has_an_answer_and_a_wider_one(
    store: Store, record: tuple[WeatherDay, ...]
) -> None:
    assert 0.17 < 1 - len(record) / len(WHOLE) < 0.23
    found, _ = estimate(store, record)
    expected = all_at_once(WHOLE, LAST)
    by_day = {day.day: day for day in expected}
    assert [day.day for day in found] == [day.day for day in expected if day.day >= record[0].day]
    # The spread looks at the estimate itself too, which a gap moves for a while.
    assert all(day.sd_c > 0.85 * by_day[day.day].sd_c for day in found if day.day.year > 2021)
    missing = {day.day for day in found} - {day.day for day in record}
    assert all(day.sd_c > by_day[day.day].sd_c for day in found if day.day in missing)
    assert all((day.gap_days > 0) == (day.day in missing) for day in found)
    assert max(abs(day.mean_10cm_c - by_day[day.day].mean_10cm_c) for day in found[60:]) < 5


def test_it_says_why_at_the_end_of_a_gap(sqlite_store: Store) -> None:
    found, said = estimate(sqlite_store, without(WHOLE, *YEARS[-24:]))
    assert said == (
        f"Valley: no temperature_min_c, temperature_max_c on {LAST}, missing for 24 days by then; "
        f"filled, so the soil is known to ±{found[-1].sd_c:.1f} °C only",
        f"Valley: no rain_mm on {LAST}, missing for 24 days by then; "
        "taken as none, so lawns may be wetter than they are counted",
    )


def test_holes_are_the_same_day_by_day(sqlite_store: Store) -> None:
    """Through the step every morning, holes and all, as in one call over the whole record."""
    set_up(sqlite_store, VALLEY)
    record = at_random(0.2)[:400] + in_long_gaps(0.2)[600:640]
    before, after = record[:300], record[300:]
    append(sqlite_store, before, morning(after[0].day))
    EstimateSoil(sqlite_store).run(morning(after[0].day))
    each_morning(sqlite_store, after, after[100].day)
    upto = tuple(day for day in record if day.day <= after[100].day)
    assert soil(sqlite_store) == all_at_once(upto, after[100].day)


def test_without_past_years_there_is_an_answer_a_wider_one_and_why(store: Store) -> None:
    young = WHOLE[-30:]
    found, said = estimate(store, young)
    by_day = {day.day: day for day in all_at_once(WHOLE, LAST)}
    assert [day.day for day in found] == [day.day for day in young]
    assert all(day.sd_c > by_day[day.day].sd_c for day in found)
    assert said == (
        "Valley: the record is 30 days long, less than a year, "
        f"so the soil is known to ±{found[-1].sd_c:.1f} °C only",
    )


def test_without_past_years_a_long_gap_is_filled_all_the_same(sqlite_store: Store) -> None:
    young = without(WHOLE[-60:], *YEARS[-40:-20])
    found, _ = estimate(sqlite_store, young)
    assert len(found) == 60
    assert {day.gap_days for day in found[20:40]} == {20}


def rainless(days: tuple[WeatherDay, ...]) -> tuple[WeatherDay, ...]:
    return tuple(replace(day, rain_mm=None) for day in days)


def test_a_station_that_never_records_rain_goes_on_from_its_kept_state(sqlite_store: Store) -> None:
    set_up(sqlite_store, VALLEY)
    record = rainless(WHOLE[:460])
    append(sqlite_store, record[:400], morning(YEARS[400]))
    EstimateSoil(sqlite_store).run(morning(YEARS[400]))
    each_morning(sqlite_store, record[400:], YEARS[459])
    assert soil(sqlite_store) == all_at_once(record, YEARS[459])
    state = kept(sqlite_store)
    assert state is not None
    assert YEARS[459] - timedelta(days=RENEWED_AFTER_DAYS) <= state.state.last_day
    assert state.state.last_day <= YEARS[459] - timedelta(days=STATE_LAG_DAYS)
    assert state.latest is not None
    assert state.latest.last_day == YEARS[459]
    assert soil(sqlite_store)[-1].rain_gap_days == 460


def rainless_but_told(days: tuple[WeatherDay, ...]) -> tuple[WeatherDay, ...]:
    return tuple(replace(day, rain_mm=0.0) for day in days)


def test_missing_rain_widens_the_soil_no_more_after_a_month_than_after_a_day(sqlite_store: Store) -> None:
    """Temperatures are all there; a month without their like is what is wide."""
    found, _ = estimate(sqlite_store, WHOLE[:-30] + rainless(WHOLE[-30:]))
    dry = {day.day: day for day in all_at_once(WHOLE[:-30] + rainless_but_told(WHOLE[-30:]), LAST)}
    wider_c2 = [day.sd_c**2 - dry[day.day].sd_c ** 2 for day in (found[-30], found[-1])]
    assert wider_c2[1] == pytest.approx(wider_c2[0], abs=1e-6)
    assert {day.gap_days for day in found} == {0}
    no_air = all_at_once(without(WHOLE, *YEARS[-30:]), LAST)
    assert found[-1].sd_c < no_air[-1].sd_c


def test_measurements_that_come_late_do_not_cost_the_whole_record(sqlite_store: Store) -> None:
    """The last fifteen days are only modelled so far: the state waits before them."""
    set_up(sqlite_store, VALLEY)
    modelled = tuple(replace(day, provenance=Provenance.MODELLED) for day in WHOLE[485:500])
    append(sqlite_store, WHOLE[:485] + modelled, morning(YEARS[500]))
    EstimateSoil(sqlite_store).run(morning(YEARS[500]))
    state = kept(sqlite_store)
    assert state is not None
    assert state.state.last_day == YEARS[484]
    append(sqlite_store, WHOLE[485:501], morning(YEARS[501]))
    assert EstimateSoil(sqlite_store).run(morning(YEARS[501])).changed == 16
    assert soil(sqlite_store) == all_at_once(WHOLE[:501], YEARS[500])


def test_a_site_that_was_never_measured_keeps_its_state_too(sqlite_store: Store) -> None:
    set_up(sqlite_store, VALLEY)
    append(
        sqlite_store,
        tuple(replace(day, provenance=Provenance.MODELLED) for day in WHOLE[:400]),
        morning(YEARS[400]),
    )
    EstimateSoil(sqlite_store).run(morning(YEARS[400]))
    state = kept(sqlite_store)
    assert state is not None
    assert state.state.last_day == YEARS[399] - timedelta(days=STATE_LAG_DAYS)


def test_a_moved_site_has_its_soil_built_anew(store: Store) -> None:
    set_up(store, VALLEY)
    append(store, WHOLE[:400], morning(YEARS[400]))
    EstimateSoil(store).run(morning(YEARS[400]))
    moved = replace(VALLEY, position=Position(58.0, -6.25))
    with store.write() as connection:
        save_sites(connection, [moved])
    assert EstimateSoil(store).run(morning(YEARS[400])).changed == 400
    assert soil(store) == all_at_once(WHOLE[:400], YEARS[399], moved.position.latitude)
    assert EstimateSoil(store).run(morning(YEARS[400])).changed == 0
    assert kept(store, moved) is not None


def test_a_state_kept_under_other_values_is_built_anew(store: Store) -> None:
    """Not only the days since: what it had estimated before is put right as well."""
    set_up(store, VALLEY)
    append(store, WHOLE[:400], morning(YEARS[400]))
    EstimateSoil(store).run(morning(YEARS[400]))
    state = kept(store)
    assert state is not None
    with store.write() as connection:
        save_soil_states(connection, {"valley": replace(state, fingerprint="of values of last year")})
    append(store, WHOLE[400:401], morning(YEARS[401]))
    assert EstimateSoil(store).run(morning(YEARS[401])).changed == 1
    assert soil(store) == all_at_once(WHOLE[:401], YEARS[400])
    again = kept(store)
    assert again is not None
    assert again.fingerprint == state.fingerprint


@contextmanager
def counted(store: Store) -> Iterator[list[str]]:
    statements: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        if not statement.startswith("BEGIN"):
            statements.append(statement)

    event.listen(store.engine, "before_cursor_execute", note)
    yield statements
    event.remove(store.engine, "before_cursor_execute", note)


def statements_of_a_day(store: Store, sites: list[Site]) -> int:
    """How many statements a new day costs, some years behind it."""
    set_up(store, *sites)
    teller = Teller(WHOLE[:400])
    steps = (FetchWeather(store, {"teller": teller}), EstimateSoil(store))
    for step in steps:
        step.run(morning(YEARS[400]))
    teller.days = WHOLE[390:401]
    with counted(store) as statements:
        changed = [step.run(morning(YEARS[401])).changed for step in steps]
    assert changed == [len(sites), len(sites)]
    return len(statements)


def test_a_day_costs_the_same_statements_however_many_sites_there_are(
    sqlite_store: Store, postgres_store: Store
) -> None:
    few = [replace(VALLEY, key=f"s{n:02}", source="teller") for n in range(2)]
    many = [replace(VALLEY, key=f"s{n:02}", source="teller") for n in range(12)]
    assert statements_of_a_day(postgres_store, many) == statements_of_a_day(sqlite_store, few) < 30
