"""A client leaves."""

from __future__ import annotations

from datetime import datetime

from models.facts.place import ClientState
from models.facts.step import RenderFeed
from models.facts.work import Programme, ProgrammeState, VisitState
from models.store.engine import Connection, Store
from models.store.people import find_client, load_lawns, set_client_state
from models.store.programmes import end_programme, load_programmes
from models.store.visits import load_visits
from scheduler.entries.desk import at_the_desk, ended, tell
from scheduler.entries.text import require_line


def leave(store: Store, render_feed: RenderFeed, client_key: str, reason: str, now: datetime) -> bool:
    """End a client's programmes and call off what is open; one message for each visit that had a day.

    Gives whether anything changed: told twice, it does not. NotFound where there is no such client.
    """
    require_line("leave", "the reason", reason)
    with store.read() as connection:
        if find_client(connection, client_key).state is ClientState.LEFT:
            return False
    with at_the_desk(store, now) as desk:
        if not set_client_state(desk.connection, client_key, ClientState.LEFT):
            return False
        ending = [programme.key for programme in _programmes_of(desk.connection, client_key)]
        for key in ending:
            end_programme(desk.connection, key, ProgrammeState.ENDED, reason)
        before = load_visits(desk.connection, open_only=True, programme_keys=ending)
        after = [ended(visit, VisitState.CALLED_OFF, reason, now) for visit in before]
        tell(desk, render_feed, before, after)
        return True


def _programmes_of(connection: Connection, client_key: str) -> list[Programme]:
    lawns = {lawn.key for lawn in load_lawns(connection) if lawn.client_key == client_key}
    return [programme for programme in load_programmes(connection) if programme.lawn_key in lawns]
