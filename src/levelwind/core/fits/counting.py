"""How many ears, keys, slots or teeth an outline shows, and how sure that is."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from levelwind.core.fits.model import Floats
from levelwind.core.fits.outlines import Circle

Whole = npt.NDArray[np.intp]
"""Places in an array."""

EAR_SHARE = 0.45
"""Of the highest ear's height: what is lower is none. Our choice."""

LOBE_MM, LOBE_WIDE_MM = 0.30, 0.5
"""mm; how far off the circle, and how wide, an ear or a key is at least: our choice."""

FEWEST_TEETH, MOST_TEETH = 12, 160
"""Teeth that a gear of a reel may have: common practice, no source."""

TOOTH_MM, TOOTHED = 0.13, 1.8
"""mm; swing of an outline, at least, to be teeth, and how many times as much as any other swing: our choice."""

SURE_BY_DOUBTS = (0.97, 0.75)
"""How often a count is right that nothing speaks against, and one that one thing speaks against; with more, none is
told. Set on rendered pictures other than those that the tests count."""

MOST_DOUBTS = 2
"""Reasons that are told: our choice."""

OVERTONE = 0.3
"""Of a wave's swing: where the outline swings so much half or a third as often, the wave is of ears with straight
sides, of which there are so many fewer. Our choice."""

UNEVEN = 0.12
"""Of the way from one to the next: ears and teeth further off their even places than this (standard deviation) are
called uneven. Our choice."""

UNLIKE = 1.7
"""Times as high or as wide as the least of them: more, and one of them may be something else. Our choice."""

GAP = 3.0
"""Times the usual way between two points that one of them stands for at most: our choice."""

ASLANT = 0.5
"""Of the way from tooth to tooth: where the upper edge is seen further aside than that, teeth and gaps run into one
another. Our choice."""

WEAK_TOOTH = 0.4
"""Of the usual swing: where teeth swing less, some are broken or not seen. Our choice."""

LEAST_CLEAR = 1.5
"""Times LOBE_MM that an ear stands out at least to be counted without a doubt: our choice."""

SHADED = 0.03
"""Of a piece's edge beside which there is no clean paper, from which a count is doubted: our choice."""


@dataclass(frozen=True, slots=True)
class Count:
    """``number`` is None where these data cannot tell; ``sure`` is the chance that it is right; ``doubts`` are the
    reasons for less, in words."""

    number: int | None
    sure: float
    doubts: tuple[str, ...] = ()


def weighed(number: int | None, doubts: list[str]) -> Count:
    """A count by how many things speak against it.

    >>> weighed(4, []), weighed(3, ["they do not stand evenly", "a shadow lies along its edge"]).number
    (Count(number=4, sure=0.97, doubts=()), None)
    """
    told = number is not None and len(doubts) < len(SURE_BY_DOUBTS)
    sure = SURE_BY_DOUBTS[len(doubts)] if told else 0.0
    return Count(number if told else None, sure, tuple(doubts[:MOST_DOUBTS]))


def by_angle(points: Floats, circle: Circle) -> tuple[Whole, Floats]:
    """Order of the points round the middle, and their angles so ordered."""
    angle = np.arctan2(points[:, 1] - circle.y_mm, points[:, 0] - circle.x_mm)
    order = np.argsort(angle)
    return order, angle[order]


def lobes_of(points: Floats, circle: Circle, *, outside: bool) -> list[Whole]:
    """Runs of points that lie off the circle on one side, each wide enough; as indices of the points."""
    order, angle = by_angle(points, circle)
    off = circle.off(points)[order] * (1 if outside else -1)
    away = off > LOBE_MM
    if not away.any() or away.all():
        return []
    start = int(np.argmin(away))
    away, order, angle = np.roll(away, -start), np.roll(order, -start), np.unwrap(np.roll(angle, -start))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], away.astype(int), [0]])))
    runs = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    merged: list[tuple[int, int]] = []
    for a, b in runs:
        if merged and (angle[a] - angle[merged[-1][1] - 1]) * circle.radius_mm < LOBE_WIDE_MM:
            merged[-1] = (merged[-1][0], b)
        else:
            merged.append((a, b))
    wide = [(a, b) for a, b in merged if (angle[b - 1] - angle[a]) * circle.radius_mm >= LOBE_WIDE_MM]
    return [order[a:b] for a, b in wide]


def lobes_counted(points: Floats, circle: Circle, lobes: list[Whole], faint: int, shaded: float, seen: Floats) -> Count:
    """How many of them there are; ``faint`` is how many more stand off the circle that were not counted, ``shaded`` the
    part of the outline that lies in a shadow, ``seen`` every point of it."""
    spans = [span_of(points[lobe], circle) for lobe in lobes]
    high = [abs(float(np.percentile(np.abs(circle.off(points[lobe])), 85))) for lobe in lobes]
    wide = [width for _, width in spans]
    doubts = []
    if shaded > SHADED:
        doubts.append("a shadow or another piece lies along its edge")
    if faint or min(high) < LEAST_CLEAR * LOBE_MM:
        doubts.append("some stand off its edge but little")
    if max(high) > UNLIKE * min(high) or max(wide) > UNLIKE * min(wide):
        doubts.append("they are not alike")
    if len(lobes) == 1:
        doubts.append("only one stands off its edge")
    if widest_gap(seen, circle) > 0.7 * min(wide):
        doubts.append("part of its edge is not seen")
    if not _even(np.array([middle for middle, _ in spans])):
        doubts.append("they do not stand evenly, as if one were missing")
    return weighed(len(lobes), doubts)


