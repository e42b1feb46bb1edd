"""What an attempt comes to: sent, owed again after a pause, failed, or doubtful. Pure."""

from __future__ import annotations

from datetime import datetime

from models.facts.post import AttemptOutcome, MessageState
from models.store.post import Ending
from notifiers.channel import SendResult
from notifiers.retry import pause_after

NOT_KNOWN = "whether it went out is not known: ask the reader, or send it again"


def sending_ending(key: str, attempt: int, result: SendResult, now: datetime) -> Ending:
    """The ending of a claim whose `attempt` (1 is the first) came to `result`."""
    match result.outcome:
        case AttemptOutcome.SENT:
            return Ending(MessageState.SENT)
        case AttemptOutcome.RETRY:
            return _again(key, attempt, result.detail, now)
        case AttemptOutcome.PERMANENT:
            return Ending(MessageState.FAILED, result.detail)
        case _:
            return Ending(MessageState.DOUBTFUL, f"{result.detail}; {NOT_KNOWN}")


def _again(key: str, attempt: int, detail: str, now: datetime) -> Ending:
    pause = pause_after(attempt, key)
    if pause is None:
        return Ending(MessageState.FAILED, f"given up after attempt {attempt}: {detail}")
    return Ending(MessageState.OWED, detail, now + pause)


def after_death(worker: str, went_out: bool | None) -> SendResult:
    """What the attempt of a `worker` that died came to, by what its channel knows of the message."""
    if went_out is None:
        return SendResult(AttemptOutcome.UNKNOWN, f"the process of {worker} ended while it was sending")
    if went_out:
        return SendResult(AttemptOutcome.SENT, "found sent after its process ended")
    return SendResult(AttemptOutcome.RETRY, "its process ended before it was sent")


def left_behind_ending(result: SendResult) -> Ending:
    """The ending of a claim left behind; what surely did not go out is owed at once."""
    match result.outcome:
        case AttemptOutcome.SENT:
            return Ending(MessageState.SENT)
        case AttemptOutcome.RETRY:
            return Ending(MessageState.OWED)
        case _:
            return Ending(MessageState.DOUBTFUL, f"{result.detail}; {NOT_KNOWN}")
