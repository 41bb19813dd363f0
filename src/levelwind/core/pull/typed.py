"""Two numbers read off a scale by eye, in the shape of an analysed log."""

from levelwind.core.errors import InputError
from levelwind.core.notes import Note, entered, newtons
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.pull.single import ratio
from levelwind.core.quantities import Quantity

PEAK_LOW, PEAK_HIGH = 0.02, 0.08
"""Parts by which a held peak may read high, and low: a display misses what rises between two readings. Our choice of
width: docs/physics/pull.md."""

BY_EYE = 0.06
"""Part by which an eye may be off the middle of a wandering display. Our choice of width."""
MOST_RUNNING_N, MOST_BREAKAWAY_N = 2000.0, 4000.0
"""N; more is refused as mistyped. Our choice: several times the strongest big-game drag (common practice, no
source)."""
LEAST_RATIO = 0.9
"""Breakaway over running drag at the least. Our choice: a drag that gave more easily than it runs on was misread."""

_UNDER = Note.of("under", "more than nothing and less than {most}", most=newtons(MOST_RUNNING_N))
_BY_EYE = Note.of(
    "by_eye",
    "typed from the scale's display: intervals are wide, and wobble, stick-slip and fade cannot be told",
)


def typed(breakaway_N: float, running_N: float, *, step_N: float = 0.0, unit_found: str = "N") -> PullResult:
    """A pull from the peak and the steady reading of a hanging scale, in newtons; ``step_N`` is the scale's last digit.

    Nothing is said of wobble, stick-slip or fade. Raises InputError unless 0 < running and breakaway is not less than
    ``LEAST_RATIO`` of it.

    >>> typed(30.0, 20.0).pulls[0].startup_ratio
    Quantity(value=1.5, low=1.405, high=1.65)
    """
    if not 0 < running_N < MOST_RUNNING_N:
        raise InputError("running drag", entered(running_N), _UNDER)
    least = Note.of("no_less", "no less than the running drag of {running}", running=entered(running_N))
    if not LEAST_RATIO * running_N <= breakaway_N < MOST_BREAKAWAY_N:
        raise InputError("breakaway", entered(breakaway_N), least)
    half = step_N / 2
    breakaway = Quantity(breakaway_N, breakaway_N * (1 - PEAK_LOW) - half, breakaway_N * (1 + PEAK_HIGH) + half)
    running = Quantity(running_N, running_N * (1 - BY_EYE) - half, running_N * (1 + BY_EYE) + half)
    return PullResult((Pull(None, None, breakaway, running, ratio(breakaway, running)),), (_BY_EYE,), unit_found)
