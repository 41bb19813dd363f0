"""The picture of a reading: force or speed over time with everything found marked on it, from its stored analysis."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from levelwind.core.pull.model import Pull
from levelwind.core.quantities import NEWTONS_PER, Quantity, in_words, shown
from levelwind.core.spin.model import Spin
from levelwind.core.spin.report import marks_on
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.stored import pull_result, spin_result
from levelwind.web.readings.plots import Axes, Dot, Level, Plot, Points, Row, with_room


def picture(reading: Reading, unit: str) -> Plot | None:
    """The plot of a reading; None where it has no curve. ``unit``: the shop's unit of force."""
    return _force(reading, unit) if reading.kind == "pull" else _speed(reading)


def overlaid(found: Reading, left: Reading, unit: str) -> Plot | None:
    """As found and as left on the same axes, each from the start of its first pull or its longest spin."""
    both = [_from_its_start(each, unit) for each in (found, left)]
    if not all(both):
        return None
    axes = Axes.around(*zip(*(point for points in both for point in points), strict=True))
    lines = (axes.line("as found", "as-found", both[0]), axes.line("as left", "as-left", both[1]))
    what = "Force" if found.kind == "pull" else "Speed"
    shown = unit if found.kind == "pull" else "rev/s"
    label = f"{what} over time, as found and as left, in {shown}"
    return Plot(label, shown, axes.from_s, axes.to_s, axes.x_ticks, axes.y_ticks, lines)


def _from_its_start(reading: Reading, unit: str) -> Points:
    if reading.kind == "pull":
        points, first = _in_unit(reading, unit), next((each.start_s for each in pull_result(reading).pulls), None)
        return [(t - first, force) for t, force in points if t >= first] if first is not None else []
    spins = _spins(reading)
    longest = max(spins, key=lambda spin: spin.speed[-1][0] - spin.speed[0][0], default=None)
    return [(t - longest.speed[0][0], speed) for t, speed in longest.speed] if longest else []


def _in_unit(reading: Reading, unit: str) -> Points:
    per = NEWTONS_PER[unit]
    return [(t, force / per) for t, force in reading.analysis.get("figure", {}).get("points", ())]


def _force(reading: Reading, unit: str) -> Plot | None:
    points = _in_unit(reading, unit)
    if len(points) < 2:
        return None
    pulls = pull_result(reading).pulls
    highest = [pull.breakaway_N.high / NEWTONS_PER[unit] for pull in pulls]
    axes = Axes.around((t for t, _ in points), [*(force for _, force in points), *highest])
    marked = [_Marked(axes, unit, pull, f"pull {n}, " if len(pulls) > 1 else "") for n, pull in enumerate(pulls, 1)]
    for each in marked:
        each.mark(reading.analysis["figure"]["marks"])
    return Plot(
        f"Force over time in {unit}, {_count(len(pulls), 'pull')} marked",
        unit,
        axes.from_s,
        axes.to_s,
        axes.x_ticks,
        axes.y_ticks,
        (axes.line("force", "only", points),),
        tuple(axes.stretch(n, f"pull {n}", p.start_s or 0.0, p.end_s or 0.0) for n, p in enumerate(pulls, 1)),
        tuple(level for each in marked for level in each.levels),
        with_room([dot for each in marked for dot in each.dots]),
        tuple(row for each in marked for row in each.rows),
    )


