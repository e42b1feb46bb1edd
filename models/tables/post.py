"""Messages owed, and every attempt to send one."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Sentence, Word


class MessageRow(Base):
    """`due_at`: the next moment it may be tried; `content`: the exact bytes of its mail."""

    __tablename__ = "messages"
    __table_args__ = (Index("ix_messages_state_due_at", "state", "due_at"),)

    key: Mapped[Key] = mapped_column(primary_key=True)
    kind: Mapped[Word]
    recipient: Mapped[Key] = mapped_column(index=True)
    payload: Mapped[dict[str, Any]]
    payload_version: Mapped[int]
    caused_at: Mapped[datetime]
    not_before: Mapped[datetime]
    state: Mapped[Word]
    due_at: Mapped[datetime]
    claimed_by: Mapped[Word | None]
    claimed_at: Mapped[datetime | None]
    attempts: Mapped[int]
    content: Mapped[bytes | None] = mapped_column(LargeBinary)
    settled_at: Mapped[datetime | None]
    trouble: Mapped[Sentence]


class AttemptRow(Base):
    __tablename__ = "attempts"

    message_key: Mapped[Key] = mapped_column(ForeignKey("messages.key"), primary_key=True)
    ordinal: Mapped[int] = mapped_column(primary_key=True)
    worker: Mapped[Word]
    started_at: Mapped[datetime]
    outcome: Mapped[Word]
    detail: Mapped[Sentence]