def span_of(points: Floats, circle: Circle) -> tuple[float, float]:
    """Angle of its middle, and how wide it is (rad)."""
    angle = np.arctan2(points[:, 1] - circle.y_mm, points[:, 0] - circle.x_mm)
    middle = float(np.angle(np.exp(1j * angle).mean()))
    aside = (angle - middle + np.pi) % (2 * np.pi) - np.pi
    return middle, float(aside.max() - aside.min())


def widest_gap(points: Floats, circle: Circle) -> float:
    _, angle = by_angle(points, circle)
    return float(np.diff(angle, append=angle[0] + 2 * np.pi).max())


def _even(middles: Floats) -> bool:
    """Whether so many stand at equal angles."""
    many = len(middles)
    gathered = np.exp(1j * many * middles)
    aside = np.angle(gathered / gathered.mean()) / (2 * np.pi)
    return many < 2 or bool(abs(gathered.mean()) > 0.3 and np.abs(aside).max() < 2 * UNEVEN)


def tooth_wave(points: Floats) -> int:
    """How often the outline swings in and out round its middle; 0 where it has no teeth."""
    waves, _ = waves_of(points)
    number = FEWEST_TEETH + int(waves[FEWEST_TEETH:MOST_TEETH].argmax())
    far = [n for n in range(FEWEST_TEETH, MOST_TEETH) if abs(n - number) > 3 and abs(n - 2 * number) > 3]
    if waves[number] <= max(TOOTH_MM, TOOTHED * waves[far].max(), 0.6 * waves[3:FEWEST_TEETH].max()):
        return 0
    of_ears = [number // part for part in (2, 3) if number % part == 0 and number // part < FEWEST_TEETH]
    return 0 if any(waves[ears] > OVERTONE * waves[number] for ears in of_ears) else number


def teeth_aslant(whole: int, clear: int, shaded: float) -> Count:
    """Of a gear whose upper edge hides the gaps between its teeth on some sides: by the spacing of the whole outline,
    and of what is foot or rim for certain; walking round it would meet teeth twice."""
    doubts = []
    if whole != clear:
        doubts += ["they are seen aslant", f"they are {whole} by the whole edge and {clear} where it is clear"]
    if shaded > SHADED:
        doubts.append("a shadow or another piece lies along its edge")
    return weighed(clear, doubts)


def teeth_spaced(points: Floats, circle: Circle) -> int:
    """How many teeth their spacing tells: how often the edge swings in and out round its middle, by its points as they
    lie. What is not seen counts for nothing, where a line drawn across it would count as an edge."""
    order, angle = by_angle(points, circle)
    ahead = np.diff(angle, append=angle[0] + 2 * np.pi)
    own = (ahead + np.roll(ahead, 1)) / 2
    weight = np.minimum(own, GAP * np.median(own))
    off = circle.off(points)[order]
    swing = weight * (off - np.average(off, weights=weight))
    numbers = np.arange(FEWEST_TEETH, MOST_TEETH)
    return int(numbers[np.abs(np.exp(1j * np.outer(numbers, angle)) @ swing).argmax()])


def teeth_counted(points: Floats, circle: Circle, number: int, shaded: float) -> Count:
    """Counted once by the strongest swing of the outline and once by walking round it."""
    _, swing = waves_of(points)
    low, high = int(0.6 * number), int(1.4 * number) + 1
    kept = np.zeros(len(swing), dtype=complex)
    kept[low : high + 1] = np.fft.fft(swing - swing.mean())[low : high + 1]
    turning = np.fft.ifft(kept)
    walked = round(float(np.unwrap(np.angle(np.append(turning, turning[0])))[[0, -1]] @ [-1, 1]) / (2 * np.pi))
    doubts = []
    if shaded > SHADED:
        doubts.append("a shadow or another piece lies along its edge")
    if np.abs(turning).min() < WEAK_TOOTH * np.median(np.abs(turning)):
        doubts.append("some stand out less than the rest, as if broken or hidden")
    if walked != number:
        doubts.insert(0, f"they are {number} by their spacing and {walked} one by one")
    if widest_gap(points, circle) > 2 * np.pi / number:
        doubts.append("part of its edge is not seen")
    phase = np.angle(turning) - number * np.linspace(0, 2 * np.pi, len(turning), endpoint=False)
    off = np.angle(np.exp(1j * (phase - np.angle(np.exp(1j * phase).mean())))) / (2 * np.pi)
    if np.std(off) > UNEVEN:
        doubts.append("they do not stand evenly")
    return weighed(number if walked == number else None, doubts)


def waves_of(points: Floats) -> tuple[Floats, Floats]:
    """How much the outline swings in and out 0, 1, 2 ... times round its middle, mm; and its radius at 4096 angles."""
    about = (points.max(axis=0) + points.min(axis=0)) / 2
    angle, radius = np.arctan2(*(points - about).T[::-1]), np.hypot(*(points - about).T)
    order = np.argsort(angle)
    even = np.linspace(-np.pi, np.pi, 4096, endpoint=False)
    swing = np.interp(even, angle[order], radius[order], period=2 * np.pi)
    return 2 * np.abs(np.fft.rfft(swing - swing.mean())) / len(swing), swing
