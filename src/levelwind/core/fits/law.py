"""How likely a reading is of a piece made between two limits, worn or not, read by a caliper.

The size is anywhere between its limits, more often in the middle half; wear takes an exponential amount off it, in one
direction; the reading adds a normal error that is now and then several times as large. All are summed in closed form.
"""

import numpy as np
from scipy.special import log_ndtr, ndtr

from levelwind.core.fits.model import Dimension, Floats

WIDE_SHARE, WIDE_TIMES = 0.08, 3.0
"""How often a reading is worse than its gauge says, and how many times: burrs, tilted jaws, sizes a little outside
their limits. Set by what simulated pieces other than those that the tests count were told best with."""

WORN_UNSAID, WORN_SAID = 0.25, 0.9
"""How often a piece is worn where nobody says so, and where the person does: our choice."""

MIDDLE_SHARE, MIDDLE_INSET = 0.5, 0.25
"""How many pieces lie in the middle of their limits, whatever the others do, and how far from each end that begins, as
a share of the whole: makers keep off the ends (common practice, no source)."""

NARROWEST_MM = 1e-4
"""mm; limits nearer than this are one size."""


def density_per_mm(
    value_mm: float, error_mm: float, low: Floats, high: Floats, dimension: Dimension, worn: bool
) -> Floats:
    """Density of the reading for each pair of limits, per mm.

    Made at 2.9 to 3.0 mm and read without wear as 2.95, it is half over the tolerance and half over half of that:

    >>> whole = Dimension("d", "diameter", 0.5, 30.0)
    >>> density_per_mm(2.95, 0.001, np.array([2.9]), np.array([3.0]), whole, False)
    array([15.])
    """
    narrow = np.maximum(NARROWEST_MM - (high - low), 0.0) / 2
    low, high = low - narrow, high + narrow
    inset = MIDDLE_INSET * (high - low)
    spans = ((1 - MIDDLE_SHARE, low, high), (MIDDLE_SHARE, low + inset, high - inset))
    errors = ((1 - WIDE_SHARE, error_mm), (WIDE_SHARE, WIDE_TIMES * error_mm))
    every = [
        often * made * _read(value_mm, error, foot, top, dimension, worn)
        for often, error in errors
        for made, foot, top in spans
    ]
    return np.asarray(sum(every))


def _read(value_mm: float, error_mm: float, low: Floats, high: Floats, dimension: Dimension, worn: bool) -> Floats:
    whole = (ndtr((value_mm - low) / error_mm) - ndtr((value_mm - high) / error_mm)) / (high - low)
    if not dimension.wear_mm:
        return np.asarray(whole)
    share = WORN_SAID if worn else WORN_UNSAID
    if dimension.wear_mm < 0:
        value_mm, low, high = -value_mm, -high, -low
    mean = abs(dimension.wear_mm)
    lost = (_grown(value_mm - low, error_mm, mean) - _grown(value_mm - high, error_mm, mean)) / (high - low)
    return np.asarray((1 - share) * whole + share * np.maximum(lost, 0.0))


def _grown(over: Floats, error_mm: float, mean_mm: float) -> Floats:
    """Share of sizes read below ``over`` after normal error and exponential growth.

    F(x) = N(x/s) - exp(s^2/(2 t^2) - x/t) N(x/s - s/t): the exponentially modified normal law.
    """
    turned = over / error_mm
    ratio = error_mm / mean_mm
    return np.asarray(ndtr(turned) - np.exp(ratio**2 / 2 - over / mean_mm + log_ndtr(turned - ratio)))
