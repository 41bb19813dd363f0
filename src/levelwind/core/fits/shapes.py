"""What a piece looks like from above, and its sizes: round, eared, keyed, with flats, toothed, or long."""

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from levelwind.core.fits.counting import (
    ASLANT,
    EAR_SHARE,
    Count,
    Whole,
    lobes_counted,
    lobes_of,
    teeth_aslant,
    teeth_counted,
    teeth_spaced,
    tooth_wave,
    waves_of,
    widest_gap,
)
from levelwind.core.fits.model import Floats
from levelwind.core.fits.outlines import NEAR_MM, Circle, Edge, Eye, Sides, best_circle

ROUND_SHARE, TOLD_SHARE = 0.40, 0.75
"""Of its outline a piece has on one circle, at least, to be called round, and on the circle and its ears together: our
choice."""

SHARP_SHARE, WIDEST_GAP = 0.4, 3.0
"""Of an edge that is seen sharp at least, and the widest angle (rad) without any of it, for a circle to be drawn
through that alone: our choice."""

EVEN_MM, DRAWN = 0.015, 1.4
"""mm; points stray so far from a circle that is seen clearly, and how many times what they stray beyond it the radius
is off. Set on rendered pictures other than those that the tests count."""

HOLE_SHARE = 0.45
"""Of its outline a hole has on one circle, at least: less, and no bore is told of it. Our choice."""

LEAST_SEEN, LEAST_SEEN_MM = 0.15, 0.8
"""Of a bore's width, and mm, that must be left between its upper edge and its foot for the bore to be told. Our
choice."""

SIDED_LOOKS = ("six-sided", "four-sided")

SIDED, SIDED_SWING = 0.40, 0.03
"""How well the directions of an edge gather about those of a regular nut, from 0 to 1, and how much of its radius it
swings at least: a hexagon's swing is 0.047. Our choice."""

WHOLE_CHORD, ON_FLAT_MM = 0.85, 0.1
"""Of the chord at its distance from the middle that lies on a flat, within so many mm, at least: less, and it is a key.
Our choice."""

SIDE_RAD, SIDES_SHARE = 0.24, 0.6
"""rad, and the part of the outline that must run so near to the directions of its sides: a bore with four slots has
four directions too. Our choice."""

STRAIGHT_MM, ALIKE = 0.08, 0.04
"""A thick nut seen aslant shows two edges more, between its foot and its top: it is one still where its sides are that
straight and as far apart as that, as a share of its radius. Our choice."""

FEWEST_TURNS = 4
"""Crests of a thread, at least, to tell a pitch by: our choice."""

CREST_MM = 0.010
"""mm; swing of a side, at least, to be a thread: what a blurred M2 keeps. Our choice."""

PITCH_OFF_MM = 0.035
"""mm; how well the first and the last crest are told, standard deviation. Set on the same pictures."""

END_LOWER = 0.8
"""In pitches: how much lower than its crests the end of a screw is seen, where its last turn runs out. Set on rendered
pictures other than those that the tests count."""

LENGTH_OFF_MM, BARE_LENGTH_OFF_MM = 0.075, 0.16
"""mm; how well the ends of a lying screw, and of a piece without a thread, are told, standard deviation: its ends are
seen aslant, and how they are chamfered is not known. Set on the same pictures."""

MEAN_DEPTH, SWING_DEPTH, MOST_SWING, MEAN_OFF = 0.20, 1.4, 0.3, 0.11
"""In pitches: how much wider a screw is over its crests than it is seen in the mean, 0.20 and 1.4 times the swing that
is left of its sides, that up to 0.3; and how far off this is (standard deviation). The whole thread's is 0.61 (ISO
68-1); crests hide roots, and blur fills them. Set on rendered pictures other than those that the tests count."""

OVER_NOISE = 6.0
"""Times as high as the usual wave of a side a thread's is, at least: our choice."""


TOUCHING_MM, TOUCHING_SHARE, TOUCHING_GATHERED = 0.6, 0.6, 0.45
"""What stands off a circle by so many mm is another piece where this part of it lies on a circle of its own, all round
it: the mean of its directions from its own middle is shorter than that. Our choice."""

TOUCHING = "Two pieces touch one another here: lay them apart."
HIDDEN_BORE = "Its bore is seen too far aslant to be measured: lay it nearer to under the lens."
ODD_HOLE = "The shape of its hole is not told: measure it with a caliper."
NO_SHAPE = "Its shape is not told: the sizes are its widest and its narrowest."


