"""A judging of soil estimates, told: as JSON for machines, in tables and words for people."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from statistics import pstdev
from typing import Any

from frontends.commands.judgement import Interval, Judgement, StationJudgement, mean
from models.agronomy.judging import TemperatureErrors, TurningErrors
from models.agronomy.window_days import WindowDays, together

OURS = "this estimate"
LEGEND = (
    "Opens: first day from 7 March to 15 June whose trailing 7-day mean is 10 °C or more. Closes: first",
    "  day from 1 September to 30 November whose mean is less. Errors in days; a bias with + is late.",
    "Calendars (common practice): 15 April to 15 May, 1 September to 31 October; a day is open where the",
    "  seven whole days before it have a mean of 10 °C or more.",
    "Draws: whole years drawn a thousand times. Corrected: RMSE after a mean and a slope fitted on the",
    "  other stations, the fairer figure for a model that was never fitted here.",
)
TURNING = ("mean_abs_days", "median_abs_days", "p90_abs_days", "bias_days", "within_3_days")


def for_machines(ours: Judgement, peers: Mapping[str, Judgement]) -> dict[str, Any]:
    """The agreed keys, with more of them; °C, days, and shares from 0 to 1."""
    return {
        **_plain(ours),
        "coverage_80": {
            "pooled": _rounded(ours.coverage_80),
            "stations": {station.file: _rounded(_covered(station)) for station in ours.stations},
        },
        "baselines": {name: _plain(judgement) for name, judgement in peers.items()},
    }


def _plain(judgement: Judgement) -> dict[str, Any]:
    from models.agronomy.year_blocks import DRAWS, LEVEL

    return {
        "stations": [
            {"file": station.file, **_numbers(station.temperature)} for station in judgement.stations
        ],
        "mean_rmse_c": _rounded(judgement.mean_rmse_c),
        "opening": _numbers(judgement.opening),
        "closing": _numbers(judgement.closing),
        "affine_rmse_c": _rounded(judgement.affine_rmse_c),
        "window_days": {
            "spring": _shares(judgement.spring_days),
            "autumn": _shares(judgement.autumn_days),
            "both": _shares(together([judgement.spring_days, judgement.autumn_days])),
        },
        "bootstrap": {
            "draws": DRAWS,
            "level": LEVEL,
            "mean_rmse_c": _both_ends(judgement.rmse_interval_c),
            "opening": {name: _both_ends(judgement.opening_intervals[name]) for name in TURNING},
            "closing": {name: _both_ends(judgement.closing_intervals[name]) for name in TURNING},
        },
        "rmse_by_year_c": {
            str(year): _rounded(error_c) for year, error_c in judgement.rmse_by_year_c.items()
        },
    }


def _numbers(errors: TemperatureErrors | TurningErrors) -> dict[str, Any]:
    named = asdict(errors)
    # The seasons left out are told to people; machines get the agreed shape.
    return {
        name: _rounded(value) for name, value in named.items() if name not in ("with_gaps", "without_day")
    }


def _shares(days: WindowDays) -> dict[str, float | None]:
    named = ("right_open", "right_shut", "wrong_open", "wrong_shut")
    return {"days": days.days, **{name: _rounded(days.share(getattr(days, name))) for name in named}}


def _both_ends(interval: Interval | None) -> list[float | None] | None:
    return None if interval is None else [_rounded(end) for end in interval]


def _rounded(value: float | None) -> float | None:
    return round(value, 4) if isinstance(value, float) else value


def _covered(station: StationJudgement) -> float | None:
    within, of = station.within_80 or (0, 0)
    return within / of if of else None


def for_people(ours: Judgement, peers: Mapping[str, Judgement]) -> Iterator[str]:
    """Lines: the stations, then each measure with the peers beside it, then what to know of them."""
    from models.agronomy.reference.peers import WORDS

    ways = {OURS: ours, **{WORDS[name]: judgement for name, judgement in peers.items()}}
    yield from _stations(ours)
    yield ""
    yield from _temperatures(ways)
    for title, after, errors, intervals in (
        ("Day the soil opens", "springs", "opening", "opening_intervals"),
        ("Day the soil closes", "autumns", "closing", "closing_intervals"),
    ):
        yield ""
        yield (
            f"{title:<32}{after:>8}{'mean':>6}{'90 % of draws':>15}{'median':>8}{'9 in 10':>9}"
            f"{'in 3 d':>8}{'bias':>7}"
        )
        for name, judgement in ways.items():
            yield _turning(name, getattr(judgement, errors), getattr(judgement, intervals)["mean_abs_days"])
    yield ""
    yield from _window_days(ways)
    yield ""
    yield from _to_know(ours)


def _stations(ours: Judgement) -> Iterator[str]:
    yield f"{'Station':<32}{'days':>8}{'RMSE °C':>9}{'bias':>7}{'spring':>8}{'autumn':>8}{'in 80 % band':>14}"
    for station in ours.stations:
        at = station.temperature
        yield (
            f"{station.file:<32}{at.days:>8}{_number(at.rmse_c):>9}{_signed(at.bias_c, 2):>7}"
            f"{_number(at.rmse_spring_c):>8}{_number(at.rmse_autumn_c):>8}{_percent(_covered(station)):>14}"
        )


def _temperatures(ways: Mapping[str, Judgement]) -> Iterator[str]:
    yield (
        f"{'Daily mean soil, over stations':<32}{'RMSE °C':>8}{'90 % of draws':>15}{'worst':>7}{'bias':>7}"
        f"{'spring':>8}{'autumn':>8}{'corrected':>11}"
    )
    for name, judgement in ways.items():
        errors = [station.temperature for station in judgement.stations]
        worst = max((one.rmse_c for one in errors if one.rmse_c is not None), default=None)
        yield (
            f"{name:<32}{_number(judgement.mean_rmse_c):>8}{_interval(judgement.rmse_interval_c, 2):>15}"
            f"{_number(worst):>7}{_signed(mean([one.bias_c for one in errors]), 2):>7}"
            f"{_number(mean([one.rmse_spring_c for one in errors])):>8}"
            f"{_number(mean([one.rmse_autumn_c for one in errors])):>8}{_number(judgement.affine_rmse_c):>11}"
        )


def _turning(name: str, errors: TurningErrors, interval: Interval | None) -> str:
    return (
        f"{name:<32}{errors.seasons:>8}{_number(errors.mean_abs_days, 1):>6}{_interval(interval, 1):>15}"
        f"{_number(errors.median_abs_days, 1):>8}{_number(errors.p90_abs_days, 1):>9}"
        f"{_percent(errors.within_3_days):>8}{_signed(errors.bias_days, 1):>7}"
    )


def _window_days(ways: Mapping[str, Judgement]) -> Iterator[str]:
    yield (
        f"{'Days of both calendars':<32}{'days':>8}{'rightly open':>14}{'rightly shut':>14}"
        f"{'wrongly open':>14}{'wrongly shut':>14}"
    )
    for name, judgement in ways.items():
        days = together([judgement.spring_days, judgement.autumn_days])
        counts = (days.right_open, days.right_shut, days.wrong_open, days.wrong_shut)
        yield f"{name:<32}{days.days:>8}" + "".join(f"{_percent(days.share(count)):>14}" for count in counts)


def _to_know(ours: Judgement) -> Iterator[str]:
    opening, closing = ours.opening, ours.closing
    by_station = [one.temperature.rmse_c for one in ours.stations if one.temperature.rmse_c is not None]
    yield f"{_percent(ours.coverage_80)} of all days lie in the estimate's 80 % band."
    yield f"Spread of the estimate's RMSE: {_spread(by_station)} over stations,"
    yield f"  {_spread(list(ours.rmse_by_year_c.values()))} over years."
    yield f"Left out with gaps: {opening.with_gaps} springs, {closing.with_gaps} autumns."
    yield f"Never opened or closed: {opening.without_day} springs, {closing.without_day} autumns."
    yield from LEGEND


def _spread(values: list[float]) -> str:
    if not values:
        return "-"
    return f"{min(values):.2f} to {max(values):.2f} °C (standard deviation {pstdev(values):.2f})"


def _number(value: float | None, digits: int = 2) -> str:
    return "-" if value is None else f"{value:.{digits}f}"


def _signed(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{value:+.{digits}f}"


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.0f} %"


def _interval(interval: Interval | None, digits: int) -> str:
    return "-" if interval is None else f"{interval[0]:.{digits}f} to {interval[1]:.{digits}f}"
