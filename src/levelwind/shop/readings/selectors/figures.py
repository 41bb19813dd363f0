"""Readings drawn: one with everything marked on it, and as found against as left."""

from levelwind.core.figures import Figure
from levelwind.core.pull.figure import pull_figure, pulls_compared
from levelwind.core.spin import Spin
from levelwind.core.spin.figure import spin_figure, spins_compared
from levelwind.core.spin.report import longest
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.readings import Readings
from levelwind.shop.readings.selectors.stored import spin_result, trace


def figure_of(reading: Reading, unit: str) -> Figure | None:
    """None where a reading has no curve. ``unit``: the shop's unit of force."""
    if reading.kind == "pull":
        log = trace(reading)
        return pull_figure(log, unit) if log else None
    return spin_figure(spin_result(reading)) if reading.kind == "spin" else None


def compared(readings: Readings, kind: str, unit: str) -> Figure | None:
    """A job's pulls or spins that count."""
    return figure_compared(readings.latest.get((kind, "found")), readings.latest.get((kind, "left")), unit)


def figure_compared(found: Reading | None, left: Reading | None, unit: str) -> Figure | None:
    """Two readings of one kind on the same axes; the one there is where the other has no curve, None where neither."""
    kinds = {reading.kind for reading in (found, left) if reading}
    if kinds == {"pull"}:
        return pulls_compared(trace(found) if found else None, trace(left) if left else None, unit)
    return spins_compared(_longest(found), _longest(left)) if kinds == {"spin"} else None


def _longest(reading: Reading | None) -> Spin | None:
    result = spin_result(reading) if reading else None
    return longest(result) if result and result.spins else None
