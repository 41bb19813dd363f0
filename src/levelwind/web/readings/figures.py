"""The picture of a reading: force or speed over time with everything found marked on it, from its stored analysis."""

from collections.abc import Mapping
from typing import Any

from levelwind.core.pull import PullResult
from levelwind.core.pull.model import Pull
from levelwind.core.quantities import NEWTONS_PER, Quantity, in_words
from levelwind.core.spin import SpinResult
from levelwind.core.spin.model import Spin
from levelwind.shop.models import Reading
from levelwind.web.readings.plots import Axes, Dot, Level, Plot, Points, Row, with_room


def picture(reading: Reading, unit: str) -> Plot | None:
    """The plot of a reading; None where it has no curve. ``unit``: the shop's unit of force."""
    return _force(reading.analysis, unit) if reading.kind == "pull" else _speed(reading.analysis)


def overlaid(found: Reading, left: Reading, unit: str) -> Plot | None:
    """As found and as left on the same axes, each from the start of its first pull or its longest spin."""
    both = [_from_its_start(each, unit) for each in (found, left)]
    if not all(both):
        return None
    axes = Axes.around(*zip(*(point for points in both for point in points), strict=True))
    lines = (axes.line("as found", "as-found", both[0]), axes.line("as left", "as-left", both[1]))
    what = "Force" if found.kind == "pull" else "Speed"
    shown = unit if found.kind == "pull" else "turns a second"
    label = f"{what} over time, as found and as left, in {shown}"
    return Plot(label, shown, axes.from_s, axes.to_s, axes.x_ticks, axes.y_ticks, lines)


def _from_its_start(reading: Reading, unit: str) -> Points:
    if reading.kind == "pull":
        starts = [each["start_s"] for each in reading.analysis.get("pulls", ())]
        points = _in_unit(reading.analysis, unit)
        return [(t - starts[0], force) for t, force in points if t >= starts[0]] if starts and points else []
    spins = _spins(reading.analysis)
    longest = max(spins, key=lambda spin: spin.speed[-1][0] - spin.speed[0][0], default=None)
    return [(t - longest.speed[0][0], speed) for t, speed in longest.speed] if longest else []


def _in_unit(analysis: Mapping[str, Any], unit: str) -> Points:
    per = NEWTONS_PER[unit]
    return [(t, force / per) for t, force in analysis.get("figure", {}).get("points", ())]


def _force(analysis: Mapping[str, Any], unit: str) -> Plot | None:
    points = _in_unit(analysis, unit)
    if len(points) < 2:
        return None
    per = NEWTONS_PER[unit]
    pulls = PullResult.from_dict(analysis).pulls if "pulls" in analysis else ()
    highest = [pull.breakaway_N.high / per for pull in pulls]
    axes = Axes.around((t for t, _ in points), [*(force for _, force in points), *highest])
    dots: list[Dot] = []
    levels: list[Level] = []
    rows: list[Row] = []
    marks = analysis.get("figure", {}).get("marks", ())
    for number, pull in enumerate(pulls, 1):
        name = f"pull {number}, " if len(pulls) > 1 else ""
        own = {mark["kind"]: mark for mark in marks if _inside(mark["from_s"], pull)}
        _mark_pull(axes, pull, own, unit, name, dots, levels, rows)
    return Plot(
        f"Force over time in {unit}, {_count(len(pulls), 'pull')} marked",
        unit,
        axes.from_s,
        axes.to_s,
        axes.x_ticks,
        axes.y_ticks,
        (axes.line("force", "only", points),),
        tuple(axes.stretch(n, f"pull {n}", p.start_s or 0.0, p.end_s or 0.0) for n, p in enumerate(pulls, 1)),
        tuple(levels),
        with_room(dots),
        tuple(rows),
    )


def _inside(at_s: float, pull: Pull) -> bool:
    return pull.start_s is not None and pull.end_s is not None and pull.start_s - 0.01 <= at_s <= pull.end_s + 0.01