@dataclass(slots=True)
class _Marked:
    """One pull's start, breakaway, running level, wobble and end, each on the plot and in the table."""

    axes: Axes
    unit: str
    pull: Pull
    name: str
    dots: list[Dot] = field(default_factory=list)
    levels: list[Level] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    def mark(self, marks: Iterable[Mapping[str, Any]]) -> None:
        """``marks``: those of the whole log."""
        own = {mark["kind"]: mark for mark in marks if self._inside(mark["from_s"])}
        self._row("start", _at(self.pull.start_s))
        if "breakaway" in own:
            self._breakaway(own["breakaway"]["from_s"])
        if "running" in own:
            self._running(own["running"]["from_s"], own["running"]["to_s"])
        if self.pull.wobble_N:
            every = f"every {self.pull.wobble_period_s:.2f} s" if self.pull.wobble_period_s else "once a turn"
            self._row("wobble either side", every, in_words(self._force(self.pull.wobble_N), self.unit))
        self._row("end", _at(self.pull.end_s))

    def _inside(self, at_s: float) -> bool:
        start, end = self.pull.start_s, self.pull.end_s
        return start is not None and end is not None and start - 0.01 <= at_s <= end + 0.01

    def _force(self, newtons: Quantity) -> Quantity:
        return newtons.scaled(1 / NEWTONS_PER[self.unit])

    def _row(self, what: str, when: str, value: str = "") -> None:
        self.rows.append(Row(f"{self.name}{what}", when, value))

    def _breakaway(self, at_s: float) -> None:
        broke = self._force(self.pull.breakaway_N)
        words, label = in_words(broke, self.unit), ("breakaway", _plain(broke, self.unit))
        range_ = [(broke.low, broke.high)]
        self.dots.append(self.axes.dot("breakaway", at_s, broke.value, label, f"{self.name}breakaway {words}", range_))
        self._row("breakaway", _at(at_s), words)

    def _running(self, from_s: float, to_s: float) -> None:
        ran = self._force(self.pull.running_N)
        words, label = in_words(ran, self.unit), ("running", _plain(ran, self.unit))
        if self.pull.wobble_N:
            half = self._force(self.pull.wobble_N)
            lowest, highest = ran.value - half.value, ran.value + half.value
            wobble = f"{self.name}wobble {_plain(half, self.unit)}"
            self.levels.append(self.axes.level("wobble", from_s, to_s, ran.value, lowest, highest, wobble))
        self.levels.append(self.axes.level("running", from_s, to_s, ran.value, ran.low, ran.high, words))
        dot = self.axes.dot("level", from_s, ran.value, label, f"{self.name}running level {words}")
        self.dots.append(replace(dot, until_s=to_s, until_x=self.axes.x(to_s)))
        self._row("running level", f"{from_s:.2f} to {to_s:.2f} s", words)


def _speed(reading: Reading) -> Plot | None:
    spins = _spins(reading)
    curves: list[Points] = [list(spin.speed) for spin in spins]
    points = [point for curve in curves for point in curve]
    if len(points) < 2:
        return None
    ends = [spin.start_s + spin.spin_time_s.high for spin in spins if spin.spin_time_s and spin.start_s is not None]
    first = [spin.initial_rev_s.high for spin in spins if spin.initial_rev_s]
    axes = Axes.around([*(t for t, _ in points), *ends], [*(v for _, v in points), *first])
    dots, rows = _spin_marks(axes, spins)
    return Plot(
        f"Speed over time in rev/s, {_count(len(spins), 'spin')} marked",
        "rev/s",
        axes.from_s,
        axes.to_s,
        axes.x_ticks,
        axes.y_ticks,
        tuple(axes.line("speed", "only", curve) for curve in curves),
        tuple(axes.stretch(n, f"spin {n}", s.speed[0][0], s.speed[-1][0]) for n, s in enumerate(spins, 1)),
        tuple(_rest_ranges(axes, spins)),
        with_room(dots),
        tuple(rows),
    )


def _spins(reading: Reading) -> list[Spin]:
    return [spin for spin in spin_result(reading).spins if spin.speed]


def _spin_marks(axes: Axes, spins: list[Spin]) -> tuple[list[Dot], list[Row]]:
    names = {"flick": "first speed", "half": "half speed", "rest": "rest"}
    dots, rows = [], []
    for number, spin in enumerate(spins, 1):
        for mark in marks_on(spin):
            name = (f"spin {number}, " if len(spins) > 1 else "") + names[mark.kind]
            first = spin.initial_rev_s if mark.kind == "flick" else None
            words = in_words(first, "rev/s") if first else mark.words
            range_ = [(first.low, first.high)] if first else ()
            label = ("first", f"{mark.rev_s:.1f} rev/s") if mark.kind == "flick" else ("", names[mark.kind])
            dots.append(axes.dot(mark.kind, mark.at_s, mark.rev_s, label, f"{name}: {words}", range_))
            rows.append(Row(name, _at(mark.at_s), words))
    return dots, rows


def _rest_ranges(axes: Axes, spins: list[Spin]) -> list[Level]:
    """Within which seconds it came to rest, nine times in ten."""
    known = [(spin.start_s, spin.spin_time_s) for spin in spins if spin.spin_time_s and spin.start_s is not None]
    return [
        axes.level("rest-range", start + time.low, start + time.high, 0.0, 0.0, 0.0, f"rest {in_words(time, 's')}")
        for start, time in known
    ]


def _plain(quantity: Quantity, unit: str) -> str:
    """Without its interval, which the plot shows as a band."""
    return shown(quantity, unit).value


def _at(at_s: float | None) -> str:
    return "" if at_s is None else f"{at_s:.2f} s"


def _count(number: int, of: str) -> str:
    return f"{number} {of}" + ("" if number == 1 else "s")
