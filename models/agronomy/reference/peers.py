"""All published peers, by the name that machines read, with the words for people."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from models.agronomy.reference.air_day import air_day_c
from models.agronomy.reference.air_week import air_week_c
from models.agronomy.reference.campbell_1985 import campbell_c
from models.agronomy.reference.katterer_andren_2009 import katterer_andren_c
from models.agronomy.reference.kusuda_1965 import kusuda_c
from models.agronomy.reference.parton_1984 import parton_c
from models.agronomy.reference.station import Series, StationWeather
from models.agronomy.reference.swat import swat_c

Peer = Callable[[StationWeather], Series]

# Those that go by weather alone; the climate also needs what other stations measured.
PEERS: Mapping[str, Peer] = {
    "air_day": air_day_c,
    "air_7day": air_week_c,
    "kusuda_1965": kusuda_c,
    "katterer_andren_2009": katterer_andren_c,
    "swat": swat_c,
    "parton_1984": parton_c,
    "campbell_1985": campbell_c,
}
CLIMATE = "climate"

WORDS: Mapping[str, str] = {
    "air_day": "air of the same day",
    "air_7day": "7-day mean of air",
    CLIMATE: "soil climate of other stations",
    "kusuda_1965": "Kusuda & Achenbach 1965",
    "katterer_andren_2009": "Kätterer & Andrén 2009",
    "swat": "EPIC / SWAT",
    "parton_1984": "Parton 1984 over SWAT",
    "campbell_1985": "Campbell 1985 column",
}
