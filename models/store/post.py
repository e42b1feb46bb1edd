"""Messages owed to people: enqueued once, claimed by one worker, every attempt noted before the wire."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, and_, bindparam, insert, or_, select, update

from models.facts.post import AttemptOutcome, Message, MessageKind, MessageState
from models.store.writing import insert_new, table_of
from models.tables.post import AttemptRow, MessageRow

CLAIM_LASTS = timedelta(minutes=15)  # engineering choice: longer than any drain takes
RELEASABLE = (MessageState.FAILED, MessageState.DOUBTFUL)

_messages = table_of(MessageRow)
_attempts = table_of(AttemptRow)

# Written once: they run three times a message, and building them would cost as much as running them.
_FREE = select(_messages.c.key).where(
    _messages.c.key == bindparam("of_key"),
    _messages.c.state == MessageState.OWED,
    _messages.c.due_at <= bindparam("at"),
)
_CLAIM = (
    update(_messages)
    .where(_messages.c.key == _FREE.with_for_update(skip_locked=True).scalar_subquery())
    .values(state=MessageState.SENDING, claimed_by=bindparam("of_worker"), claimed_at=bindparam("at"))
    .returning(*_messages.c)
)
_HELD = update(_messages).where(
    _messages.c.key == bindparam("of_key"),
    _messages.c.claimed_by == bindparam("of_worker"),
    _messages.c.claimed_at == bindparam("of_claim"),
)
_BEGIN = _HELD.where(_messages.c.state == MessageState.SENDING)
# A claim judged doubtful meanwhile is put right by the worker that knows what became of it.
_END = _HELD.where(_messages.c.state.in_((MessageState.SENDING, MessageState.DOUBTFUL)))
_ATTEMPT = insert(_attempts)
_OUTCOME = update(_attempts).where(
    _attempts.c.message_key == bindparam("of_key"), _attempts.c.ordinal == bindparam("of_ordinal")
)


@dataclass(frozen=True, slots=True)
class KeptMessage:
    """A message and what became of it. `content` is None until it was first rendered."""

    message: Message
    state: MessageState
    due_at: datetime
    claimed_by: str | None
    claimed_at: datetime | None
    attempts: int
    content: bytes | None
    settled_at: datetime | None
    trouble: str


@dataclass(frozen=True, slots=True)
class Attempt:
    message_key: str
    ordinal: int
    worker: str
    started_at: datetime
    outcome: AttemptOutcome
    detail: str


@dataclass(frozen=True, slots=True)
class Ending:
    """How a claim ends; an owed message keeps its `due_at` where no other is given."""

    state: MessageState
    trouble: str = ""
    due_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    """Keys of messages: claims to settle (`own`: its process died; `stale`: of others), then those due."""

    own: tuple[str, ...]
    stale: tuple[str, ...]
    due: tuple[str, ...]


def enqueue(connection: Connection, messages: Sequence[Message]) -> int:
    """Owe the messages whose key is new, each from its `not_before`. Gives how many were new."""
    return insert_new(connection, MessageRow, [_new_row(message) for message in messages])


def find_waiting(connection: Connection, worker: str, now: datetime) -> Waiting:
    """What `worker` has to do at `now`, in order of cause, by one query."""
    left_behind = or_(_messages.c.claimed_by == worker, _messages.c.claimed_at < now - CLAIM_LASTS)
    rows = connection.execute(
        select(_messages.c.key, _messages.c.state, _messages.c.claimed_by)
        .where(
            or_(
                and_(_messages.c.state == MessageState.OWED, _messages.c.due_at <= now),
                and_(_messages.c.state == MessageState.SENDING, left_behind),
            )
        )
        .order_by(_messages.c.caused_at, _messages.c.key)
    ).all()
    claimed = [row for row in rows if row.state == MessageState.SENDING]
    return Waiting(
        own=tuple(row.key for row in claimed if row.claimed_by == worker),
        stale=tuple(row.key for row in claimed if row.claimed_by != worker),
        due=tuple(row.key for row in rows if row.state == MessageState.OWED),
    )


def claim(connection: Connection, key: str, worker: str, now: datetime) -> KeptMessage | None:
    """Take the message for `worker` (at most 40 letters); None where another has it or it is not due."""
    row = connection.execute(_CLAIM, {"of_key": key, "of_worker": worker, "at": now}).one_or_none()
    return None if row is None else _kept(row)


def begin_attempt(connection: Connection, claimed: KeptMessage, content: bytes, now: datetime) -> int | None:
    """Keep the exact bytes and note that they are about to go on the wire. Gives the attempt's number.

    None: the claim is gone, and the message must not be sent.
    """
    ordinal = claimed.attempts + 1
    held = connection.execute(_BEGIN, {**_held(claimed), "content": content, "attempts": ordinal})
    if held.rowcount != 1:
        return None
    attempt = Attempt(claimed.message.key, ordinal, claimed.claimed_by or "", now, AttemptOutcome.STARTED, "")
    connection.execute(_ATTEMPT, asdict(attempt))
    return ordinal


def note_outcome(
    connection: Connection, key: str, ordinal: int, outcome: AttemptOutcome, detail: str
) -> None:
    """What an attempt came to."""
    noted = {"of_key": key, "of_ordinal": ordinal, "outcome": outcome, "detail": detail}
    connection.execute(_OUTCOME, noted)


def end_claim(connection: Connection, claimed: KeptMessage, ending: Ending, now: datetime) -> bool:
    """Give a claim up for its ending. Gives whether the claim was still this worker's."""
    owed = ending.state is MessageState.OWED
    values = {
        "state": ending.state,
        "trouble": ending.trouble,
        "due_at": (ending.due_at if owed else None) or claimed.due_at,
        "claimed_by": None if owed else claimed.claimed_by,
        "claimed_at": None if owed else claimed.claimed_at,
        "settled_at": None if owed else now,
    }
    return connection.execute(_END, {**_held(claimed), **values}).rowcount == 1


