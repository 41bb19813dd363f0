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


def as_text(result: PullResult) -> str:
    """What the command line prints."""
    count = f"{len(result.pulls)} pull" + ("s" if len(result.pulls) != 1 else "")
    rate = f", {with_decimals(result.sample_hz, 1)} readings a second" if result.sample_hz else ""
    lines = [f"{count}{rate}, forces written in {result.unit_found}"]
    lines += [f"  caution: {note}" for note in result.cautions]
    for number, pull in enumerate(result.pulls, 1):
        lines += ["", f"pull {number}{_from_to(pull)}"]
        lines += [f"  {name:<15}{words}" for name, words in rows(pull, result.unit_found)]
        lines += [f"  caution: {note}" for note in pull.cautions]
    return "\n".join(lines)


def rows(pull: Pull, unit: str = "N") -> tuple[tuple[str, str], ...]:
    """Name and words of every number of a pull, forces also in the unit the scale shows."""
    period = f", every {value_in_words(Quantity.exact(pull.wobble_period_s), 's')}" if pull.wobble_period_s else ""
    return (
        ("breakaway", _force(pull.breakaway_N, unit)),
        ("running drag", _force(pull.running_N, unit)),
        ("start-up ratio", in_words(pull.startup_ratio, "")),
        ("wobble", f"{_force(pull.wobble_N, unit)} either side{period}" if pull.wobble_N else _no_wobble(pull)),
        ("stick-slip", _stick_slip(pull)),
        ("fade", in_words(pull.fade_percent, "%") if pull.fade_percent else "not told"),
    )


def _no_wobble(pull: Pull) -> str:
    return "not told" if pull.stick_slip or pull.start_s is None else "nothing stands out"


def _stick_slip(pull: Pull) -> str:
    if pull.start_s is None or pull.stick_slip is None:
        return "not told"
    if not pull.stick_slip:
        return "none seen"
    return f"{value_in_words(Quantity.exact(pull.stick_slip_hz))} times a second" if pull.stick_slip_hz else "yes"


def _force(force: Quantity, unit: str) -> str:
    newtons = in_words(force, "N")
    return newtons if unit in ("N", "kN") else f"{newtons}, {in_words(force.scaled(1 / NEWTONS_PER[unit]), unit)}"
