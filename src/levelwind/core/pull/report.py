"""A pull in words."""

from math import sqrt

import numpy as np

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import NINETY
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.quantities import NEWTONS_PER, Quantity, in_words, value_in_words, with_decimals


def average(result: PullResult, field: str) -> Quantity:
    """One field over all pulls of a log; its interval no narrower than their disagreement allows."""
    each = [q for pull in result.pulls if isinstance(q := getattr(pull, field), Quantity)]
    if not each:
        raise NotDeterminedError(f"no pull in this log has a {field.removesuffix('_N').replace('_', ' ')}")
    value = sum(q.value for q in each) / len(each)
    spread = NINETY * float(np.std([q.value for q in each], ddof=1)) / sqrt(len(each)) if len(each) > 1 else 0.0
    down = max(sum(q.value - q.low for q in each) / len(each), spread)
    up = max(sum(q.high - q.value for q in each) / len(each), spread)
    return Quantity(value, value - down, value + up)


def _from_to(pull: Pull) -> str:
    if pull.start_s is None or pull.end_s is None:
        return ""
    return f", {with_decimals(pull.start_s, 1)} to {with_decimals(pull.end_s, 1)} s"


def as_text(result: PullResult, *, why: bool = True) -> str:
    """What the command line prints; without ``why`` forces in the scale's unit alone, and what was found only."""
    count = f"{len(result.pulls)} pull" + ("s" if len(result.pulls) != 1 else "")
    rate = f", {with_decimals(result.sample_hz, 1)} readings a second" if result.sample_hz else ""
    lines = [f"{count}{rate}, forces written in {result.unit_found}"]
    unit = "N" if why else result.unit_found
    lines += [f"  caution: {note.words(unit)}" for note in result.cautions]
    for number, pull in enumerate(result.pulls, 1):
        lines += ["", f"pull {number}{_from_to(pull)}"]
        told = rows(pull, result.unit_found, newtons_too=why)
        lines += [f"  {name:<15}{words}" for name, words in told if why or words not in NOTHING]
        lines += [f"  caution: {note.words(unit)}" for note in pull.cautions]
    return "\n".join(lines)


NONE_SEEN, STANDS_OUT, NOT_TOLD = NOTHING = ("none seen", "nothing stands out", "not told")
"""What is said where a pull shows nothing of a kind."""


def rows(pull: Pull, unit: str = "N", *, newtons_too: bool = True) -> tuple[tuple[str, str], ...]:
    """Name and words of every number of a pull, forces in the unit the scale shows, and in newtons where asked for."""

    def force(of: Quantity) -> str:
        newtons = in_words(of, "N")
        if unit in ("N", "kN"):
            return newtons
        in_unit = in_words(of.scaled(1 / NEWTONS_PER[unit]), unit)
        return f"{newtons}, {in_unit}" if newtons_too else in_unit

    period = f", every {value_in_words(Quantity.exact(pull.wobble_period_s), 's')}" if pull.wobble_period_s else ""
    return (
        ("breakaway", force(pull.breakaway_N)),
        ("running drag", force(pull.running_N)),
        ("start-up ratio", in_words(pull.startup_ratio, "")),
        ("wobble", f"{force(pull.wobble_N)} either side{period}" if pull.wobble_N else _no_wobble(pull)),
        ("stick-slip", _stick_slip(pull)),
        ("fade", in_words(pull.fade_percent, "%") if pull.fade_percent else NOT_TOLD),
    )


def _no_wobble(pull: Pull) -> str:
    return NOT_TOLD if pull.stick_slip or pull.start_s is None else STANDS_OUT


def _stick_slip(pull: Pull) -> str:
    if pull.start_s is None or pull.stick_slip is None:
        return NOT_TOLD
    if not pull.stick_slip:
        return NONE_SEEN
    return f"{value_in_words(Quantity.exact(pull.stick_slip_hz))} times a second" if pull.stick_slip_hz else "yes"
