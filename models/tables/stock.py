"""Orders to the supplier and the batches that came of them."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Sentence, Word


class PackOrderRow(Base):
    __tablename__ = "pack_orders"
    __table_args__ = (CheckConstraint("packs > 0", name="packs"),)

    key: Mapped[Key] = mapped_column(primary_key=True)
    species: Mapped[Word]
    packs: Mapped[int]
    order_by: Mapped[date]
    needed_by: Mapped[date]
    reason: Mapped[Sentence]
    placed_at: Mapped[datetime]
    delivered: Mapped[bool]


class BatchRow(Base):
    __tablename__ = "batches"
    __table_args__ = (CheckConstraint("packs_left BETWEEN 0 AND packs", name="packs_left"),)

    key: Mapped[Key] = mapped_column(primary_key=True)
    order_key: Mapped[Key] = mapped_column(ForeignKey("pack_orders.key"))
    species: Mapped[Word]
    packs: Mapped[int]
    packs_left: Mapped[int]
    delivered_on: Mapped[date]
    best_before: Mapped[date]
