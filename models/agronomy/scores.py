"""How good a forecast was that came as many equally likely values. Pure."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

# The 80 % range, as the likely dates give it.
TENTHS = (0.1, 0.9)


def crps(members: ArrayLike, observed: float) -> float:
    """Continuous ranked probability score of equally likely `members`, in their unit; 0 is perfect.

    The integral of the squared difference of the two distribution functions (Hersbach 2000, Weather and
    Forecasting 15:559, equation 1), as mean |X - y| - mean |X - X'| / 2 (Gneiting & Raftery 2007, JASA
    102:359, equation 21), where X and X' run through all members. Of one member it is the absolute error.
    """
    ordered = np.sort(np.asarray(members, dtype=np.float64))
    count = len(ordered)
    if not count:
        raise ValueError("a score needs at least one member")
    # In order, member i is above i others: the mean of |X - X'| without a table of all pairs.
    apart = 2 * float((2 * np.arange(count) - count + 1) @ ordered) / count**2
    return float(np.abs(ordered - observed).mean()) - apart / 2


def within_range(members: ArrayLike, observed: float) -> bool:
    """Whether `observed` lies between the 10 and the 90 % member, ends included.

    Quantiles are members: type 1 of Hyndman & Fan 1996, The American Statistician 50:361.
    """
    low, high = np.quantile(np.asarray(members, dtype=np.float64), TENTHS, method="inverted_cdf")
    return bool(low <= observed <= high)