@dataclass(frozen=True, slots=True)
class Sizes:
    """``spread`` is the standard deviation of each size by its points; ``edges`` how many edges' errors it bears."""

    looks: str
    sizes: dict[str, float]
    counts: dict[str, Count] = field(default_factory=dict)
    spread: dict[str, float] = field(default_factory=dict)
    edges: dict[str, float] = field(default_factory=dict)
    cautions: list[str] = field(default_factory=list)


def flat_sizes(outer: Edge, holes: list[Edge], hidden_mm: float = 0.0, shaded: float = 0.0) -> Sizes:
    """Of a piece that lies flat, from its edges as if they lay on the paper; ``hidden_mm`` is how far its upper edge
    is seen aside of its foot, ``shaded`` the part of its outline that lies in a shadow."""
    found = _outer(outer, hidden_mm, shaded)
    if holes and found.looks != "not told":
        _add_hole(found, holes[0], hidden_mm, shaded)
    return found


def _outer(edge: Edge, hidden_mm: float, shaded: float) -> Sizes:
    points, normals, told, _ = edge
    if told.sum() < 24:
        return Sizes("not told", {})
    circle = _circle(edge)
    if _touching(points, circle):
        return Sizes("not told", {}, cautions=[TOUCHING])
    for some in (told, np.ones_like(told)):
        sides = sides_of(points[some], normals[some])
        if sides and (nut := _nut(points[some], normals[some], *sides)).looks in SIDED_LOOKS:
            return nut
    if tooth_wave(points) or tooth_wave(points[told]):
        return _gear(points, told, hidden_mm, shaded)
    if circle.share >= ROUND_SHARE:
        return _round(points[told], circle, shaded, points)
    return _other(points)


def _touching(points: Floats, circle: Circle) -> bool:
    """Whether what stands off the circle is round itself, about another middle: another piece."""
    rest = points[circle.off(points) > TOUCHING_MM]
    if len(rest) < 24:
        return False
    other = best_circle(rest)
    apart = np.hypot(other.x_mm - circle.x_mm, other.y_mm - circle.y_mm)
    around = np.exp(1j * np.arctan2(rest[:, 1] - other.y_mm, rest[:, 0] - other.x_mm)).mean()
    return bool(other.share > TOUCHING_SHARE and apart > circle.radius_mm and abs(around) < TOUCHING_GATHERED)


def _round(points: Floats, circle: Circle, shaded: float, seen: Floats) -> Sizes:
    found = Sizes("round", {"outer diameter": 2 * circle.radius_mm})
    found.spread["outer diameter"] = _loose(circle, len(points))
    found.edges["outer diameter"] = 2.0
    ears, faint = _ears(points, circle)
    flats = _flats(points, circle)
    told = circle.share + sum(len(ear) for ear in ears) / len(points)
    if flats is not None and told > TOLD_SHARE / 2:
        found.sizes["width across flats"], found.edges["width across flats"] = flats, 2.0
        return replace(found, looks="with flats")
    if told < TOLD_SHARE:
        return _other(points)
    if ears:
        tips = [float(np.percentile(circle.off(points[ear]), 85)) for ear in ears]
        found.counts["ears"] = lobes_counted(points, circle, ears, faint, shaded, seen)
        found.sizes["across the ears"] = 2 * (circle.radius_mm + float(np.median(tips)))
        found.spread["across the ears"] = 2 * (float(np.std(tips)) / np.sqrt(len(tips)) + 0.01)
        found.edges["across the ears"] = 2.0
        return replace(found, looks="eared")
    return found


def _ears(points: Floats, circle: Circle) -> tuple[list[Whole], int]:
    """What stands out of the circle; how many more stand out far less than the rest, as the rim of a shadow does."""
    lobes = lobes_of(points, circle, outside=True)
    tips = [float(np.percentile(circle.off(points[lobe]), 85)) for lobe in lobes]
    ears = [lobe for lobe, tip in zip(lobes, tips, strict=True) if tip > EAR_SHARE * max(tips)]
    return ears, len(lobes) - len(ears)


