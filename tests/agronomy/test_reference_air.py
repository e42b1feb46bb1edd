"""The simple peers: air of the day and of the week, and the climate of other stations."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from models.agronomy.reference.air_day import air_day_c
from models.agronomy.reference.air_week import air_week_c
from models.agronomy.reference.climate import climate_c
from models.agronomy.reference.station import station_weather
from tests.agronomy.seattle import LATITUDE_DEGREES, seattle_days
from tests.agronomy.station import made_weather


def test_air_of_the_day_by_hand() -> None:
    assert air_day_c(made_weather([(4.0, 12.0), (-3.0, 1.0)])).tolist() == [8.0, -1.0]


def test_air_week_agrees_with_pandas() -> None:
    days = seattle_days()
    weather = station_weather(days, LATITUDE_DEGREES)
    air = [(day.temperature_min_c + day.temperature_max_c) / 2 for day in days]
    rolling = pd.Series(air, index=[day.day for day in days]).rolling(7).mean().dropna()
    assert weather.by_day(air_week_c(weather)) == pytest.approx(rolling.to_dict())


def test_fewer_than_seven_days_have_no_week() -> None:
    assert np.isnan(air_week_c(made_weather([(4.0, 12.0)] * 6))).all()


def test_a_climate_of_two_harmonics_is_found_again_in_another_year() -> None:
    def season(day: date) -> float:
        angle = 2 * np.pi * day.timetuple().tm_yday / 365.25
        return float(11 - 6 * np.cos(angle) - 2 * np.sin(angle) + 0.5 * np.cos(2 * angle))

    learnt = {date(2014, 1, 1) + timedelta(n): 0.0 for n in range(730)}
    learnt = {day: season(day) for day in learnt}
    asked = [date(2020, 3, 7), date(2020, 7, 20), date(2020, 12, 31)]
    assert climate_c(asked, [learnt]) == pytest.approx([season(day) for day in asked])


def test_the_climate_is_the_mean_of_the_other_stations() -> None:
    days = [date(2015, 1, 1) + timedelta(n) for n in range(365)]
    warm, cold = dict.fromkeys(days, 12.0), dict.fromkeys(days, 8.0)
    assert climate_c(days[:3], [warm, cold]) == pytest.approx([10.0] * 3)


def test_without_another_station_there_is_no_climate() -> None:
    assert np.isnan(climate_c([date(2015, 1, 1)], [])).all()
