"""Calendar feeds as bytes, changed in the transaction that changes a visit."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Word


class FeedRow(Base):
    __tablename__ = "feeds"

    client_key: Mapped[Key] = mapped_column(ForeignKey("clients.key"), primary_key=True)
    revision: Mapped[int]
    etag: Mapped[Word]
    content: Mapped[bytes] = mapped_column(LargeBinary)
    changed_at: Mapped[datetime]
