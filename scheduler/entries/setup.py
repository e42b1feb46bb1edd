"""The business and its weather sites are set up."""

from __future__ import annotations

from collections.abc import Sequence

from models.errors import Fault, NotFound, RefusedInput
from models.facts.place import Site
from models.facts.rules import Business
from models.store.engine import Connection, Store
from models.store.ledger import SEASON_BOOK, raise_revision
from models.store.people import load_business, load_sites, save_business, save_sites
from scheduler.entries.text import line_faults, time_zones


def begin_business(store: Store, business: Business, sites: Sequence[Site]) -> None:
    """Keep the business, its rules and its sites; told again, what changed is changed.

    RefusedInput for a name that is no line of text, an unknown time zone, no site or a site named twice.
    """
    if faults := [*_business_faults(business), *_site_faults(sites)]:
        raise RefusedInput("the business", faults)
    with store.read() as connection:
        if _is_known(connection, business, sites):
            return
    with store.write() as connection:
        raise_revision(connection, SEASON_BOOK)
        save_business(connection, business)
        save_sites(connection, sites)


def _is_known(connection: Connection, business: Business, sites: Sequence[Site]) -> bool:
    try:
        return load_business(connection) == business and set(sites) <= set(load_sites(connection))
    except NotFound:
        return False


def _business_faults(business: Business) -> list[Fault]:
    found = [
        *line_faults("name of the business", business.name),
        *line_faults("e-mail of the business", business.email),
        *line_faults("telephone of the business", business.phone, may_be_empty=True),
    ]
    if business.time_zone not in time_zones():
        found.append(Fault("time zone", repr(business.time_zone), "give an IANA name, as Europe/London"))
    return found


def _site_faults(sites: Sequence[Site]) -> list[Fault]:
    if not sites:
        return [Fault("sites", "none", "name one weather site at least")]
    keys = [site.key for site in sites]
    twice = sorted({key for key in keys if keys.count(key) > 1})
    found = [Fault(f"site {key}", "named twice", "give each site its own key") for key in twice]
    return [*found, *(fault for site in sites for fault in line_faults(f"site {site.key!r}", site.name))]
