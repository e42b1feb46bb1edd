"""The law of the pauses: they grow, they end, and a key always has the same."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notifiers.retry import LAST_ATTEMPT, pause_after

KEYS = st.text(min_size=1, max_size=80)


def pauses(key: str) -> list[timedelta]:
    found = [pause_after(attempt, key) for attempt in range(1, LAST_ATTEMPT)]
    return [pause for pause in found if pause is not None]


@given(KEYS)
def test_each_pause_is_longer_than_the_one_before(key: str) -> None:
    told = pauses(key)
    assert len(told) == LAST_ATTEMPT - 1
    assert told == sorted(set(told))


@given(KEYS)
def test_pauses_are_bounded(key: str) -> None:
    told = pauses(key)
    assert timedelta(minutes=10) <= told[0] < timedelta(minutes=12, seconds=30)
    assert timedelta(hours=21) <= sum(told, timedelta()) < timedelta(hours=27)


@given(KEYS, st.integers(LAST_ATTEMPT, 1000))
def test_there_is_an_end(key: str, attempt: int) -> None:
    assert pause_after(attempt, key) is None


@given(KEYS)
def test_same_key_same_jitter(key: str) -> None:
    assert pauses(key) == pauses(key)


def test_messages_that_failed_together_are_spread() -> None:
    together = {pause_after(1, f"watering:{lawn}:2026-04-20") for lawn in range(200)}
    assert len(together) == 200


@pytest.mark.parametrize("attempt", [0, -1])
def test_there_is_no_attempt_before_the_first(attempt: int) -> None:
    with pytest.raises(ValueError, match="the first is 1"):
        pause_after(attempt, "key")
