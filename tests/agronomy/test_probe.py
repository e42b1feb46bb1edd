"""A probe's reading as a daily mean: damping depths against de Vries, the wave against its formula."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from math import exp, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.probe import DIFFUSIVITY_M2_S, ERRORS, damping_depth_cm, observe, solar_hour
from models.facts.place import Texture
from models.facts.readings import LawnSoil, Reading
from models.units import SECONDS_PER_DAY
from tests.agronomy.probes import OAT, RANGE_C, a_reading

DAY = date(2027, 4, 20)


# de Vries 1963, by Moene & van Dam 2014, table 2.2: diffusivities. Damping depths worked out from them by
# d = sqrt(2 D / omega), Oklahoma State soil physics after Hillel 1982; share of the swing left at 5, 10 cm.
@pytest.mark.parametrize(
    ("diffusivity_m2_s", "depth_cm", "at_5_cm", "at_10_cm"),
    [
        (0.19e-6, 7.23, 0.501, 0.251),  # sand, loose and dry
        (0.99e-6, 16.50, 0.739, 0.546),  # sand, 0.2
        (0.85e-6, 15.29, 0.721, 0.520),  # sand, saturated
        (0.10e-6, 5.24, 0.385, 0.149),  # clay, dry
        (0.40e-6, 10.49, 0.621, 0.385),  # clay, 0.2
        (0.45e-6, 11.12, 0.638, 0.407),  # clay, saturated
        (0.13e-6, 5.98, 0.433, 0.188),  # peat, 0.45
    ],
)
def test_damping_depths_of_de_vries(
    diffusivity_m2_s: float, depth_cm: float, at_5_cm: float, at_10_cm: float
) -> None:
    damping_cm = damping_depth_cm(diffusivity_m2_s)
    assert damping_cm == pytest.approx(depth_cm, abs=0.005)
    assert exp(-5 / damping_cm) == pytest.approx(at_5_cm, abs=0.0005)
    assert exp(-10 / damping_cm) == pytest.approx(at_10_cm, abs=0.0005)


def test_the_year_goes_as_much_deeper_as_it_is_longer() -> None:
    # The same source: annual to diurnal depth is sqrt(365.25) = 19.1115; sand at 0.2, 3.154 m.
    year_s = 365.25 * SECONDS_PER_DAY
    assert damping_depth_cm(0.99e-6, year_s) == pytest.approx(315.4, abs=0.1)
    assert damping_depth_cm(0.99e-6, year_s) / damping_depth_cm(0.99e-6) == pytest.approx(19.1115, abs=1e-4)


def test_sand_and_clay_of_lawns_are_those_of_the_table() -> None:
    assert damping_depth_cm(DIFFUSIVITY_M2_S[Texture.SAND]) == pytest.approx(16.50, abs=0.005)
    assert damping_depth_cm(DIFFUSIVITY_M2_S[Texture.CLAY]) == pytest.approx(10.49, abs=0.005)
    loam_cm = damping_depth_cm(DIFFUSIVITY_M2_S[Texture.LOAM])
    assert 10.49 < loam_cm < 16.50


def test_solar_time_is_an_hour_later_for_each_15_degrees_east() -> None:
    at = datetime(2027, 4, 20, 12, 30, tzinfo=UTC)
    hours = [solar_hour(at, longitude) for longitude in (0.0, 15.0, -7.5, 180.0)]
    assert hours == [12.5, 13.5, 12.0, 0.5]


@pytest.mark.parametrize("texture", list(Texture))
@pytest.mark.parametrize("depth_cm", [2.0, 5.0, 10.0])
@pytest.mark.parametrize("hour", range(0, 24, 3))
def test_a_reading_of_the_wave_itself_gives_back_its_mean(
    texture: Texture, depth_cm: float, hour: int
) -> None:
    # T(z,t) = Ta + A0 exp(-z/d) sin[2 pi (t - t0) / P - z/d - pi/2], t0 the time of the minimum
    # (Oklahoma State soil physics after Hillel 1982), here with P a day and t0 half a day off the peak.
    lawn = LawnSoil(texture, longitude=0.0)
    damping_cm = damping_depth_cm(DIFFUSIVITY_M2_S[texture])
    coldest = ERRORS.peak_solar_hour - 12
    phase = 2 * pi * (hour - coldest) / 24 - depth_cm / damping_cm - pi / 2
    value_c = 11.0 + ERRORS.sunlit_share * RANGE_C / 2 * exp(-depth_cm / damping_cm) * sin(phase)
    observed = observe(a_reading(DAY, value_c, hour, depth_cm=depth_cm), lawn, RANGE_C)
    assert observed.mean_c == pytest.approx(11.0)


def test_an_afternoon_at_5_cm_is_not_taken_for_a_mean_at_10_cm() -> None:
    shallow = observe(a_reading(DAY, 15.0, 15, depth_cm=5.0), OAT, 12.0)
    deep = observe(a_reading(DAY, 15.0, 15), OAT, 12.0)
    assert shallow.mean_c < deep.mean_c < 15.0
    assert shallow.sd_c > deep.sd_c > ERRORS.probe_sd_c


def test_a_dull_day_a_shaded_spot_and_a_known_hour_make_it_surer() -> None:
    bright = observe(a_reading(DAY, 12.0), OAT, 12.0)
    assert observe(a_reading(DAY, 12.0), OAT, 2.0).sd_c < bright.sd_c
    assert observe(a_reading(DAY, 12.0, in_sun=False), OAT, 12.0).sd_c < bright.sd_c
    assert (
        observe(a_reading(DAY, 12.0, 10), OAT, 12.0).sd_c
        < observe(a_reading(DAY, 12.0, 10, hour_sd_h=3.0), OAT, 12.0).sd_c
    )


def test_a_day_without_a_swing_leaves_the_probe_and_its_spot() -> None:
    observed = observe(a_reading(DAY, 9.4), OAT, 0.0)
    # Independent errors add in squares: 0.5 and 0.3 °C (engineering choices) make 0.583 °C.
    assert (observed.mean_c, round(observed.sd_c, 3)) == (9.4, 0.583)


@given(
    hour=st.integers(0, 23),
    depth_cm=st.floats(2, 30),
    value_c=st.floats(-5, 30),
    range_c=st.none() | st.floats(0, 25),
    in_sun=st.booleans(),
)
def test_never_surer_than_the_probe_and_never_moved_by_more_than_the_airs_swing(
    hour: int, depth_cm: float, value_c: float, range_c: float | None, in_sun: bool
) -> None:
    reading = replace(a_reading(DAY, value_c, hour), depth_cm=depth_cm, in_sun=in_sun)
    observed = observe(reading, OAT, range_c)
    swing_c = (ERRORS.usual_range_c if range_c is None else range_c) / 2
    assert observed.sd_c >= ERRORS.probe_sd_c
    assert abs(observed.mean_c - value_c) <= swing_c + 1e-9


def test_a_range_that_is_not_known_makes_it_less_sure() -> None:
    reading: Reading = a_reading(DAY, 12.0)
    known, unknown = observe(reading, OAT, ERRORS.usual_range_c), observe(reading, OAT, None)
    assert unknown.mean_c == known.mean_c
    assert unknown.sd_c > known.sd_c
