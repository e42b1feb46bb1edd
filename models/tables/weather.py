"""Weather sites, their days as the sources gave them, and the soil estimated from them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Sentence, Word


class SiteRow(Base):
    __tablename__ = "sites"

    key: Mapped[Key] = mapped_column(primary_key=True)
    name: Mapped[Sentence]
    latitude: Mapped[float]
    longitude: Mapped[float]
    elevation_m: Mapped[float]
    source: Mapped[Word]
    source_ref: Mapped[Sentence]


class WeatherDayRow(Base):
    """Append-only: a correction is a new revision, known from `known_at`."""

    __tablename__ = "weather_days"
    __table_args__ = (
        CheckConstraint("temperature_min_c <= temperature_max_c", name="minimum"),
        Index("ix_weather_days_site_key_known_at", "site_key", "known_at"),
    )

    site_key: Mapped[Key] = mapped_column(ForeignKey("sites.key"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    provenance: Mapped[Word] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(primary_key=True)
    temperature_min_c: Mapped[float | None]
    temperature_max_c: Mapped[float | None]
    rain_mm: Mapped[float | None]
    wind_m_s: Mapped[float | None]
    sun_h: Mapped[float | None]
    source: Mapped[Sentence]
    known_at: Mapped[datetime]


class SoilDayRow(Base):
    __tablename__ = "soil_days"

    site_key: Mapped[Key] = mapped_column(ForeignKey("sites.key"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    mean_10cm_c: Mapped[float]
    sd_c: Mapped[float]
    reference_et_mm: Mapped[float]
    rain_mm: Mapped[float]
    temperature_min_c: Mapped[float]
    provenance: Mapped[Word]
    weather_revision: Mapped[int]
    gap_days: Mapped[int]
    rain_gap_days: Mapped[int] = mapped_column(server_default="0")


class SoilStateRow(Base):
    """The estimator's memory at the end of `last_day`; weather known after `seen_at` is news to it.

    `latest` is that of the newest day that no later one changes: a morning without corrections goes on there.

    `fingerprint` tells the place and the laws it was reached by: under others it is worth nothing.
    """

    __tablename__ = "soil_states"

    site_key: Mapped[Key] = mapped_column(ForeignKey("sites.key"), primary_key=True)
    last_day: Mapped[date]
    seen_at: Mapped[datetime]
    state: Mapped[dict[str, Any]]
    latest: Mapped[dict[str, Any] | None]
    fingerprint: Mapped[Word] = mapped_column(server_default="")


class WeatherCreditRow(Base):
    """Whom a site's stored weather comes from, and under what terms."""

    __tablename__ = "weather_credits"

    site_key: Mapped[Key] = mapped_column(ForeignKey("sites.key"), primary_key=True)
    source: Mapped[Word] = mapped_column(primary_key=True)
    attribution: Mapped[Key] = mapped_column(primary_key=True)
    licence: Mapped[Sentence]
    address: Mapped[Sentence]
    commercial: Mapped[bool]
