"""A pull in words, as found against as left, and as a drawing's data."""

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.changes import Verdict, change
from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import NINETY
from levelwind.core.notes import Note
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.quantities import NEWTONS_PER, Quantity, in_words

MOST_POINTS = 600
"""Points of a drawn log at the most. Our choice: more than the pixels across a page's figure."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A line from one point to another to draw over the curve; a point where both ends are one."""

    kind: str
    from_s: float
    from_N: float
    to_s: float
    to_N: float
    words: str


@dataclass(frozen=True, slots=True)
class Figure:
    """Force over time, thinned, tare taken off, with what was found marked on it."""

    points: tuple[tuple[float, float], ...]
    marks: tuple[Mark, ...]


def verdict(found: PullResult, left: PullResult) -> Verdict:
    """As found against as left.

    Where a log holds several pulls their average stands, its interval no narrower than their disagreement allows.
    """
    changes = (
        change("start-up ratio", "", average(found, "startup_ratio"), average(left, "startup_ratio")),
        change("running drag", "N", average(found, "running_N"), average(left, "running_N")),
    )
    cautions = [note.after("as found") for note in found.cautions] + [note.after("as left") for note in left.cautions]
    return Verdict(changes, changes, tuple(_sticking(found, left)), tuple(cautions))


def average(result: PullResult, field: str) -> Quantity:
    """One field over all pulls of a log."""
    each = [q for pull in result.pulls if isinstance(q := getattr(pull, field), Quantity)]
    if not each:
        raise NotDeterminedError(f"no pull in this log has a {field.removesuffix('_N').replace('_', ' ')}")
    value = sum(q.value for q in each) / len(each)
    spread = NINETY * float(np.std([q.value for q in each], ddof=1)) / sqrt(len(each)) if len(each) > 1 else 0.0
    down = max(sum(q.value - q.low for q in each) / len(each), spread)
    up = max(sum(q.high - q.value for q in each) / len(each), spread)
    return Quantity(value, value - down, value + up)


def figure(time_s: ArrayLike, force_N: ArrayLike, result: PullResult) -> Figure:
    """The log as a polyline of at most 600 points that keeps every extreme, with breakaway and running drag marked."""
    time, net = np.asarray(time_s, dtype=float), np.asarray(force_N, dtype=float) - result.tare_N
    keep = _extremes(net)
    points = tuple((round(float(time[i]), 4), round(float(net[i]), 4)) for i in keep)
    return Figure(points, tuple(mark for pull in result.pulls for mark in _marks(pull)))


def as_text(result: PullResult) -> str:
    """What the command line prints."""
    count = f"{len(result.pulls)} pull" + ("s" if len(result.pulls) != 1 else "")
    rate = f", {result.sample_hz:.1f} readings a second" if result.sample_hz else ""
    lines = [f"{count}{rate}, forces written in {result.unit_found}"]
    lines += [f"  caution: {note}" for note in result.cautions]
    for number, pull in enumerate(result.pulls, 1):
        lines += [
            "",
            f"pull {number}" + (f", {pull.start_s:.1f} to {pull.end_s:.1f} s" if pull.start_s is not None else ""),
        ]
        lines += [f"  {name:<15}{words}" for name, words in rows(pull, result.unit_found)]
        lines += [f"  caution: {note}" for note in pull.cautions]
    return "\n".join(lines)


def rows(pull: Pull, unit: str = "N") -> tuple[tuple[str, str], ...]:
    """Name and words of every number of a pull, forces also in the unit the scale shows."""
    period = f", every {pull.wobble_period_s:.2f} s" if pull.wobble_period_s else ""
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
    if pull.start_s is None:
        return "not told"
    if not pull.stick_slip:
        return "none seen"
    return f"{pull.stick_slip_hz:.1f} times a second" if pull.stick_slip_hz else "yes"


def _force(force: Quantity, unit: str) -> str:
    newtons = in_words(force, "N")
    return newtons if unit in ("N", "kN") else f"{newtons}, {in_words(force.scaled(1 / NEWTONS_PER[unit]), unit)}"


def _sticking(found: PullResult, left: PullResult) -> list[Note]:
    before, after = (any(pull.stick_slip for pull in result.pulls) for result in (found, left))
    come = Note.of("stick_slip_come", "stick-slip has come")
    gone, still = Note.of("stick_slip_gone", "stick-slip gone"), Note.of("stick_slip_still", "still stick-slip")
    return [{(True, False): gone, (False, True): come, (True, True): still}[before, after]] if before or after else []


def _extremes(values: np.ndarray) -> list[int]:
    """Sample numbers of the lowest and highest of each of at most 300 bins."""
    if len(values) <= MOST_POINTS:
        return list(range(len(values)))
    edges = np.linspace(0, len(values), MOST_POINTS // 2 + 1).astype(int)
    kept = {a + int(pick(values[a:b])) for a, b in pairwise(edges) for pick in (np.argmin, np.argmax)}
    return sorted(kept)


def _marks(pull: Pull) -> list[Mark]:
    marks = []
    if pull.breakaway_s is not None:
        at, force = pull.breakaway_s, pull.breakaway_N.value
        marks.append(Mark("breakaway", at, force, at, force, f"breakaway {in_words(pull.breakaway_N, 'N')}"))
    if pull.steady_s is not None:
        level = pull.running_N.value
        words = f"running {in_words(pull.running_N, 'N')}"
        marks.append(Mark("running", pull.steady_s[0], level, pull.steady_s[1], level, words))
    return marks
