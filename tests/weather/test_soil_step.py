"""Estimating soil day by day: the same as all at once, corrected when the weather is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from models.agronomy.moisture import reference_et_mm
from models.agronomy.soil import advance
from models.facts.place import Site
from models.facts.step import Outcome
from models.facts.weather import Provenance, SoilDay, WeatherDay
from models.store.engine import Store
from models.store.soil import KeptSoil, load_soil_days, load_soil_states
from models.store.weather import append_weather
from scheduler.steps.soil import EstimateSoil
from scheduler.steps.soil_site import fingerprint
from scheduler.steps.weather import FetchWeather
from scheduler.weather.gaps import as_known, complete
from tests.weather.places import HILL, VALLEY, days_from, invented, morning, set_up
from tests.weather.test_fetch_step import Teller

FIRST = date(2023, 11, 1)
DAYS = days_from(FIRST, 60)
RECORD = invented(DAYS)
ONE_DAY = timedelta(days=1)


def append(store: Store, days: tuple[WeatherDay, ...], known_at: datetime, site: str = "valley") -> None:
    with store.write() as connection:
        append_weather(connection, site, days, known_at)


def soil(store: Store, site: str = "valley") -> tuple[SoilDay, ...]:
    with store.read() as connection:
        return load_soil_days(connection, [site], date.min, date.max)[site]


def kept(store: Store, site: Site = VALLEY) -> KeptSoil | None:
    with store.read() as connection:
        return load_soil_states(connection, {site.key: fingerprint(site)}).get(site.key)


def all_at_once(
    days: tuple[WeatherDay, ...], upto: date, latitude_degrees: float = VALLEY.position.latitude
) -> tuple[SoilDay, ...]:
    """What the same laws give for the whole record, without step or store."""
    used = complete(as_known(days, morning(upto)), days[0].day, upto)
    estimates, _ = advance(None, used, latitude_degrees)
    evaporation = reference_et_mm(used, latitude_degrees)
    return tuple(
        SoilDay(
            one.day,
            estimate.mean_10cm_c,
            estimate.sd_c,
            depth_mm,
            one.rain_mm,
            one.temperature_min_c,
            one.provenance,
            one.revision,
            one.gap_days,
            one.rain_gap_days,
        )
        for one, estimate, depth_mm in zip(used, estimates, evaporation, strict=True)
    )


def each_morning(store: Store, days: tuple[WeatherDay, ...], upto: date) -> None:
    """The record arrives a day at a time, and the step runs every morning, weather or not."""
    by_day = {day.day: day for day in days}
    for day in days_from(days[0].day, (upto - days[0].day).days + 1):
        if day in by_day:
            append(store, (by_day[day],), morning(day + ONE_DAY))
        EstimateSoil(store).run(morning(day + ONE_DAY))


def without(days: tuple[WeatherDay, ...], *gone: date) -> tuple[WeatherDay, ...]:
    return tuple(day for day in days if day.day not in gone)


GAPS = {
    "none": RECORD,
    "two days": without(RECORD, *days_from(date(2023, 11, 20), 2)),
    "eight days": without(RECORD, *days_from(date(2023, 11, 20), 8)),
    "fifteen days": without(RECORD, *days_from(date(2023, 11, 20), 15)),
    "open end": without(RECORD, *days_from(date(2023, 12, 27), 10)),
    "no rain for a fortnight": tuple(
        replace(day, rain_mm=None) if 15 <= n < 29 else day for n, day in enumerate(RECORD)
    ),
    "no minimum now and then": tuple(
        replace(day, temperature_min_c=None) if n % 9 == 5 else day for n, day in enumerate(RECORD)
    ),
}


@pytest.mark.parametrize("record", GAPS.values(), ids=GAPS.keys())
def test_day_by_day_is_the_same_as_all_at_once(sqlite_store: Store, record: tuple[WeatherDay, ...]) -> None:
    set_up(sqlite_store, VALLEY)
    each_morning(sqlite_store, record, DAYS[-1])
    assert soil(sqlite_store) == all_at_once(record, DAYS[-1])


def test_a_long_gap_with_earlier_years_is_the_same_too(sqlite_store: Store) -> None:
    """The years before are stored at once; the step has to look back at them to fill the gap."""
    set_up(sqlite_store, VALLEY)
    before = invented(days_from(date(2021, 11, 1), 730))
    append(sqlite_store, before, morning(FIRST))
    EstimateSoil(sqlite_store).run(morning(FIRST))
    each_morning(sqlite_store, GAPS["eight days"], DAYS[-1])
    assert soil(sqlite_store) == all_at_once(before + GAPS["eight days"], DAYS[-1])


def test_it_does_the_same_on_both_databases(store: Store) -> None:
    set_up(store, VALLEY, HILL)
    append(store, RECORD[:-1], morning(DAYS[-1]))
    append(store, RECORD[:-1], morning(DAYS[-1]), site="hill")
    assert EstimateSoil(store).run(morning(DAYS[-1])).changed == 118
    append(store, RECORD[-1:], morning(DAYS[-1] + ONE_DAY))
    outcome = EstimateSoil(store).run(morning(DAYS[-1] + ONE_DAY))
    assert outcome.changed == 2
    assert outcome.said[1].startswith(
        "Hill: no temperature_min_c, temperature_max_c on 2023-12-30, missing for 1 day by then; "
    )
    assert outcome.said[2] == (
        "Hill: no rain_mm on 2023-12-30, missing for 1 day by then; "
        "taken as none, so lawns may be wetter than they are counted"
    )
    assert soil(store) == all_at_once(RECORD, DAYS[-1])
    assert [day.gap_days for day in soil(store, "hill")][-2:] == [0, 1]


def test_run_twice_it_changes_nothing(store: Store) -> None:
    set_up(store, VALLEY)
    append(store, RECORD, morning(DAYS[-1] + ONE_DAY))
    step = EstimateSoil(store)
    step.run(morning(DAYS[-1] + ONE_DAY))
    before = (soil(store), kept(store))
    assert step.run(morning(DAYS[-1] + ONE_DAY)) == Outcome(0)
    assert (soil(store), kept(store)) == before


def test_without_any_weather_there_is_nothing_to_do(store: Store) -> None:
    set_up(store, VALLEY)
    assert EstimateSoil(store).run(morning(FIRST)) == Outcome(0)
    append(store, (WeatherDay(FIRST, None, None, 3.0),), morning(FIRST))
    assert EstimateSoil(store).run(morning(FIRST + ONE_DAY)) == Outcome(0)


@pytest.mark.parametrize("corrected", [5, 30, 49, 57])
def test_a_late_correction_is_worked_in_wherever_it_lies(sqlite_store: Store, corrected: int) -> None:
    set_up(sqlite_store, VALLEY)
    each_morning(sqlite_store, RECORD, DAYS[-1])
    wrong = RECORD[corrected]
    right = replace(wrong, temperature_max_c=(wrong.temperature_max_c or 0.0) + 3.0)
    late = morning(DAYS[-1] + ONE_DAY) + timedelta(hours=1)
    append(sqlite_store, (right,), late)
    assert EstimateSoil(sqlite_store).run(late).changed == len(DAYS) - corrected

    expected = list(all_at_once((*RECORD[:corrected], right, *RECORD[corrected + 1 :]), DAYS[-1]))
    expected[corrected] = replace(expected[corrected], weather_revision=2)
    assert soil(sqlite_store) == tuple(expected)
    assert EstimateSoil(sqlite_store).run(late) == Outcome(0)


def test_weather_known_later_is_not_used(sqlite_store: Store) -> None:
    set_up(sqlite_store, VALLEY)
    append(sqlite_store, RECORD[:20], morning(DAYS[20]))
    warmer = replace(RECORD[10], temperature_max_c=25.0)
    append(sqlite_store, (warmer,), morning(DAYS[25]))
    EstimateSoil(sqlite_store).run(morning(DAYS[20]))
    assert soil(sqlite_store) == all_at_once(RECORD[:20], DAYS[19])


def test_a_past_day_leaves_later_days_alone(sqlite_store: Store) -> None:
    set_up(sqlite_store, VALLEY)
    each_morning(sqlite_store, RECORD, DAYS[-1])
    before = soil(sqlite_store)
    assert EstimateSoil(sqlite_store).run(morning(DAYS[30])) == Outcome(0)
    assert soil(sqlite_store) == before


def test_forecasts_of_days_ahead_are_not_soil_yet_and_are_replaced_by_measurements(
    sqlite_store: Store,
) -> None:
    set_up(sqlite_store, VALLEY)
    ahead = tuple(
        replace(day, temperature_max_c=20.0, provenance=Provenance.FORECAST) for day in RECORD[40:50]
    )
    append(sqlite_store, RECORD[:40] + ahead, morning(DAYS[40]))
    EstimateSoil(sqlite_store).run(morning(DAYS[40]))
    assert soil(sqlite_store)[-1].day == DAYS[39]
    EstimateSoil(sqlite_store).run(morning(DAYS[42]))
    assert [day.provenance for day in soil(sqlite_store)[-3:]] == ["measured", "forecast", "forecast"]
    append(sqlite_store, RECORD[40:45], morning(DAYS[45]))
    EstimateSoil(sqlite_store).run(morning(DAYS[45]))
    assert soil(sqlite_store) == all_at_once(RECORD[:45], DAYS[44])


def test_a_new_day_changes_one_row_a_site(sqlite_store: Store) -> None:
    """Twelve years stand behind each, and none of it is written again."""
    teller = Teller(invented(days_from(date(2012, 1, 1), 4383)))
    set_up(sqlite_store, replace(VALLEY, source="teller"), replace(HILL, source="teller"))
    steps = (FetchWeather(sqlite_store, {"teller": teller}), EstimateSoil(sqlite_store))
    for ahead in range(4):
        now = morning(date(2024, 1, 1) + timedelta(ahead))
        if ahead:
            teller.days = invented(days_from(now.date() - timedelta(11), 11))
        changed = [step.run(now).changed for step in steps]
        assert changed == ([8766, 8766] if ahead == 0 else [2, 2])
