"""Fitted numbers of the soil estimate: written by `swardtide fit-soil`, laid out by `ruff format`.

Fitted on 2026-11-25 on 26291 station-days from 2013-01-01 at 7 stations
(dublin-airport, cork-airport, shannon-airport, malin-head, belmullet, johnstown-castle, claremorris):
clearness by least squares on the days with measured radiation, the surface by Gauss-Newton, the correction
by ridge regression. Ridge, rise and spread were chosen on stations left out of the fit they were tried
with. Mean error at a station left out, daily and of the opening, with that choice made on all of them:
without sun and wind 0.849 °C and 4.1 days; with both where there are some 0.763 °C and 4.1 days.
DOUBT: rounded from gaps of 1, 3 and 10 days cut into these records, their rain too, and from late starts;
`unmeasured_sd_c` is an engineering choice.

Copyright Met Éireann. Source www.met.ie. The data is published under a Creative Commons Attribution
4.0 International (CC BY 4.0) licence, https://creativecommons.org/licenses/by/4.0/. Met Éireann does
not accept any liability whatsoever for any error or omission in the data, their availability, or for
any loss or damage arising from their use. The material has been modified from the original: cut to
2005 onwards and to a few columns, units converted; these numbers are derived from it.
"""

from typing import Any, Final

CLEARNESS: Final[dict[str, float]] = {
    "base": 0.131491,
    "by_range": 0.349763,
    "wet": -0.0276317,
    "by_log_rain": -0.0558485,
    "angstrom_base": 0.24998,
    "angstrom_sun": 0.551033,
}

PLAIN: Final[dict[str, Any]] = {
    "surface": {
        "absorbed": 0.218101,
        "loss": -10.2811,
        "loss_clear": 26.9353,
        "film_log": 2.35764,
        "film_clear": -1.49474,
        "film_wind": 0.0,
    },
    "correction": {
        "inputs": (
            "column",
            "top_minus_column",
            "air_minus_slow",
            "air_change",
            "clear",
            "clear_before",
            "topsoil_filled",
            "log_rain",
            "radiation",
            "radiation_minus_slow",
        ),
        "mean": (
            11.1615,
            0.0142162,
            0.00601578,
            0.00124948,
            0.984716,
            0.984844,
            0.70156,
            0.896378,
            22.9568,
            0.015598,
        ),
        "spread": (
            4.47517,
            0.335784,
            2.27316,
            1.79621,
            0.207157,
            0.207124,
            0.290713,
            0.941312,
            12.8789,
            4.00528,
        ),
        "constant": 0.125889,
        "linear": (
            -0.365911,
            0.439317,
            -0.23117,
            -0.0307959,
            0.0670512,
            -0.0708926,
            -0.0373622,
            0.147771,
            0.411022,
            -0.237742,
        ),
        "quadratic": (
            (
                -0.194969,
                -0.108868,
                0.102365,
                -0.023392,
                -0.157938,
                -0.0733893,
                -0.00495422,
                0.0526475,
                0.237607,
                -0.147258,
            ),
            (
                -0.0540086,
                0.0566744,
                0.0103571,
                -0.00729821,
                -0.0392282,
                -0.0308909,
                0.00136391,
                0.0930811,
                -0.0233391,
            ),
            (-0.0301025, 0.039901, 0.0874814, 0.00249808, 0.0827808, -0.00605821, -0.0353956, -0.0282302),
            (-0.00613379, -0.0410979, 0.105234, 0.0172318, 0.00698848, -0.0558607, -0.00657367),
            (0.0259737, -0.0350643, 0.00350587, 0.0254446, -0.0199888, -0.111846),
            (0.0212007, -0.0541169, 0.0169781, 0.0451206, -0.049202),
            (0.17739, 0.0370775, 0.00199274, 0.0286623),
            (-0.00510549, -0.0102985, 0.01809),
            (-0.20465, 0.297197),
            (-0.191077,),
        ),
    },
    "rise_c": 0.25,
    "spread": (-0.364852, -0.00777617, 0.263885, 0.396777, 0.330424, -0.0240013),
}

WINDY: Final[dict[str, Any]] = {
    "surface": {
        "absorbed": 0.217294,
        "loss": -11.3513,
        "loss_clear": 22.948,
        "film_log": 2.51359,
        "film_clear": -0.529836,
        "film_wind": 0.919289,
    },
    "correction": {
        "inputs": (
            "column",
            "top_minus_column",
            "air_minus_slow",
            "air_change",
            "clear",
            "clear_before",
            "topsoil_filled",
            "log_rain",
            "radiation",
            "radiation_minus_slow",
            "range_clear",
            "log_wind",
        ),
        "mean": (
            11.4843,
            0.0138149,
            0.00601578,
            0.00124948,
            1.00739,
            1.00749,
            0.70156,
            0.896378,
            22.9568,
            0.015598,
            0.984716,
            -0.00300936,
        ),
        "spread": (
            4.44319,
            0.355023,
            2.27316,
            1.79621,
            0.486784,
            0.486732,
            0.290713,
            0.941312,
            12.8789,
            4.00528,
            0.207157,
            0.380986,
        ),
        "constant": 0.10059,
        "linear": (
            -0.437761,
            0.323419,
            -0.169832,
            0.0122914,
            0.0531645,
            -0.0314127,
            -0.041507,
            0.08445,
            0.56533,
            -0.263007,
            -0.0262536,
            -0.0912065,
        ),
        "quadratic": (
            (
                -0.0921595,
                -0.115571,
                0.0596911,
                -0.00266175,
                -0.101676,
                -0.011997,
                0.117208,
                0.000608484,
                0.091712,
                -0.027502,
                -0.0865596,
                0.113621,
            ),
            (
                0.0313594,
                0.0194172,
                -0.0572046,
                -0.00689247,
                -0.0038753,
                -0.0193927,
                -0.00916346,
                0.0295781,
                -0.0940297,
                -0.0536119,
                -0.0110158,
            ),
            (
                -0.0250772,
                0.0295134,
                0.0912748,
                -0.0240619,
                0.0779849,
                0.0345149,
                0.0154944,
                0.00429056,
                0.0318258,
                -0.0971108,
            ),
            (
                0.0364713,
                0.0463524,
                0.0283099,
                -0.0107089,
                0.00535505,
                -0.0139314,
                0.0220166,
                -0.0688874,
                -0.0190273,
            ),
            (-8.16771e-05, 0.000944491, -0.0369302, 0.0348866, 0.00108609, -0.05416, -0.0250567, -0.0353874),
            (0.00167546, -0.0608648, 0.0204681, 0.00826918, 0.0031824, -0.0283068, 0.00343842),
            (0.146808, -0.0140793, -0.163053, 0.117555, -0.0107682, 0.0032203),
            (0.00301092, -6.25821e-05, -0.0313548, 0.018353, 0.0402657),
            (-0.358276, 0.317603, 0.0340021, -0.038611),
            (-0.286224, -0.062876, 0.089507),
            (0.0212437, -0.000465867),
            (-0.0221786,),
        ),
    },
    "rise_c": 0.15,
    "spread": (-0.557699, -0.061477, 0.271651, 0.36897, 0.431724, 0.0133733),
}

RIDGE: Final[dict[str, float]] = {"plain": 0.0005, "windy": 0.001}

DOUBT: Final[dict[str, float]] = {
    "filled_sd_c": 0.9,
    "no_rain_sd_c": 0.5,
    "long_gap_sd_c": 1.8,
    "unmeasured_sd_c": 0.5,
    "warm_up_sd_c": 1.0,
    "kept": 0.5,
}
