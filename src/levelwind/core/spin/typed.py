"""A spin timed by hand: a thumb on a stop-watch at the flick and at rest."""

from levelwind.core.errors import InputError
from levelwind.core.notes import Note
from levelwind.core.quantities import Quantity
from levelwind.core.spin.model import Spin, SpinResult
from levelwind.core.writing import written

REACTION_S = 0.25
"""s; by about how much a thumb is late, at the flick and at rest alike. From memory: simple reaction times in textbooks
of psychology run from 0.15 to 0.3 s."""

CREEP_S = 0.5
"""s; how long a spool may creep before an eye calls it at rest. Our choice, no source."""

LONGEST_S = 600.0
"""s; a longer spin time is refused as mistyped. Our choice: no spool runs for ten minutes (common practice, no
source)."""


def typed(spin_time_s: float) -> SpinResult:
    """A spin time read off a stop-watch, in seconds, with what a hand and an eye leave open.

    The interval is the time ± √(2 · REACTION_S² + CREEP_S²). Raises InputError outside 0 to 600 s.

    >>> typed(11.0).spin_time_s
    Quantity(value=11.0, low=10.388, high=11.612)
    """
    if not 0 < spin_time_s <= LONGEST_S:
        raise InputError("spin time", f"{written(spin_time_s)} s", f"more than 0 and at most {written(LONGEST_S)} s")
    width = (2 * REACTION_S**2 + CREEP_S**2) ** 0.5
    time = Quantity(spin_time_s, max(0.0, spin_time_s - width), spin_time_s + width)
    by_hand = "timed by hand: the flick was not the same twice, and the losses cannot be told apart"
    return SpinResult((Spin(None, None, None, time),), (Note.of("by_hand", by_hand),), "stopwatch")
