"""Fitted parameters of the soil estimate, as `swardtide fit-soil` wrote them. Not edited by hand.

Weights: least squares on 26291 station-days from 2013-01-01 at 7 stations
(dublin-airport, cork-airport, shannon-airport, malin-head, belmullet, johnstown-castle, claremorris),
fitted on 2026-11-25. `residual_sd_c` is the root mean square error at a station left out of the fitting.
Which memories there are, their shares, store and prior: chosen on these stations, on a small grid, for the
error of daily means and of the opening day together; with the grid's choice for each station made on the
others, the mean error at a station left out was 0.89 °C and the opening 4.5 days wrong in the mean.
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
    "intercept_c": -1.13509,
    "air_fast": 0.786724,
    "air_slow": 0.382686,
    "clear_air": -0.16995,
    "rainy_air": 0.00539351,
    "radiation": 0.0312471,
    "clear_radiation": 0.111064,
    "damp_radiation": -0.0642336,
    "season_night": -0.00243724,
    "share_air_fast": 0.65,
    "share_air_slow": 0.1,
    "share_clear": 0.55,
    "share_rainy": 0.5,
    "share_radiation": 0.18,
    "share_damp": 0.6,
    "share_night": 0.7,
    "surface_store_mm": 15.0,
    "prior_range_c": 6.5,
    "prior_range_days": 90.0,
    "residual_sd_c": 0.895,
    "filled_sd_c": 0.9,
    "long_gap_sd_c": 1.8,
    "unmeasured_sd_c": 0.5,
    "warm_up_sd_c": 1.0,
    "doubt_kept": 0.5,
}
