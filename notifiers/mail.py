"""A message's facts to the exact bytes of its mail: same facts and instant, same bytes."""

from __future__ import annotations

from binascii import b2a_qp
from dataclasses import dataclass
from datetime import datetime
from email.errors import MessageError
from email.header import Header
from email.headerregistry import Address
from email.utils import format_datetime
from functools import cache
from hashlib import sha256
from pathlib import Path
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined, TemplateError, select_autoescape

from models.errors import SwardtideError
from models.facts.post import Message
from models.facts.rules import Business
from notifiers import words

TEMPLATES = Path(__file__).parent / "templates"
PAYLOAD_VERSION = 1
LONGEST_LINE = 78  # RFC 5322, 2.1.1
SHORT_NAME = 60


class CannotWrite(SwardtideError):
    """A message cannot be put into words or addressed. It concerns this message alone."""

    def __init__(self, key: str, trouble: str, remedy: str) -> None:
        self.key, self.trouble, self.remedy = key, trouble, remedy
        super().__init__(f"message {key} cannot be written: {trouble}; {remedy}")


@dataclass(frozen=True, slots=True)
class Reader:
    """Who a mail is for. `calendar_address` is the address of the client's own feed, where there is one."""

    name: str
    email: str
    calendar_address: str | None = None


@dataclass(frozen=True, slots=True)
class Wording:
    subject: str
    text: str
    html: str


def write_mail(message: Message, business: Business, reader: Reader, first_attempt: datetime) -> bytes:
    """The whole mail with CRLF line ends, dated `first_attempt`; CannotWrite where that is not possible."""
    wording = put_into_words(message, business, reader)
    head = (
        _address(message.key, "From", business.name, business.email),
        _address(message.key, "To", reader.name, reader.email),
        f"Subject: {_folded('Subject', wording.subject)}",
        f"Date: {format_datetime(first_attempt.astimezone(ZoneInfo(business.time_zone)))}",
        f"Message-ID: {message_id(message.key, business.email)}",
        "Auto-Submitted: auto-generated",  # RFC 3834, 5: no out-of-office answers
    )
    return "".join(f"{line}\r\n" for line in head).encode("ascii") + _alternatives(message.key, wording)


def _alternatives(key: str, wording: Wording) -> bytes:
    """The rest of the mail after RFC 2046, 5.1.4, by hand: the library takes longer than all the rest."""
    # RFC 2045, 6.7: quoted-printable never holds "=_", so no line of a part can be taken for it.
    boundary = f"=_{_digest(key, 32)}"
    head = f'MIME-Version: 1.0\r\nContent-Type: multipart/alternative;\r\n boundary="{boundary}"\r\n\r\n'
    parts = (_part(boundary, "plain", wording.text), _part(boundary, "html", wording.html))
    return b"".join((head.encode(), *parts, f"--{boundary}--\r\n".encode()))


def _part(boundary: str, subtype: str, text: str) -> bytes:
    head = (
        f'--{boundary}\r\nContent-Type: text/{subtype}; charset="utf-8"\r\n'
        "Content-Transfer-Encoding: quoted-printable\r\n\r\n"
    )
    lines = "".join(f"{line}\r\n" for line in text.splitlines())
    return head.encode() + b2a_qp(lines.encode())


def message_id(key: str, business_email: str) -> str:
    return f"<{_digest(key, 40)}@{business_email.rpartition('@')[2]}>"


def put_into_words(message: Message, business: Business, reader: Reader) -> Wording:
    """Subject, text and HTML from the templates of the message's kind."""
    if message.payload_version != PAYLOAD_VERSION:
        trouble = (
            f"its facts are of version {message.payload_version}, these templates tell {PAYLOAD_VERSION}"
        )
        raise CannotWrite(message.key, trouble, "run the release that wrote it, or a newer one")
    facts: dict[str, object] = {**message.payload, "business": business, "reader": reader}
    try:
        # One line, whatever a name holds: a line break would begin another header.
        subject = " ".join(_render(f"{message.kind}.subject.txt", facts).split())
        facts["subject"] = subject
        return Wording(subject, _render(f"{message.kind}.txt", facts), _render(f"{message.kind}.html", facts))
    except (TemplateError, ValueError, TypeError) as fault:
        remedy = "mend the facts or the template, then send again"
        raise CannotWrite(message.key, f"{type(fault).__name__}: {fault}", remedy) from fault


def _render(name: str, facts: dict[str, object]) -> str:
    return _environment().get_template(name).render(facts)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        undefined=StrictUndefined,
        autoescape=select_autoescape(enabled_extensions=("html",), default=False),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
    )
    environment.filters.update(
        day=words.day_words,
        litres=words.litres_words,
        minutes=words.minutes_words,
        number=words.number_words,
        packs=words.packs_words,
        sentence=words.sentence,
        title=words.visit_title,
        purpose=words.visit_purpose,
    )
    return environment


def _address(key: str, field: str, name: str, email: str) -> str:
    """The header line. By hand: the library, folding a long quoted name, lets its quotes go (3.11.7)."""
    remedy = "correct the address, then send again"
    if not email.isascii() or email.split() != [email]:
        raise CannotWrite(key, f"e-mail address {email!r} has letters that mail cannot carry", remedy)
    try:
        Address(addr_spec=email)
    except (ValueError, IndexError, MessageError) as fault:
        raise CannotWrite(key, f"e-mail address {email!r}: {fault}", remedy) from fault
    line = f"{field}: {_display_name(field, name)}"
    return f"{line} <{email}>" if len(line) + len(email) < LONGEST_LINE - 3 else f"{line}\r\n <{email}>"


def _display_name(field: str, name: str) -> str:
    """RFC 5322, 3.2.4: a quoted string where letters and length allow, else RFC 2047 encoded words."""
    one_line = " ".join(name.split())
    if _is_plain(one_line) and len(one_line) <= SHORT_NAME:
        return '"' + one_line.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return str(Header(one_line, "utf-8", header_name=field).encode(linesep="\r\n"))


def _folded(field: str, text: str) -> str:
    charset = None if _is_plain(text) else "utf-8"
    return str(Header(text, charset, header_name=field).encode(linesep="\r\n"))


def _is_plain(text: str) -> bool:
    return text.isascii() and text.isprintable() and "=?" not in text


def _digest(key: str, letters: int) -> str:
    return sha256(key.encode()).hexdigest()[:letters]
