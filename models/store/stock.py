"""Orders of packs and the batches that came of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from sqlalchemy import Connection, select, update

from models.errors import Fault, NotFound, RefusedInput
from models.facts.season import Species
from models.facts.stock import Batch, PackOrder
from models.facts.work import PacksUsed
from models.store.writing import insert_new
from models.tables.stock import BatchRow, PackOrderRow


def add_order(connection: Connection, order: PackOrder) -> int:
    """Gives 1, or 0 where the order is placed already (and stays as it was)."""
    return insert_new(connection, PackOrderRow, [asdict(order)])


def load_orders(connection: Connection, open_only: bool = True) -> tuple[PackOrder, ...]:
    """Orders, only those not yet delivered unless asked otherwise, in order of the day needed."""
    chosen = select(PackOrderRow.__table__).order_by(PackOrderRow.needed_by, PackOrderRow.key)
    if open_only:
        chosen = chosen.where(PackOrderRow.delivered.is_(False))
    return tuple(_order(row) for row in connection.execute(chosen))


def find_order(connection: Connection, key: str) -> PackOrder:
    chosen = select(PackOrderRow.__table__).where(PackOrderRow.key == key)
    row = connection.execute(chosen).one_or_none()
    if row is None:
        raise NotFound("order", key, "see the order mail for its key")
    return _order(row)


def set_delivered(connection: Connection, order_key: str) -> bool:
    """Gives whether the order was open until now."""
    closed = connection.execute(
        update(PackOrderRow)
        .where(PackOrderRow.key == order_key, PackOrderRow.delivered.is_(False))
        .values(delivered=True)
    )
    return closed.rowcount == 1


def add_batch(connection: Connection, batch: Batch) -> int:
    """Gives 1, or 0 where the batch is known already (and stays as it was)."""
    plain = asdict(batch)
    plain["packs_left"] = plain.pop("left")
    return insert_new(connection, BatchRow, [plain])


def load_batches(connection: Connection, *, in_date_on: date | None = None) -> tuple[Batch, ...]:
    """Batches, those that expire first before others; with `in_date_on` only those good on that day."""
    chosen = select(BatchRow.__table__).order_by(BatchRow.best_before, BatchRow.key)
    if in_date_on is not None:
        chosen = chosen.where(BatchRow.best_before >= in_date_on)
    return tuple(_batch(row) for row in connection.execute(chosen))


def take_packs(connection: Connection, used: Sequence[PacksUsed]) -> None:
    """Take packs out of the fridge; RefusedInput where a batch has not that many left."""
    for take in used:
        taken = connection.execute(
            update(BatchRow)
            .where(BatchRow.key == take.batch_key, BatchRow.packs_left >= take.packs)
            .values(packs_left=BatchRow.packs_left - take.packs)
        )
        if taken.rowcount != 1:
            fault = Fault(
                f"batch {take.batch_key}", f"{take.packs} pack(s) asked", "it has not that many left"
            )
            raise RefusedInput("packs from the fridge", [fault])


def _order(row: Any) -> PackOrder:
    return PackOrder(
        key=row.key,
        species=Species(row.species),
        packs=row.packs,
        order_by=row.order_by,
        needed_by=row.needed_by,
        reason=row.reason,
        placed_at=row.placed_at,
        delivered=row.delivered,
    )


def _batch(row: Any) -> Batch:
    return Batch(
        key=row.key,
        order_key=row.order_key,
        species=Species(row.species),
        packs=row.packs,
        left=row.packs_left,
        delivered_on=row.delivered_on,
        best_before=row.best_before,
    )