def _circle(edge: Edge) -> Circle:
    """Through what is seen sharp, where that goes round far enough: where a shadow begins beside a low edge, the two
    are seen as one, too far out."""
    points, _, told, sharp = edge
    circle = best_circle(points[told])
    clear = points[told & sharp]
    if len(clear) < SHARP_SHARE * told.sum() or widest_gap(clear, circle) > WIDEST_GAP:
        return circle
    own = best_circle(clear, start=circle)
    return replace(own, share=float((np.abs(own.off(points[told])) < max(NEAR_MM, 3 * own.spread_mm)).mean()))


def _loose(circle: Circle, count: int) -> float:
    """How far off a diameter may be by how its points lie, standard deviation: what they stray by chance, and what
    draws many of them one way, as a shadow or a bevel does."""
    chance = 2 * circle.spread_mm / np.sqrt(max(circle.share * count / 8, 1))
    return float(np.hypot(chance, 2 * DRAWN * max(0.0, circle.spread_mm - EVEN_MM)))


def _add_hole(found: Sizes, edge: Edge, hidden_mm: float, shaded: float) -> None:
    points, normals, told, _ = edge
    if told.sum() < 24:
        return
    circle = _circle(edge)
    if 2 * circle.radius_mm - hidden_mm < max(LEAST_SEEN * 2 * circle.radius_mm, LEAST_SEEN_MM):
        found.cautions.append(HIDDEN_BORE)
        return
    if sides := sides_of(points, -normals):
        inner = _nut(points, -normals, *sides)
        found.sizes["across the flats inside"], found.edges["across the flats inside"] = (
            inner.sizes["width across flats"],
            2.0,
        )
        return
    seen, points = points, points[told]
    if circle.share < HOLE_SHARE:
        found.cautions.append(ODD_HOLE)
        return
    found.sizes["inner diameter"], found.edges["inner diameter"] = 2 * circle.radius_mm, 2.0
    found.spread["inner diameter"] = _loose(circle, len(points))
    flats = _flats(points, circle)
    if flats is not None:
        found.sizes["across the flats inside"], found.edges["across the flats inside"] = flats, 2.0
        return
    if keys := lobes_of(points, circle, outside=False):
        found.counts["keys inside"] = lobes_counted(points, circle, keys, 0, shaded, seen)
    if slots := lobes_of(points, circle, outside=True):
        found.counts["slots inside"] = lobes_counted(points, circle, slots, 0, shaded, seen)


def _flats(points: Floats, circle: Circle) -> float | None:
    """Across two flats that lie opposite one another on a circle; None where there are none."""
    runs = lobes_of(points, circle, outside=False)
    if len(runs) != 2:
        return None
    middle, total, ways = np.array([circle.x_mm, circle.y_mm]), 0.0, []
    for run in runs:
        own = points[run] - middle
        way = np.linalg.svd(own - own.mean(axis=0))[2][1]
        way = way * np.sign(own.mean(axis=0) @ way)
        reach = own @ way
        if np.percentile(np.abs(reach - np.median(reach)), 70) > 0.12:
            return None
        half = np.arccos(min(1.0, float(np.median(reach)) / circle.radius_mm))
        around = points - middle
        beside = np.abs(np.arctan2(around[:, 0] * way[1] - around[:, 1] * way[0], around @ way)) < half
        if np.mean(np.abs(around[beside] @ way - np.median(reach)) < ON_FLAT_MM) < WHOLE_CHORD:
            return None
        total += float(np.median(reach))
        ways.append(way)
    return total if ways[0] @ ways[1] < -0.97 else None


def sides_of(points: Floats, normals: Floats) -> tuple[int, float] | None:
    """How many equal sides, six or four, and the angle of the first; None where the edge does not run so."""
    angle = np.arctan2(normals[:, 1], normals[:, 0])
    waves, swing = waves_of(points)
    mean = float(swing.mean())
    for count in (6, 4):
        others = np.delete(waves[2:12], [each - 2 for each in (count, 2 * count) if each < 12])
        gathered = np.exp(1j * count * angle).mean()
        aside = np.angle(np.exp(1j * count * angle) / gathered) / count
        if abs(gathered) < SIDED or np.mean(np.abs(aside) < SIDE_RAD) < SIDES_SHARE:
            continue
        first = float(np.angle(gathered)) / count
        if waves[count] > SIDED_SWING * mean and waves[count] > 2 * others.max():
            return count, first
        across, loose = _across(points, normals, count, first)
        if across and loose < STRAIGHT_MM and max(across) - min(across) < ALIKE * mean:
            return count, first
    return None


