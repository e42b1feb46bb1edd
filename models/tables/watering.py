"""The fortnight after a treatment, and the water clients say they gave."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Sentence


class WateringDayRow(Base):
    __tablename__ = "watering_days"

    visit_key: Mapped[Key] = mapped_column(ForeignKey("treatments.visit_key"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), index=True)
    rain_mm: Mapped[float]
    turf_et_mm: Mapped[float]
    watered_mm: Mapped[float]
    deficit_mm: Mapped[float]
    capacity_mm: Mapped[float]
    advice_mm: Mapped[float]
    advice_litres: Mapped[float]
    advice_minutes: Mapped[float | None]
    reason: Mapped[Sentence]
    weather_revision: Mapped[int]


class WateringRow(Base):
    __tablename__ = "waterings"
    __table_args__ = (CheckConstraint("depth_mm > 0", name="depth"),)

    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    depth_mm: Mapped[float]
    recorded_at: Mapped[datetime]
