"""The fortnight after a treatment as it was judged each morning, and the water clients say they gave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from sqlalchemy import Connection, select, update

from models.facts.work import Watering, WateringDay
from models.store.writing import insert_many_new, insert_new
from models.tables.watering import WateringDayRow, WateringRow


def load_watering_days(connection: Connection, since: date) -> tuple[WateringDay, ...]:
    """Mornings from `since` on, in order of day and visit."""
    wanted = (
        select(WateringDayRow.__table__)
        .where(WateringDayRow.day >= since)
        .order_by(WateringDayRow.day, WateringDayRow.visit_key)
    )
    return tuple(_watering_day(row) for row in connection.execute(wanted))


def save_watering_days(connection: Connection, days: Sequence[WateringDay]) -> int:
    """Keep the mornings that are new; one that was judged stays as the client heard it."""
    return insert_many_new(connection, WateringDayRow, [asdict(day) for day in days])


def load_waterings(connection: Connection, since: date) -> tuple[Watering, ...]:
    """Water given from `since` on, in order of day and lawn."""
    wanted = (
        select(WateringRow.__table__)
        .where(WateringRow.day >= since)
        .order_by(WateringRow.day, WateringRow.lawn_key)
    )
    return tuple(_watering(row) for row in connection.execute(wanted))


def add_watering(connection: Connection, watering: Watering) -> int:
    """Keep a lawn's water of one day; the last word on a day counts. Gives 0 where nothing changed."""
    if insert_new(connection, WateringRow, [asdict(watering)]):
        return 1
    corrected = connection.execute(
        update(WateringRow)
        .where(
            WateringRow.lawn_key == watering.lawn_key,
            WateringRow.day == watering.day,
            WateringRow.depth_mm != watering.depth_mm,
        )
        .values(depth_mm=watering.depth_mm, recorded_at=watering.recorded_at)
    )
    return corrected.rowcount


def _watering_day(row: Any) -> WateringDay:
    return WateringDay(
        visit_key=row.visit_key,
        lawn_key=row.lawn_key,
        day=row.day,
        rain_mm=row.rain_mm,
        turf_et_mm=row.turf_et_mm,
        watered_mm=row.watered_mm,
        deficit_mm=row.deficit_mm,
        capacity_mm=row.capacity_mm,
        advice_mm=row.advice_mm,
        advice_litres=row.advice_litres,
        advice_minutes=row.advice_minutes,
        reason=row.reason,
        weather_revision=row.weather_revision,
    )


def _watering(row: Any) -> Watering:
    return Watering(row.lawn_key, row.day, row.depth_mm, row.recorded_at)
