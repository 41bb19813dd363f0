"""What to set the drag to for a line, and what that becomes as the spool empties."""

from dataclasses import dataclass

from levelwind.core.errors import InputError
from levelwind.core.line.fill import NEAR_EMPTY
from levelwind.core.line.model import Filled
from levelwind.core.line.radius import radius_at_length_m
from levelwind.core.writing import written

STRIKE_SHARES = (0.25, 0.33)
"""Share of the line's strength to set at the strike: common practice, no source for the band; one support page says
no more than about 30 %."""

STRIKE_WORDS = " to ".join(f"{100 * share:.0f}" for share in STRIKE_SHARES) + " %"
"""The same as it is said."""


@dataclass(frozen=True, slots=True)
class Setting:
    """A drag setting, low and high end of common practice, in N at the line; the same drag further down the spool."""

    strength_N: float
    strike_N: tuple[float, float]
    near_bare_N: tuple[float, float]
    near_bare_share: float


def setting(filled: Filled, strength_N: float) -> Setting:
    """Setting for a line class or a line's strength, made with the spool full.

    ``near_bare`` is at ``NEAR_EMPTY`` of the line left; ``near_bare_share`` is what share of the strength the high end
    has become there.

    >>> from levelwind.core.line.model import Line, Spool
    >>> spooled = Filled(Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3, 75.6), 200.0)
    >>> [round(end, 1) for end in setting(spooled, 75.6).near_bare_N]
    [34.2, 45.2]
    """
    if not strength_N > 0:
        raise InputError("strength of the line", f"{written(strength_N)} N", "over 0")
    full, bare = (float(radius_at_length_m(filled, share * filled.length_m)) for share in (1.0, NEAR_EMPTY))
    low, high = (share * strength_N for share in STRIKE_SHARES)
    return Setting(
        strength_N,
        (low, high),
        (low * full / bare, high * full / bare),
        high * full / bare / strength_N,
    )
