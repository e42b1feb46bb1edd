"""An invented lawn, its treatment and its water, shared by the tests of watering."""

from __future__ import annotations

from datetime import UTC, date, datetime

from models.facts.place import Lawn, Position, Texture, Zone
from models.facts.work import PacksUsed, Treatment, Watering

TREATED = date(2027, 5, 3)
AT_NOON = datetime(2027, 5, 3, 11, tzinfo=UTC)
LAWN = Lawn(
    key="oat/lawn",
    client_key="oat",
    name="Front lawn",
    position=Position(52.1, -6.4),
    site_key="vale",
    texture=Texture.LOAM,
    zones=(Zone("front", 150.0),),
    tap_litres_per_minute=15.0,
)
TREATMENT = Treatment(
    visit_key="oat/lawn/leatherjackets/2027/2027-1-spring/treatment/1",
    lawn_key=LAWN.key,
    day=TREATED,
    area_m2=150.0,
    dose_factor=2.0,
    packs=(PacksUsed("batch-1", 3),),
    probe_c=12.5,
    wash_in_mm=6.0,
    recorded_at=AT_NOON,
)


def water(day: date, depth_mm: float) -> Watering:
    return Watering(LAWN.key, day, depth_mm, AT_NOON)
