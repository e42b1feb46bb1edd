"""Fitted prior of a place's difference from its estimate, as `swardtide fit-readings` wrote it.

Not edited by hand. Fitted on 2026-11-25 on the errors of the estimate at 7 stations
(dublin-airport, cork-airport, shannon-airport, malin-head, belmullet, johnstown-castle, claremorris),
each with the estimate fitted on the others. Lasting parts: least squares of a station's errors on a
constant, on the load of three days less 1.5 mm, and on the estimate's lead over its three weeks; given
are the root mean squares over the stations, times sqrt(n/(n-2)) as few stations tell a spread only so well.
Fading parts: two exponentials and the record's own error, by least squares on the mean autocovariance of
what the lasting parts leave. `*_fade` are days to 1/e.

Copyright Met Éireann. Source www.met.ie. The data is published under a Creative Commons
Attribution 4.0 International (CC BY 4.0) licence, https://creativecommons.org/licenses/by/4.0/.
Met Éireann does not accept any liability whatsoever for any error or omission in the data, their
availability, or for any loss or damage arising from their use. The material has been modified from
the original: cut to 2005 onwards and to a few columns, units converted; these numbers are derived from it.
"""

from typing import Final

READINGS: Final[dict[str, float]] = {
    "offset_sd_c": 0.329,
    "exposure_sd_c_per_mm": 0.267,
    "quickness_sd": 0.181,
    "weeks_sd_c": 0.373,
    "weeks_fade": 36.1,
    "days_sd_c": 0.565,
    "days_fade": 1.96,
    "record_sd_c": 0.244,
}
