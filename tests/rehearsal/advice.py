"""What a rehearsal told its clients about water, beside an independent balance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from frontends.commands.rehearsing import open_home
from models.facts.post import MessageKind
from models.store.people import load_lawns, load_sites
from models.store.post import load_messages
from models.store.watering import load_waterings
from models.store.work import load_treatments
from scheduler.weather.station_file import read_station_file
from tests.rehearsal.balance import CAPACITY_MM, deficits_mm, is_whole

# The water of a MJ is 0.408 mm in FAO-56, and a function of temperature in pyet: 1 % of at most 8.5 mm.
APART_MM = 0.12


@dataclass(frozen=True, slots=True)
class Morning:
    """A lawn's morning in a fortnight: what was missing, half of what the layer holds, whether asked."""

    lawn: str
    day: date
    deficit_mm: float
    trigger_mm: float
    asked: bool


def mornings(home: Path, records: Path) -> tuple[list[Morning], int]:
    """All mornings of fortnights whose weather is whole, and how many treatments were left out."""
    with open_home(home) as store, store.read() as connection:
        treatments = load_treatments(connection)
        lawns = {lawn.key: lawn for lawn in load_lawns(connection)}
        sites = {site.key: site for site in load_sites(connection)}
        waterings = load_waterings(connection, date.min)
        messages = [kept.message for kept in load_messages(connection)]
    weather = {
        key: {day.day: day for day in read_station_file(records / f"{site.source_ref}.csv").days}
        for key, site in sites.items()
    }
    asked = {
        (message.payload["lawn"], message.payload["day"])
        for message in messages
        if message.kind is MessageKind.WATER_TODAY
    }
    found: list[Morning] = []
    left_out = 0
    for treatment in treatments:
        lawn = lawns[treatment.lawn_key]
        if not is_whole(weather[lawn.site_key], treatment.day):
            left_out += 1
            continue
        watered: Mapping[date, float] = {
            given.day: given.depth_mm for given in waterings if given.lawn_key == lawn.key
        }
        latitude = sites[lawn.site_key].position.latitude
        deficits = deficits_mm(weather[lawn.site_key], latitude, lawn.texture, treatment.day, watered)
        trigger_mm = CAPACITY_MM[lawn.texture] / 2
        found += [
            Morning(lawn.key, day, deficit, trigger_mm, (lawn.key, day.isoformat()) in asked)
            for day, deficit in deficits.items()
        ]
    return found, left_out


def assert_asked_when_dry_and_only_then(found: list[Morning]) -> None:
    """Every message falls on a dry morning, none where rain had done it, and no dry one is missed."""
    asked_without_need = [m for m in found if m.asked and m.deficit_mm < m.trigger_mm - APART_MM]
    not_asked_in_need = [m for m in found if not m.asked and m.deficit_mm > m.trigger_mm + APART_MM]

    assert asked_without_need == []
    assert not_asked_in_need == []
