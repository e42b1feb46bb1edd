"""Which batch goes to which treatment: first expired, first out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from models.facts.stock import Batch
from models.facts.work import PacksUsed
from models.units import day_words


@dataclass(frozen=True, slots=True)
class Shortage:
    """Too few packs in date; `reason` is a sentence."""

    missing: int
    reason: str


def fefo(batches: Iterable[Batch], packs: int, day: date) -> tuple[PacksUsed, ...] | Shortage:
    """`packs` packs good on `day`, out of the batches that expire first; a Shortage where there are too few.

    The batches are those of one species. A pack is good to the end of its best before.
    """
    left_to_take, used, expired = packs, [], 0
    for batch in sorted(batches, key=lambda batch: (batch.best_before, batch.key)):
        if batch.delivered_on > day:
            continue
        if batch.best_before < day:
            expired += batch.left
        elif take := min(batch.left, left_to_take):
            used.append(PacksUsed(batch.key, take))
            left_to_take -= take
    return _shortage(packs, left_to_take, expired, day) if left_to_take else tuple(used)


def _shortage(packs: int, missing: int, expired: int, day: date) -> Shortage:
    past = f"; past their best before: {expired}" if expired else ""
    return Shortage(
        missing, f"{day_words(day)} needs {packs} pack(s); in date in the fridge: {packs - missing}{past}"
    )
