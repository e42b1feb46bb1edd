"""`swardtide judge outlook`: how good the likely dates are, weeks ahead, on measured records."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from statistics import fmean
from typing import Annotated, Any

import typer

from frontends.commands.soil_records import SoilRecord, load_records
from models.agronomy.judging import (
    SCORED_FROM,
    SEARCH_FROM,
    SEARCH_TO,
    WARM_UP_DAYS,
    soil_opening,
    spring_has_gap,
)
from models.agronomy.soil import advance
from models.facts.weather import SoilDay
from models.units import day_words
from scheduler.windows.outlook import LEAST_YEARS

ISSUED = ((2, 1), (3, 1), (4, 1), (4, 15))
LEVEL = (0.05, 0.95)

Interval = tuple[float, float]

LEGEND = (
    "Opens: first day from 7 March to 15 June whose trailing 7-day mean of the measured 10 cm soil is 10 °C",
    "  or more; a spring without one counts as 16 June. Forecast from the estimated soil of earlier days and",
    "  years of the station, with the estimate's own error. Scores in days.",
    "Left out: springs that had opened by then, by the thermometer or by the estimate.",
    "Held: share of openings inside the 80 % range. Score: continuous ranked probability score, less is",
    "  better. Climate: the same past years without today's soil. Ratio: score over climate's. Later: those",
    "  of the climate's years that open after the day of issue.",
    "In brackets 90 % of a thousand draws of whole years.",
)
BY_THERMOMETER = "Springs that had not opened by the thermometer"
BY_ESTIMATE = "Springs that had not opened as far as was known, by the estimate"


@dataclass(frozen=True, slots=True)
class Forecast:
    """One station-spring as seen on one day of issue; scores in days."""

    file: str
    issued: tuple[int, int]
    year: int
    open_already: bool
    told_open: bool
    held: bool
    score: float
    climate_score: float
    later_score: float
    climate_held: bool


def outlook(
    records: Annotated[Path, typer.Option(help="Directory of station files with stations.csv.")],
    as_json: Annotated[bool, typer.Option("--json", help="For machines.")] = False,
) -> None:
    """Judge the likely dates on measured openings, beside the climate of the past years alone."""
    forecasts = [one for record in load_records(records) for one in forecasts_of(record)]
    told = for_machines(forecasts)
    typer.echo(json.dumps(told) if as_json else "\n".join(for_people(told)))


def forecasts_of(record: SoilRecord) -> Iterator[Forecast]:
    """Every spring from 2013 that was measured whole, with at least three estimated years before it."""
    soil = soil_days_of(record)
    last = soil[-1].day if soil else date.min
    for year in sorted({day.year for day in record.soil_10cm_c}):
        measured_whole = not spring_has_gap(record.soil_10cm_c, year)
        if year < SCORED_FROM.year or not measured_whole or last < date(year, *SEARCH_TO):
            continue
        for issued in ISSUED:
            today = date(year, *issued)
            forecast = _forecast(record, [day for day in soil if day.day < today], today)
            if forecast is not None:
                yield forecast


def soil_days_of(record: SoilRecord) -> list[SoilDay]:
    """The estimate with the shipped parameters, without its first year, which warms up."""
    estimates, _ = advance(None, record.days, record.station.position.latitude)
    days = zip(record.days, estimates, strict=True)
    return [
        SoilDay(
            day=day.day,
            mean_10cm_c=estimate.mean_10cm_c,
            sd_c=estimate.sd_c,
            reference_et_mm=0.0,  # the ground is no part of it
            rain_mm=day.rain_mm,
            temperature_min_c=day.temperature_min_c,
            provenance=day.provenance,
            weather_revision=day.revision,
            gap_days=day.gap_days,
        )
        for day, estimate in list(days)[WARM_UP_DAYS:]
    ]


def _forecast(record: SoilRecord, known: Sequence[SoilDay], today: date) -> Forecast | None:
    # numpy comes with these: loaded here, the command line starts without it.
    from models.agronomy.scores import crps, within_range
    from scheduler.windows.opening import opening_ahead

    found = opening_ahead(known, today)
    if found.from_years < LEAST_YEARS:
        return None
    opened = soil_opening(record.soil_10cm_c, today.year)
    estimated = soil_opening({day.day: day.mean_10cm_c for day in known}, today.year)
    observed = _place(opened or date(today.year, *SEARCH_TO) + timedelta(days=1))
    later = found.climate[found.climate > _place(today)]
    return Forecast(
        file=record.station.file,
        issued=(today.month, today.day),
        year=today.year,
        open_already=opened is not None and opened <= today,
        told_open=estimated is not None,
        held=within_range(found.ahead, observed),
        score=crps(found.ahead, observed),
        climate_score=crps(found.climate, observed),
        later_score=crps(later if len(later) else [_place(today) + 1], observed),
        climate_held=within_range(found.climate, observed),
    )


def _place(day: date) -> int:
    return (day - date(day.year, *SEARCH_FROM)).days


def for_machines(forecasts: Sequence[Forecast]) -> dict[str, Any]:
    """Scores in days, shares from 0 to 1; `pooled` over all days of issue."""
    return {
        "stations": sorted({one.file for one in forecasts}),
        "issued": [
            {"on": f"{issued[0]:02}-{issued[1]:02}", **_summary([f for f in forecasts if f.issued == issued])}
            for issued in ISSUED
        ],
        "pooled": _summary(forecasts),
    }


def _summary(forecasts: Sequence[Forecast]) -> dict[str, Any]:
    ahead = [one for one in forecasts if not one.open_already]
    unopened = [one for one in forecasts if not one.told_open]
    return {
        "springs": len(ahead),
        "open_already": len(forecasts) - len(ahead),
        **_scores(ahead),
        "told_open": len(forecasts) - len(unopened),
        "not_told_open": {"springs": len(unopened), **_scores(unopened)},
    }


def _scores(forecasts: Sequence[Forecast]) -> dict[str, Any]:
    return {
        "within_80": _share(forecasts, lambda one: one.held),
        "within_80_interval": _interval(forecasts, lambda one: one.held, lambda _: 1.0),
        "climate_within_80": _share(forecasts, lambda one: one.climate_held),
        "crps_days": _share(forecasts, lambda one: one.score),
        "climate_crps_days": _share(forecasts, lambda one: one.climate_score),
        "later_crps_days": _share(forecasts, lambda one: one.later_score),
        "ratio": _ratio(forecasts),
        "ratio_interval": _interval(forecasts, lambda one: one.score, lambda one: one.climate_score),
    }


Measure = Callable[[Forecast], float]


def _share(forecasts: Sequence[Forecast], measure: Measure) -> float | None:
    return round(fmean(measure(one) for one in forecasts), 4) if forecasts else None


def _ratio(forecasts: Sequence[Forecast]) -> float | None:
    climate = sum(one.climate_score for one in forecasts)
    return round(sum(one.score for one in forecasts) / climate, 4) if climate else None


def _interval(forecasts: Sequence[Forecast], above: Measure, below: Measure) -> Interval | None:
    """90 % interval of the sum of `above` over the sum of `below`, whole years drawn."""
    import numpy as np

    from models.agronomy.year_blocks import draw_years

    draws = draw_years([one.year for one in forecasts])
    sums = np.zeros((len(draws.years), 2))
    for one in forecasts:
        sums[draws.years.index(one.year)] += above(one), below(one)
    drawn = draws.times @ sums if len(sums) else np.zeros((0, 2))
    drawn = drawn[drawn[:, 1] > 0]
    if not len(drawn):
        return None
    low, high = np.quantile(drawn[:, 0] / drawn[:, 1], LEVEL)
    return round(float(low), 4), round(float(high), 4)


def for_people(told: dict[str, Any]) -> Iterator[str]:
    rows = [(_issued_words(row["on"]), row) for row in told["issued"]] + [("all", told["pooled"])]
    yield f"Stations: {', '.join(told['stations'])}"
    yield from _table(BY_THERMOMETER, ((words, row["open_already"], row) for words, row in rows))
    apart = ((words, row["told_open"], row["not_told_open"]) for words, row in rows)
    yield from _table(BY_ESTIMATE, apart)
    yield from ("", *LEGEND)


def _table(title: str, rows: Iterable[tuple[str, int, dict[str, Any]]]) -> Iterator[str]:
    yield f"\n{title}"
    yield (
        f"{'issued':<12}{'springs':>7}{'left out':>10}{'held':>7} {'':<13}{'score':>6}{'climate':>9}"
        f"{'ratio':>7} {'':<13}{'later':>6}"
    )
    for words, left_out, row in rows:
        yield (
            f"{words:<12}{row['springs']:>7}{left_out:>10}{_number(row['within_80']):>7} "
            f"{_both(row['within_80_interval']):<13}{_number(row['crps_days']):>6}"
            f"{_number(row['climate_crps_days']):>9}{_number(row['ratio']):>7} "
            f"{_both(row['ratio_interval']):<13}{_number(row['later_crps_days']):>6}"
        )


def _issued_words(month_and_day: str) -> str:
    return day_words(date.fromisoformat(f"2001-{month_and_day}"))


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"


def _both(interval: Interval | None) -> str:
    return "" if interval is None else f"({interval[0]:.2f}-{interval[1]:.2f})"