def _mark_pull(
    axes: Axes,
    pull: Pull,
    own: Mapping[str, Any],
    unit: str,
    name: str,
    dots: list[Dot],
    levels: list[Level],
    rows: list[Row],
) -> None:
    """Start, breakaway, running level, wobble and end of one pull, each on the plot and in the table."""
    per = NEWTONS_PER[unit]
    broke, ran = pull.breakaway_N.scaled(1 / per), pull.running_N.scaled(1 / per)
    rows.append(Row(f"{name}start", _at(pull.start_s), ""))
    if "breakaway" in own:
        at = own["breakaway"]["from_s"]
        short = f"breakaway {_plain(broke, unit)}"
        range_ = [(broke.low, broke.high)]
        dots.append(axes.dot("breakaway", at, broke.value, short, f"{name}breakaway {in_words(broke, unit)}", range_))
        rows.append(Row(f"{name}breakaway", _at(at), in_words(broke, unit)))
    if "running" in own:
        a, b = own["running"]["from_s"], own["running"]["to_s"]
        words = f"running {_plain(ran, unit)}"
        if pull.wobble_N:
            half = pull.wobble_N.scaled(1 / per)
            lowest, highest = ran.value - half.value, ran.value + half.value
            levels.append(axes.level("wobble", a, b, ran.value, lowest, highest, f"wobble {_plain(half, unit)}"))
        levels.append(axes.level("running", a, b, ran.value, ran.low, ran.high, words))
        dots.append(axes.dot("level", b, ran.value, words, f"{name}running level {in_words(ran, unit)}"))
        rows.append(Row(f"{name}running level", f"{a:.2f} to {b:.2f} s", in_words(ran, unit)))
    if pull.wobble_N:
        round_ = f"every {pull.wobble_period_s:.2f} s" if pull.wobble_period_s else "once a turn"
        rows.append(Row(f"{name}wobble either side", round_, in_words(pull.wobble_N.scaled(1 / per), unit)))
    rows.append(Row(f"{name}end", _at(pull.end_s), ""))


def _speed(analysis: Mapping[str, Any]) -> Plot | None:
    spins = _spins(analysis)
    figure = analysis.get("figure", {})
    curves: list[Points] = [spin.speed for spin in spins] or [figure.get("points", ())]
    points = [point for curve in curves for point in curve]
    if len(points) < 2:
        return None
    marks = figure.get("marks", ())
    ends = [spin.start_s + spin.spin_time_s.high for spin in spins if spin.spin_time_s and spin.start_s is not None]
    first = [spin.initial_rev_s.high for spin in spins if spin.initial_rev_s]
    axes = Axes.around([*(t for t, _ in points), *ends], [*(v for _, v in points), *first])
    dots, rows = _spin_marks(axes, spins, marks)
    return Plot(
        f"Speed over time in turns a second, {_count(len(spins), 'spin')} marked",
        "turns a second",
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


def _spins(analysis: Mapping[str, Any]) -> list[Spin]:
    return [spin for spin in SpinResult.from_dict(analysis).spins if spin.speed] if "spins" in analysis else []


def _spin_marks(axes: Axes, spins: list[Spin], marks: Any) -> tuple[list[Dot], list[Row]]:
    names = {"flick": "flick", "half": "half speed", "rest": "rest"}
    dots, rows = [], []
    for mark in marks:
        at, value, kind = mark["at_s"], mark["rev_s"], mark["kind"]
        number = _which(spins, at)
        spin = spins[number] if spins else None
        name = (f"spin {number + 1}, " if len(spins) > 1 else "") + names.get(kind, kind)
        first = spin.initial_rev_s if spin and kind == "flick" else None
        words = in_words(first, "turns/s") if first else mark["words"].replace("rev/s", "turns/s")
        range_ = [(first.low, first.high)] if first else ()
        short = {"flick": f"flick, {value:.1f} turns/s", "half": "half speed", "rest": "rest"}.get(kind, kind)
        dots.append(axes.dot(kind, at, value, short, f"{name}: {words}", range_))
        rows.append(Row(name, _at(at), words))
    return dots, rows


def _which(spins: list[Spin], at_s: float) -> int:
    """The number of the last spin that had begun by then."""
    return max((n for n, spin in enumerate(spins) if spin.speed[0][0] <= at_s + 1e-6), default=0)


def _rest_ranges(axes: Axes, spins: list[Spin]) -> list[Level]:
    """Within which seconds it came to rest, nine times in ten."""
    known = [(spin.start_s, spin.spin_time_s) for spin in spins if spin.spin_time_s and spin.start_s is not None]
    return [
        axes.level("rest-range", start + time.low, start + time.high, 0.0, 0.0, 0.0, f"rest {in_words(time, 's')}")
        for start, time in known
    ]


def _plain(quantity: Quantity, unit: str) -> str:
    """Without its interval, which the plot shows as a band."""
    return in_words(quantity, unit).partition(" (")[0]


def _at(at_s: float | None) -> str:
    return "" if at_s is None else f"{at_s:.2f} s"


def _count(number: int, of: str) -> str:
    return f"{number} {of}" + ("" if number == 1 else "s")
