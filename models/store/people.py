"""The business, sites, clients, lawns and zones."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from sqlalchemy import Connection, select, update

from models.errors import NotFound
from models.facts.place import Client, ClientState, Lawn, Position, Shade, Site, Texture, Zone
from models.facts.rules import Business
from models.store.rules_json import rules_from_json, rules_to_json
from models.store.writing import insert_new, upsert
from models.tables.people import BusinessRow, ClientRow, LawnRow, ZoneRow
from models.tables.weather import SiteRow

THE_BUSINESS = "business"


def save_business(connection: Connection, business: Business) -> None:
    upsert(
        connection,
        BusinessRow,
        [
            {
                "key": THE_BUSINESS,
                "name": business.name,
                "email": business.email,
                "phone": business.phone,
                "latitude": business.base.latitude,
                "longitude": business.base.longitude,
                "time_zone": business.time_zone,
                "rules": rules_to_json(business.rules),
            }
        ],
    )


def load_business(connection: Connection) -> Business:
    """The business; NotFound before one is set up."""
    row = connection.execute(select(BusinessRow.__table__)).one_or_none()
    if row is None:
        raise NotFound("the business", THE_BUSINESS, "set it up first: `swardtide clients begin`")
    return Business(
        name=row.name,
        email=row.email,
        phone=row.phone,
        base=Position(row.latitude, row.longitude),
        time_zone=row.time_zone,
        rules=rules_from_json(row.rules),
    )


def save_sites(connection: Connection, sites: Iterable[Site]) -> None:
    upsert(connection, SiteRow, [_site_row(site) for site in sites])


def load_sites(connection: Connection) -> tuple[Site, ...]:
    rows = connection.execute(select(SiteRow.__table__).order_by(SiteRow.key))
    return tuple(
        Site(
            row.key,
            row.name,
            Position(row.latitude, row.longitude),
            row.elevation_m,
            row.source,
            row.source_ref,
        )
        for row in rows
    )


def add_clients(connection: Connection, clients: Sequence[Client], lawns: Sequence[Lawn]) -> int:
    """Insert clients and lawns that are new, with their zones. Gives how many rows were new."""
    new = insert_new(connection, ClientRow, [asdict(client) for client in clients])
    new += insert_new(connection, LawnRow, [_lawn_row(lawn) for lawn in lawns])
    return new + insert_new(connection, ZoneRow, [row for lawn in lawns for row in _zone_rows(lawn)])


def load_clients(connection: Connection) -> tuple[Client, ...]:
    rows = connection.execute(select(ClientRow.__table__).order_by(ClientRow.key))
    return tuple(_client(row) for row in rows)


def find_client(connection: Connection, key: str) -> Client:
    row = connection.execute(select(ClientRow.__table__).where(ClientRow.key == key)).one_or_none()
    if row is None:
        raise NotFound("client", key, "see `swardtide clients list`")
    return _client(row)


def set_client_state(connection: Connection, key: str, state: ClientState) -> bool:
    """Gives whether the state changed."""
    changed = connection.execute(
        update(ClientRow).where(ClientRow.key == key, ClientRow.state != state).values(state=state)
    )
    return changed.rowcount == 1


def withdraw_address(connection: Connection, key: str) -> Client:
    """Raise the version of a client's secret addresses: those given out so far hold no more.

    Gives the client as it is now; NotFound where there is none.
    """
    connection.execute(
        update(ClientRow).where(ClientRow.key == key).values(token_version=ClientRow.token_version + 1)
    )
    return find_client(connection, key)


def load_lawns(connection: Connection) -> tuple[Lawn, ...]:
    """All lawns with their zones, those of clients who left included, in order of key."""
    zones: dict[str, list[Zone]] = defaultdict(list)
    for row in connection.execute(select(ZoneRow.__table__).order_by(ZoneRow.lawn_key, ZoneRow.position)):
        zones[row.lawn_key].append(Zone(row.name, row.area_m2))
    rows = connection.execute(select(LawnRow.__table__).order_by(LawnRow.key))
    return tuple(_lawn(row, tuple(zones[row.key])) for row in rows)


def _client(row: Any) -> Client:
    return Client(
        row.key, row.name, row.email, row.phone, row.time_zone, ClientState(row.state), row.token_version
    )


def _lawn(row: Any, zones: tuple[Zone, ...]) -> Lawn:
    return Lawn(
        key=row.key,
        client_key=row.client_key,
        name=row.name,
        position=Position(row.latitude, row.longitude),
        site_key=row.site_key,
        texture=Texture(row.texture),
        zones=zones,
        tap_litres_per_minute=row.tap_litres_per_minute,
        traits=row.traits,
        shade=Shade(row.shade),
    )


def _site_row(site: Site) -> dict[str, Any]:
    return {
        "key": site.key,
        "name": site.name,
        "latitude": site.position.latitude,
        "longitude": site.position.longitude,
        "elevation_m": site.elevation_m,
        "source": site.source,
        "source_ref": site.source_ref,
    }


def _lawn_row(lawn: Lawn) -> dict[str, Any]:
    return {
        "key": lawn.key,
        "client_key": lawn.client_key,
        "site_key": lawn.site_key,
        "name": lawn.name,
        "latitude": lawn.position.latitude,
        "longitude": lawn.position.longitude,
        "texture": lawn.texture,
        "tap_litres_per_minute": lawn.tap_litres_per_minute,
        "traits": lawn.traits,
        "shade": lawn.shade,
    }


def _zone_rows(lawn: Lawn) -> list[dict[str, Any]]:
    return [
        {"lawn_key": lawn.key, "name": zone.name, "position": place, "area_m2": zone.area_m2}
        for place, zone in enumerate(lawn.zones)
    ]
