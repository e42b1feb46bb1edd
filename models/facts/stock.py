"""Live stock: orders and batches of packs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from models.facts.season import Species


@dataclass(frozen=True, slots=True)
class PackOrder:
    """Packs to be asked of the supplier by `order_by`, for use from `needed_by`."""

    key: str
    species: Species
    packs: int
    order_by: date
    needed_by: date
    reason: str
    placed_at: datetime
    delivered: bool = False


@dataclass(frozen=True, slots=True)
class Batch:
    """A delivery's lot. `left` packs are in the fridge, good to the end of `best_before`."""

    key: str
    order_key: str
    species: Species
    packs: int
    left: int
    delivered_on: date
    best_before: date
