"""`swardtide judge`: how good the estimates are, against measured records."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from frontends.commands.soil_records import SoilRecord, load_records
from models.agronomy.judging import (
    OpeningErrors,
    Spring,
    TemperatureErrors,
    judge_spring,
    opening_errors,
    scored_days,
    temperature_errors,
)
from models.agronomy.reference.air_week import air_week_c
from models.agronomy.soil import FITTED, SoilParameters, advance

app = typer.Typer(no_args_is_help=True)

Means = Mapping[date, float]


@dataclass(frozen=True, slots=True)
class Judgement:
    """One way of estimating, judged at every station and over all springs together."""

    stations: tuple[tuple[str, TemperatureErrors], ...]
    opening: OpeningErrors

    @property
    def mean_rmse_c(self) -> float | None:
        """Mean over the stations that have a scored day."""
        known = [errors.rmse_c for _, errors in self.stations if errors.rmse_c is not None]
        return sum(known) / len(known) if known else None


@app.callback()
def judge() -> None:
    """How good the estimates and plans are, against measured records."""


@app.command()
def soil(
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    as_json: Annotated[bool, typer.Option("--json", help="For machines.")] = False,
    leave_one_out: Annotated[
        bool, typer.Option("--leave-one-out", help="Refit on the other stations for each.")
    ] = False,
    with_: Annotated[str | None, typer.Option("--with", help="More columns to use: wind,sun.")] = None,
) -> None:
    """Judge the soil estimate on measured records, with the 7-day mean of air beside it."""
    if with_ is not None:
        raise typer.BadParameter(
            f"the estimate cannot use {with_} yet: leave --with out", param_hint="--with"
        )
    loaded = load_records(records)
    estimate = judge_estimates(loaded, soil_estimates(loaded, leave_one_out))
    baseline = judge_estimates(loaded, [air_week_c(record.days) for record in loaded])
    typer.echo(json.dumps(_for_machines(estimate, baseline)) if as_json else _for_people(estimate, baseline))


def soil_estimates(records: Sequence[SoilRecord], leave_one_out: bool) -> list[Means]:
    """Estimated daily means at each station, by the shipped parameters or refitted on the others."""
    parameters = _left_out(records) if leave_one_out else [FITTED] * len(records)
    return [_estimate(record, by) for record, by in zip(records, parameters, strict=True)]


def judge_estimates(records: Sequence[SoilRecord], estimates: Sequence[Means]) -> Judgement:
    """Errors at each station, and of the opening over all of their springs."""
    stations: list[tuple[str, TemperatureErrors]] = []
    springs: list[Spring] = []
    for record, estimated in zip(records, estimates, strict=True):
        measured = scored_days(record.days[0].day, record.soil_10cm_c)
        stations.append((record.station.file, temperature_errors(estimated, measured)))
        years = sorted({day.year for day in measured})
        springs.extend(judge_spring(estimated, measured, year) for year in years)
    return Judgement(tuple(stations), opening_errors(springs))


def _left_out(records: Sequence[SoilRecord]) -> list[SoilParameters]:
    # numpy comes with these: loaded here, the command line starts without it.
    from frontends.commands.fit_soil import training_sets
    from models.agronomy.soil_fit import fit_weights, leave_out

    sets = training_sets(records, FITTED)
    return [fit_weights(leave_out(sets, index), FITTED) for index in range(len(sets))]


def _estimate(record: SoilRecord, by: SoilParameters) -> Means:
    estimates, _ = advance(None, record.days, record.station.position.latitude, by)
    return {estimate.day: estimate.mean_10cm_c for estimate in estimates}


def _for_machines(estimate: Judgement, baseline: Judgement) -> dict[str, Any]:
    return {
        "stations": [{"file": file, **_rounded(errors)} for file, errors in estimate.stations],
        **_summary(estimate),
        "baselines": {"air_7day": _summary(baseline)},
    }


def _summary(judgement: Judgement) -> dict[str, Any]:
    mean = judgement.mean_rmse_c
    opening = _rounded(judgement.opening)
    # The springs left out are told to people; machines get the agreed shape.
    del opening["with_gaps"], opening["without_opening"]
    return {"mean_rmse_c": None if mean is None else round(mean, 4), "opening": opening}


def _rounded(errors: TemperatureErrors | OpeningErrors) -> dict[str, Any]:
    return {
        name: round(value, 4) if isinstance(value, float) else value for name, value in asdict(errors).items()
    }


def _for_people(estimate: Judgement, baseline: Judgement) -> str:
    rows = [f"{'station':<20}{'days':>7}{'RMSE °C':>9}{'bias':>7}{'spring':>8}{'autumn':>8}"]
    for file, errors in estimate.stations:
        numbers = (errors.rmse_c, errors.bias_c, errors.rmse_spring_c, errors.rmse_autumn_c)
        widths = (9, 7, 8, 8)
        cells = "".join(f"{_number(value):>{width}}" for value, width in zip(numbers, widths, strict=True))
        rows.append(f"{file:<20}{errors.days:>7}{cells}")
    return "\n".join([*rows, "", *_words("estimate", estimate), *_words("7-day mean of air", baseline)])


def _words(name: str, judgement: Judgement) -> list[str]:
    opening = judgement.opening
    share = None if opening.within_3_days is None else 100 * opening.within_3_days
    mean, median, most = (
        _number(days, 1) for days in (opening.mean_abs_days, opening.median_abs_days, opening.p90_abs_days)
    )
    return [
        f"{name}: mean RMSE {_number(judgement.mean_rmse_c)} °C",
        f"  the day the soil opens, over {opening.seasons} springs, is wrong by",
        f"  {mean} days in the mean, {median} in the median, at most {most} in nine of ten;",
        f"  {_number(share, 0)} % are within 3 days; bias {_signed(opening.bias_days)} days (+ is late);",
        f"  left out: {opening.with_gaps} springs with gaps, {opening.without_opening} without an opening",
    ]


def _number(value: float | None, digits: int = 2) -> str:
    return "-" if value is None else f"{value:.{digits}f}"


def _signed(days: float | None) -> str:
    return "-" if days is None else f"{days:+.1f}"
