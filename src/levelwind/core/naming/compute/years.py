"""When a reel of a known pattern was made, from its dated signs."""

from collections.abc import Mapping

import numpy as np

from levelwind.core.naming.compute.posterior import family_odds, in_year, years_of
from levelwind.core.naming.model import CANNOT_TELL, Key, Kind
from levelwind.core.quantities import Quantity

NINETY = (0.05, 0.5, 0.95)
"""The ends and the middle of an interval that holds the truth nine times in ten, as probabilities."""


def year_made(key: Key, kind: Kind, answers: Mapping[str, str]) -> Quantity | None:
    """The year, with its interval of 90 %: every year of the pattern alike before its signs are looked for.

    None where no dated sign was looked for: then the pattern's own years are all there is to say.
    """
    dated = {sign.look for sign in kind.signs if sign.year_from or sign.year_to}
    told = {look: answer for look, answer in answers.items() if look in dated and answer != CANNOT_TELL}
    if not told:
        return None
    years = years_of(kind)
    chance = np.ones(len(years))
    for look, answer in told.items():
        asked = key.look(look)
        otherwise, place = family_odds(asked)[kind.family], asked.place(answer)
        chance *= [max(in_year(asked, kind, year, otherwise)[place], 1e-6) for year in years]
    places = np.searchsorted(np.cumsum(chance / chance.sum()), NINETY).clip(max=len(years) - 1)
    low, middle, high = (float(years[int(place)]) for place in places)
    return Quantity(middle, low, high)
