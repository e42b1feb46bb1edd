"""One way of estimating soil, judged at every station: the measures of the judging put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from frontends.commands.soil_records import SoilRecord
from models.agronomy.judging import (
    TemperatureErrors,
    TurningDay,
    TurningErrors,
    errors_by_day,
    judge_autumn,
    judge_spring,
    scored_days,
    temperature_errors,
    turning_errors,
    within_80,
)
from models.agronomy.window_days import (
    AUTUMN_CALENDAR,
    SPRING_CALENDAR,
    WindowDays,
    calendar_days,
    together,
    window_days,
)

Means = Mapping[date, float]
Interval = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Estimated:
    """Daily means at one station, °C, and their standard deviations where the way of estimating has any."""

    mean_c: Means
    sd_c: Means | None = None


@dataclass(frozen=True, slots=True)
class StationJudgement:
    """What one way of estimating got right and wrong at one station."""

    file: str
    temperature: TemperatureErrors
    errors_c: Means
    springs: tuple[TurningDay, ...]
    autumns: tuple[TurningDay, ...]
    spring_days: WindowDays
    autumn_days: WindowDays
    within_80: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class Judgement:
    """One way of estimating, judged at every station; intervals by drawing years, where asked for."""

    stations: tuple[StationJudgement, ...]
    affine_rmse_c: float | None
    rmse_interval_c: Interval | None
    opening_intervals: Mapping[str, Interval | None]
    closing_intervals: Mapping[str, Interval | None]
    rmse_by_year_c: Mapping[int, float]

    @property
    def mean_rmse_c(self) -> float | None:
        """Mean over the stations that have a judged day."""
        return mean([station.temperature.rmse_c for station in self.stations])

    @property
    def opening(self) -> TurningErrors:
        return turning_errors(turn for station in self.stations for turn in station.springs)

    @property
    def closing(self) -> TurningErrors:
        return turning_errors(turn for station in self.stations for turn in station.autumns)

    @property
    def spring_days(self) -> WindowDays:
        return together(station.spring_days for station in self.stations)

    @property
    def autumn_days(self) -> WindowDays:
        return together(station.autumn_days for station in self.stations)

    @property
    def coverage_80(self) -> float | None:
        """Share of all judged days whose measurement lies in the 80 % band."""
        counts = [station.within_80 for station in self.stations if station.within_80 is not None]
        days = sum(of for _, of in counts)
        return sum(within for within, _ in counts) / days if days else None


def mean(values: Sequence[float | None]) -> float | None:
    """Of the known ones; None where there is none."""
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None


def scored(record: SoilRecord) -> dict[date, float]:
    """The measured days of a record that count."""
    return scored_days(record.days[0].day, record.soil_10cm_c)


def judge_estimates(records: Sequence[SoilRecord], estimates: Sequence[Estimated]) -> Judgement:
    """One way of estimating at all stations; `estimates` in the order of `records`."""
    # numpy comes with these: loaded here, the command line starts without it.
    from models.agronomy.affine import affine_rmses_c
    from models.agronomy.year_blocks import draw_years, rmse_by_year, rmse_interval, turning_intervals

    measured = [scored(record) for record in records]
    stations = tuple(
        _judge_station(record.station.file, estimate, soil_c)
        for record, estimate, soil_c in zip(records, estimates, measured, strict=True)
    )
    errors_c = [station.errors_c for station in stations]
    draws = draw_years(sorted({day.year for soil_c in measured for day in soil_c}))
    pairs = [(estimate.mean_c, soil_c) for estimate, soil_c in zip(estimates, measured, strict=True)]
    return Judgement(
        stations=stations,
        affine_rmse_c=mean(affine_rmses_c(pairs)),
        rmse_interval_c=rmse_interval(errors_c, draws),
        opening_intervals=turning_intervals([turn for each in stations for turn in each.springs], draws),
        closing_intervals=turning_intervals([turn for each in stations for turn in each.autumns], draws),
        rmse_by_year_c=rmse_by_year(errors_c),
    )


def _judge_station(file: str, estimate: Estimated, measured: Means) -> StationJudgement:
    years = sorted({day.year for day in measured})
    means = estimate.mean_c
    return StationJudgement(
        file=file,
        temperature=temperature_errors(means, measured),
        errors_c=errors_by_day(means, measured),
        springs=tuple(judge_spring(means, measured, year) for year in years),
        autumns=tuple(judge_autumn(means, measured, year) for year in years),
        spring_days=window_days(means, measured, calendar_days(years, SPRING_CALENDAR)),
        autumn_days=window_days(means, measured, calendar_days(years, AUTUMN_CALENDAR)),
        within_80=None if estimate.sd_c is None else within_80(means, estimate.sd_c, measured),
    )
