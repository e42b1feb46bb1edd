"""Errors that a person is shown: each names the thing, its value and the remedy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class SwardtideError(Exception):
    """Base of every error whose text is written for a person."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input: where it stands, what stands there, what to do."""

    where: str
    value: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where}: {self.value} - {self.remedy}"


class RefusedInput(SwardtideError):
    """An input was refused whole; nothing was changed. Carries every fault found."""

    def __init__(self, subject: str, faults: Sequence[Fault]) -> None:
        self.subject = subject
        self.faults = tuple(faults)
        lines = [f"{subject}: refused, nothing was changed. {len(self.faults)} fault(s):"]
        super().__init__("\n".join([*lines, *(f"  {fault}" for fault in self.faults)]))


class NotFound(SwardtideError):
    """Something was asked for by a key that is not known."""

    def __init__(self, kind: str, key: str, remedy: str) -> None:
        self.kind, self.key, self.remedy = kind, key, remedy
        super().__init__(f"{kind} {key!r} is not known: {remedy}")


class WeatherUnavailable(SwardtideError):
    """A weather source gave no answer; what was there before stays."""

    def __init__(self, source: str, what: str, remedy: str) -> None:
        self.source, self.what, self.remedy = source, what, remedy
        super().__init__(f"{source}: {what}; {remedy}")


class StaleRevision(SwardtideError):
    """The records changed while a step was computing; the step is to be done again."""

    def __init__(self, ledger: str, read: int) -> None:
        self.ledger, self.read = ledger, read
        super().__init__(f"{ledger}: revision {read} no longer holds; read again and recompute")


class BadSettings(SwardtideError):
    """A setting is missing or cannot be used."""

    def __init__(self, setting: str, value: str, remedy: str) -> None:
        self.setting, self.value, self.remedy = setting, value, remedy
        super().__init__(f"setting {setting} is {value!r}: {remedy}")
