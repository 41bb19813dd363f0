"""What a reading says beside other reels of its pattern: a few numbers, kept apart from its analysis.

An analysis holds a log's points and the laws drawn from a spin, 20 to 40 kB: too much to open for hundreds of reels.
"""

from dataclasses import dataclass
from typing import Any

from levelwind.core.codec import as_stored, from_stored
from levelwind.core.quantities import Quantity
from levelwind.core.spin.compare import Rest, rests
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.readings import longest, pull_value
from levelwind.shop.readings.selectors.stored import gauged, pull_result, spin_result


@dataclass(frozen=True, slots=True)
class Brief:
    """Of one reading that gave a number; what its kind does not tell is None."""

    startup_ratio: Quantity | None = None
    running_N: Quantity | None = None
    torque_Nm: Quantity | None = None
    by_hand_s: Quantity | None = None
    """A spin's time by a stop-watch, of its own flick."""
    rests: tuple[Rest, ...] = ()
    """A recorded spin's times from the standard speeds."""


def brief_of(reading: Reading) -> Brief:
    """Worked out from its analysis."""
    if not reading.analysis or reading.refused:
        return Brief()
    if reading.kind == "pull":
        result = pull_result(reading)
        return Brief(pull_value(result, "startup_ratio"), pull_value(result, "running_N"))
    if reading.kind == "spin":
        return _of_spin(reading)
    return Brief(torque_Nm=gauged(reading)) if reading.kind == "turn" else Brief()


def _of_spin(reading: Reading) -> Brief:
    spin = longest(spin_result(reading))
    if spin is None:
        return Brief()
    return Brief(by_hand_s=None if spin.speed else spin.spin_time_s, rests=rests(spin))


def brief_to_keep(reading: Reading) -> dict[str, Any]:
    """As its row keeps it: only what it tells."""
    return {name: told for name, told in as_stored(brief_of(reading)).items() if told}


def brief_kept(reading: Reading) -> Brief:
    """As its row has it."""
    return from_stored(Brief, reading.brief, f"what the book holds of the {reading}")
