"""Mail through a real server on loopback: every way it can answer, or not."""

from __future__ import annotations

import socket
import ssl
from pathlib import Path

import pytest

from models.errors import BadSettings
from models.facts.post import AttemptOutcome, MessageState
from models.store import post
from models.store.engine import Store
from notifiers.channel import ChannelUnavailable, SendResult
from notifiers.deliver import Deliver
from notifiers.smtp import MailServer, Security, SmtpChannel
from tests.post.cast import SEVEN, move_in, watering_message
from tests.post.golden_files import GOLDEN
from tests.post.mail_server import PASSWORD, USER, Certificates, Mailbox, a_mail_server

MAIL = (GOLDEN / "visit-booked.eml").read_bytes()
SENDER, FERN, MOSS = "post@tarnwhistle.example", "fern@example.org", "moss@example.org"


def plain(port: int, timeout_s: float = 10.0) -> SmtpChannel:
    return SmtpChannel(
        MailServer("127.0.0.1", port, Security.NONE, timeout_s=timeout_s, hello_name="localhost")
    )


def protected(port: int, security: Security, trust: ssl.SSLContext, password: str = PASSWORD) -> SmtpChannel:
    server = MailServer(
        "localhost", port, security, USER, password, 10.0, hello_name="localhost", tls_context=trust
    )
    return SmtpChannel(server)


def send(channel: SmtpChannel, *recipients: str) -> list[SendResult]:
    with channel.opened() as line:
        return [line.send(f"key {recipient}", MAIL, SENDER, recipient) for recipient in recipients]


def test_a_mail_arrives_as_it_was_written_over_one_connection() -> None:
    mailbox = Mailbox()
    with a_mail_server(mailbox) as port:
        assert send(plain(port), FERN, MOSS) == [SendResult(AttemptOutcome.SENT, "250 taken")] * 2
    assert mailbox.got == [(SENDER, [FERN], MAIL), (SENDER, [MOSS], MAIL)]
    assert mailbox.connections == 1


def test_rfc_5321_4_5_2_a_line_that_begins_with_a_dot_arrives_whole() -> None:
    mailbox = Mailbox()
    dotted = b"Subject: x\r\n\r\n.\r\n..two\r\nend\r\n"
    with a_mail_server(mailbox) as port, plain(port).opened() as line:
        line.send("key", dotted, SENDER, FERN)
    assert mailbox.got == [(SENDER, [FERN], dotted)]


@pytest.mark.parametrize("security", [Security.STARTTLS, Security.TLS])
def test_rfc_3207_and_rfc_4954_protected_and_logged_in(security: Security) -> None:
    mailbox, made = Mailbox(), Certificates.made_for("localhost")
    starttls = made.server if security is Security.STARTTLS else None
    tls = made.server if security is Security.TLS else None
    with a_mail_server(mailbox, starttls=starttls, tls=tls, login=True) as port:
        (sent,) = send(protected(port, security, made.client), FERN)
    assert sent.outcome is AttemptOutcome.SENT
    assert mailbox.got == [(SENDER, [FERN], MAIL)]
    assert mailbox.logged_in


def test_a_wrong_password_is_said_and_nothing_is_attempted() -> None:
    mailbox, made = Mailbox(), Certificates.made_for("localhost")
    with (
        a_mail_server(mailbox, starttls=made.server, login=True) as port,
        pytest.raises(ChannelUnavailable, match=r"it refused the login: 535 .*check user name and password"),
    ):
        send(protected(port, Security.STARTTLS, made.client, "wrong"), FERN)
    assert mailbox.got == []


@pytest.mark.parametrize("security", [Security.STARTTLS, Security.TLS])
def test_a_certificate_of_another_name_is_a_sentence(security: Security) -> None:
    mailbox, made = Mailbox(), Certificates.made_for("mail.elsewhere.example")
    starttls = made.server if security is Security.STARTTLS else None
    tls = made.server if security is Security.TLS else None
    with (
        a_mail_server(mailbox, starttls=starttls, tls=tls) as port,
        pytest.raises(
            ChannelUnavailable, match=r"its certificate is not to be trusted for this name: .*localhost"
        ),
    ):
        send(protected(port, security, made.client), FERN)
    assert mailbox.got == []


def test_a_certificate_of_an_unknown_authority_is_a_sentence() -> None:
    made, other = Certificates.made_for("localhost"), Certificates.made_for("localhost")
    with (
        a_mail_server(Mailbox(), starttls=made.server) as port,
        pytest.raises(ChannelUnavailable, match="its certificate is not to be trusted"),
    ):
        send(protected(port, Security.STARTTLS, other.client), FERN)


