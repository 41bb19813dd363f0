"""A spin drawn: speed over time with first speed, half speed and rest marked on it, and as found against as left."""

from collections.abc import Iterator

from levelwind.core.figures import Axis, Figure, Line, Marker, Row, Span, compared
from levelwind.core.quantities import in_words, shown
from levelwind.core.spin.compare import SpinsCompared
from levelwind.core.spin.model import Spin, SpinResult
from levelwind.core.writing import written

UNIT = "rev/s"


def spin_figure(result: SpinResult) -> Figure | None:
    """Every spin that has a curve; None where none has."""
    spins = [spin for spin in result.spins if len(spin.speed) > 1]
    if not spins:
        return None
    markers = [marker for n, spin in enumerate(spins, 1) for marker in _markers(spin, n if len(spins) > 1 else 0)]
    rests = [rest for spin in spins if (rest := _rest_range(spin))]
    curves = [Line("read", tuple(spin.speed)) for spin in spins]
    whole = [point for line in (*curves, *rests) for point in line.points]
    first = [spin.initial_rev_s.high for spin in spins if spin.initial_rev_s]
    return Figure(
        f"Speed over time in {UNIT}, {len(spins)} spin{'' if len(spins) == 1 else 's'} marked",
        Axis.along("seconds", [at for at, _ in whole]),
        Axis.upright(UNIT, [*(speed for _, speed in whole), *first]),
        (*curves, *rests),
        spans=tuple(Span(f"spin {n}", spin.speed[0][0], spin.speed[-1][0]) for n, spin in enumerate(spins, 1)),
        markers=tuple(marker for marker, _ in markers),
        rows=tuple(row for _, row in markers),
    )


def _markers(spin: Spin, number: int) -> Iterator[tuple[Marker, Row]]:
    """First speed, half speed and rest, each with its row; ``number`` where there are several spins, else 0."""
    at, speed = spin.speed[0]
    of = f"spin {number}, " if number else ""
    first = spin.initial_rev_s
    words, range_ = (
        in_words(first, UNIT) if first else f"{written(speed, '.1f')} {UNIT}",
        (first.low, first.high) if first else None,
    )
    yield _marked("flick", of + "first speed", at, speed, words, f"{written(speed, '.1f')} {UNIT}", "first", range_)
    half = next((point for point in spin.speed if point[1] <= speed / 2), None)
    if half:
        words = f"half speed after {written(half[0] - at, '.1f')} s"
        yield _marked("half", of + "half speed", *half, words, "half speed")
    if spin.spin_time_s and spin.start_s is not None:
        words = f"at rest after {in_words(spin.spin_time_s, 's')}"
        yield _marked("rest", of + "rest", spin.start_s + spin.spin_time_s.value, 0.0, words, "rest")


def _marked(
    kind: str,
    name: str,
    at_s: float,
    rev_s: float,
    words: str,
    label: str,
    named: str = "",
    range_: tuple[float, float] | None = None,
) -> tuple[Marker, Row]:
    marker = Marker(kind, at_s, rev_s, f"{name}: {words}", label, named, range_=range_)
    return marker, Row(name, f"{written(at_s, '.2f')} s", words)


def _rest_range(spin: Spin) -> Line | None:
    """Within which seconds it came to rest, nine times in ten."""
    if spin.spin_time_s is None or spin.start_s is None:
        return None
    ends = spin.start_s + spin.spin_time_s.low, spin.start_s + spin.spin_time_s.high
    return Line("rest-range", tuple((end, 0.0) for end in ends), says=f"rest {in_words(spin.spin_time_s, 's')}")


def spins_compared(found: Spin | None, left: Spin | None, verdict: SpinsCompared | None = None) -> Figure | None:
    """As found and as left on the same axes, rest marked: compared, both from the speed in common, else each whole."""
    lines, markers = [], []
    from_rev_s = verdict.from_rev_s if verdict else None
    rests = verdict.rests if verdict and from_rev_s else [spin.spin_time_s if spin else None for spin in (found, left)]
    for moment, spin, rest in zip(("as found", "as left"), (found, left), rests, strict=True):
        if spin is None or len(spin.speed) < 2:
            continue
        role, start = moment.replace(" ", "-"), _reached(spin, from_rev_s)
        points = tuple((at - start, speed) for at, speed in spin.speed if at >= start)
        if from_rev_s and points[0][0] > 0:
            points = ((0.0, from_rev_s), *points)
        lines.append(Line(role, points, moment, f"{shown(rest, 's').value} to rest" if rest else ""))
        if rest:
            markers.append(Marker("rest", rest.value, 0.0, f"at rest {moment} after {in_words(rest, 's')}", role=role))
    return compared(f"Speed over time in {UNIT}", UNIT, lines, markers)


def _reached(spin: Spin, rev_s: float | None) -> float:
    """When it was down to a speed; its first moment where none is said, or it never turned faster."""
    times, speeds = zip(*spin.speed, strict=True)
    above = [i for i, speed in enumerate(speeds) if rev_s is not None and speed > rev_s]
    if rev_s is None or not above or above[-1] + 1 == len(speeds):
        return float(times[0])
    i = above[-1]
    part = (speeds[i] - rev_s) / (speeds[i] - speeds[i + 1])
    return float(times[i] + part * (times[i + 1] - times[i]))
