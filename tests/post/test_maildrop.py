"""The folder of mail: whole files under names made from keys, and a true answer about every key."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.facts.post import AttemptOutcome
from notifiers.channel import ChannelUnavailable, SendResult
from notifiers.maildrop import Maildrop, file_name

KEY = "visit:fern/leatherjackets/2026/2026-1-spring/treatment/1:rev1:booked"


def test_a_message_becomes_a_file_named_by_its_key(tmp_path: Path) -> None:
    drop = Maildrop(tmp_path / "new" / "mail")
    with drop.opened() as line:
        assert drop.settle(KEY) is False
        sent = line.send(KEY, b"Subject: x\r\n\r\n", "post@tarnwhistle.example", "fern@example.org")
    assert sent == SendResult(AttemptOutcome.SENT, file_name(KEY))
    assert drop.settle(KEY) is True
    assert {file.name: file.read_bytes() for file in drop.folder.iterdir()} == {
        file_name(KEY): b"Subject: x\r\n\r\n"
    }


@pytest.mark.parametrize("durable", [True, False])
def test_what_a_try_cut_short_left_is_no_mail_and_is_overwritten(tmp_path: Path, durable: bool) -> None:
    drop = Maildrop(tmp_path, durable=durable)
    (tmp_path / f".{file_name(KEY)}.part").write_bytes(b"Subj")
    assert drop.settle(KEY) is False
    with drop.opened() as line:
        line.send(KEY, b"whole", "", "")
    assert [file.name for file in tmp_path.iterdir()] == [file_name(KEY)]


def test_a_file_name_can_be_read_and_does_not_change() -> None:
    assert file_name(KEY).startswith("visit_fern_leatherjackets_2026_2026-1-spring_treatment_1_rev1_booked-")


@given(st.text(max_size=300), st.text(max_size=300))
def test_two_keys_never_share_a_name_and_no_name_leaves_the_folder(one: str, other: str) -> None:
    assert (file_name(one) == file_name(other)) == (one == other)
    assert not set("/\\\0\n") & set(file_name(one))
    assert not file_name(one).startswith(".")
    assert len(file_name(one).encode()) <= 255


def test_a_folder_that_cannot_be_is_said(tmp_path: Path) -> None:
    (tmp_path / "mail").write_text("a file stands in the way")
    with (
        pytest.raises(ChannelUnavailable, match=r"mail folder .*mail: File exists; make it a folder"),
        Maildrop(tmp_path / "mail").opened(),
    ):
        pass


def test_a_folder_that_goes_away_means_another_try(tmp_path: Path) -> None:
    drop = Maildrop(tmp_path / "mail")
    with drop.opened() as line:
        drop.folder.rmdir()
        sent = line.send(KEY, b"x", "", "")
    assert (sent.outcome, sent.line_lost) == (AttemptOutcome.RETRY, True)
    assert "No such file or directory" in sent.detail
