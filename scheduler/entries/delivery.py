"""Packs came from the supplier."""

from __future__ import annotations

from datetime import date, datetime

from models.errors import Fault, RefusedInput
from models.facts.stock import Batch, PackOrder
from models.store.engine import Connection, Store
from models.store.stock import add_batch, find_order, load_batches, set_delivered
from scheduler.entries.desk import Desk, at_the_desk

MOST_PACKS = 1_000  # engineering choice: beyond it a figure was mistyped
LONGEST_KEPT_DAYS = (
    120  # more than 90 % alive at 5 °C: "Adapted formulations", Nematology, doi 10.1163/15685411-00003072
)


def take_delivery(
    store: Store, order_key: str, packs: int, best_before: date, day: date, now: datetime
) -> Batch:
    """Put `packs` packs of an order into the fridge; the order is closed by it, however many came.

    Told twice, gives the first batch. NotFound where there is no such order; RefusedInput where the packs
    are past their best before already, or a figure cannot be.
    """
    with store.read() as connection:
        first = _batch_of(connection, order_key)
    if first is not None:
        return first
    with at_the_desk(store, now) as desk:
        if (first := _batch_of(desk.connection, order_key)) is not None:
            return first
        order = find_order(desk.connection, order_key)
        if faults := _faults(desk, order, packs, best_before, day):
            raise RefusedInput(f"delivery of order {order_key}", faults)
        batch = Batch(f"{order_key}/batch", order_key, order.species, packs, packs, day, best_before)
        add_batch(desk.connection, batch)
        set_delivered(desk.connection, order_key)
        return batch


def _batch_of(connection: Connection, order_key: str) -> Batch | None:
    return next((batch for batch in load_batches(connection) if batch.order_key == order_key), None)


def _faults(desk: Desk, order: PackOrder, packs: int, best_before: date, day: date) -> list[Fault]:
    found = []
    if not 1 <= packs <= MOST_PACKS:
        found.append(Fault("packs", str(packs), f"give 1 to {MOST_PACKS}; order again where none came"))
    if day > desk.today:
        found.append(Fault("day", f"{day} lies ahead of today, {desk.today}", "record it when it came"))
    if best_before < day:
        found.append(
            Fault("best before", f"{best_before}, delivered {day}", "send expired packs back, unrecorded")
        )
    if (best_before - day).days > LONGEST_KEPT_DAYS:
        remedy = f"read the date again: live packs keep {LONGEST_KEPT_DAYS} days at most"
        found.append(Fault("best before", f"{best_before}, delivered {day}", remedy))
    return found
