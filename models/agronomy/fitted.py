"""Fitted parameters of the soil estimate, as `swardtide fit-soil` wrote them. Not edited by hand.

Weights: least squares on 26291 station-days from 2013-01-01 at 7 stations
(dublin-airport, cork-airport, shannon-airport, malin-head, belmullet, johnstown-castle, claremorris),
fitted on 2026-11-25. `residual_sd_c` is the root mean square error at a station left out of the fitting.
Shares, store and prior: chosen on a small grid, each station's choice made on the other stations.
Spreads of filled days, long gaps and first days, and `doubt_kept`: rounded from gaps of 1, 3 and 10 days
cut into these records and from late starts in them. `unmeasured_sd_c` is an engineering choice.

Copyright Met Éireann. Source www.met.ie. The data is published under a Creative Commons Attribution
4.0 International (CC BY 4.0) licence, https://creativecommons.org/licenses/by/4.0/. Met Éireann does
not accept any liability whatsoever for any error or omission in the data, their availability, or for
any loss or damage arising from their use. The material has been modified from the original: cut to
2005 onwards and to a few columns, units converted; these numbers are derived from it.
"""

from typing import Final

SOIL: Final[dict[str, float]] = {
    "intercept_c": -0.0185049,
    "air_fast": 0.915515,
    "air_slow": 0.199979,
    "clear_air": -0.283367,
    "rainy_air": -0.00378968,
    "clear_radiation": 0.154661,
    "radiation_fast": -0.294118,
    "radiation_slow": 0.286022,
    "damp_radiation": -0.0564767,
    "share_air_fast": 0.6,
    "share_air_slow": 0.1,
    "share_radiation_fast": 0.55,
    "share_radiation_slow": 0.12,
    "share_rainy": 0.5,
    "share_damp": 0.35,
    "surface_store_mm": 15.0,
    "prior_range_c": 6.5,
    "prior_range_days": 90.0,
    "residual_sd_c": 0.889,
    "filled_sd_c": 0.9,
    "long_gap_sd_c": 1.8,
    "unmeasured_sd_c": 0.5,
    "warm_up_sd_c": 1.0,
    "doubt_kept": 0.5,
}
