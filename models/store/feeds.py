"""Calendar feeds as bytes with a revision and an ETag, changed in the transaction that changes a visit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, Row, select

from models.facts.post import FeedEvent, FeedFacts
from models.facts.season import Season
from models.facts.step import RenderFeed
from models.facts.work import VisitKind, VisitState
from models.store.people import load_business
from models.store.writing import table_of, upsert
from models.tables.feeds import FeedRow
from models.tables.people import LawnRow
from models.tables.work import VisitRow

DAYS_KEPT = 400  # engineering choice: last year's same season stays to be looked up
CANCELLED = (VisitState.CALLED_OFF, VisitState.NOT_NEEDED, VisitState.MISSED)

_feeds = table_of(FeedRow)
_visits = table_of(VisitRow)
_lawns = table_of(LawnRow)


@dataclass(frozen=True, slots=True)
class Feed:
    """What a client's calendar address answers; `etag` is quoted, ready for its header."""

    client_key: str
    revision: int
    etag: str
    content: bytes
    changed_at: datetime


def refresh_feeds(
    connection: Connection, client_keys: Iterable[str], render: RenderFeed, now: datetime, today: date
) -> int:
    """Rebuild these clients' feeds from their visits since `today` - 400 days. Gives how many changed.

    A feed whose bytes stay the same keeps its revision, ETag and instant.
    """
    keys = sorted(set(client_keys))
    if not keys:
        return 0
    business = load_business(connection).name
    events = _events(connection, keys, today - timedelta(days=DAYS_KEPT))
    before = _load(connection, keys)
    rendered = {key: render(FeedFacts(key, business, events.get(key, ()))) for key in keys}
    changed = [
        _next(key, content, before.get(key), now)
        for key, content in rendered.items()
        if key not in before or before[key].content != content
    ]
    upsert(connection, FeedRow, [asdict(feed) for feed in changed])
    return len(changed)


def load_feed(connection: Connection, client_key: str) -> Feed | None:
    return _load(connection, [client_key]).get(client_key)


def _next(key: str, content: bytes, before: Feed | None, now: datetime) -> Feed:
    revision = 1 if before is None else before.revision + 1
    return Feed(key, revision, f'"{sha256(content).hexdigest()[:32]}"', content, now)


def _load(connection: Connection, keys: list[str]) -> dict[str, Feed]:
    rows = connection.execute(select(_feeds).where(_feeds.c.client_key.in_(keys)))
    return {
        row.client_key: Feed(row.client_key, row.revision, row.etag, row.content, row.changed_at)
        for row in rows
    }


def _events(connection: Connection, keys: list[str], since: date) -> Mapping[str, tuple[FeedEvent, ...]]:
    rows = connection.execute(
        select(_visits, _lawns.c.client_key, _lawns.c.name.label("lawn_name"))
        .join(_lawns, _lawns.c.key == _visits.c.lawn_key)
        .where(_lawns.c.client_key.in_(keys), _visits.c.day >= since)
        .order_by(_visits.c.day, _visits.c.key)
    )
    found: dict[str, list[FeedEvent]] = defaultdict(list)
    for row in rows:
        found[row.client_key].append(_event(row))
    return {key: tuple(events) for key, events in found.items()}


def _event(row: Row[Any]) -> FeedEvent:
    state = VisitState(row.state)
    return FeedEvent(
        visit_key=row.key,
        kind=VisitKind(row.kind),
        day=row.day,
        lawn_name=row.lawn_name,
        season=Season.parse(row.season_key),
        reason=row.reason,
        revision=row.revision,
        cancelled=state in CANCELLED,
        done=state is VisitState.DONE,
        changed_at=row.changed_at,
    )
