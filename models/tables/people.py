"""The business, its clients, their lawns and zones."""

from __future__ import annotations

from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from models.tables.base import Base, Key, Sentence, Word


class BusinessRow(Base):
    __tablename__ = "business"

    key: Mapped[Word] = mapped_column(primary_key=True)
    name: Mapped[Sentence]
    email: Mapped[Sentence]
    phone: Mapped[Sentence]
    latitude: Mapped[float]
    longitude: Mapped[float]
    time_zone: Mapped[Word]
    rules: Mapped[dict[str, Any]]


class ClientRow(Base):
    __tablename__ = "clients"

    key: Mapped[Key] = mapped_column(primary_key=True)
    name: Mapped[Sentence]
    email: Mapped[Sentence | None]
    phone: Mapped[Sentence | None]
    time_zone: Mapped[Word]
    state: Mapped[Word]
    token_version: Mapped[int]


class LawnRow(Base):
    __tablename__ = "lawns"
    __table_args__ = (
        CheckConstraint("latitude BETWEEN -90 AND 90", name="latitude"),
        CheckConstraint("longitude BETWEEN -180 AND 180", name="longitude"),
    )

    key: Mapped[Key] = mapped_column(primary_key=True)
    client_key: Mapped[Key] = mapped_column(ForeignKey("clients.key"), index=True)
    site_key: Mapped[Key] = mapped_column(ForeignKey("sites.key"))
    name: Mapped[Sentence]
    latitude: Mapped[float]
    longitude: Mapped[float]
    texture: Mapped[Word]
    tap_litres_per_minute: Mapped[float | None]
    traits: Mapped[Sentence]
    shade: Mapped[Word] = mapped_column(server_default="open")


class ZoneRow(Base):
    __tablename__ = "zones"
    __table_args__ = (CheckConstraint("area_m2 > 0", name="area"),)

    lawn_key: Mapped[Key] = mapped_column(ForeignKey("lawns.key"), primary_key=True)
    name: Mapped[Key] = mapped_column(primary_key=True)
    position: Mapped[int]
    area_m2: Mapped[float]
