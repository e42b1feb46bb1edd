"""A real SMTP server on loopback that takes mail, or misbehaves as it is told to."""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Thread

import trustme
from aiosmtpd.smtp import SMTP, AuthResult, Envelope, LoginPassword, Session

USER, PASSWORD = "tarnwhistle", "an-invented-password"


@dataclass
class Mailbox:
    """What the server does and what it got. `answers`: the reply to a stage, "RCPT fern@example.org"."""

    answers: dict[str, str] = field(default_factory=dict)
    hang_after_data: bool = False
    vanish_after_data: bool = False
    got: list[tuple[str, list[str], bytes]] = field(default_factory=list)
    connections: int = 0
    logged_in: bool = False

    async def handle_EHLO(  # noqa: N802
        self, server: SMTP, session: Session, envelope: Envelope, hostname: str, responses: list[str]
    ) -> list[str]:
        session.host_name = hostname
        self.connections += session.peer is not None and not session.ssl
        return responses

    async def handle_MAIL(  # noqa: N802
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        envelope.mail_from = address
        return self.answers.get(f"MAIL {address}", "250 OK")

    async def handle_RCPT(  # noqa: N802
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        answer = self.answers.get(f"RCPT {address}", "250 OK")
        if answer.startswith("2"):
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802
        assert isinstance(envelope.content, bytes)
        self.got.append((envelope.mail_from or "", list(envelope.rcpt_tos), envelope.content))
        self.logged_in = session.authenticated or False
        if self.hang_after_data:
            await asyncio.sleep(5)
        if self.vanish_after_data:
            server.transport.close()
        return self.answers.get("DATA", "250 taken")


def check_login(
    server: SMTP, session: Session, envelope: Envelope, mechanism: str, data: object
) -> AuthResult:
    wanted = LoginPassword(USER.encode(), PASSWORD.encode())
    return AuthResult(success=data == wanted, handled=False)


@dataclass(frozen=True)
class Certificates:
    """A certificate for `name` and contexts for both sides, from an authority of a test's own."""

    server: ssl.SSLContext
    client: ssl.SSLContext

    @staticmethod
    def made_for(name: str) -> Certificates:
        authority = trustme.CA()
        server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        authority.issue_cert(name).configure_cert(server)
        client = ssl.create_default_context()
        authority.configure_trust(client)
        return Certificates(server, client)


@contextmanager
def a_mail_server(
    mailbox: Mailbox,
    *,
    starttls: ssl.SSLContext | None = None,
    tls: ssl.SSLContext | None = None,
    login: bool = False,
) -> Iterator[int]:
    """Gives the port. With `starttls` nothing goes before the upgrade; with `login` nothing before that."""
    loop = asyncio.new_event_loop()

    def a_session() -> SMTP:
        return SMTP(
            mailbox,
            hostname="mail.invalid",
            tls_context=starttls,
            require_starttls=starttls is not None,
            authenticator=check_login if login else None,
            # Over TLS from the start the library takes a login, but warns where it is required.
            auth_required=login and tls is None,
            auth_require_tls=tls is None,
            loop=loop,
        )

    server = loop.run_until_complete(loop.create_server(a_session, "127.0.0.1", 0, ssl=tls))
    thread = Thread(target=loop.run_forever)
    thread.start()
    try:
        yield server.sockets[0].getsockname()[1]
    finally:
        asyncio.run_coroutine_threadsafe(_close(server), loop).result(timeout=30)
        loop.call_soon_threadsafe(loop.stop)
        thread.join()
        loop.close()


async def _close(server: asyncio.Server) -> None:
    """Sessions that hang are ended too, so that nothing outlives the test."""
    server.close()
    mine = asyncio.current_task()
    sessions = [task for task in asyncio.all_tasks() if task is not mine]
    for session in sessions:
        session.cancel()
    await asyncio.gather(*sessions, return_exceptions=True)
    await asyncio.sleep(0.05)
