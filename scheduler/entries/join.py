"""Clients join, and lawns go on a programme."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

from models.agronomy.distance import great_circle_km
from models.errors import Fault, RefusedInput
from models.facts.place import Client, ClientState, Lawn, Site
from models.facts.rules import BusinessRules
from models.facts.season import Pest, SeasonName, Species
from models.facts.work import Programme, ProgrammeState
from models.store.engine import Store
from models.store.people import add_clients, find_client, load_clients, load_sites
from models.store.programmes import add_programme, load_programmes
from scheduler.entries.desk import Desk, at_the_desk, find_lawn
from scheduler.entries.text import is_number, line_faults, time_zones

LARGEST_LAWN_M2 = 20_000.0  # engineering choice: two hectares are a field
FURTHEST_SITE_KM = 100.0  # engineering choice: further off, a sign or a digit of the position is wrong


def join(
    store: Store,
    clients: Sequence[Client],
    lawns: Sequence[Lawn],
    pest: Pest,
    starts_on: date,
    now: datetime,
) -> int:
    """Take clients with their lawns in, each lawn on a programme against `pest` from `starts_on`.

    Gives how many programmes are new; what is known already stays as it is. RefusedInput with every
    fault found where one cannot be.
    """
    if _all_known(store, clients, lawns, pest, starts_on):
        return 0
    with at_the_desk(store, now) as desk:
        if faults := _faults(desk, clients, lawns, pest):
            raise RefusedInput("joining", faults)
        return enrol(desk, clients, lawns, pest, starts_on)


def _all_known(
    store: Store, clients: Sequence[Client], lawns: Sequence[Lawn], pest: Pest, starts_on: date
) -> bool:
    with store.read() as connection:
        known = {client.key for client in load_clients(connection)}
        programmes = {programme.key for programme in load_programmes(connection, tuple(ProgrammeState))}
    asked = {Programme.key_for(lawn.key, pest, starts_on) for lawn in lawns}
    return asked <= programmes and {client.key for client in clients} <= known


def enrol(desk: Desk, clients: Sequence[Client], lawns: Sequence[Lawn], pest: Pest, starts_on: date) -> int:
    """Write clients, lawns and programmes that are new, all checked before. Gives how many programmes."""
    add_clients(desk.connection, clients, lawns)
    running = load_programmes(desk.connection)
    busy = {programme.lawn_key for programme in running if programme.pest is pest}
    new = [lawn.key for lawn in lawns if lawn.key not in busy]
    return sum(add_programme(desk.connection, _programme(desk, key, pest, starts_on)) for key in new)


def start_programme(store: Store, lawn_key: str, pest: Pest, starts_on: date, now: datetime) -> bool:
    """Put a known lawn on a (further) programme. Gives whether it is new: told twice, it is not.

    NotFound where there is no such lawn; RefusedInput where its client left, another programme against
    the pest still runs, or one began in the same year.
    """
    with store.read() as connection:
        known = load_programmes(connection, tuple(ProgrammeState))
    if any(_same(programme, lawn_key, pest, starts_on) for programme in known):
        return False
    with at_the_desk(store, now) as desk:
        lawn = find_lawn(desk.connection, lawn_key)
        if faults := _programme_faults(desk, lawn, pest, starts_on):
            raise RefusedInput(f"programme of {lawn.name}", faults)
        return add_programme(desk.connection, _programme(desk, lawn_key, pest, starts_on)) == 1


def _same(programme: Programme, lawn_key: str, pest: Pest, starts_on: date) -> bool:
    same_lawn = programme.lawn_key == lawn_key and programme.pest is pest
    return same_lawn and programme.starts_on == starts_on


def _programme(desk: Desk, lawn_key: str, pest: Pest, starts_on: date) -> Programme:
    rules = desk.business.rules
    return Programme(
        key=Programme.key_for(lawn_key, pest, starts_on),
        lawn_key=lawn_key,
        pest=pest,
        species=_species(rules, pest),
        starts_on=starts_on,
        years=rules.programme.years,
    )


def _species(rules: BusinessRules, pest: Pest) -> Species:
    return next(rule.species for rule in rules.windows if rule.pest is pest)


def pest_faults(rules: BusinessRules, pest: Pest) -> list[Fault]:
    if rules.window_rule(pest, SeasonName.AUTUMN) is not None:
        return []
    return [Fault("pest", pest, "the business has no autumn window rule for it: add one first")]


def _programme_faults(desk: Desk, lawn: Lawn, pest: Pest, starts_on: date) -> list[Fault]:
    found = pest_faults(desk.business.rules, pest)
    if find_client(desk.connection, lawn.client_key).state is ClientState.LEFT:
        found.append(Fault(f"client {lawn.client_key}", "left", "take the client in again first"))
    key = Programme.key_for(lawn.key, pest, starts_on)
    for programme in load_programmes(desk.connection, tuple(ProgrammeState)):
        if programme.lawn_key != lawn.key or programme.pest is not pest:
            continue
        if programme.state is ProgrammeState.ACTIVE:
            found.append(Fault(f"programme {programme.key}", "still runs", "let it finish first"))
        elif programme.key == key:
            found.append(Fault(f"programme {key}", f"is {programme.state}", "begin the next in a later year"))
    return found


def _faults(desk: Desk, clients: Sequence[Client], lawns: Sequence[Lawn], pest: Pest) -> list[Fault]:
    known = load_clients(desk.connection)
    owners = {client.key for client in (*known, *clients)}
    left = {client.key for client in known if client.state is ClientState.LEFT}
    sites = {site.key: site for site in load_sites(desk.connection)}
    return [
        *pest_faults(desk.business.rules, pest),
        *(fault for client in clients for fault in _client_faults(client, left)),
        *(fault for lawn in lawns for fault in _lawn_faults(lawn, owners, sites)),
    ]


def _client_faults(client: Client, left: Iterable[str]) -> list[Fault]:
    where = f"client {client.key}"
    found = [
        *line_faults(f"{where}, key", client.key),
        *line_faults(f"{where}, name", client.name),
        *line_faults(f"{where}, e-mail", client.email or "", may_be_empty=True),
        *line_faults(f"{where}, telephone", client.phone or "", may_be_empty=True),
    ]
    if client.key in left:
        found.append(Fault(where, "left", "take the client in under a new key"))
    if client.time_zone not in time_zones():
        found.append(Fault(f"{where}, time zone", repr(client.time_zone), "give an IANA name"))
    return found


def _lawn_faults(lawn: Lawn, owners: Iterable[str], sites: Mapping[str, Site]) -> list[Fault]:
    where = f"lawn {lawn.key}"
    found = [*line_faults(f"{where}, key", lawn.key), *line_faults(f"{where}, name", lawn.name)]
    if lawn.client_key not in owners:
        found.append(Fault(f"{where}, client", repr(lawn.client_key), "take the client in with it"))
    if lawn.site_key not in sites:
        found.append(Fault(f"{where}, site", repr(lawn.site_key), "set the weather site up first"))
    else:
        found += site_faults(f"{where}, position", lawn, sites[lawn.site_key])
    if not is_number(lawn.area_m2, 0, LARGEST_LAWN_M2) or any(zone.area_m2 <= 0 for zone in lawn.zones):
        remedy = f"give zones above 0 m2, {LARGEST_LAWN_M2:.0f} m2 in all at most"
        found.append(Fault(f"{where}, area", f"{lawn.area_m2} m2", remedy))
    elif not lawn.zones:
        found.append(Fault(f"{where}, zones", "none", "give one zone at least"))
    return found


def site_faults(where: str, lawn: Lawn, site: Site) -> list[Fault]:
    """A lawn so far from its weather site that its position must be mistyped."""
    away_km = great_circle_km(lawn.position, site.position)
    if away_km <= FURTHEST_SITE_KM:
        return []
    value = f"{lawn.position.latitude}, {lawn.position.longitude} is {away_km:.0f} km from {site.name}"
    remedy = f"check its signs and digits, or give a site within {FURTHEST_SITE_KM:.0f} km"
    return [Fault(where, value, remedy)]
