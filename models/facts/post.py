"""Messages: something owed to a person, with a unique key, sent once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from models.facts.season import Season
from models.facts.work import VisitKind

BUSINESS = "business"  # the recipient key of the business itself


class MessageKind(StrEnum):
    VISIT_BOOKED = "visit-booked"
    VISIT_MOVED = "visit-moved"
    VISIT_CALLED_OFF = "visit-called-off"
    TREATMENT_DONE = "treatment-done"
    WATER_TODAY = "water-today"
    ORDER_PACKS = "order-packs"


@dataclass(frozen=True, slots=True)
class Message:
    """A kind and a frozen payload of facts without prose; `payload` holds JSON values only.

    `recipient` is a client's key or BUSINESS; it is not to be sent before `not_before`.
    """

    key: str
    kind: MessageKind
    recipient: str
    payload: Mapping[str, object]
    caused_at: datetime
    not_before: datetime
    payload_version: int = 1


class MessageState(StrEnum):
    OWED = "owed"
    SENDING = "sending"
    SENT = "sent"
    FAILED = "failed"
    DOUBTFUL = "doubtful"


class AttemptOutcome(StrEnum):
    STARTED = "started"
    SENT = "sent"
    RETRY = "try again"
    PERMANENT = "permanent failure"
    UNKNOWN = "unknown outcome"


@dataclass(frozen=True, slots=True)
class FeedEvent:
    """One whole-day event of a calendar feed: a visit that has a day. Words are the renderer's."""

    visit_key: str
    kind: VisitKind
    day: date
    lawn_name: str
    season: Season
    reason: str
    revision: int
    cancelled: bool
    done: bool
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class FeedFacts:
    """All that a client's calendar feed says."""

    client_key: str
    business_name: str
    events: tuple[FeedEvent, ...]
