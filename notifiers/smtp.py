"""A mail server as a channel: one connection for a drain, and a verdict on every attempt."""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from enum import StrEnum

from aiosmtplib import (
    SMTP,
    SMTPAuthenticationError,
    SMTPException,
    SMTPResponseException,
    SMTPServerDisconnected,
    SMTPTimeoutError,
)

from models.errors import BadSettings
from models.facts.post import AttemptOutcome
from notifiers.channel import ChannelUnavailable, SendResult

CLOSING = 421  # RFC 5321, 3.8: the server is shutting the connection


class Security(StrEnum):
    """How the connection is protected: TLS from the start, an upgrade to it, or not at all."""

    TLS = "tls"
    STARTTLS = "starttls"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class MailServer:
    """Where mail is handed in. `hello_name` None: the machine's own name is given to the server."""

    host: str
    port: int
    security: Security = Security.STARTTLS
    username: str | None = None
    password: str | None = field(default=None, repr=False)
    timeout_s: float = 60.0
    hello_name: str | None = None
    tls_context: ssl.SSLContext | None = None

    def __post_init__(self) -> None:
        if self.username is not None and self.security is Security.NONE:
            raise BadSettings(
                "mail security", self.security, "a password never goes in the clear: use starttls or tls"
            )

    def __str__(self) -> str:
        return f"mail server {self.host}:{self.port}"


class SmtpChannel:
    """Hands mail to a server. It cannot tell what became of a message whose answer never came."""

    def __init__(self, server: MailServer) -> None:
        self.server = server

    @contextmanager
    def opened(self) -> Iterator[SmtpLine]:
        with asyncio.Runner() as runner:
            line = SmtpLine(self.server, runner, _client(self.server))
            runner.run(line.connect())
            try:
                yield line
            finally:
                runner.run(line.leave())

    def settle(self, key: str) -> bool | None:
        return None


# A transport is closed in a later turn of the loop, under TLS one turn after the protocol above it; without
# these turns its socket would be left to the collector.
LAST_TURNS = 3


class SmtpLine:
    """One connection, made anew if the server let it go between two messages."""

    def __init__(self, server: MailServer, runner: asyncio.Runner, client: SMTP) -> None:
        self.server = server
        self._runner = runner
        self._client = client

    def send(self, key: str, content: bytes, sender: str, recipient: str) -> SendResult:
        return self._runner.run(self._send(content, sender, recipient))

    async def connect(self) -> None:
        try:
            await self._client.connect()
        except (SMTPException, OSError) as fault:
            await self._hang_up()
            raise _unavailable(self.server, fault) from fault

    async def leave(self) -> None:
        with suppress(SMTPException, OSError):
            await self._client.quit()
        await self._hang_up()

    async def _hang_up(self) -> None:
        self._client.close()
        for _ in range(LAST_TURNS):
            await asyncio.sleep(0)

    async def _send(self, content: bytes, sender: str, recipient: str) -> SendResult:
        try:
            if not self._client.is_connected:
                await self.connect()
            await self._client.mail(sender)
            await self._client.rcpt(recipient)
        except ChannelUnavailable as closed:
            return SendResult(AttemptOutcome.RETRY, str(closed), line_lost=True)
        except SMTPResponseException as answer:
            return await self._refused(answer, AttemptOutcome.RETRY)
        except (SMTPException, OSError) as fault:
            return self._broken(fault, AttemptOutcome.RETRY)
        return await self._hand_over(content)

    async def _hand_over(self, content: bytes) -> SendResult:
        try:
            answer = await self._client.data(content)
        except SMTPResponseException as refusal:
            return await self._refused(refusal, AttemptOutcome.UNKNOWN)
        except (SMTPException, OSError) as fault:
            return self._broken(fault, AttemptOutcome.UNKNOWN)
        return SendResult(AttemptOutcome.SENT, f"{answer.code} {answer.message}")

    async def _refused(self, answer: SMTPResponseException, otherwise: AttemptOutcome) -> SendResult:
        """By RFC 5321, 4.2.1: 4xx may pass another time, 5xx will not; any other code says nothing."""
        outcome = {4: AttemptOutcome.RETRY, 5: AttemptOutcome.PERMANENT}.get(answer.code // 100, otherwise)
        detail = f"{self.server} answered {answer.code} {answer.message}"
        if answer.code == CLOSING or outcome is AttemptOutcome.UNKNOWN:
            self._client.close()
            return SendResult(outcome, detail, line_lost=True)
        with suppress(SMTPException, OSError):
            await self._client.rset()
        return SendResult(outcome, detail)

    def _broken(self, fault: Exception, outcome: AttemptOutcome) -> SendResult:
        self._client.close()
        when = (
            "after the message was handed over" if outcome is AttemptOutcome.UNKNOWN else "before the message"
        )
        what = "no answer in time" if isinstance(fault, SMTPTimeoutError) else "the connection broke"
        # A server that let an idle connection go is worth another connection; one that hangs is not.
        lost = not isinstance(fault, SMTPServerDisconnected) or outcome is AttemptOutcome.UNKNOWN
        return SendResult(outcome, f"{self.server}: {what} {when} ({fault})", line_lost=lost)


def _client(server: MailServer) -> SMTP:
    return SMTP(
        hostname=server.host,
        port=server.port,
        username=server.username,
        password=server.password,
        local_hostname=server.hello_name,
        timeout=server.timeout_s,
        use_tls=server.security is Security.TLS,
        start_tls=server.security is Security.STARTTLS,
        tls_context=server.tls_context,
    )


def _unavailable(server: MailServer, fault: Exception) -> ChannelUnavailable:
    certificate = fault if isinstance(fault, ssl.SSLCertVerificationError) else fault.__cause__
    if isinstance(certificate, ssl.SSLCertVerificationError):
        trouble = f"its certificate is not to be trusted for this name: {certificate.verify_message}"
        return ChannelUnavailable(str(server), trouble, "check the host name; mail waits until this is right")
    if isinstance(fault, SMTPAuthenticationError):
        trouble = f"it refused the login: {fault.code} {fault.message}"
        return ChannelUnavailable(str(server), trouble, "check user name and password; mail waits until then")
    return ChannelUnavailable(
        str(server),
        f"no connection: {fault}",
        "check host, port, security and network; mail waits until then",
    )
