"""The leaders over one another, to scale: half of each in section along its axis, with what was measured."""

from dataclasses import dataclass
from math import pi, radians, tan

import numpy as np

from levelwind.core.figures import Axis, Figure, Line, Points
from levelwind.core.fits.model import Answer, Form, Found, Span
from levelwind.core.quantities import percent

ROLES = ("first", "second", "third")
"""The leaders that are drawn, by rank."""

SHAPE = 1.9
"""How many times as long as high a drawing is: our choice."""

CREST = 0.125
"""Flat of a crest, in pitches: ISO 68-1 and ASME B1.1; a BA thread is round there."""

DEPTHS = {"thread": 0.61343, "nut": 0.54127, "BS 93": 0.6}
"""Depth of a thread, in pitches: a screw's with a rounded root, a nut's (ISO 68-1), and BA."""

HALF_ANGLES_DEG = {"BS 93": 23.75}
"""Half of the thread angle where it is not 30 degrees."""

ACROSS = ("diameter", "bore", "od", "id", "shaft", "groove")
"""Measurements that are diameters: drawn as a line at half of each."""

ARC_POINTS = 33
"""Points that half of a round section is drawn with."""


@dataclass(frozen=True, slots=True)
class _Outline:
    """Curves of one piece, mm along the axis and from it."""

    curves: tuple[Points, ...]
    least: float
    most: float


def leaders_figure(answer: Answer) -> Figure | None:
    """Half sections of up to three leaders on one axis; None where there is no candidate."""
    drawn = answer.found[: len(ROLES)]
    if not drawn:
        return None
    reach = _reach(answer, drawn)
    outlines = [_outline(answer, found, reach[1] * SHAPE) for found in drawn]
    foot = 0.0 if answer.kind.key != "oring" else max(0.0, min(each.least for each in outlines) - reach[1] * 0.02)
    top = max(each.most for each in outlines) * 1.03
    half = (top - foot) * SHAPE / 2
    lines: list[Line] = []
    for found, outline, role in zip(drawn, outlines, ROLES, strict=False):
        for number, points in enumerate(outline.curves):
            told = (found.candidate.name, percent(found.probability)) if number == 0 else ("", "")
            lines.append(Line(role, _cut(points, half), *told))
    lines += _as_measured(answer, half, foot, top)
    names = ", ".join(f"{found.candidate.name} {percent(found.probability)}" for found in drawn)
    return Figure(
        f"The leaders over one another, to scale: {names}",
        Axis("mm along the axis", -half, half),
        Axis("mm from the axis", foot, top),
        tuple(lines),
        to_scale=True,
    )


def _limits(answer: Answer, form: Form) -> dict[str, Span]:
    return dict(zip((each.key for each in answer.kind.dimensions), form.limits, strict=True))


def _middles(answer: Answer, found: Found) -> dict[str, float]:
    return {key: sum(span) / 2 for key, span in _limits(answer, found.forms[0][0]).items()}


def _reach(answer: Answer, drawn: tuple[Found, ...]) -> tuple[float, float]:
    outlines = [_outline(answer, found, 1.0) for found in drawn]
    return min(each.least for each in outlines), max(each.most for each in outlines)


def _outline(answer: Answer, found: Found, length: float) -> _Outline:
    sizes, kind = _middles(answer, found), answer.kind.key
    if kind in ("thread", "nut"):
        return _thread(sizes["diameter"], sizes["pitch"], found.candidate.standard, kind, length)
    if kind == "oring":
        return _round(sizes["id"] / 2, sizes["section"] / 2)
    if kind in ("clip", "bore_clip", "any_clip"):
        return _grooved(sizes["shaft"] / 2, sizes["groove"] / 2, sizes["thickness"], length)
    inner, outer = ("bore", "od") if kind == "bearing" else ("id", "od")
    return _ring(sizes[inner] / 2, sizes[outer] / 2, sizes["width" if kind == "bearing" else "thickness"])


def _thread(diameter: float, pitch: float, standard: str, kind: str, length: float) -> _Outline:
    """A crest at the middle; the profile goes as far as the drawing is long."""
    depth = DEPTHS.get(standard, DEPTHS[kind]) * pitch
    crest = diameter / 2 if kind == "thread" else diameter / 2 + depth
    flat, run = CREST * pitch / 2, depth * tan(radians(HALF_ANGLES_DEG.get(standard, 30.0)))
    along = [at for n in range(int(-length / pitch) - 1, int(length / pitch) + 2) for at in _turn(n * pitch, flat, run)]
    up = [crest, crest, crest - depth, crest - depth]
    points = [(at, up[(n + 3) % 4]) for n, at in enumerate(along)]
    return _Outline((points,), crest - depth, crest)


def _turn(middle: float, flat: float, run: float) -> tuple[float, float, float, float]:
    return middle - flat - run, middle - flat, middle + flat, middle + flat + run


def _round(inner: float, radius: float) -> _Outline:
    turn = np.linspace(pi, 0, ARC_POINTS)
    upper = [(float(radius * np.cos(a)), float(inner + radius + radius * np.sin(a))) for a in turn]
    lower = [(x, 2 * (inner + radius) - y) for x, y in upper]
    return _Outline((upper, lower), inner, inner + 2 * radius)


def _grooved(shaft: float, groove: float, thickness: float, length: float) -> _Outline:
    half = thickness / 2
    points = [(-length, shaft), (-half, shaft), (-half, groove), (half, groove), (half, shaft), (length, shaft)]
    return _Outline((points,), min(shaft, groove), max(shaft, groove))


def _ring(inner: float, outer: float, width: float) -> _Outline:
    half = width / 2
    sides = [(-half, outer), (-half, inner), (half, inner), (half, outer)]
    return _Outline((sides, [(-half, outer), (half, outer)]), inner, outer)


def _cut(points: Points, half: float) -> Points:
    """The part of a curve that lies on the drawing, with its ends on the edge."""
    inside = [(x, y) for x, y in points if -half <= x <= half]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    if xs[0] < -half:
        inside.insert(0, (-half, float(np.interp(-half, xs, ys))))
    if xs[-1] > half:
        inside.append((half, float(np.interp(half, xs, ys))))
    return inside


def _as_measured(answer: Answer, half: float, foot: float, top: float) -> list[Line]:
    at = [reading.value_mm / 2 for key, reading in answer.measured.items() if key in ACROSS]
    seen = [each for each in at if foot <= each <= top]
    return [Line("here", [(-half, each), (half, each)], "as measured" if not n else "") for n, each in enumerate(seen)]
