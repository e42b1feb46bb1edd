"""What is believed of a lawn's difference from its site's soil estimate before any reading. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp
from typing import Final

from models.agronomy.fitted_readings import READINGS
from models.agronomy.probe import DIFFUSIVITY_M2_S, REFERENCE_DEPTH_CM, damping_depth_cm
from models.facts.place import Shade, Texture
from models.facts.readings import LawnSoil
from models.units import SECONDS_PER_DAY

LOAD_DAYS = 3  # the sun's load: mean reference evapotranspiration of so many days
USUAL_LOAD_MM = 1.5  # about the mean of a year: exposure then says little of the offset
PACE_DAYS = 21  # quickness acts on the estimate's lead over its mean of so many days

Parts = tuple[float, float, float, float, float]


@dataclass(frozen=True, slots=True)
class Prior:
    """Mean and standard deviation of each part, and the days in which each fades to 1/e.

    Parts: offset [°C], exposure [°C per mm a day], quickness [°C per °C], and the estimate's errors of
    weeks and of days [°C].
    """

    means: Parts
    sds: Parts
    fades_days: Parts

    def variance_c2(self, look: Parts) -> float:
        """Variance of the difference on a day whose parts count as `look` says."""
        return sum((share * sd) ** 2 for share, sd in zip(look, self.sds, strict=True))


def fitted_prior(numbers: dict[str, float] = READINGS) -> Prior:
    """The prior of a measuring station, as fitted."""
    return Prior(
        means=(0.0, 0.0, 0.0, 0.0, 0.0),
        sds=(
            UNLIKE * numbers["offset_sd_c"],
            numbers["exposure_sd_c_per_mm"],
            numbers["quickness_sd"],
            numbers["weeks_sd_c"],
            numbers["days_sd_c"],
        ),
        fades_days=(LASTING_DAYS, LASTING_DAYS, LASTING_DAYS, numbers["weeks_fade"], numbers["days_fade"]),
    )


# Places that none of the fitted ones is like: with this, one that is off by half a degree is helped by a
# season's readings, and no fitted one loses 0.02 °C by them (engineering choice).
UNLIKE = 1.15
# Trees grow and turf thickens: what was learnt ten years ago counts a third (engineering choice).
LASTING_DAYS = 3652.5
STATION: Final = fitted_prior()


@dataclass(frozen=True, slots=True)
class Shading:
    """Shift and further spread of exposure, °C per mm."""

    shift: float
    more_sd: float


# Engineering choices. Full shade takes about 1 °C of a June day's 4 mm and gives some back in winter.
SHADING: Final = {
    Shade.OPEN: Shading(0.0, 0.0),
    Shade.PARTLY: Shading(-0.2, 0.15),
    Shade.SHADED: Shading(-0.4, 0.25),
}
# A lawn is no measuring plot: whether those lie under grass is not said, and slope, thatch and walls
# differ. Engineering choices: about 1 °C either way in early summer.
TURF_OFFSET_SD_C = 0.7
TURF_EXPOSURE_SD = 0.3
SPELL_DAYS = 20  # the spells of weather that quickness is about


def lawn_prior(lawn: LawnSoil, station: Prior = STATION) -> Prior:
    """The prior of a lawn: wider than a station's, shifted by its shade and its texture."""
    shading = SHADING[lawn.shade]
    offset, exposure, quickness, weeks, days = station.sds
    wider = (
        (offset**2 + TURF_OFFSET_SD_C**2) ** 0.5,
        (exposure**2 + TURF_EXPOSURE_SD**2 + shading.more_sd**2) ** 0.5,
        quickness,
        weeks,
        days,
    )
    return replace(station, means=(0.0, shading.shift, quickness_of(lawn.texture), 0.0, 0.0), sds=wider)


def quickness_of(texture: Texture) -> float:
    """How much more of a spell's swing reaches 10 cm than in loam, by de Vries' diffusivities."""
    return _reaching(texture) / _reaching(Texture.LOAM) - 1


def _reaching(texture: Texture) -> float:
    damping_cm = damping_depth_cm(DIFFUSIVITY_M2_S[texture], SPELL_DAYS * SECONDS_PER_DAY)
    return exp(-REFERENCE_DEPTH_CM / damping_cm)
