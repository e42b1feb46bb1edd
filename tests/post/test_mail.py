"""Each kind of mail, byte for byte, and what it must hold whatever its facts say.

The golden files were written by this code, then read by eye and looked at in a browser. To write them
anew after a change of words: `python -m tests.post.golden_files`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from email import message_from_bytes
from email.header import decode_header, make_header
from email.message import EmailMessage
from email.policy import compat32, default
from email.utils import parseaddr
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.facts.post import Message, MessageKind
from notifiers.mail import CannotWrite, Reader, put_into_words, write_mail
from tests.post.cast import BACK, BUSINESS, FIRST_ATTEMPT, one_of_each, the_reader, watering_message
from tests.post.golden_files import GOLDEN, a_mail

CASES = one_of_each()


def parsed(content: bytes) -> EmailMessage:
    read = message_from_bytes(content, policy=default)
    assert isinstance(read, EmailMessage)
    return read


def decoded(header: str) -> str:
    return str(make_header(decode_header(header)))


def body(read: EmailMessage, kind: str) -> str:
    part = read.get_body((kind,))
    assert part is not None
    return str(part.get_content())


class Words(HTMLParser):
    """The words a reader sees of an HTML document."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.hidden = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.hidden = tag in ("style", "title")

    def handle_endtag(self, tag: str) -> None:
        self.hidden = False

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.seen += data.split()


def words_of(html: str) -> set[str]:
    reader = Words()
    reader.feed(html)
    return bare(" ".join(reader.seen))


def bare(text: str) -> set[str]:
    return {word.strip(".,:;-").lower() for word in text.split()} - {""}


def test_there_is_a_case_of_every_kind() -> None:
    assert {message.kind for message in CASES.values()} == set(MessageKind)


@pytest.mark.parametrize("name", CASES)
def test_the_mail_is_the_golden_one(name: str) -> None:
    assert a_mail(CASES[name]) == (GOLDEN / f"{name}.eml").read_bytes()


@pytest.mark.parametrize("name", CASES)
def test_text_and_html_tell_the_same(name: str) -> None:
    wording = put_into_words(CASES[name], BUSINESS, the_reader(CASES[name]))
    in_html, in_text = words_of(wording.html), bare(wording.text)
    assert in_text - in_html <= {"why"}  # a heading over the facts, which a table does without
    assert in_html - in_text - bare(wording.subject) == set()


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_fetched_from_elsewhere(name: str) -> None:
    html = put_into_words(CASES[name], BUSINESS, the_reader(CASES[name])).html
    assert re.findall(r"<(?:img|link|script|iframe|object)|url\(|@import|src=", html) == []


def test_rfc_5322_3_6_headers_are_there_once_and_mean_what_was_told() -> None:
    read = parsed(a_mail(CASES["water-today"]))
    assert {name: read.get_all(name) for name in ("From", "To", "Subject", "Auto-Submitted")} == {
        "From": ["Tarnwhistle Turf <post@tarnwhistle.example>"],
        "To": ["Fern Okoro-Lindqvist <fern@example.org>"],
        "Subject": ["Water for 105 minutes today: Back lawn"],  # 930 L / 9 L/min = 103.3, told to the next 5
        "Auto-Submitted": ["auto-generated"],
    }
    assert datetime.strptime(str(read["Date"]), "%a, %d %b %Y %H:%M:%S %z") == FIRST_ATTEMPT
    assert re.fullmatch(r"<[0-9a-f]{40}@tarnwhistle\.example>", str(read["Message-ID"]))


@pytest.mark.parametrize("name", CASES)
def test_rfc_5322_2_1_1_lines_are_short_ascii_and_end_in_crlf(name: str) -> None:
    content = a_mail(CASES[name])
    lines = content.split(b"\r\n")
    assert content.isascii()
    assert max(len(line) for line in lines) <= 78
    assert not any(b"\r" in line or b"\n" in line for line in lines)


def test_rfc_2046_5_1_4_the_best_alternative_comes_last() -> None:
    read = parsed(a_mail(CASES["visit-booked"]))
    assert read.get_content_type() == "multipart/alternative"
    assert [part.get_content_type() for part in read.iter_parts()] == ["text/plain", "text/html"]
    assert read.defects == []


def test_rfc_2045_6_7_what_was_written_is_what_is_read() -> None:
    wording = put_into_words(CASES["treatment-done"], BUSINESS, the_reader(CASES["treatment-done"]))
    read = parsed(a_mail(CASES["treatment-done"]))
    assert body(read, "plain").splitlines() == wording.text.splitlines()
    assert body(read, "html").splitlines() == wording.html.splitlines()


