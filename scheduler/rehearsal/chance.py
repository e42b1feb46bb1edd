"""Chance without memory: every draw is a pure function of a seed and a natural key, by hashing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from hashlib import blake2b
from statistics import NormalDist
from typing import TypeVar

Option = TypeVar("Option")

BITS = 53  # of a double's fraction
STANDARD = NormalDist()


def uniform(seed: int, *key: object) -> float:
    """A number strictly between 0 and 1, the same for the same seed and key on every machine."""
    written = "\x1f".join(str(part) for part in (seed, *key))
    digest = blake2b(written.encode(), digest_size=8).digest()
    return ((int.from_bytes(digest, "big") >> (64 - BITS)) + 0.5) / (1 << BITS)


def happens(chance: float, seed: int, *key: object) -> bool:
    return uniform(seed, *key) < chance


def whole(least: int, most: int, seed: int, *key: object) -> int:
    """A whole number from `least` to `most`, both included."""
    return least + int(uniform(seed, *key) * (most - least + 1))


def one_of(options: Sequence[Option], seed: int, *key: object) -> Option:
    return options[whole(0, len(options) - 1, seed, *key)]


def normal(seed: int, *key: object) -> float:
    """Standard normal."""
    return STANDARD.inv_cdf(uniform(seed, *key))


def poisson(mean: float, seed: int, *key: object) -> int:
    """Poisson by inversion: the least count whose cumulative chance reaches the drawn uniform."""
    drawn = uniform(seed, *key)
    count, chance = 0, math.exp(-mean)
    reached = chance
    while reached < drawn and chance > 0:
        count += 1
        chance *= mean / count
        reached += chance
    return count
