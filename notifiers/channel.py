"""What carries a message to its reader: one line is opened for a drain and closed after it."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Protocol

from models.errors import SwardtideError
from models.facts.post import AttemptOutcome


class ChannelUnavailable(SwardtideError):
    """No line can be had; nothing was attempted and every message stays as it was."""

    def __init__(self, channel: str, trouble: str, remedy: str) -> None:
        self.channel, self.trouble, self.remedy = channel, trouble, remedy
        super().__init__(f"{channel}: {trouble}; {remedy}")


@dataclass(frozen=True, slots=True)
class SendResult:
    """What an attempt came to. `line_lost`: the rest of the drain had better wait for the next."""

    outcome: AttemptOutcome
    detail: str = ""
    line_lost: bool = False


class Line(Protocol):
    def send(self, key: str, content: bytes, sender: str, recipient: str) -> SendResult:
        """Send one message to one bare address. Raises nothing for what a server or network may do."""
        ...


class Channel(Protocol):
    def opened(self) -> AbstractContextManager[Line]:
        """A line for one drain; ChannelUnavailable where there is none."""
        ...

    def settle(self, key: str) -> bool | None:
        """Whether the message of `key` went out; None: this channel cannot tell."""
        ...
