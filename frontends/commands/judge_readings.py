"""`swardtide judge readings`: what a few probe readings a season are worth, on measured records."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import timedelta
from math import sqrt
from pathlib import Path
from statistics import fmean
from typing import Annotated, Any

import typer

from frontends.commands.probe_records import (
    Attendance,
    ProbedStation,
    attendances,
    probed_station,
    probes,
)
from frontends.commands.soil_records import load_records
from models.agronomy.judging import AUTUMN_MONTHS, SPRING_MONTHS
from models.agronomy.lawn_prior import Prior, fitted_prior
from models.agronomy.readings import BACK_DAYS, Priors, corrected
from models.facts.weather import SoilDay

STAGES = (1, 2, 4)  # seasons with readings: one, a year of them, two years of them
MEANS = ("rmse_before_c", "rmse_after_c", "rmse_going_on_c", "season_rmse_before_c", "season_rmse_after_c")
LEGEND = (
    "A case is a year after such readings, with each probe drawn anew; all its days, then March to May and",
    "  September to November alone. Estimate and prior were fitted on the other stations. Probes: measured",
    "  mean, an error of 0.5 °C, and the day's wave at an hour between 9 and 17 UTC.",
)
BIASED_C = 0.5
TENTH = 0.9
WITHIN_80 = 1.2816  # standard deviations either side that hold 80 % of a normal distribution
YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Errors:
    """Sums over days, of errors without readings, with them, and with those that go on meanwhile, °C."""

    days: int = 0
    before_c: float = 0.0
    before_c2: float = 0.0
    after_c2: float = 0.0
    going_on_c2: float = 0.0
    inside_before: int = 0
    inside_after: int = 0

    def __add__(self, other: Errors) -> Errors:
        pairs = zip(asdict(self).values(), asdict(other).values(), strict=True)
        return Errors(*(one + two for one, two in pairs))

    @property
    def bias_c(self) -> float:
        return self.before_c / self.days

    @property
    def rmse_c(self) -> tuple[float, float, float]:
        sums = self.before_c2, self.after_c2, self.going_on_c2
        before_c, after_c, going_on_c = (sqrt(each / self.days) for each in sums)
        return before_c, after_c, going_on_c

    @property
    def inside_80(self) -> tuple[float, float]:
        return self.inside_before / self.days, self.inside_after / self.days


@dataclass(frozen=True, slots=True)
class Following:
    """The year after some seasons of readings at one station: all its days, and those of its seasons."""

    all_days: Errors
    in_season: Errors


def readings(
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    as_json: Annotated[bool, typer.Option("--json", help="For machines.")] = False,
    seed: Annotated[int, typer.Option(help="Of the probes' errors and hours.")] = 1,
    draws: Annotated[int, typer.Option(min=1, help="Times each probe is drawn anew.")] = 3,
    shift_c: Annotated[float, typer.Option("--shift", help="Move every estimate by so many °C.")] = 0.0,
) -> None:
    """Judge the correction by probe readings: three a season, at stations the estimate was not fitted to."""
    stations = stations_of(records, shift_c)
    priors = priors_left_out(stations, shift_c)
    with typer.progressbar(STAGES, label="Judging", file=sys.stderr) as stages:
        judged = [judge_stage(stations, priors, seasons, seed, draws) for seasons in stages]
    told = {"seed": seed, "draws": draws, "shift_c": shift_c, "stages": judged}
    typer.echo(json.dumps(told) if as_json else _for_people(judged))


def stations_of(records: Path, shift_c: float = 0.0) -> tuple[ProbedStation, ...]:
    """Each station with estimates fitted on the others, moved by `shift_c`."""
    from frontends.commands.judge import soil_estimates

    loaded = load_records(records)
    estimates = soil_estimates(loaded, True)
    return tuple(
        probed_station(record, estimated.mean_c, estimated.sd_c or {}, shift_c)
        for record, estimated in zip(loaded, estimates, strict=True)
    )


def priors_left_out(stations: Sequence[ProbedStation], shift_c: float = 0.0) -> list[Prior]:
    """For each station the prior fitted on the others, whose estimates were not moved."""
    # numpy comes with these: loaded here, the command line starts without it.
    from models.agronomy.readings_fit import fit_readings, place_errors

    places = [
        place_errors(
            [replace(soil, mean_10cm_c=soil.mean_10cm_c - shift_c) for soil in station.soil_days],
            station.measured_c,
        )
        for station in stations
    ]
    return [fitted_prior(fit_readings(places[:out] + places[out + 1 :])) for out in range(len(places))]


def judge_stage(
    stations: Sequence[ProbedStation], priors: Sequence[Prior], seasons: int, seed: int, draws: int
) -> dict[str, Any]:
    """After so many seasons: errors of the following year at each station, and what they come to."""
    judged = [
        (station.file, list(_years(station, Priors(prior, prior), seasons, seed, draws)))
        for station, prior in zip(stations, priors, strict=True)
    ]
    return _stage(seasons, judged)


def _years(station: ProbedStation, by: Priors, seasons: int, seed: int, draws: int) -> Iterator[Following]:
    for attendance in attendances(station, seasons):
        for draw in range(seed, seed + draws):
            yield _following(station, by, attendance, draw)


def _following(station: ProbedStation, by: Priors, attendance: Attendance, seed: int) -> Following:
    first, last = attendance.days[0] - timedelta(days=BACK_DAYS), attendance.ends + YEAR
    soil_days = [soil for soil in station.soil_days if first <= soil.day <= last]
    since = attendance.ends + timedelta(days=1)
    site = [soil for soil in soil_days if soil.day >= since]
    own, going_on = (
        corrected(soil_days, probes(station, days, seed), station.lawn, station.ranges_c, by, since)
        for days in (attendance.days, attendance.days + attendance.later)
    )
    errors = [
        (soil[0].day, _errors(station.measured_c[soil[0].day], *soil))
        for soil in zip(site, own, going_on, strict=True)
        if soil[0].day in station.measured_c
    ]
    in_season = (one for day, one in errors if day.month in (*SPRING_MONTHS, *AUTUMN_MONTHS))
    return Following(sum((one for _, one in errors), Errors()), sum(in_season, Errors()))


def _errors(measured_c: float, site: SoilDay, own: SoilDay, going_on: SoilDay) -> Errors:
    off = [soil.mean_10cm_c - measured_c for soil in (site, own, going_on)]
    inside = [abs(off[place]) <= WITHIN_80 * soil.sd_c for place, soil in enumerate((site, own))]
    return Errors(1, off[0], off[0] ** 2, off[1] ** 2, off[2] ** 2, *inside)


def _stage(seasons: int, judged: Sequence[tuple[str, Sequence[Following]]]) -> dict[str, Any]:
    rows = [_station(file, years) for file, years in judged if years]
    biased = [row for row in rows if abs(row["bias_c"]) >= BIASED_C]
    years = [year.all_days for _, each in judged for year in each if abs(year.all_days.bias_c) >= BIASED_C]
    total = sum((year.all_days for _, each in judged for year in each), Errors())
    return {
        "seasons_with_readings": seasons,
        "stations": rows,
        **{f"mean_{name}": round(fmean(row[name] for row in rows), 4) for name in MEANS},
        "worst_increase_c": round(max(row["rmse_after_c"] - row["rmse_before_c"] for row in rows), 4),
        "biased_stations": len(biased),
        "biased_improved_by_a_tenth": sum(
            row["rmse_after_c"] <= TENTH * row["rmse_before_c"] for row in biased
        ),
        "biased_cases": _biased_cases(years),
        "inside_80_before": round(total.inside_80[0], 4),
        "inside_80_after": round(total.inside_80[1], 4),
    }


def _station(file: str, years: Sequence[Following]) -> dict[str, Any]:
    days = sum((year.all_days for year in years), Errors())
    season = sum((year.in_season for year in years), Errors())
    return {
        "file": file,
        "cases": len(years),
        "bias_c": round(days.bias_c, 4),
        "rmse_before_c": round(days.rmse_c[0], 4),
        "rmse_after_c": round(days.rmse_c[1], 4),
        "rmse_going_on_c": round(days.rmse_c[2], 4),
        "season_rmse_before_c": round(season.rmse_c[0], 4),
        "season_rmse_after_c": round(season.rmse_c[1], 4),
    }


def _biased_cases(years: Sequence[Errors]) -> dict[str, Any]:
    """Following years in which the estimate alone was off by half a degree or more, taken together."""
    if not years:
        return {"cases": 0, "rmse_before_c": None, "rmse_after_c": None}
    before_c, after_c, _ = sum(years, Errors()).rmse_c
    return {"cases": len(years), "rmse_before_c": round(before_c, 4), "rmse_after_c": round(after_c, 4)}


def _for_people(judged: Sequence[dict[str, Any]]) -> str:
    stages = (line for stage in judged for line in (*_stage_lines(stage), ""))
    return "\n".join([*stages, *LEGEND])


def _stage_lines(stage: dict[str, Any]) -> Iterator[str]:
    seasons = stage["seasons_with_readings"]
    yield f"The year after {seasons} season{'s' * (seasons > 1)} with three readings each, RMSE °C"
    yield f"{'station':<20}{'cases':>7}{'bias':>8}{'without':>9}{'with':>7}{'seasons':>9}{'with':>7}"
    for row in stage["stations"]:
        yield (
            f"{row['file']:<20}{row['cases']:>7}{row['bias_c']:>+8.2f}{row['rmse_before_c']:>9.2f}"
            f"{row['rmse_after_c']:>7.2f}{row['season_rmse_before_c']:>9.2f}{row['season_rmse_after_c']:>7.2f}"
        )
    before, after, going_on, season, season_after = (stage[f"mean_{name}"] for name in MEANS)
    yield f"{'mean':<20}{'':>15}{before:>9.3f}{after:>7.3f}{season:>9.3f}{season_after:>7.3f}"
    yield f"  mean with readings going on in that year: {going_on:.3f}"
    yield f"  most that a station loses: {stage['worst_increase_c']:+.3f} °C"
    biased, better = stage["biased_stations"], stage["biased_improved_by_a_tenth"]
    yield f"  stations off by {BIASED_C} °C or more: {biased}; better by a tenth or more: {better}"
    off = stage["biased_cases"]
    if off["cases"]:
        fall = 1 - off["rmse_after_c"] / off["rmse_before_c"]
        yield (
            f"  cases off by {BIASED_C} °C or more: {off['cases']}, together "
            f"{off['rmse_before_c']:.2f} without, {off['rmse_after_c']:.2f} with ({fall:.0%} less)"
        )
    yield (
        f"  days inside the 80 % band: {stage['inside_80_before']:.0%} without, "
        f"{stage['inside_80_after']:.0%} with"
    )
