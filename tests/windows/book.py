"""An invented book of lawns on programmes at one or more sites, written to a store."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime

from models.agronomy.soil_state import SoilState
from models.facts.place import Client, Lawn, Position, Site, Texture, Zone
from models.facts.rules import Business
from models.facts.season import Pest, Species
from models.facts.weather import SoilDay
from models.facts.work import Programme
from models.store.engine import Store
from models.store.people import add_clients, save_business, save_sites
from models.store.programmes import add_programme
from models.store.soil import save_soil

BUSINESS = Business(
    "Tarnwhistle Turf", "post@tarnwhistle.example", "555 0100", Position(52.1, -6.4), "Europe/Dublin"
)


def morning_of(day: date) -> datetime:
    """04:30 in Dublin, give or take daylight saving: the same local day."""
    return datetime(day.year, day.month, day.day, 3, 30, tzinfo=UTC)


def a_lawn(key: str, site_key: str = "vale", texture: Texture = Texture.LOAM) -> Lawn:
    zones = (Zone("front", 150.0),)
    return Lawn(
        f"{key}/lawn",
        key,
        f"{key} lawn",
        Position(52.1, -6.4),
        site_key,
        texture,
        zones,
        tap_litres_per_minute=15.0,
    )


def a_programme(lawn: Lawn, starts_on: date) -> Programme:
    key = Programme.key_for(lawn.key, Pest.LEATHERJACKETS, starts_on)
    return Programme(key, lawn.key, Pest.LEATHERJACKETS, Species.S_FELTIAE, starts_on, years=3)


def write_book(store: Store, lawns: Sequence[Lawn], starts_on: date) -> None:
    """The business, the lawns with a client each, and a programme on each lawn."""
    sites = sorted({lawn.site_key for lawn in lawns})
    clients = [
        Client(
            lawn.client_key, lawn.client_key.title(), f"{lawn.client_key}@example.com", None, "Europe/Dublin"
        )
        for lawn in lawns
    ]
    with store.write() as connection:
        save_business(connection, BUSINESS)
        save_sites(
            connection, [Site(key, key.title(), Position(52.1, -6.4), 30.0, "station-file") for key in sites]
        )
        add_clients(connection, clients, lawns)
        for lawn in lawns:
            add_programme(connection, a_programme(lawn, starts_on))


def write_soil(store: Store, site_key: str, soil_days: Sequence[SoilDay]) -> None:
    state = SoilState(
        last_day=soil_days[-1].day,
        days_seen=len(soil_days),
        layers_c=(8.0,) * 13,
        mean_range_c=8.0,
        mean_wind_m_s=5.0,
        winds_seen=0.0,
        topsoil_mm=15.0,
        air_c=8.0,
        air_slow_c=8.0,
        high_c=12.0,
        clear=1.0,
        radiation_slow=20.0,
        radiation_season=20.0,
        doubt_c2=0.0,
    )
    with store.write() as connection:
        save_soil(connection, site_key, soil_days, state, morning_of(soil_days[-1].day))