def test_same_facts_give_the_same_bytes_and_another_key_another_identity() -> None:
    message = CASES["visit-moved"]
    assert a_mail(message) == a_mail(message)
    other = parsed(a_mail(replace(message, key=f"{message.key}-other")))
    assert other["Message-ID"] != parsed(a_mail(message))["Message-ID"]
    assert other.get_boundary() != parsed(a_mail(message)).get_boundary()


NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=120)


@settings(max_examples=150, deadline=None)
@given(name=NAMES, lawn_name=NAMES)
def test_rfc_2047_any_name_is_read_as_it_was_written(name: str, lawn_name: str) -> None:
    message = CASES["visit-booked"]
    told = replace(message, payload={**message.payload, "lawn_name": lawn_name})
    content = write_mail(told, BUSINESS, Reader(name, "fern@example.org"), FIRST_ATTEMPT)
    read = message_from_bytes(content, policy=compat32)
    one_line = " ".join(name.split())
    shown, address = parseaddr(str(read["To"]).replace("\r\n", ""))
    assert (decoded(shown), address) == (one_line, "fern@example.org")
    assert decoded(str(read["Subject"]).replace("\r\n", "")) == " ".join(
        f"Lawn treatment on Monday 20 April: {lawn_name}".split()
    )
    assert read.keys() == message_from_bytes(a_mail(message)).keys()
    assert max(len(line) for line in content.split(b"\r\n")) <= 998  # RFC 5322, 2.1.1


EVIL = 'Back lawn\r\nBcc: thief@example.org\r\n\r\n<script>alert("x")</script>'


def test_a_name_with_line_breaks_adds_no_header_and_no_markup() -> None:
    message = CASES["visit-booked"]
    told = replace(message, payload={**message.payload, "lawn_name": EVIL, "reason": EVIL})
    reader = Reader(name=f"Fern\nBcc: thief@example.org {EVIL}", email="fern@example.org")
    read = parsed(write_mail(told, BUSINESS, reader, FIRST_ATTEMPT))
    assert read.keys() == parsed(a_mail(message)).keys()
    assert [address.addr_spec for address in read["To"].addresses] == ["fern@example.org"]
    assert "<script" not in body(read, "html")
    assert "&lt;script&gt;" in body(read, "html")


@pytest.mark.parametrize(
    "email", ["fern@example.org\r\nBcc: thief@example.org", "fern", "", "férn@example.org", "a b@example.org"]
)
def test_an_address_that_mail_cannot_carry_is_refused_by_name(email: str) -> None:
    message = CASES["visit-booked"]
    with pytest.raises(CannotWrite, match=r"visit-booked|visit:fern-back.*correct the address") as refused:
        write_mail(message, BUSINESS, Reader("Fern", email), FIRST_ATTEMPT)
    assert repr(email) in str(refused.value)


def test_a_fact_that_is_missing_or_no_day_is_said() -> None:
    message = CASES["water-today"]
    reader = the_reader(message)
    without = {name: value for name, value in message.payload.items() if name != "advice_litres"}
    with pytest.raises(CannotWrite, match="'advice_litres' is undefined"):
        put_into_words(replace(message, payload=without), BUSINESS, reader)
    with pytest.raises(CannotWrite, match="Invalid isoformat string: 'soon'"):
        put_into_words(replace(message, payload={**message.payload, "day": "soon"}), BUSINESS, reader)


def test_facts_of_a_later_version_are_left_to_a_later_release() -> None:
    with pytest.raises(CannotWrite, match="facts are of version 2"):
        a_mail(replace(CASES["water-today"], payload_version=2))


def opening(message: Message) -> str:
    return put_into_words(message, BUSINESS, the_reader(message)).text.splitlines()[2]


def test_watering_says_minutes_first_and_litres_where_there_is_no_tap() -> None:
    no_tap = watering_message(lawn=replace(BACK, tap_litres_per_minute=None))
    assert opening(watering_message()) == "Please water Back lawn for 105 minutes today, Thursday 9 April."
    assert opening(no_tap) == (
        "Please give Back lawn 930 litres today, Thursday 9 April, spread evenly over 150 m². "
        "Early morning or evening is best."
    )


def test_cautions_stand_in_every_mail_about_water() -> None:
    for name in ("treatment-done", "water-today"):
        text = put_into_words(CASES[name], BUSINESS, the_reader(CASES[name])).text
        assert "backflow preventer" in text
        assert "Water restrictions and local rules come first." in text
    # Common practice: no mowing for 3 to 5 days, no iron, feed or scarifying for a fortnight.
    treated = put_into_words(CASES["treatment-done"], BUSINESS, the_reader(CASES["treatment-done"])).text
    for caution in ("children and pets off", "3 to 5 days", "No iron, feed", "No scarifying"):
        assert caution in treated
