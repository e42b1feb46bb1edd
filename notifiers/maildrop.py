"""A folder of .eml files: mail for a rehearsal, a demo, or a business that sends it on by other means."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from models.facts.post import AttemptOutcome
from notifiers.channel import ChannelUnavailable, SendResult

READABLE = 120  # letters of a key that a file name shows


def file_name(key: str) -> str:
    """A file name made from the key alone; two keys never share one."""
    readable = re.sub(r"[^A-Za-z0-9.-]+", "_", key)[:READABLE].lstrip(".")
    return f"{readable}-{sha256(key.encode()).hexdigest()[:12]}.eml"


class Maildrop:
    """Writes each message under a temporary name and renames it, so a file that is there is whole.

    `durable` waits for the disk; without it a power cut, though no kill, may lose the last files.
    """

    def __init__(self, folder: Path, *, durable: bool = False) -> None:
        self.folder = folder
        self.durable = durable

    @contextmanager
    def opened(self) -> Iterator[Maildrop]:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise self._unavailable(fault) from fault
        yield self

    def settle(self, key: str) -> bool | None:
        return (self.folder / file_name(key)).exists()

    def send(self, key: str, content: bytes, sender: str, recipient: str) -> SendResult:
        target = self.folder / file_name(key)
        # Named by the key too, so that a try cut short is overwritten by the next and leaves nothing.
        part = target.with_name(f".{target.name}.part")
        try:
            self._write(part, content)
            part.replace(target)
            self._sync_folder()
        except OSError as fault:
            return SendResult(AttemptOutcome.RETRY, str(self._unavailable(fault)), line_lost=True)
        return SendResult(AttemptOutcome.SENT, target.name)

    def _write(self, part: Path, content: bytes) -> None:
        with part.open("wb") as file:
            file.write(content)
            if self.durable:
                file.flush()
                os.fsync(file.fileno())

    def _sync_folder(self) -> None:
        if not self.durable:
            return
        folder = os.open(self.folder, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)

    def _unavailable(self, fault: OSError) -> ChannelUnavailable:
        remedy = "make it a folder with room that this user may write to"
        return ChannelUnavailable(f"mail folder {self.folder}", fault.strerror or str(fault), remedy)
