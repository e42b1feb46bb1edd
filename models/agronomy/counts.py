"""Grubs counted in samples to density with its limits, and what the density calls for.

The limits are exact for grubs strewn at random (Garwood 1936, Biometrika 28:437). Leatherjackets come in
clumps, so the truth is wider still: they are the optimistic case, and sentences say "at best".
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from models.facts.rules import ProgrammeRules
from models.facts.work import GrubCount


@dataclass(frozen=True, slots=True)
class Density:
    """Grubs a m2, with the limits that hold them with `confidence`."""

    per_m2: float
    low_per_m2: float
    high_per_m2: float
    found: int
    sampled_m2: float
    confidence: float


class Call(StrEnum):
    TREAT = "treat"
    WATCH = "watch"
    LEAVE = "leave"
    CANNOT_TELL = "too early or too late to tell"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a count calls for, and the sentence that says why."""

    call: Call
    density: Density
    sentence: str


def core_area_m2(diameter_m: float) -> float:
    """Area of one round core or pipe."""
    return math.pi * diameter_m**2 / 4


def garwood(found: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact limits of the mean of a Poisson count of `found`.

    Half the quantiles of chi-square with 2x and 2x + 2 degrees of freedom; the lower one of 0 is 0.
    ValueError where `found` is negative or `confidence` is not between 0 and 1.
    """
    from scipy.stats import chi2

    if found < 0 or not 0 < confidence < 1:
        raise ValueError(f"{found} found, confidence {confidence}: need 0 or more, and a share of 1")
    tail = (1 - confidence) / 2
    low = float(chi2.ppf(tail, 2 * found)) / 2 if found else 0.0
    return low, float(chi2.ppf(1 - tail, 2 * found + 2)) / 2


def density(count: GrubCount, confidence: float = 0.95) -> Density:
    """Grubs a m2 of a count, with exact Poisson limits."""
    found = sum(count.found)
    sampled_m2 = len(count.found) * count.sample_area_m2
    low, high = garwood(found, confidence)
    return Density(found / sampled_m2, low / sampled_m2, high / sampled_m2, found, sampled_m2, confidence)


def counts_speak(day: date, rules: ProgrammeRules) -> bool:
    """Whether leatherjackets can be told from a count on `day`; the span goes over the new year."""
    month_day = (day.month, day.day)
    return month_day >= rules.counts_speak_from or month_day <= rules.counts_speak_to


def verdict(count: GrubCount, rules: ProgrammeRules) -> Verdict:
    """What the count calls for against the business's thresholds."""
    measured = density(count)
    call = _call(count.day, measured.per_m2, rules)
    return Verdict(call, measured, f"{_measured_words(measured)}: {_call_words(call, rules)}.")


def _call(day: date, per_m2: float, rules: ProgrammeRules) -> Call:
    if not counts_speak(day, rules):
        return Call.CANNOT_TELL
    if per_m2 >= rules.treat_per_m2:
        return Call.TREAT
    return Call.WATCH if per_m2 >= rules.watch_per_m2 else Call.LEAVE


def _measured_words(measured: Density) -> str:
    return (
        f"{measured.found} found in {measured.sampled_m2:.3f} m2 is {measured.per_m2:.0f} a m2 "
        f"({measured.low_per_m2:.0f} to {measured.high_per_m2:.0f} at best)"
    )


def _call_words(call: Call, rules: ProgrammeRules) -> str:
    return {
        Call.TREAT: f"{rules.treat_per_m2:.0f} a m2 or more calls for a treatment",
        Call.WATCH: f"{rules.watch_per_m2:.0f} a m2 or more is to be watched, "
        f"{rules.treat_per_m2:.0f} calls for a treatment",
        Call.LEAVE: f"below {rules.watch_per_m2:.0f} a m2 nothing is called for",
        Call.CANNOT_TELL: "too early or too late in the year to tell leatherjackets from a count",
    }[call]