def release(connection: Connection, key: str, now: datetime) -> bool:
    """Owe a failed or doubtful message again because a person says so. Gives whether there was one.

    A failed one is rendered anew, since nobody got it and the address may have been mended; a doubtful
    one keeps its bytes, so that a second copy can be told by its Message-ID.
    """
    free: dict[str, Any] = {"state": MessageState.OWED, "due_at": now, "claimed_by": None, "claimed_at": None}
    doubtful = update(_messages).where(_messages.c.key == key, _messages.c.state == MessageState.DOUBTFUL)
    failed = update(_messages).where(_messages.c.key == key, _messages.c.state == MessageState.FAILED)
    changed = connection.execute(doubtful.values(**free, settled_at=None)).rowcount
    changed += connection.execute(failed.values(**free, settled_at=None, content=None)).rowcount
    return changed == 1


def load_messages(
    connection: Connection, states: Collection[MessageState] = tuple(MessageState)
) -> tuple[KeptMessage, ...]:
    """Messages in these states, in order of cause and key."""
    rows = connection.execute(
        select(_messages)
        .where(_messages.c.state.in_(states))
        .order_by(_messages.c.caused_at, _messages.c.key)
    )
    return tuple(_kept(row) for row in rows)


def find_message(connection: Connection, key: str) -> KeptMessage | None:
    row = connection.execute(select(_messages).where(_messages.c.key == key)).one_or_none()
    return None if row is None else _kept(row)


def load_attempts(connection: Connection, key: str) -> tuple[Attempt, ...]:
    rows = connection.execute(
        select(_attempts).where(_attempts.c.message_key == key).order_by(_attempts.c.ordinal)
    )
    return tuple(
        Attempt(
            row.message_key, row.ordinal, row.worker, row.started_at, AttemptOutcome(row.outcome), row.detail
        )
        for row in rows
    )


def _held(claimed: KeptMessage) -> dict[str, Any]:
    return {
        "of_key": claimed.message.key,
        "of_worker": claimed.claimed_by,
        "of_claim": claimed.claimed_at,
    }


def _new_row(message: Message) -> dict[str, Any]:
    return {
        "key": message.key,
        "kind": message.kind,
        "recipient": message.recipient,
        "payload": dict(message.payload),
        "payload_version": message.payload_version,
        "caused_at": message.caused_at,
        "not_before": message.not_before,
        "state": MessageState.OWED,
        "due_at": message.not_before,
        "attempts": 0,
        "trouble": "",
    }


def _kept(row: Row[Any]) -> KeptMessage:
    message = Message(
        key=row.key,
        kind=MessageKind(row.kind),
        recipient=row.recipient,
        payload=row.payload,
        caused_at=row.caused_at,
        not_before=row.not_before,
        payload_version=row.payload_version,
    )
    return KeptMessage(
        message=message,
        state=MessageState(row.state),
        due_at=row.due_at,
        claimed_by=row.claimed_by,
        claimed_at=row.claimed_at,
        attempts=row.attempts,
        content=row.content,
        settled_at=row.settled_at,
        trouble=row.trouble,
    )
