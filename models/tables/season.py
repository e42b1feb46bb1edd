"""Windows as they were decided, day by day, and the likely dates of those ahead."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Sentence, Word


class WindowRow(Base):
    __tablename__ = "windows"

    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), primary_key=True)
    pest: Mapped[Word] = mapped_column(primary_key=True)
    season_key: Mapped[Word] = mapped_column(primary_key=True)
    species: Mapped[Word] = mapped_column(primary_key=True)
    turns: Mapped[list[Any]]
    judged_to: Mapped[date | None]
    reason: Mapped[Sentence]


class OutlookRow(Base):
    __tablename__ = "outlooks"

    site_key: Mapped[Key] = mapped_column(ForeignKey("sites.key"), primary_key=True)
    texture: Mapped[Word] = mapped_column(primary_key=True)
    pest: Mapped[Word] = mapped_column(primary_key=True)
    season_key: Mapped[Word] = mapped_column(primary_key=True)
    chances: Mapped[list[Any]]
    years: Mapped[int]
    reason: Mapped[Sentence]
    opening: Mapped[list[Any] | None]
    closing: Mapped[list[Any] | None]
    lasting: Mapped[list[Any] | None]
    issued_on: Mapped[date | None]
