"""Programmes, visits with their changes, and what was done at them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Sentence, Word


class ProgrammeRow(Base):
    __tablename__ = "programmes"

    key: Mapped[Key] = mapped_column(primary_key=True)
    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), index=True)
    pest: Mapped[Word]
    species: Mapped[Word]
    starts_on: Mapped[date]
    years: Mapped[int]
    state: Mapped[Word]
    reason: Mapped[Sentence]


class VisitRow(Base):
    __tablename__ = "visits"
    __table_args__ = (
        Index("ix_visits_state_day", "state", "day"),
        CheckConstraint("state <> 'booked' OR day IS NOT NULL", name="booked_has_day"),
    )

    key: Mapped[Key] = mapped_column(primary_key=True)
    programme_key: Mapped[Key] = mapped_column(ForeignKey("programmes.key"), index=True)
    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), index=True)
    season_key: Mapped[Word]
    kind: Mapped[Word]
    allowed_first: Mapped[date]
    allowed_last: Mapped[date]
    minutes: Mapped[int]
    packs: Mapped[int]
    state: Mapped[Word]
    day: Mapped[date | None]
    revision: Mapped[int]
    reason: Mapped[Sentence]
    changed_at: Mapped[datetime]


class VisitChangeRow(Base):
    """Append-only: every revision a visit ever had, with its reason."""

    __tablename__ = "visit_changes"

    visit_key: Mapped[Key] = mapped_column(ForeignKey("visits.key"), primary_key=True)
    revision: Mapped[int] = mapped_column(primary_key=True)
    state: Mapped[Word]
    day: Mapped[date | None]
    reason: Mapped[Sentence]
    changed_at: Mapped[datetime]


class TreatmentRow(Base):
    __tablename__ = "treatments"

    visit_key: Mapped[Key] = mapped_column(ForeignKey("visits.key"), primary_key=True)
    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), index=True)
    day: Mapped[date] = mapped_column(index=True)
    area_m2: Mapped[float]
    dose_factor: Mapped[float]
    packs: Mapped[list[Any]]
    probe_c: Mapped[float | None]
    wash_in_mm: Mapped[float]
    recorded_at: Mapped[datetime]


class CountRow(Base):
    __tablename__ = "counts"

    visit_key: Mapped[Key] = mapped_column(ForeignKey("visits.key"), primary_key=True)
    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), index=True)
    day: Mapped[date]
    method: Mapped[Sentence]
    sample_area_m2: Mapped[float]
    found: Mapped[list[Any]]
    recorded_at: Mapped[datetime]


class RefusalRow(Base):
    __tablename__ = "refusals"

    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    recorded_at: Mapped[datetime]
