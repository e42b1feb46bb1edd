"""The service's own bookkeeping: revisions that guard writes, and how far timed work has come."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Word


class LedgerRow(Base):
    """A counter raised by every change of a set of records; a step's write is conditional on it."""

    __tablename__ = "ledgers"

    name: Mapped[Word] = mapped_column(primary_key=True)
    revision: Mapped[int]


class MarkRow(Base):
    """How far a sequence of timed work has come: the instant of its run and the jobs done within it."""

    __tablename__ = "marks"

    name: Mapped[Word] = mapped_column(primary_key=True)
    instant: Mapped[datetime]
    jobs_done: Mapped[int]
