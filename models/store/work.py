"""Treatments, counts and refused days: what was really done and said. Added once, never changed."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from models.facts.work import GrubCount, PacksUsed, Refusal, Treatment
from models.store.writing import insert_new
from models.tables.work import CountRow, RefusalRow, TreatmentRow


def add_treatment(connection: Connection, treatment: Treatment) -> int:
    """Gives 1, or 0 where that visit's treatment is recorded already (and stays as it was)."""
    return insert_new(connection, TreatmentRow, [asdict(treatment)])


def load_treatments(connection: Connection, since: date | None = None) -> tuple[Treatment, ...]:
    """Treatments from `since` on (None: all), in order of day and visit."""
    chosen = select(TreatmentRow.__table__).order_by(TreatmentRow.day, TreatmentRow.visit_key)
    if since is not None:
        chosen = chosen.where(TreatmentRow.day >= since)
    return tuple(_treatment(row) for row in connection.execute(chosen))


def find_treatment(connection: Connection, visit_key: str) -> Treatment | None:
    chosen = select(TreatmentRow.__table__).where(TreatmentRow.visit_key == visit_key)
    row = connection.execute(chosen).one_or_none()
    return None if row is None else _treatment(row)


def add_count(connection: Connection, count: GrubCount) -> int:
    """Gives 1, or 0 where that visit's count is recorded already (and stays as it was)."""
    return insert_new(connection, CountRow, [{**asdict(count), "found": list(count.found)}])


def load_counts(connection: Connection, since: date | None = None) -> tuple[GrubCount, ...]:
    """Counts from `since` on (None: all), in order of day and visit."""
    chosen = select(CountRow.__table__).order_by(CountRow.day, CountRow.visit_key)
    if since is not None:
        chosen = chosen.where(CountRow.day >= since)
    return tuple(_count(row) for row in connection.execute(chosen))


def find_count(connection: Connection, visit_key: str) -> GrubCount | None:
    chosen = select(CountRow.__table__).where(CountRow.visit_key == visit_key)
    row = connection.execute(chosen).one_or_none()
    return None if row is None else _count(row)


def add_refusal(connection: Connection, refusal: Refusal) -> int:
    """Gives 1, or 0 where that day is refused for that lawn already."""
    return insert_new(connection, RefusalRow, [asdict(refusal)])


def load_refusals(connection: Connection, since: date) -> tuple[Refusal, ...]:
    """Refused days from `since` on, in order of day and lawn."""
    chosen = (
        select(RefusalRow.__table__)
        .where(RefusalRow.day >= since)
        .order_by(RefusalRow.day, RefusalRow.lawn_key)
    )
    return tuple(Refusal(row.lawn_key, row.day, row.recorded_at) for row in connection.execute(chosen))


def _treatment(row: Any) -> Treatment:
    return Treatment(
        visit_key=row.visit_key,
        lawn_key=row.lawn_key,
        day=row.day,
        area_m2=row.area_m2,
        dose_factor=row.dose_factor,
        packs=tuple(PacksUsed(used["batch_key"], used["packs"]) for used in row.packs),
        probe_c=row.probe_c,
        wash_in_mm=row.wash_in_mm,
        recorded_at=row.recorded_at,
    )


def _count(row: Any) -> GrubCount:
    return GrubCount(
        visit_key=row.visit_key,
        lawn_key=row.lawn_key,
        day=row.day,
        method=row.method,
        sample_area_m2=row.sample_area_m2,
        found=tuple(row.found),
        recorded_at=row.recorded_at,
    )
