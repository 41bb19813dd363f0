"""Readings drawn: one with everything marked on it, and as found against as left."""

from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.core.pull.figure import pull_figure, pulls_compared
from levelwind.core.spin import Spin, SpinResult
from levelwind.core.spin.compare import compare
from levelwind.core.spin.figure import spin_figure, spins_compared
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
    if kinds != {"spin"}:
        return None
    return _spins(spin_result(found) if found else None, spin_result(left) if left else None)


def _spins(found: SpinResult | None, left: SpinResult | None) -> Figure | None:
    """From the speed in common where they can be compared."""
    try:
        verdict = compare(found, left) if found and left else None
    except LevelwindError:
        verdict = None
    return spins_compared(_longest(found), _longest(left), verdict)


def _longest(result: SpinResult | None) -> Spin | None:
    return result.longest if result and result.spins else None
