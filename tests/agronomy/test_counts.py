"""Counts to density and verdict, against printed limits and worked examples."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.agronomy.counts import Call, core_area_m2, counts_speak, density, garwood, verdict
from models.facts.rules import ProgrammeRules
from models.facts.work import GrubCount

PIPE_M2 = core_area_m2(0.10)


def a_count(found: tuple[int, ...], sample_area_m2: float, day: date = date(2024, 3, 1)) -> GrubCount:
    recorded_at = datetime(2024, 3, 1, 12, tzinfo=UTC)
    return GrubCount("visit", "lawn", day, "pipes in brine", sample_area_m2, found, recorded_at)


# Exact Poisson limits after Garwood 1936, by the formula of NAG routine G07ABF; the upper limit of none
# found, 3.689, is also what the online tool epitools prints.
GARWOOD_95 = {
    0: (0.0, 3.6889),
    1: (0.0253, 5.5716),
    2: (0.2422, 7.2247),
    3: (0.6187, 8.7673),
    5: (1.6235, 11.6683),
    9: (4.1154, 17.0848),
    10: (4.7954, 18.3904),
    20: (12.2165, 30.8884),
    50: (37.1110, 65.9188),
    100: (81.3640, 121.6268),
}


@pytest.mark.parametrize(("found", "limits"), GARWOOD_95.items())
def test_limits_of_95_percent(found: int, limits: tuple[float, float]) -> None:
    assert garwood(found) == pytest.approx(limits, abs=5e-5)


@pytest.mark.parametrize(
    ("found", "confidence", "limits"),
    [
        (0, 0.90, (0.0, 2.9957)),
        (5, 0.90, (1.9701, 10.5130)),
        (10, 0.90, (5.4254, 16.9622)),
        (0, 0.99, (0.0, 5.2983)),
        (10, 0.99, (3.7169, 21.3978)),
    ],
)
def test_limits_of_other_confidence(found: int, confidence: float, limits: tuple[float, float]) -> None:
    assert garwood(found, confidence) == pytest.approx(limits, abs=5e-5)


def test_weed_seeds_of_a_textbook() -> None:
    # Snedecor & Cochran 1967, p. 224, from memory: 98 samples, 296 seeds; mean 3.0204 (2.6861, 3.3848).
    counted = density(a_count((296, *([0] * 97)), 1.0))
    assert (counted.per_m2, counted.low_per_m2, counted.high_per_m2) == pytest.approx(
        (3.0204, 2.6861, 3.3848), abs=5e-5
    )


@pytest.mark.parametrize(
    ("found", "per_m2", "low", "high"),
    [
        (5, 53.1, 17.2, 123.8),  # Croprotect (Rothamsted): 5 in 12 pipes stands for about 50 a m2
        (0, 0.0, 0.0, 39.1),
        (9, 95.5, 43.7, 181.3),
    ],
)
def test_twelve_pipes_of_ten_centimetres(found: int, per_m2: float, low: float, high: float) -> None:
    counted = density(a_count((found, *([0] * 11)), PIPE_M2))
    assert (counted.per_m2, counted.low_per_m2, counted.high_per_m2) == pytest.approx(
        (per_m2, low, high), abs=0.05
    )


@given(st.integers(0, 5_000))
def test_the_limits_hold_the_count_and_rise_with_it(found: int) -> None:
    low, high = garwood(found)
    next_low, next_high = garwood(found + 1)
    assert low <= found <= high
    assert low < next_low
    assert high < next_high


@pytest.mark.parametrize(("found", "confidence"), [(-1, 0.95), (3, 0.0), (3, 1.0)])
def test_impossible_counts_are_refused(found: int, confidence: float) -> None:
    with pytest.raises(ValueError, match="need 0 or more"):
        garwood(found, confidence)


# Milne, Laughlin & Coggins 1958: turves tell leatherjackets from mid-October until they pupate in June.
@pytest.mark.parametrize(
    ("day", "speaks"),
    [
        (date(2024, 10, 14), False),
        (date(2024, 10, 15), True),
        (date(2024, 12, 31), True),
        (date(2025, 1, 1), True),
        (date(2025, 5, 31), True),
        (date(2025, 6, 1), False),
    ],
)
def test_when_counts_speak(day: date, speaks: bool) -> None:
    assert counts_speak(day, ProgrammeRules()) is speaks


# Michigan State University: 15 a square foot (161 a m2) in home lawns; SRUC: 100 a m2 costs growth.
@pytest.mark.parametrize(
    ("found", "call"), [(0, Call.LEAVE), (9, Call.LEAVE), (10, Call.WATCH), (16, Call.TREAT)]
)
def test_what_a_tenth_of_a_square_metre_calls_for(found: int, call: Call) -> None:
    assert verdict(a_count((found,), 0.1), ProgrammeRules()).call is call


def test_the_sentence_says_numbers_limits_and_threshold() -> None:
    told = verdict(a_count((4, 6, 3, 5), 0.0232), ProgrammeRules())
    # 18 in 0.0928 m2; limits 10.668 and 28.448 (table of Poisson limits, from memory) over that area.
    assert told.sentence == (
        "18 found in 0.093 m2 is 194 a m2 (115 to 307 at best): 160 a m2 or more calls for a treatment."
    )


def test_a_summer_count_tells_nothing() -> None:
    told = verdict(a_count((40,), 0.1, day=date(2024, 7, 1)), ProgrammeRules())
    assert told.call is Call.CANNOT_TELL
    assert told.sentence.endswith("too early or too late in the year to tell leatherjackets from a count.")
