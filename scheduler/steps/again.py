"""Doing a step again when the records it read have changed before it wrote."""

from __future__ import annotations

from collections.abc import Callable

from models.errors import StaleRevision
from models.facts.step import Outcome

TIMES = 4  # a person types an entry now and then; more than a few in a row is a fault worth seeing


def again_if_stale(work: Callable[[], Outcome]) -> Outcome:
    """The outcome of `work`, which reads and writes anew each time; StaleRevision if it never held."""
    for _ in range(TIMES - 1):
        try:
            return work()
        except StaleRevision:
            continue
    return work()