def _nut(points: Floats, normals: Floats, count: int, first: float) -> Sizes:
    """The sides' direction is the one in which each side lies straightest."""
    turns = first + np.radians(np.arange(-4, 4.01, 0.25))
    tried = [_across(points, normals, count, float(turn)) for turn in turns]
    across, loose = min(tried, key=lambda each: each[1])
    if not across:
        return _other(points)
    found = Sizes(SIDED_LOOKS[count == 4], {"width across flats": float(np.mean(across))})
    found.spread["width across flats"] = float(np.std(across)) / np.sqrt(len(across)) + loose / 4
    found.edges["width across flats"] = 2.0
    return found


def _across(points: Floats, normals: Floats, count: int, first: float) -> tuple[list[float], float]:
    """From each side to the one opposite, and how far the points lie off the sides; nothing where a side has too
    few."""
    angle = np.arctan2(normals[:, 1], normals[:, 0])
    reach, loose = [], 0.0
    for n in range(count):
        turn = first + 2 * np.pi * n / count
        near = np.abs((angle - turn + np.pi) % (2 * np.pi) - np.pi) < np.radians(14)
        if near.sum() < 4:
            return [], float("inf")
        off = points[near] @ [np.cos(turn), np.sin(turn)]
        reach.append(float(np.median(off)))
        loose = max(loose, float(np.median(np.abs(off - reach[-1]))))
    return [reach[n] + reach[n + count // 2] for n in range(count // 2)], loose


def _gear(seen: Floats, told: npt.NDArray[np.bool_], hidden_mm: float, shaded: float) -> Sizes:
    points = seen[told]
    circle = best_circle(points, near_mm=0.25)
    whole, teeth = teeth_spaced(seen, circle), teeth_spaced(points, circle)
    x, y = circle.x_mm, circle.y_mm
    radius = np.hypot(points[:, 0] - x, points[:, 1] - y)
    angle = np.arctan2(points[:, 1] - y, points[:, 0] - x)
    phase = np.angle((np.exp(1j * teeth * angle) * (radius - radius.mean())).sum())
    beside = (angle * teeth - phase + np.pi) % (2 * np.pi) - np.pi
    tip, root = radius[np.abs(beside) < 0.45], radius[np.abs(beside) > np.pi - 0.45]
    found = Sizes("toothed", {"outer diameter": 2 * float(np.median(tip))})
    aslant = hidden_mm > ASLANT * 2 * np.pi * circle.radius_mm / teeth
    found.counts["tooth count"] = (
        teeth_aslant(whole, teeth, shaded) if aslant else teeth_counted(seen, circle, teeth, shaded)
    )
    if len(root) > 10:
        found.sizes["across the roots"] = 2 * float(np.median(root))
        found.spread["across the roots"], found.edges["across the roots"] = 0.04, 2.0
    found.spread["outer diameter"] = 2 * float(np.std(tip)) / np.sqrt(max(1, teeth)) + 0.02
    found.edges["outer diameter"] = 2.0
    return found


def _other(points: Floats) -> Sizes:
    """Of no shape that is known: its widest and its narrowest."""
    turn = np.radians(np.arange(0, 180, 1.0))
    reach = points @ np.array([np.cos(turn), np.sin(turn)])
    widths = np.percentile(reach, 99.7, axis=0) - np.percentile(reach, 0.3, axis=0)
    found = Sizes("of another shape", {"length": float(widths.max()), "width": float(widths.min())})
    found.spread.update({"length": 0.05, "width": 0.05})
    found.edges.update({"length": 2.0, "width": 2.0})
    found.cautions.append(NO_SHAPE)
    return found


def long_sizes(sides: Sides, eye: Eye) -> Sizes:
    """Of a piece that lies along, as a screw or a pin does: it is taken to be round, its middle half its width up."""
    left = np.array([np.nan if each is None else each for each in sides.left_mm])
    right = np.array([np.nan if each is None else each for each in sides.right_mm])
    at = np.arange(len(left)) * sides.step_mm
    wide = left + right
    seen = np.isfinite(wide)
    if seen.sum() < 20:
        return Sizes(
            "long", {"length": sides.ends_mm[1] - sides.ends_mm[0]}, spread={"length": 0.3}, edges={"length": 2.0}
        )
    first, last = sides.ends_mm
    inner = (at > first + 0.1 * (last - first)) & (at < last - 0.1 * (last - first)) & seen
    pitch, crests, swing = _pitch(at[inner], left[inner], right[inner], sides.step_mm)
    across = np.array([sides.along[1], -sides.along[0]])
    middle = np.array(sides.start) + np.array(sides.along) * float(np.median(at[inner]))
    aside = float((middle - [eye.x_mm, eye.y_mm]) @ -across)
    reach = [float(np.mean(side[inner])) for side in (left, right)]
    bare = _round_bar(aside - reach[0], aside + reach[1], eye.height_mm)
    diameter = bare + MEAN_DEPTH * pitch + SWING_DEPTH * min(swing, MOST_SWING * pitch)
    raised = 1 - diameter / 2 / eye.height_mm
    length = _length(sides, eye, diameter - END_LOWER * pitch)
    off = LENGTH_OFF_MM if pitch else BARE_LENGTH_OFF_MM
    found = Sizes("long", {"length": length}, spread={"length": off}, edges={"length": 2.0})
    name = "thread diameter" if pitch else "width"
    found.sizes[name], found.edges[name] = diameter, 2.0
    found.spread[name] = float(np.hypot(0.02, MEAN_OFF * pitch))
    if pitch:
        found.sizes["thread pitch"] = pitch * raised
        found.spread["thread pitch"] = PITCH_OFF_MM / max(crests, 1.0)
        found.edges["thread pitch"] = 0.0
        return Sizes("threaded", found.sizes, found.counts, found.spread, found.edges)
    return found


def _length(sides: Sides, eye: Eye, high: float) -> float:
    """From end to end: an end that looks away from the lens shows its top, ``high`` above the paper."""
    under = float((np.array([eye.x_mm, eye.y_mm]) - sides.start) @ np.array(sides.along))
    shrink = 1 - high / eye.height_mm
    first, last = sides.ends_mm
    first = under + (first - under) * shrink if first < under else first
    last = under + (last - under) * shrink if last > under else last
    return last - first


def _round_bar(left_mm: float, right_mm: float, eye_mm: float) -> float:
    """Diameter of a round bar on the paper from where its two sides are seen, beside the point under the lens.

    The lens at height H sees the bar between two tangents; their angles give how far its middle lies and its radius:
    r = D sin b, with D from the lens to the bar's middle, r above the paper, and b half the angle between them.

    >>> round(_round_bar(-1.5, 1.5, 1e6), 4)
    3.0
    """
    first, second = np.arctan2(left_mm, eye_mm), np.arctan2(right_mm, eye_mm)
    half, middle = (second - first) / 2, (first + second) / 2
    # (H - r) = D cos(middle), r = D sin(half)
    return float(2 * eye_mm * np.sin(half) / (np.cos(middle) + np.sin(half)))


def _pitch(at: Floats, left: Floats, right: Floats, step: float) -> tuple[float, float, float]:
    """Pitch by both sides, its crests and how far the sides swing; nothing where they do not swing evenly."""
    length = float(at[-1] - at[0]) if len(at) > 40 else 0.0
    if length < 2:
        return 0.0, 0.0, 0.0
    bell = np.hanning(len(at))
    swings = []
    for side in (left, right):
        slow = np.polyval(np.polyfit(at, side, 3), at)
        swings.append(np.clip(side - slow, -0.6, 0.6))
    rates = np.arange(1 / 2.2, 1 / 0.18, 0.02 / length)
    waves = np.exp(-2j * np.pi * np.outer(rates, at))
    power = np.sqrt(sum(np.abs(waves @ (bell * swing)) ** 2 for swing in swings)) * 2 / bell.sum()
    peak = int(power.argmax())
    crests = length * float(rates[peak])
    if (
        not 0 < peak < len(rates) - 1
        or power[peak] < max(CREST_MM, OVER_NOISE * float(np.median(power)))
        or crests < FEWEST_TURNS
    ):
        return 0.0, 0.0, 0.0
    before, here, after = power[peak - 1 : peak + 2]
    rate = rates[peak] + (before - after) / (2 * (before - 2 * here + after)) * (rates[1] - rates[0])
    return 1 / float(rate), crests, float(np.sqrt(2) * np.mean([swing.std() for swing in swings]))
