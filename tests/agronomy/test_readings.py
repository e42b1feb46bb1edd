"""A lawn's own soil: what readings must do to it, and the filter against the joint normal distribution."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.agronomy.lawn_filter import carried, difference
from models.agronomy.lawn_prior import STATION, lawn_prior
from models.agronomy.probe import observe
from models.agronomy.readings import (
    BACK_DAYS,
    Priors,
    corrected,
    filter_readings,
    own_soil,
    own_words,
    site_view,
)
from models.facts.place import Shade, Texture
from models.facts.readings import LawnSoil, OwnGround, Reading
from models.facts.weather import SoilDay
from tests.agronomy.probes import FIRST, OAT, a_reading, a_year, ranges

SITE = a_year()
BY_DAY = {soil.day: soil for soil in SITE}
RANGES = ranges()
VISITS = (date(2027, 2, 20), date(2027, 4, 25), date(2027, 5, 20))
AFTER = VISITS[-1] + timedelta(days=30)


def readings_off(by_c: float, days: tuple[date, ...] = VISITS) -> list[Reading]:
    """Readings that make the day's mean at 10 cm differ from the site's by just so much."""
    plain = [a_reading(day, 0.0) for day in days]
    return [
        replace(one, value_c=BY_DAY[one.day].mean_10cm_c + by_c - observe(one, OAT, RANGES[one.day]).mean_c)
        for one in plain
    ]


def own(readings: list[Reading], lawn: LawnSoil = OAT) -> dict[date, SoilDay]:
    return {soil.day: soil for soil in corrected(SITE, readings, lawn, RANGES)}


def test_three_readings_narrow_and_centre_the_estimate() -> None:
    taken = readings_off(-1.2)
    moved = [own(taken[:count])[AFTER].mean_10cm_c - BY_DAY[AFTER].mean_10cm_c for count in range(4)]
    widths = [own(taken[:count])[AFTER].sd_c for count in range(4)]
    assert moved == sorted(moved, reverse=True)
    assert moved[0] == 0
    assert moved[3] < -0.5  # more than halfway would be to believe them whole: the weather may have been off
    assert widths == sorted(widths, reverse=True)
    assert widths[3] < 0.95 * widths[0]


def test_what_is_believed_of_the_lawn_itself_narrows_with_a_season_of_readings() -> None:
    autumn = (date(2027, 9, 5), date(2027, 9, 20), date(2027, 10, 18))
    last = date(2027, 10, 28)
    lasting = (*site_view(BY_DAY, last, STATION).look[:3], 0.0, 0.0)
    states = [filter_readings(SITE, readings_off(-1.2, autumn[:count]), OAT, RANGES) for count in range(4)]
    widths = [sqrt(difference(state, lasting).variance_c2) for state in states]
    assert widths[0] == pytest.approx(sqrt(lawn_prior(OAT).variance_c2(lasting)))
    assert widths == sorted(widths, reverse=True)
    assert widths[3] < 0.75 * widths[0]


def test_only_mean_and_standard_deviation_are_changed() -> None:
    day = own(readings_off(-1.2))[AFTER]
    assert replace(day, mean_10cm_c=0, sd_c=0) == replace(BY_DAY[AFTER], mean_10cm_c=0, sd_c=0)


def test_a_wild_reading_is_set_aside_and_said_and_the_rest_goes_on() -> None:
    first, _, third = readings_off(-0.5)
    wild = a_reading(VISITS[1], 26.0)
    state = filter_readings(SITE, [first, wild, third], OAT, RANGES)
    assert state.used == (first, third)
    assert [one.reading for one in state.set_aside] == [wild]
    said = state.set_aside[0].reason
    assert said.startswith("26.0 °C at 10 cm on 25 April speaks for a day ")
    assert "warmer than the mean expected" in said
    assert said.endswith("read again, and look at the probe")
    with_it, without = own([first, wild, third])[AFTER], own([first, third])[AFTER]
    assert with_it.mean_10cm_c == pytest.approx(without.mean_10cm_c)
    assert with_it.sd_c == pytest.approx(without.sd_c)


@pytest.mark.parametrize("value_c", [-31.0, 55.0])
def test_a_reading_that_no_soil_can_have_is_set_aside(value_c: float) -> None:
    state = filter_readings(SITE, [a_reading(VISITS[0], value_c)], OAT, RANGES)
    assert [one.reason for one in state.set_aside] == [
        f"{value_c} °C at 10 cm on 20 February cannot be: soil is between -10 and 40 °C"
    ]


def test_a_reading_ahead_of_the_soil_days_waits() -> None:
    early = [soil for soil in SITE if soil.day < VISITS[2]]
    taken = readings_off(-0.5)
    state = filter_readings(early, taken, OAT, RANGES)
    assert (state.used, state.waiting) == (tuple(taken[:2]), (taken[2],))


def test_the_filter_is_the_joint_normal_distribution_given_the_readings() -> None:
    """Against numpy: the mean and variance of a multivariate normal, conditioned all at once."""
    taken, prior = readings_off(-1.2), lawn_prior(OAT)
    days = [*(one.day for one in taken), AFTER]
    looks = np.array([site_view(BY_DAY, day, STATION).look for day in days])
    apart = np.abs(np.subtract.outer(*[[day.toordinal() for day in days]] * 2))
    covariance = sum(
        np.outer(looks[:, part], looks[:, part]) * sd**2 * np.exp(-apart / fades)
        for part, (sd, fades) in enumerate(zip(prior.sds, prior.fades_days, strict=True))
    )
    observed = [observe(one, OAT, RANGES[one.day]) for one in taken]
    unexplained = [site_view(BY_DAY, one.day, STATION).own_c2 for one in taken]
    noise = np.diag([one.sd_c**2 + own_c2 for one, own_c2 in zip(observed, unexplained, strict=True)])
    gain = np.linalg.solve(covariance[:3, :3] + noise, covariance[:3, 3])
    off_c = np.array([one.mean_c - BY_DAY[one.reading.day].mean_10cm_c for one in observed])
    found = difference(carried(filter_readings(SITE, taken, OAT, RANGES), AFTER, prior), tuple(looks[3]))
    assert found.mean_c == pytest.approx(gain @ off_c)
    assert found.variance_c2 == pytest.approx(covariance[3, 3] - gain @ covariance[:3, 3])


some_readings = st.lists(
    st.builds(
        lambda day, value_c, hour, depth_cm, in_sun: a_reading(
            FIRST + timedelta(day), value_c, hour, depth_cm=depth_cm, in_sun=in_sun
        ),
        st.integers(0, 363),
        st.floats(-15, 45),
        st.integers(7, 20),
        st.floats(2, 15),
        st.booleans(),
    ),
    max_size=6,
    unique_by=lambda one: one.taken_at,
)


@given(taken=some_readings, chance=st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_the_order_of_arrival_does_not_matter(taken: list[Reading], chance: object) -> None:
    shuffled = list(taken)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert filter_readings(SITE, shuffled, OAT, RANGES) == filter_readings(SITE, taken, OAT, RANGES)


@given(taken=some_readings)
@settings(max_examples=40, deadline=None)
def test_no_day_is_wider_for_having_readings_and_every_reading_is_accounted_for(
    taken: list[Reading],
) -> None:
    without, with_them = own([]), own(taken)
    assert all(with_them[day].sd_c <= without[day].sd_c + 1e-12 for day in without)
    assert all(soil.sd_c > 0 for soil in with_them.values())
    state = filter_readings(SITE, taken, OAT, RANGES)
    told = [*state.used, *(one.reading for one in state.set_aside), *state.waiting]
    assert sorted(told, key=lambda one: one.taken_at) == sorted(taken, key=lambda one: one.taken_at)


@given(taken=some_readings, last=st.integers(0, 363))
@settings(max_examples=40, deadline=None)
def test_a_reading_changes_nothing_before_its_day(taken: list[Reading], last: int) -> None:
    until = FIRST + timedelta(last)
    earlier = [one for one in taken if one.day <= until]
    all_of_them, those = own(taken), own(earlier)
    assert [all_of_them[day] for day in all_of_them if day <= until] == [
        those[day] for day in those if day <= until
    ]


def test_days_since_are_the_same_as_within_the_whole() -> None:
    taken = readings_off(-1.2)
    since = corrected(SITE, taken, OAT, RANGES, since=AFTER)
    assert list(since) == [soil for soil in corrected(SITE, taken, OAT, RANGES) if soil.day >= AFTER]


def test_a_site_that_is_unsure_learns_less_and_stays_wider() -> None:
    taken = readings_off(-1.2)
    unsure = [replace(soil, sd_c=2.5) for soil in SITE]
    moved = corrected(unsure, taken, OAT, RANGES, since=AFTER)[0]
    assert own(taken)[AFTER].mean_10cm_c < moved.mean_10cm_c < BY_DAY[AFTER].mean_10cm_c
    assert moved.sd_c > own(taken)[AFTER].sd_c


@given(sd_c=st.floats(0.05, 3))
@settings(max_examples=30, deadline=None)
def test_a_stations_day_without_readings_is_the_sites_own(sd_c: float) -> None:
    site = [replace(soil, sd_c=sd_c) for soil in SITE[:60]]
    same = corrected(site, [], OAT, RANGES, Priors(STATION, STATION))
    assert [(one.mean_10cm_c, round(one.sd_c, 9)) for one in same] == [
        (one.mean_10cm_c, round(one.sd_c, 9)) for one in site
    ]


def test_shade_keeps_a_lawn_cooler_in_summer_and_is_less_sure() -> None:
    june, shaded = date(2027, 6, 20), replace(OAT, shade=Shade.SHADED)
    partly = replace(OAT, shade=Shade.PARTLY)
    open_day, partly_day, shaded_day = (own([], lawn)[june] for lawn in (OAT, partly, shaded))
    assert open_day.mean_10cm_c > partly_day.mean_10cm_c > shaded_day.mean_10cm_c
    assert open_day.sd_c < partly_day.sd_c < shaded_day.sd_c


def test_sand_follows_a_spell_of_weather_more_than_clay_does() -> None:
    warmest = max(SITE[30:], key=lambda soil: site_view(BY_DAY, soil.day, STATION).look[2]).day
    sand, clay = (own([], LawnSoil(texture, -6.0))[warmest] for texture in (Texture.SAND, Texture.CLAY))
    assert sand.mean_10cm_c > own([])[warmest].mean_10cm_c > clay.mean_10cm_c


def ground_of(readings: list[Reading], lawn: LawnSoil = OAT) -> OwnGround:
    """The readings with the soil days around them, as the records give them."""
    around = tuple(
        soil for soil in SITE if any(0 <= (one.day - soil.day).days <= BACK_DAYS for one in readings)
    )
    return OwnGround(lawn, tuple(readings), around, RANGES)


def test_soil_days_around_the_readings_do_for_what_the_whole_record_does() -> None:
    taken = readings_off(-1.2)
    later = tuple(soil for soil in SITE if AFTER - timedelta(days=BACK_DAYS) <= soil.day <= AFTER)
    found = own_soil(ground_of(taken), later, AFTER)
    assert found.days == (*later[:-1], own(taken)[AFTER])
    assert found.state == filter_readings(SITE, taken, OAT, RANGES)


def words_on(day: date, readings: list[Reading], lawn: LawnSoil = OAT) -> tuple[str, ...]:
    ground = ground_of(readings, lawn)
    soil = tuple(one for one in SITE if day - timedelta(days=40) <= one.day <= day)
    return own_words(ground, own_soil(ground, soil, day), soil)


def test_the_words_say_how_many_which_way_and_what_is_set_aside() -> None:
    wild = a_reading(date(2027, 5, 25), 40.5)
    told = words_on(AFTER, [*readings_off(-1.2), wild, a_reading(date(2027, 9, 5), 15.0)])
    difference_c = BY_DAY[AFTER].mean_10cm_c - own(readings_off(-1.2))[AFTER].mean_10cm_c
    assert told == (
        f"3 readings at this lawn: {difference_c:.1f} °C colder than the site's estimate.",
        "Set aside: 40.5 °C at 10 cm on 25 May cannot be: soil is between -10 and 40 °C.",
    )


def test_the_words_of_one_reading_that_agrees_and_of_shade_alone() -> None:
    agreeing = readings_off(0.0, VISITS[:1])
    assert words_on(AFTER, agreeing) == ("1 reading at this lawn: as warm as the site's estimate.",)
    shaded = words_on(date(2027, 6, 20), [], replace(OAT, shade=Shade.PARTLY))
    assert shaded == (
        "No readings at this lawn, which is partly shaded: 0.3 °C colder than the site's estimate.",
    )
