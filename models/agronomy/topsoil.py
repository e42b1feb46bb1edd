"""The water of the upper soil, and how heat runs through soil that is dry or moist. Arrays hold sites."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.agronomy.sky import Array
from models.facts.place import Texture

TOPSOIL_MM = 15.0  # the store that the column was fitted with


@dataclass(frozen=True, slots=True)
class Heat:
    """Conductivity (W/m K) and heat capacity (J/m³ K) of soil with its store empty (dry) and full (moist)."""

    conductivity_dry: float
    conductivity_moist: float
    capacity_dry: float
    capacity_moist: float

    def conductivity(self, filled: Array) -> Array:
        """At the filled share of the store, W/m K."""
        return self.conductivity_dry + (self.conductivity_moist - self.conductivity_dry) * filled

    def capacity(self, filled: Array) -> Array:
        """At the filled share of the store, J/m³ K."""
        return self.capacity_dry + (self.capacity_moist - self.capacity_dry) * filled


# Heat capacity: 1.25 MJ/m3 K of dry soil and 4.18 for each part of water, at 0.12 (empty) and 0.32 (full):
# de Vries 1963. Conductivity: that times diffusivity, de Vries 1963 in Moene & van Dam 2014, table 2.2,
# between the tabulated contents by straight line: sand 0.67 and 0.92, clay 0.28 and 0.42 (1e-6 m2/s); loam
# half way between the two (engineering choice: the table has none).
HEAT = {
    Texture.SAND: Heat(1.174, 2.373, 1.752e6, 2.588e6),
    Texture.LOAM: Heat(0.832, 1.731, 1.752e6, 2.588e6),
    Texture.CLAY: Heat(0.490, 1.087, 1.752e6, 2.588e6),
}


def evaporation_mm(low_c: Array, high_c: Array, radiation_mj_m2: Array) -> Array:
    """Reference evapotranspiration: Hargreaves, FAO-56 equation 52 (0.408 mm evaporate per MJ/m²)."""
    range_c = np.maximum(0.0, high_c - low_c)
    warmth = np.maximum(0.0, (low_c + high_c) / 2 + 17.8)
    return 0.0023 * warmth * np.sqrt(range_c) * 0.408 * radiation_mj_m2


def topsoil_after_mm(before_mm: Array, rain_mm: Array, evaporated_mm: Array) -> Array:
    """Rain fills the store; evaporation takes its filled share of the reference."""
    filled_mm = np.minimum(TOPSOIL_MM, before_mm + rain_mm)
    return np.maximum(0.0, filled_mm - evaporated_mm * filled_mm / TOPSOIL_MM)
