"""Readings drawn: one with everything marked on it, and as found against as left."""

from levelwind.core.changes import Verdict
from levelwind.core.figures import Figure
from levelwind.core.pull.figure import pull_figure, pulls_compared
from levelwind.core.spin.compare import SpinsCompared
from levelwind.core.spin.figure import spin_figure, spins_compared
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.readings import MOMENTS, Readings, longest
from levelwind.shop.readings.selectors.stored import spin_result, trace


def figure_of(reading: Reading, unit: str) -> Figure | None:
    """None where a reading has no curve. ``unit``: the shop's unit of force."""
    if reading.kind == "pull":
        log = trace(reading)
        return pull_figure(log, unit) if log else None
    return spin_figure(spin_result(reading)) if reading.kind == "spin" else None


def compared(readings: Readings, kind: str, unit: str) -> Figure | None:
    """A job's pulls or spins that count."""
    found, left = (readings.latest.get((kind, moment)) for moment in MOMENTS)
    return figure_compared(found, left, readings.compared.get(kind), unit)


def figure_compared(found: Reading | None, left: Reading | None, verdict: Verdict | None, unit: str) -> Figure | None:
    """Two readings of one kind on the same axes; the one there is where the other has no curve, None where neither.

    Spins that ``verdict`` compares are drawn from the speed in common.
    """
    kinds = {reading.kind for reading in (found, left) if reading}
    if kinds == {"pull"}:
        return pulls_compared(trace(found) if found else None, trace(left) if left else None, unit)
    if kinds != {"spin"}:
        return None
    before, after = (longest(spin_result(reading)) if reading else None for reading in (found, left))
    return spins_compared(before, after, verdict if isinstance(verdict, SpinsCompared) else None)
