"""A reading beside the other moment's: both curves on the same axes, and the differences in words."""

from dataclasses import dataclass

from levelwind.core.changes import Verdict
from levelwind.core.compare import compare
from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.core.notes import Note
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.figures import figure_compared
from levelwind.shop.readings.selectors.readings import gauged_change, latest_with_a_number
from levelwind.shop.readings.selectors.stored import gauged, pull_result, spin_result


@dataclass(frozen=True, slots=True)
class Beside:
    """``words``: each difference with its interval and whether it is real; ``so``: what they come to.

    ``cautions`` are those of the comparison, ``borne`` those of either reading, which its own page says too.
    """

    plot: Figure | None
    so: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    borne: tuple[str, ...]


def beside(reading: Reading, unit: str) -> Beside | None:
    """Against the newest of the same kind at the other moment; None where there is none, or this gave no number."""
    moment = "left" if reading.moment == "found" else "found"
    other = latest_with_a_number(reading.job, reading.kind, moment)
    if not other or not reading.gives_number:
        return None
    found, left = (reading, other) if reading.moment == "found" else (other, reading)
    try:
        both = _verdict(found, left)
    except LevelwindError as refusal:
        plot = figure_compared(found, left, None, unit)
        return Beside(plot, "", (), (Note.from_error(refusal).words(unit),), ())
    plot = figure_compared(found, left, both, unit)
    if both is None:
        return Beside(plot, "", (gauged_change(found.kind, gauged(found), gauged(left)).words(),), (), ())
    so, words, compared, borne = (
        tuple(each.words(unit) for each in some) for some in (both.so, both.changes, both.compared, both.borne)
    )
    return Beside(plot, "; ".join(so), words, compared, borne)


def _verdict(found: Reading, left: Reading) -> Verdict | None:
    """None of what is only typed."""
    if found.kind == "pull":
        return compare(pull_result(found), pull_result(left))
    return compare(spin_result(found), spin_result(left)) if found.kind == "spin" else None
