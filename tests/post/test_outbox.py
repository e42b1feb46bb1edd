"""Exactly once in, and out once or said: on SQLite and on PostgreSQL, with processes dying anywhere."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from threading import Barrier, Thread

import pytest
from sqlalchemy import event

from models.facts.place import Client
from models.facts.post import AttemptOutcome, Message, MessageState
from models.facts.step import Outcome
from models.store import post
from models.store.engine import Store, open_store
from notifiers.channel import ChannelUnavailable, SendResult
from notifiers.deliver import Deliver
from notifiers.maildrop import Maildrop, file_name
from notifiers.retry import LAST_ATTEMPT, pause_after
from tests.post.cast import FIRST_ATTEMPT, NO_MAIL, SEVEN, move_in, one_of_each, watering_message
from tests.post.golden_files import GOLDEN
from tests.postgres import PostgresServer

CASES = one_of_each()
BOOKED = CASES["visit-booked"]


class Killed(BaseException):
    """What a SIGKILL looks like from inside: nothing after it runs."""


class DiesBeforeTheWire(Maildrop):
    def send(self, key: str, content: bytes, sender: str, recipient: str) -> SendResult:
        raise Killed


class DiesAfterTheWire(Maildrop):
    def send(self, key: str, content: bytes, sender: str, recipient: str) -> SendResult:
        super().send(key, content, sender, recipient)
        raise Killed


class CannotTell(Maildrop):
    """Sends, but like a mail server does not know afterwards what went out."""

    def settle(self, key: str) -> bool | None:
        return None


class Answers(Maildrop):
    """Answers every attempt with the same result, and keeps what it was handed."""

    def __init__(self, folder: Path, result: SendResult) -> None:
        super().__init__(folder)
        self.result = result
        self.handed: list[tuple[str, bytes]] = []

    def send(self, key: str, content: bytes, sender: str, recipient: str) -> SendResult:
        self.handed.append((key, content))
        return self.result


class Closed(Maildrop):
    @contextmanager
    def opened(self) -> Iterator[Maildrop]:
        raise ChannelUnavailable("mail server", "no connection", "mail waits")
        yield


class StartsTogether(Answers):
    """Opens its line only when the other worker, too, has seen what is due."""

    def __init__(self, folder: Path, together: Barrier) -> None:
        super().__init__(folder, SendResult(AttemptOutcome.SENT))
        self.together = together

    @contextmanager
    def opened(self) -> Iterator[Maildrop]:
        self.together.wait(timeout=30)
        yield self


def calendar_address(client: Client) -> str:
    return "https://tarnwhistle.example/feeds/invented-token.ics"


def owe(store: Store, *messages: Message) -> int:
    with store.write() as connection:
        return post.enqueue(connection, messages)


def kept(store: Store, message: Message) -> post.KeptMessage:
    with store.read() as connection:
        found = post.find_message(connection, message.key)
    assert found is not None
    return found


def outcomes(store: Store, message: Message) -> list[AttemptOutcome]:
    with store.read() as connection:
        return [attempt.outcome for attempt in post.load_attempts(connection, message.key)]


@pytest.fixture
def outbox(store: Store) -> Store:
    move_in(store)
    return store


def test_a_message_told_twice_is_owed_once(outbox: Store) -> None:
    assert owe(outbox, BOOKED, CASES["water-today"]) == 2
    assert owe(outbox, BOOKED, replace(BOOKED, payload={"other": "facts"})) == 0
    assert kept(outbox, BOOKED).message == BOOKED
    assert kept(outbox, BOOKED).state is MessageState.OWED


def test_a_message_is_owed_only_if_what_caused_it_was_written(outbox: Store) -> None:
    def cause_and_fail() -> None:
        with outbox.write() as connection:
            post.enqueue(connection, [BOOKED])
            raise RuntimeError("on purpose")

    with pytest.raises(RuntimeError, match="on purpose"):
        cause_and_fail()
    with outbox.read() as connection:
        assert post.load_messages(connection) == ()


def test_every_kind_goes_out_as_its_golden_mail(outbox: Store, tmp_path: Path) -> None:
    shown = {name: message for name, message in CASES.items() if name != "visit-moved-no-day"}  # same key
    shown = {name: message for name, message in shown.items() if name != "visit-called-off-missed"}
    assert owe(outbox, *shown.values()) == len(shown)
    sent = Deliver(outbox, Maildrop(tmp_path), "one", calendar_address).run(FIRST_ATTEMPT)
    assert sent == Outcome(len(shown))
    assert {file.name: file.read_bytes() for file in tmp_path.glob("*.eml")} == {
        file_name(message.key): (GOLDEN / f"{name}.eml").read_bytes() for name, message in shown.items()
    }
    assert {kept(outbox, message).state for message in shown.values()} == {MessageState.SENT}


def test_nothing_goes_out_before_its_time(outbox: Store, tmp_path: Path) -> None:
    owe(outbox, BOOKED)
    deliver = Deliver(outbox, Maildrop(tmp_path), "one")
    assert deliver.run(SEVEN - timedelta(seconds=1)) == Outcome(0)
    assert deliver.run(SEVEN) == Outcome(1)
    assert deliver.run(SEVEN) == Outcome(0)


def test_with_nothing_due_one_query_is_all(outbox: Store, tmp_path: Path) -> None:
    owe(outbox, BOOKED)
    statements: list[str] = []
    event.listen(outbox.engine, "before_cursor_execute", lambda *told: statements.append(told[2]))
    assert Deliver(outbox, Maildrop(tmp_path), "one").run(SEVEN - timedelta(hours=1)) == Outcome(0)
    assert [statement.split()[0] for statement in statements if statement != "BEGIN"] == ["SELECT"]


def test_a_claim_is_one_workers_alone(outbox: Store) -> None:
    owe(outbox, BOOKED)
    with outbox.write() as connection:
        assert post.claim(connection, BOOKED.key, "one", SEVEN - timedelta(seconds=1)) is None
        mine = post.claim(connection, BOOKED.key, "one", SEVEN)
        assert mine is not None
        assert (mine.claimed_by, mine.state) == ("one", MessageState.SENDING)
        assert post.claim(connection, BOOKED.key, "two", SEVEN) is None


def test_a_claim_judged_doubtful_must_not_send_any_more(outbox: Store) -> None:
    owe(outbox, BOOKED)
    with outbox.write() as connection:
        mine = post.claim(connection, BOOKED.key, "one", SEVEN)
        assert mine is not None
        assert post.end_claim(connection, mine, post.Ending(MessageState.DOUBTFUL), SEVEN)
        assert post.begin_attempt(connection, mine, b"mail", SEVEN) is None


def test_killed_between_claim_and_attempt(outbox: Store, tmp_path: Path) -> None:
    """Even a channel that cannot tell has nothing to be asked: it was never on the wire."""
    owe(outbox, BOOKED)
    with outbox.write() as connection:
        post.claim(connection, BOOKED.key, "one", SEVEN)
    Deliver(outbox, CannotTell(tmp_path), "one").run(FIRST_ATTEMPT)
    assert kept(outbox, BOOKED).state is MessageState.SENT
    assert outcomes(outbox, BOOKED) == [AttemptOutcome.SENT]


def test_killed_before_the_wire_it_is_owed_again_and_goes_out_once(outbox: Store, tmp_path: Path) -> None:
    owe(outbox, BOOKED)
    with pytest.raises(Killed):
        Deliver(outbox, DiesBeforeTheWire(tmp_path), "one").run(SEVEN)
    first = kept(outbox, BOOKED)
    assert (first.state, outcomes(outbox, BOOKED)) == (MessageState.SENDING, [AttemptOutcome.STARTED])
    Deliver(outbox, Maildrop(tmp_path), "one").run(FIRST_ATTEMPT)
    assert kept(outbox, BOOKED).state is MessageState.SENT
    assert outcomes(outbox, BOOKED) == [AttemptOutcome.RETRY, AttemptOutcome.SENT]
    # The exact bytes of the first attempt, dated when that was.
    assert [file.read_bytes() for file in tmp_path.glob("*.eml")] == [first.content]


def test_killed_after_the_wire_a_channel_that_can_tell_settles_it(outbox: Store, tmp_path: Path) -> None:
    owe(outbox, BOOKED)
    with pytest.raises(Killed):
        Deliver(outbox, DiesAfterTheWire(tmp_path), "one").run(SEVEN)
    nothing_more = Answers(tmp_path, SendResult(AttemptOutcome.SENT))
    assert Deliver(outbox, nothing_more, "one").run(FIRST_ATTEMPT) == Outcome(1)
    assert nothing_more.handed == []
    assert (kept(outbox, BOOKED).state, outcomes(outbox, BOOKED)) == (
        MessageState.SENT,
        [AttemptOutcome.SENT],
    )


def test_killed_on_the_wire_a_channel_that_cannot_tell_leaves_it_to_a_person(
    outbox: Store, tmp_path: Path
) -> None:
    owe(outbox, BOOKED)
    with pytest.raises(Killed):
        Deliver(outbox, DiesAfterTheWire(tmp_path), "one").run(SEVEN)
    sentence = (
        f"{BOOKED.key}: the process of one ended while it was sending; "
        "whether it went out is not known: ask the reader, or send it again"
    )
    deliver = Deliver(outbox, CannotTell(tmp_path), "one")
    assert deliver.run(FIRST_ATTEMPT) == Outcome(1, (sentence,))
    assert kept(outbox, BOOKED).state is MessageState.DOUBTFUL
    assert deliver.run(FIRST_ATTEMPT + timedelta(days=9)) == Outcome(0)


def test_a_person_sends_a_doubtful_message_again_with_the_same_bytes(outbox: Store, tmp_path: Path) -> None:
    owe(outbox, BOOKED)
    with pytest.raises(Killed):
        Deliver(outbox, DiesAfterTheWire(tmp_path), "one").run(SEVEN)
    channel = CannotTell(tmp_path)
    Deliver(outbox, channel, "one").run(FIRST_ATTEMPT)
    before = kept(outbox, BOOKED)
    with outbox.write() as connection:
        assert post.release(connection, BOOKED.key, FIRST_ATTEMPT)
        assert not post.release(connection, BOOKED.key, FIRST_ATTEMPT)
    Deliver(outbox, channel, "one").run(FIRST_ATTEMPT)
    after = kept(outbox, BOOKED)
    assert (after.state, after.content) == (MessageState.SENT, before.content)


def test_a_claim_of_another_worker_is_left_alone_for_a_quarter_of_an_hour(
    outbox: Store, tmp_path: Path
) -> None:
    owe(outbox, BOOKED)
    with pytest.raises(Killed):
        Deliver(outbox, DiesBeforeTheWire(tmp_path), "one").run(SEVEN)
    other = Deliver(outbox, Maildrop(tmp_path), "two")
    assert other.run(SEVEN + timedelta(minutes=15)) == Outcome(0)
    assert other.run(SEVEN + timedelta(minutes=16)).changed == 1
    assert kept(outbox, BOOKED).state is MessageState.DOUBTFUL
    assert list(tmp_path.glob("*.eml")) == []


def test_without_an_address_the_client_is_to_be_telephoned(outbox: Store, tmp_path: Path) -> None:
    silent = replace(BOOKED, recipient=NO_MAIL.key)
    owe(outbox, silent)
    Deliver(outbox, Maildrop(tmp_path), "one").run(SEVEN)
    found = kept(outbox, silent)
    assert (found.state, found.trouble) == (MessageState.FAILED, "no e-mail address: telephone")
    assert outcomes(outbox, silent) == []


def test_a_message_that_cannot_be_written_keeps_no_other_back(outbox: Store, tmp_path: Path) -> None:
    poisoned = replace(BOOKED, key="a-poisoned-one", payload={})
    owe(outbox, poisoned, BOOKED)
    done = Deliver(outbox, Maildrop(tmp_path), "one").run(SEVEN)
    assert done.changed == 2
    assert kept(outbox, poisoned).state is MessageState.FAILED
    assert "'kind' is undefined" in kept(outbox, poisoned).trouble
    assert kept(outbox, BOOKED).state is MessageState.SENT


def test_watering_advice_of_yesterday_is_not_sent(outbox: Store, tmp_path: Path) -> None:
    late = watering_message(date(2026, 4, 9))
    owe(outbox, late)
    Deliver(outbox, Maildrop(tmp_path), "one").run(SEVEN + timedelta(days=1))
    found = kept(outbox, late)
    assert (found.state, found.trouble) == (
        MessageState.FAILED,
        "its day has passed: it would mislead",
    )


def test_a_known_failure_is_tried_again_with_growing_pauses_and_the_same_bytes(
    outbox: Store, tmp_path: Path
) -> None:
    owe(outbox, BOOKED)
    busy = Answers(tmp_path, SendResult(AttemptOutcome.RETRY, "450 try later"))
    deliver, now = Deliver(outbox, busy, "one"), SEVEN
    for attempt in range(1, LAST_ATTEMPT):
        deliver.run(now)
        pause = pause_after(attempt, BOOKED.key)
        assert pause is not None
        owed = kept(outbox, BOOKED)
        assert (owed.state, owed.due_at, owed.trouble) == (MessageState.OWED, now + pause, "450 try later")
        assert deliver.run(owed.due_at - timedelta(seconds=1)) == Outcome(0)
        now = owed.due_at
    deliver.run(now)
    last = kept(outbox, BOOKED)
    assert (last.state, last.trouble) == (MessageState.FAILED, "given up after attempt 8: 450 try later")
    assert busy.handed == [(BOOKED.key, last.content)] * LAST_ATTEMPT


@pytest.mark.parametrize(
    ("outcome", "state"),
    [
        (AttemptOutcome.PERMANENT, MessageState.FAILED),
        (AttemptOutcome.UNKNOWN, MessageState.DOUBTFUL),
    ],
)
def test_what_is_not_known_to_have_failed_for_now_is_not_tried_again(
    outbox: Store, tmp_path: Path, outcome: AttemptOutcome, state: MessageState
) -> None:
    owe(outbox, BOOKED)
    channel = Answers(tmp_path, SendResult(outcome, "as it was told"))
    deliver = Deliver(outbox, channel, "one")
    deliver.run(SEVEN)
    assert deliver.run(SEVEN + timedelta(days=9)) == Outcome(0)
    assert (kept(outbox, BOOKED).state, outcomes(outbox, BOOKED)) == (state, [outcome])
    assert kept(outbox, BOOKED).trouble.startswith("as it was told")


def test_a_failed_message_sent_again_is_written_anew(outbox: Store, tmp_path: Path) -> None:
    owe(outbox, BOOKED)
    Deliver(outbox, Answers(tmp_path, SendResult(AttemptOutcome.PERMANENT, "550")), "one").run(SEVEN)
    with outbox.write() as connection:
        post.release(connection, BOOKED.key, FIRST_ATTEMPT)
    Deliver(outbox, Maildrop(tmp_path), "one", calendar_address).run(FIRST_ATTEMPT)
    assert kept(outbox, BOOKED).content == (GOLDEN / "visit-booked.eml").read_bytes()


def test_a_line_that_is_lost_ends_the_drain_and_costs_the_rest_no_attempt(
    outbox: Store, tmp_path: Path
) -> None:
    owe(outbox, BOOKED, CASES["water-today"])
    hanging = Answers(tmp_path, SendResult(AttemptOutcome.RETRY, "no answer", line_lost=True))
    Deliver(outbox, hanging, "one").run(SEVEN)
    assert len(hanging.handed) == 1
    states = [
        (kept(outbox, message).state, kept(outbox, message).attempts)
        for message in (BOOKED, CASES["water-today"])
    ]
    assert sorted(states, key=lambda told: told[1]) == [(MessageState.OWED, 0), (MessageState.OWED, 1)]


def test_without_a_line_everything_stays_as_it_was(outbox: Store, tmp_path: Path) -> None:
    owe(outbox, BOOKED)
    before = kept(outbox, BOOKED)
    told = Deliver(outbox, Closed(tmp_path), "one").run(SEVEN)
    assert told == Outcome(0, ("mail server: no connection; mail waits (1 owed)",))
    assert kept(outbox, BOOKED) == before


def test_two_workers_on_postgresql_send_each_message_once(postgres: PostgresServer, tmp_path: Path) -> None:
    with postgres.a_database() as address:
        stores = [open_store(address) for _ in range(2)]
        stores[0].migrate()
        move_in(stores[0])
        messages = [watering_message(number=f"-{number:03}") for number in range(200)]
        owe(stores[0], *messages)
        together = Barrier(2)
        channels = [StartsTogether(tmp_path, together) for _ in stores]
        workers = [
            Thread(target=Deliver(store, channel, f"worker-{number}").run, args=(SEVEN,))
            for number, (store, channel) in enumerate(zip(stores, channels, strict=True))
        ]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
        handed = [key for channel in channels for key, _ in channel.handed]
        assert sorted(handed) == sorted(message.key for message in messages)
        assert all(channel.handed for channel in channels)
        with stores[0].read() as connection:
            assert len(post.load_messages(connection, [MessageState.SENT])) == 200
        for store in stores:
            store.close()
