"""Soil temperatures measured at lawns with a probe."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key


class LawnReadingRow(Base):
    """Added once, never changed; it counts from `recorded_at` on. `day` is the lawn's local day."""

    __tablename__ = "lawn_readings"
    __table_args__ = (CheckConstraint("depth_cm > 0", name="depth"),)

    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), primary_key=True)
    taken_at: Mapped[datetime] = mapped_column(primary_key=True)
    day: Mapped[date]
    depth_cm: Mapped[float]
    value_c: Mapped[float]
    in_sun: Mapped[bool]
    hour_sd_h: Mapped[float]
    recorded_at: Mapped[datetime]
