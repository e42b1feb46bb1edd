"""The fitted laws of the soil estimate as values: exchange at the surface, and the two forms there are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from models.agronomy.correction import Correction, Spread
from models.agronomy.fitted import CLEARNESS, DOUBT, PLAIN, WINDY
from models.agronomy.sky import Array, Clearness


@dataclass(frozen=True, slots=True)
class Surface:
    """Exchange between the surface and what is above it; each a number, or an array over sites.

    absorbed: share of sun that heats soil, and not leaves, air or vapour. loss, loss_clear: long-wave and
    latent loss in W/m², loss + loss_clear · clear. film_log, film_clear, film_wind: exchange with air in
    W/m² K, exp(film_log + film_clear · (clear - 1) + film_wind · ln((wind + 1) / 6)).
    """

    absorbed: float | Array
    loss: float | Array
    loss_clear: float | Array
    film_log: float | Array
    film_clear: float | Array
    film_wind: float | Array = 0.0

    def film(self, clear: Array, log_wind: Array) -> Array:
        """W/m² K, within what a surface can have (0.4 to 55)."""
        log = self.film_log + self.film_clear * (clear - 1) + self.film_wind * log_wind
        return np.exp(np.minimum(np.maximum(log, -1.0), 4.0))

    def outside_c(self, air_c: Array, sun_w_m2: Array, clear: Array, film: Array) -> Array:
        """The air that would give the same flux without sun and loss, (steps, sites)."""
        return air_c + (self.absorbed * sun_w_m2 - (self.loss + self.loss_clear * clear)) / film


@dataclass(frozen=True, slots=True)
class Form:
    """One way from weather to soil. `rise_c` is added at the fastest lengthening of days, fading with it.

    The rise is there because a smooth estimate passes a limit later than the soil does, whose first
    passage is its luckiest week. Without correction and spread (while fitting) the column stands alone.
    """

    surface: Surface
    correction: Correction | None = None
    rise_c: float = 0.0
    spread: Spread | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """Standard deviations added for what is not measured, °C; `kept` is the share left a day later."""

    filled_sd_c: float
    no_rain_sd_c: float
    long_gap_sd_c: float
    unmeasured_sd_c: float
    warm_up_sd_c: float
    kept: float


@dataclass(frozen=True, slots=True)
class Laws:
    """All that the estimate rests on. `windy` holds where wind is known for `windy_after` days, else `plain`.

    A site's mean range and wind begin as these priors, which count for as many days.
    """

    clearness: Clearness
    plain: Form
    windy: Form
    doubt: Doubt
    prior_range_c: float = 6.5  # Irish mean daily range (the seven stations of `fitted.py`)
    prior_range_days: float = 90.0
    prior_wind_m_s: float = 5.0  # Irish mean wind at 10 m (the same)
    prior_wind_days: float = 30.0
    windy_after: float = 30.0  # as many as the prior counts for (engineering choice)


def form_of(written: Mapping[str, Any]) -> Form:
    """The form that `fitted.py` holds as plain numbers."""
    return Form(
        Surface(**written["surface"]),
        Correction(**written["correction"]),
        written["rise_c"],
        Spread(written["spread"]),
    )


FITTED = Laws(Clearness(**CLEARNESS), form_of(PLAIN), form_of(WINDY), Doubt(**DOUBT))