def test_a_server_without_starttls_gets_nothing_in_the_clear() -> None:
    mailbox, made = Mailbox(), Certificates.made_for("localhost")
    with a_mail_server(mailbox) as port, pytest.raises(ChannelUnavailable, match="STARTTLS"):
        send(protected(port, Security.STARTTLS, made.client), FERN)
    assert mailbox.got == []


def test_a_password_without_protection_is_refused() -> None:
    with pytest.raises(BadSettings, match="a password never goes in the clear"):
        MailServer("localhost", 25, Security.NONE, USER, PASSWORD)


def test_a_password_is_not_shown() -> None:
    assert PASSWORD not in repr(MailServer("localhost", 587, Security.TLS, USER, PASSWORD))


def test_no_server_is_a_sentence() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound but not listening: connections are refused
        port = taken.getsockname()[1]
        with pytest.raises(ChannelUnavailable, match=rf"mail server 127.0.0.1:{port}: no connection: "):
            send(plain(port), FERN)


@pytest.mark.parametrize(
    ("stage", "answer", "outcome"),
    [
        # RFC 5321, 4.2.1: 4yz transient, 5yz permanent.
        (f"MAIL {SENDER}", "451 try later", AttemptOutcome.RETRY),
        (f"MAIL {SENDER}", "550 not from you", AttemptOutcome.PERMANENT),
        (f"RCPT {FERN}", "450 grey-listed", AttemptOutcome.RETRY),
        (f"RCPT {FERN}", "550 no such user", AttemptOutcome.PERMANENT),
        ("DATA", "452 no room", AttemptOutcome.RETRY),
        ("DATA", "554 not liked", AttemptOutcome.PERMANENT),
    ],
)
def test_rfc_5321_4_2_1_the_code_decides(stage: str, answer: str, outcome: AttemptOutcome) -> None:
    with a_mail_server(Mailbox({stage: answer})) as port:
        assert send(plain(port), FERN) == [
            SendResult(outcome, f"mail server 127.0.0.1:{port} answered {answer}")
        ]


def test_a_refused_recipient_is_its_own_messages_trouble_alone() -> None:
    mailbox = Mailbox({f"RCPT {FERN}": "550 no such user"})
    with a_mail_server(mailbox) as port:
        told = send(plain(port), MOSS, FERN, MOSS)
    assert [result.outcome for result in told] == [
        AttemptOutcome.SENT,
        AttemptOutcome.PERMANENT,
        AttemptOutcome.SENT,
    ]
    assert [recipients for _, recipients, _ in mailbox.got] == [[MOSS], [MOSS]]
    assert mailbox.connections == 1


def test_rfc_5321_3_8_a_server_that_is_closing_ends_the_drain() -> None:
    with a_mail_server(Mailbox({f"RCPT {FERN}": "421 closing"})) as port:
        (told,) = send(plain(port), FERN)
    assert (told.outcome, told.line_lost) == (AttemptOutcome.RETRY, True)


@pytest.mark.parametrize(
    ("mailbox", "words"),
    [
        (Mailbox(hang_after_data=True), "no answer in time after the message was handed over"),
        (Mailbox(vanish_after_data=True), "the connection broke after the message was handed over"),
    ],
    ids=["hangs", "vanishes"],
)
def test_rfc_5321_4_5_3_2_6_no_answer_to_data_is_an_unknown_outcome(mailbox: Mailbox, words: str) -> None:
    with a_mail_server(mailbox) as port:
        (told,) = send(plain(port, timeout_s=0.5), FERN)
    assert (told.outcome, told.line_lost) == (AttemptOutcome.UNKNOWN, True)
    assert words in told.detail


def test_after_an_unknown_outcome_nothing_is_sent_twice(sqlite_store: Store, tmp_path: Path) -> None:
    move_in(sqlite_store)
    first, second = (watering_message(number=f"-{number}") for number in range(2))
    with sqlite_store.write() as connection:
        post.enqueue(connection, [first, second])
    mailbox = Mailbox(hang_after_data=True)
    with a_mail_server(mailbox) as port:
        deliver = Deliver(sqlite_store, plain(port, timeout_s=0.5), "one")
        deliver.run(SEVEN)
        mailbox.hang_after_data = False
        deliver.run(SEVEN)
        deliver.run(SEVEN)
    with sqlite_store.read() as connection:
        states = {kept.message.key: kept.state for kept in post.load_messages(connection)}
    assert states == {first.key: MessageState.DOUBTFUL, second.key: MessageState.SENT}
    assert len(mailbox.got) == 2


def test_a_server_cannot_tell_what_became_of_a_key() -> None:
    assert plain(25).settle("key") is None
