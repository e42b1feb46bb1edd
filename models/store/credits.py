"""Whom the stored weather comes from, and under what terms."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict

from sqlalchemy import Connection, select

from models.facts.weather import WeatherCredit
from models.store.writing import upsert
from models.tables.weather import WeatherCreditRow

CREDITS = WeatherCreditRow.__table__


def save_credits(connection: Connection, credits: Mapping[str, Iterable[WeatherCredit]]) -> None:
    """Keep what is new of each site's credits. None is ever dropped: the days it belongs to stay too."""
    kept = load_credits(connection)
    rows = [
        {"site_key": key, **asdict(credit)}
        for key, its in credits.items()
        for credit in its
        if credit not in kept.get(key, ())
    ]
    upsert(connection, WeatherCreditRow, rows)


def load_credits(connection: Connection) -> dict[str, Sequence[WeatherCredit]]:
    """Credits by site key, in order of source and attribution."""
    found: dict[str, list[WeatherCredit]] = {}
    rows = connection.execute(
        select(CREDITS).order_by(CREDITS.c.site_key, CREDITS.c.source, CREDITS.c.attribution)
    )
    for row in rows:
        credit = WeatherCredit(row.source, row.attribution, row.licence, row.address, row.commercial)
        found.setdefault(row.site_key, []).append(credit)
    return {key: tuple(its) for key, its in found.items()}


def load_distinct_credits(connection: Connection) -> tuple[WeatherCredit, ...]:
    """Those of all sites, each once, in order of source and attribution."""
    found = {credit for its in load_credits(connection).values() for credit in its}
    return tuple(sorted(found, key=lambda one: (one.source, one.attribution)))
