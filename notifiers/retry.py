"""When a message that could not be sent is tried again. Pure: same attempt and key, same pause."""

from __future__ import annotations

from datetime import timedelta
from hashlib import sha256

FIRST_PAUSE = timedelta(minutes=10)  # engineering choice: grey-listing servers ask for 5 to 15 minutes
GROWTH = 2
JITTER = 0.25  # less than GROWTH - 1, so that every pause is longer than the one before
LAST_ATTEMPT = 8  # engineering choice: the seven pauses together last 21 to 27 hours


def pause_after(attempt: int, key: str) -> timedelta | None:
    """The pause after the failed `attempt` (1 is the first); None when there is to be no other.

    Its jitter spreads messages that failed together, and is a function of the message's key alone.
    """
    if attempt < 1:
        raise ValueError(f"attempt {attempt} is none: the first is 1")
    if attempt >= LAST_ATTEMPT:
        return None
    return FIRST_PAUSE * float(GROWTH ** (attempt - 1) * (1 + JITTER * _spread(key)))


def _spread(key: str) -> float:
    """A number in [0, 1) that looks random and is the key's own."""
    return int.from_bytes(sha256(key.encode()).digest()[:4]) / 2**32
