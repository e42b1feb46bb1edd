"""The step named "post": settles claims left behind, then sends every message that is due, one by one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from models.clock import local_day
from models.facts.place import Client
from models.facts.post import BUSINESS, AttemptOutcome, Message, MessageKind, MessageState
from models.facts.rules import Business
from models.facts.step import Outcome
from models.store import post
from models.store.engine import Store
from models.store.people import load_business, load_clients
from models.store.post import Ending, KeptMessage
from notifiers.channel import Channel, ChannelUnavailable, Line, SendResult
from notifiers.mail import CannotWrite, Reader, write_mail
from notifiers.verdict import after_death, left_behind_ending, sending_ending

CalendarAddress = Callable[[Client], str]

# A drain has to end within `post.CLAIM_LASTS`, even at a second a message.
MOST_IN_A_DRAIN = 500
NO_ADDRESS = "no e-mail address: telephone"


@dataclass(frozen=True, slots=True)
class Desk:
    """Who writes, and to whom, as of the beginning of a drain."""

    business: Business
    clients: Mapping[str, Client]
    calendar_address: CalendarAddress | None

    def reader(self, recipient: str) -> Reader | None:
        """None: there is no address to write to."""
        if recipient == BUSINESS:
            return Reader(self.business.name, self.business.email)
        client = self.clients.get(recipient)
        if client is None or client.email is None:
            return None
        address = None if self.calendar_address is None else self.calendar_address(client)
        return Reader(client.name, client.email, address)

    def today(self, now: datetime) -> date:
        return local_day(now, self.business.time_zone)


@dataclass(frozen=True, slots=True)
class Done:
    """What came of one message: `trouble` is empty where all went well."""

    changed: int = 0
    trouble: str = ""
    line_lost: bool = False


class Deliver:
    """Sends what is due over `channel`.

    `worker` (at most 40 letters) is this process slot's own name: a claim that bears it when a run
    begins was left behind by a process that died. No two live processes may share one.
    """

    name = "post"

    def __init__(
        self, store: Store, channel: Channel, worker: str, calendar_address: CalendarAddress | None = None
    ) -> None:
        self.store = store
        self.channel = channel
        self.worker = worker
        self.calendar_address = calendar_address

    def run(self, now: datetime) -> Outcome:
        with self.store.read() as connection:
            waiting = post.find_waiting(connection, self.worker, now)
        done = [self._settle(key, now) for key in (*waiting.own, *waiting.stale)]
        if due := (*waiting.own, *waiting.stale, *waiting.due)[:MOST_IN_A_DRAIN]:
            done += self._drain(due, now)
        return Outcome(sum(one.changed for one in done), tuple(one.trouble for one in done if one.trouble))

    def _settle(self, key: str, now: datetime) -> Done:
        with self.store.read() as connection:
            left = post.find_message(connection, key)
            attempts = post.load_attempts(connection, key)
        if left is None or left.state is not MessageState.SENDING:
            return Done()
        on_the_wire = bool(attempts) and attempts[-1].outcome is AttemptOutcome.STARTED
        went_out = self.channel.settle(key) if on_the_wire else False
        if on_the_wire and went_out is False and left.claimed_by != self.worker:
            went_out = None  # its process may live on and be about to send
        result = after_death(left.claimed_by or "", went_out)
        ordinal = left.attempts if on_the_wire else None
        return self._end(left, ordinal, result, left_behind_ending(result), now)

    def _drain(self, due: Sequence[str], now: datetime) -> list[Done]:
        desk = self._desk()
        done: list[Done] = []
        try:
            with self.channel.opened() as line:
                for key in due:
                    done.append(self._deliver(line, desk, key, now))
                    if done[-1].line_lost:
                        break
        except ChannelUnavailable as closed:
            done.append(Done(trouble=f"{closed} ({len(due)} owed)"))
        return done

    def _desk(self) -> Desk:
        with self.store.read() as connection:
            clients = {client.key: client for client in load_clients(connection)}
            return Desk(load_business(connection), clients, self.calendar_address)

    def _deliver(self, line: Line, desk: Desk, key: str, now: datetime) -> Done:
        with self.store.write() as connection:
            claimed = post.claim(connection, key, self.worker, now)
        if claimed is None:
            return Done()
        reader = desk.reader(claimed.message.recipient)
        if reader is None:
            return self._fail(claimed, NO_ADDRESS, now)
        if _outlived(claimed.message, desk.today(now)):
            return self._fail(claimed, "its day has passed: it would mislead", now)
        try:
            content = claimed.content or write_mail(claimed.message, desk.business, reader, now)
        except CannotWrite as fault:
            return self._fail(claimed, str(fault), now)
        return self._send(line, claimed, content, (desk.business.email, reader.email), now)

    def _send(
        self, line: Line, claimed: KeptMessage, content: bytes, ends: tuple[str, str], now: datetime
    ) -> Done:
        with self.store.write() as connection:
            ordinal = post.begin_attempt(connection, claimed, content, now)
        if ordinal is None:
            return Done()
        result = line.send(claimed.message.key, content, *ends)
        return self._end(
            claimed, ordinal, result, sending_ending(claimed.message.key, ordinal, result, now), now
        )

    def _fail(self, claimed: KeptMessage, trouble: str, now: datetime) -> Done:
        result = SendResult(AttemptOutcome.PERMANENT, trouble)
        return self._end(claimed, None, result, Ending(MessageState.FAILED, trouble), now)

    def _end(
        self, claimed: KeptMessage, ordinal: int | None, result: SendResult, ending: Ending, now: datetime
    ) -> Done:
        key = claimed.message.key
        with self.store.write() as connection:
            changed = post.end_claim(connection, claimed, ending, now)
            if ordinal is not None:
                post.note_outcome(connection, key, ordinal, result.outcome, result.detail)
        return Done(int(changed), f"{key}: {ending.trouble}" if ending.trouble else "", result.line_lost)


def _outlived(message: Message, today: date) -> bool:
    """Advice for a day that is over would have a lawn watered twice."""
    return message.kind is MessageKind.WATER_TODAY and str(message.payload.get("day", "")) < today.isoformat()
