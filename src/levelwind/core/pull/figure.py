"""A pull drawn: force over time with everything found marked on it, and as found against as left."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.errors import NotDeterminedError
from levelwind.core.figures import Axis, Band, Figure, Line, Marker, Points, Row, Span, compared, thinned
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.pull.report import average
from levelwind.core.quantities import NEWTONS_PER, Quantity, in_words, shown, value_in_words, with_decimals

MOST_POINTS = 600
"""So many points of a log are kept to be drawn: finer than a page shows. Our choice."""


def points_of(time_s: ArrayLike, force_N: ArrayLike, tare_N: float) -> Points:
    """The log thinned to be drawn: s and N, the tare taken off, every extreme kept."""
    force = np.asarray(force_N, dtype=float) - tare_N
    points = zip(np.asarray(time_s, dtype=float).round(4).tolist(), force.round(4).tolist(), strict=True)
    return thinned(list(points), MOST_POINTS)


@dataclass(frozen=True, slots=True)
class Trace:
    """A log thinned to be drawn: seconds and newtons, the tare taken off, and what was found in it."""

    points: Points
    result: PullResult

    def scaled(self, unit: str) -> list[tuple[float, float]]:
        return [(at, force / NEWTONS_PER[unit]) for at, force in self.points]


def pull_figure(trace: Trace, unit: str) -> Figure:
    """Each pull with its start, breakaway, running level, wobble and end, forces in ``unit``."""
    points, pulls = trace.scaled(unit), trace.result.pulls
    highest = [pull.breakaway_N.high / NEWTONS_PER[unit] for pull in pulls]
    marked = [_Marked(unit, pull, f"pull {n}, " if len(pulls) > 1 else "") for n, pull in enumerate(pulls, 1)]
    for each in marked:
        each.mark()
    return Figure(
        f"Force over time in {unit}, {len(pulls)} pull{'' if len(pulls) == 1 else 's'} marked",
        Axis.along("seconds", [at for at, _ in points]),
        Axis.upright(unit, [*(force for _, force in points), *highest]),
        (Line("read", points), *(line for each in marked for line in each.lines)),
        tuple(band for each in marked for band in each.bands),
        tuple(Span(f"pull {n}", pull.start_s or 0.0, pull.end_s or 0.0) for n, pull in enumerate(pulls, 1)),
        tuple(marker for each in marked for marker in each.markers),
        tuple(row for each in marked for row in each.rows),
    )


@dataclass(slots=True)
class _Marked:
    """What is found in one pull, on the figure and in the table."""

    unit: str
    pull: Pull
    name: str
    lines: list[Line] = field(default_factory=list)
    bands: list[Band] = field(default_factory=list)
    markers: list[Marker] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    def mark(self) -> None:
        pull = self.pull
        self._row("start", _at(pull.start_s))
        if pull.breakaway_s is not None:
            self._breakaway(pull.breakaway_s)
        if pull.steady_s is not None:
            self._running(*pull.steady_s)
        if pull.wobble_N:
            period = pull.wobble_period_s
            every = f"every {value_in_words(Quantity.exact(period), 's')}" if period else "once a turn"
            self._row("wobble either side", every, in_words(self._force(pull.wobble_N), self.unit))
        self._row("end", _at(pull.end_s))

    def _force(self, newtons: Quantity) -> Quantity:
        return newtons.scaled(1 / NEWTONS_PER[self.unit])

    def _row(self, what: str, when: str, value: str = "") -> None:
        self.rows.append(Row(f"{self.name}{what}", when, value))

    def _breakaway(self, at_s: float) -> None:
        broke = self._force(self.pull.breakaway_N)
        told = shown(broke, self.unit)
        words, range_ = f"{self.name}breakaway {told.words}", (broke.low, broke.high)
        self.markers.append(Marker("breakaway", at_s, broke.value, words, told.value, "breakaway", range_=range_))
        self._row("breakaway", _at(at_s), told.words)

    def _running(self, from_s: float, to_s: float) -> None:
        ran = self._force(self.pull.running_N)
        told = shown(ran, self.unit)
        if self.pull.wobble_N:
            half = self._force(self.pull.wobble_N)
            words = f"{self.name}wobble {shown(half, self.unit).value}"
            edges = (ran.value - half.value, ran.value + half.value)
            self.lines += [Line("wobble", _level(from_s, to_s, edge), says=words) for edge in edges]
        words = f"{self.name}running level {told.words}"
        self.lines.append(Line("running", _level(from_s, to_s, ran.value), says=words))
        self.bands.append(Band("running", _level(from_s, to_s, ran.low), _level(from_s, to_s, ran.high)))
        self.markers.append(Marker("level", from_s, ran.value, words, told.value, "running", until=to_s))
        self._row("running level", f"{with_decimals(from_s, 2)} to {with_decimals(to_s, 2)} s", told.words)


def _level(from_s: float, to_s: float, value: float) -> Points:
    return ((from_s, value), (to_s, value))


def _at(at_s: float | None) -> str:
    return "" if at_s is None else f"{with_decimals(at_s, 2)} s"


def pulls_compared(found: Trace | None, left: Trace | None, unit: str) -> Figure | None:
    """As found and as left on the same axes, each from the start of its first pull, its breakaway marked."""
    lines, markers = [], []
    for moment, trace in (("as found", found), ("as left", left)):
        first = trace.result.pulls[0] if trace and trace.result.pulls else None
        start = first.start_s if first and first.start_s is not None else 0.0
        points = [(at - start, force) for at, force in trace.scaled(unit) if at >= start] if trace and first else []
        if trace is None or first is None or len(points) < 2:
            continue
        role = moment.replace(" ", "-")
        lines.append(Line(role, points, moment, _running_at(trace.result, unit)))
        if first.breakaway_s is not None:
            broke = first.breakaway_N.scaled(1 / NEWTONS_PER[unit])
            words = f"breakaway {moment} {in_words(broke, unit)}"
            markers.append(Marker("breakaway", first.breakaway_s - start, broke.value, words, role=role))
    return compared(f"Force over time in {unit}", unit, lines, markers)


def _running_at(result: PullResult, unit: str) -> str:
    try:
        return f"running at {value_in_words(average(result, 'running_N').scaled(1 / NEWTONS_PER[unit]), unit)}"
    except NotDeterminedError:
        return ""
