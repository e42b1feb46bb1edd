"""The column of heat against the theory of conduction and de Vries' diffusivities."""

from __future__ import annotations

import numpy as np
import pytest

from models.agronomy.column import DEPTHS_M, LAYERS_M, Column, column, column_day
from models.agronomy.sky import Array
from models.agronomy.topsoil import HEAT, Heat
from models.facts.place import Texture

YEAR_DAYS = 365
STEPS = 8


def tight(conductivity: float, capacity: float) -> Column:
    """One site whose surface follows the outside at once."""
    return column(np.array([conductivity]), np.array([capacity]), np.array([1e6]))


def wave_of_a_year(of: Column) -> Array:
    """Layers at the end of each day of the sixth year under a yearly wave of 10 °C about 10 °C."""
    layers_c, ends = np.full((len(LAYERS_M), 1), 10.0), []
    for day in range(6 * YEAR_DAYS):
        hours = day + (np.arange(STEPS)[:, None] + 0.5) / STEPS
        layers_c, _ = column_day(of, layers_c, 10 - 10 * np.cos(2 * np.pi * hours / YEAR_DAYS))
        ends.append(layers_c[:, 0])
    return np.array(ends[-YEAR_DAYS:])


@pytest.mark.parametrize("heat", HEAT.values(), ids=HEAT.keys())
def test_a_steady_outside_gives_a_steady_column(heat: Heat) -> None:
    of = tight(heat.conductivity_dry, heat.capacity_dry)
    layers_c = np.full((len(LAYERS_M), 1), 7.5)
    after_c, means_c = column_day(of, layers_c, np.full((STEPS, 1), 7.5))
    np.testing.assert_allclose(after_c, 7.5)
    np.testing.assert_allclose(means_c, 7.5)


def test_heat_given_is_heat_stored() -> None:
    heat = HEAT[Texture.LOAM]
    of = column(np.array([heat.conductivity_dry]), np.array([heat.capacity_dry]), np.array([10.0]))
    before_c = np.full((len(LAYERS_M), 1), 5.0)
    after_c = of.step(before_c, np.array([15.0]))
    stored_j = np.sum(heat.capacity_dry * LAYERS_M * (after_c - before_c)[:, 0])
    given_j = of.top[0] * (15.0 - after_c[0, 0]) * 86_400 / STEPS
    assert stored_j == pytest.approx(given_j, rel=1e-9)


# de Vries 1963 in Moene & van Dam 2014, table 2.2: diffusivity of sand and clay at a water content of 0.2,
# with the damping depth of the year that follows, √(2 D / ω), m.
@pytest.mark.parametrize(
    ("diffusivity_m2_s", "damping_m"), [(0.99e-6, 3.154), (0.40e-6, 2.005)], ids=["sand", "clay"]
)
def test_the_yearly_wave_falls_and_lags_with_depth_as_de_vries_soils_have_it(
    diffusivity_m2_s: float, damping_m: float
) -> None:
    capacity = 2.0e6
    layers_c = wave_of_a_year(tight(diffusivity_m2_s * capacity, capacity))
    swing = np.ptp(layers_c, axis=0) / 2
    warmest = np.argmax(layers_c, axis=0)
    assert np.all(np.diff(swing) < 0)
    assert np.all(np.diff(warmest) >= 0)
    shallow = slice(0, 8)  # below 0.7 m the closed bottom is felt
    np.testing.assert_allclose(swing[shallow], 10 * np.exp(-DEPTHS_M[shallow] / damping_m), rtol=0.05)
    lag_days = DEPTHS_M[shallow] / damping_m * YEAR_DAYS / (2 * np.pi)
    np.testing.assert_allclose(warmest[shallow] - warmest[0], lag_days, atol=3)


@pytest.mark.parametrize(
    ("texture", "table"),
    [
        # Table 2.2, by straight line at the contents of an empty and a full store, 0.12 and 0.32.
        (Texture.SAND, (0.67e-6, 0.917e-6)),
        (Texture.CLAY, (0.28e-6, 0.42e-6)),
    ],
)
def test_diffusivity_is_that_of_de_vries(texture: Texture, table: tuple[float, float]) -> None:
    heat = HEAT[texture]
    dry = heat.conductivity_dry / heat.capacity_dry
    moist = heat.conductivity_moist / heat.capacity_moist
    assert (dry, moist) == pytest.approx(table, rel=0.01)
