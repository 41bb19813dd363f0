"""Sizes of the pieces on a measuring sheet, each with its interval.

An interval (nine in ten) is made of: how the print came out, how high the lens and the piece's edge stand, how sharp
the edge is on the picture, and how the points lie about the shape.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.fits.counting import Count
from levelwind.core.fits.model import SURE
from levelwind.core.fits.outlines import Eye, Outline, SeenPiece, brought_down
from levelwind.core.fits.seen import SheetSeen
from levelwind.core.fits.shapes import Sizes, flat_sizes, long_sizes
from levelwind.core.fits.sheet import LINE_MM, PAPERS
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

LEAST_LINE_MM, MOST_LINE_MM = 85.0, 115.0
"""mm; no printer scales more than so and still prints the whole sheet."""

LINE_OFF_MM = 0.06
"""mm; how well a printed line of 100 mm is read with a caliper, standard deviation: our choice."""

PRINT_OFF = 0.0015
"""How far off its size, as a share, a printer prints that was told to keep it, standard deviation: our choice; some
tenths of a percent are common (common practice, no source)."""

PAPER_OFF = 0.008
"""As a share; paper that seems further off than this was printed to another size. ISO 216 lets paper be 2 mm off, 0.7 %
of an A4's height."""

HEIGHT_OFF_MM = 0.015
"""mm; how well a thickness is typed, standard deviation."""

UNSAID_MM = (0.0, 1.2, 5.0)
"""mm; how high an edge may stand where nobody said: the least, the usual and the most of thin pieces. Our choice."""

EDGE_SHARE, EDGE_PX = 0.045, 0.066
"""How far off an edge is seen, standard deviation: this share of the blur, and dots of the picture beside it. Set on
rendered pictures other than those that the tests count."""

DOUBTED = 0.9
"""A count less sure than this is not carried on to the shelf: our choice."""

SHADE_SHARE = 0.05
"""Of a piece's edge that lies in a shadow, from which it is said: our choice."""

THICK_MM = 30.0
"""mm; thicker pieces do not lie under a phone."""


@dataclass(frozen=True, slots=True)
class SaidOfPiece:
    """``height_mm``: how high its upper edge stands over the paper, None while nobody said; ``round_edge``: it is
    round in section, as an O-ring is."""

    height_mm: float | None = None
    round_edge: bool = False

    def __post_init__(self) -> None:
        if self.height_mm is not None and not 0 < self.height_mm <= THICK_MM:
            raise InputError("thickness", f"{self.height_mm:g} mm", f"more than 0 and up to {THICK_MM:g} mm")


@dataclass(frozen=True, slots=True)
class Said:
    """What the two printed lines of 100 mm measure, and what is said of the pieces by their number, from 1."""

    across_mm: float | None = None
    down_mm: float | None = None
    pieces: Mapping[int, SaidOfPiece] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for what, value in (("line across", self.across_mm), ("line down", self.down_mm)):
            if value is not None and not LEAST_LINE_MM <= value <= MOST_LINE_MM:
                allowed = f"{LEAST_LINE_MM:g} to {MOST_LINE_MM:g} mm: it was meant to be {LINE_MM:g}"
                raise InputError(f"printed {what}", f"{value:g} mm", allowed)


NOTHING_SAID = Said()


@dataclass(frozen=True, slots=True)
class Size:
    """``what`` in the shop's words for sizes; a count has no interval, but the chance that it is right."""

    what: str
    value: Quantity
    is_count: bool = False
    sure: float = 1.0

    @property
    def doubted(self) -> bool:
        return self.sure < DOUBTED


@dataclass(frozen=True, slots=True)
class Measured:
    """One piece by its number, what it looks like, its sizes in mm, and what is to be kept in mind."""

    number: int
    looks: str
    sizes: tuple[Size, ...]
    cautions: tuple[str, ...]
    asks_height: bool

    def size(self, what: str) -> Quantity | None:
        return next((each.value for each in self.sizes if each.what == what), None)


NOT_MEASURED = (
    "Nobody measured the printed lines, and the edges of the paper are not on the picture: measure both lines and say "
    "what you read."
)
SCALED = (
    "The printer made the sheet {percent} % {way}: measure both printed lines of 100 mm with a caliper and say "
    "what you read."
)
HEIGHT_ASKED = (
    "Its thickness is not said: sizes hold for an edge up to 5 mm over the paper. Measure it with a caliper and type "
    "it in."
)
SHADE = (
    "A shadow or another piece lies along {percent:.0f} % of its edge: its length, and ears or teeth there, may be "
    "wrong. Turn the light, or lay it apart."
)
COUNT_DOUBTED = "{what}: {number}, but not sure, as {why}: count by eye."
NOT_COUNTED = "{what}: these data cannot tell how many, as {why}. Count by eye."
OUTSIDE = "It lies over the edge of the room for pieces: lay it between the four corners."


@dataclass(frozen=True, slots=True)
class _Scale:
    across: float
    down: float
    off: float


def print_scale(seen: SheetSeen, said: Said) -> _Scale:
    """What a printed millimetre measures. Raises NotDeterminedError where the print may be off and nobody measured
    it."""
    across, down = said.across_mm, said.down_mm
    if across is not None or down is not None:
        both = across is not None and down is not None
        x, y = across or down or LINE_MM, down or across or LINE_MM
        return _Scale(x / LINE_MM, y / LINE_MM, (LINE_OFF_MM if both else 2 * LINE_OFF_MM) / LINE_MM)
    width, height = PAPERS[seen.paper]
    ratios = [
        true / printed
        for true, printed in ((width, seen.printed.across_mm), (height, seen.printed.down_mm))
        if printed is not None
    ]
    if not ratios:
        raise NotDeterminedError(NOT_MEASURED)
    worst = max(ratios, key=lambda ratio: abs(ratio - 1))
    if abs(worst - 1) > PAPER_OFF:
        way = "smaller" if worst < 1 else "larger"
        raise NotDeterminedError(SCALED.format(percent=written(100 * abs(worst - 1), ".1f"), way=way))
    return _Scale(1.0, 1.0, PRINT_OFF)


def measure(seen: SheetSeen, said: Said = NOTHING_SAID) -> tuple[Measured, ...]:
    """Every piece on the sheet, from the top down. Raises NotDeterminedError where the print cannot be trusted."""
    scale = print_scale(seen, said)
    eye = replace(
        seen.eye,
        x_mm=seen.eye.x_mm * scale.across,
        y_mm=seen.eye.y_mm * scale.down,
        height_mm=seen.eye.height_mm * (scale.across + scale.down) / 2,
    )
    return tuple(
        _measured(n, _scaled(piece, scale), eye, seen, said.pieces.get(n, SaidOfPiece()), scale)
        for n, piece in enumerate(seen.pieces, start=1)
    )


def _scaled(piece: SeenPiece, scale: _Scale) -> SeenPiece:
    def outline(one: Outline) -> Outline:
        return replace(one, points=tuple((x * scale.across, y * scale.down) for x, y in one.points))

    sides = piece.sides
    if sides is not None:
        own = float(np.hypot(sides.along[0] * scale.across, sides.along[1] * scale.down))
        aside = float(np.hypot(sides.along[1] * scale.across, sides.along[0] * scale.down))
        sides = replace(
            sides,
            start=(sides.start[0] * scale.across, sides.start[1] * scale.down),
            step_mm=sides.step_mm * own,
            left_mm=tuple(None if each is None else each * aside for each in sides.left_mm),
            right_mm=tuple(None if each is None else each * aside for each in sides.right_mm),
            ends_mm=(sides.ends_mm[0] * own, sides.ends_mm[1] * own),
        )
    return replace(piece, outer=outline(piece.outer), holes=tuple(outline(one) for one in piece.holes), sides=sides)


def _measured(number: int, piece: SeenPiece, eye: Eye, seen: SheetSeen, said: SaidOfPiece, scale: _Scale) -> Measured:
    sizes_at = _long_at(piece) if piece.sides is not None else _flat_at(piece, said.round_edge)
    unsaid = said.height_mm is None and piece.sides is None
    usual = UNSAID_MM[1] if said.height_mm is None else said.height_mm
    found = sizes_at(eye, usual)
    edge = float(np.hypot(EDGE_SHARE * seen.blur_mm, EDGE_PX / seen.px_per_mm)) / SURE
    sides = _off_by_height(sizes_at, found, eye, usual, unsaid)
    sizes = [
        Size(what, Quantity.exact(float(count.number)), True, count.sure)
        for what, count in found.counts.items()
        if count.number is not None
    ]
    for what, value in found.sizes.items():
        common = float(
            np.hypot(np.hypot(scale.off * value, found.spread.get(what, 0.0)), edge * SURE * found.edges.get(what, 1.4))
        )
        low, high = (float(np.hypot(SURE * common, off)) for off in sides[what])
        sizes.append(Size(what, Quantity(value, max(0.0, value - low), value + high)))
    cautions = [HEIGHT_ASKED] if unsaid else []
    if piece.cut_off:
        cautions.append(OUTSIDE)
    if piece.unclear > SHADE_SHARE:
        cautions.append(SHADE.format(percent=100 * piece.unclear))
    cautions += [each for what, count in found.counts.items() for each in _doubted(what, count)]
    return Measured(number, found.looks, tuple(sizes), (*cautions, *found.cautions), piece.sides is None)


def _doubted(what: str, count: Count) -> list[str]:
    if not count.doubts:
        return []
    words = NOT_COUNTED if count.number is None else COUNT_DOUBTED
    return [words.format(what=what.capitalize(), number=count.number, why=" and ".join(count.doubts))]


SizesAt = Callable[[Eye, float], Sizes]


def _flat_at(piece: SeenPiece, round_edge: bool) -> SizesAt:
    def at(eye: Eye, height: float) -> Sizes:
        outer = brought_down(piece.outer, eye, height, round_edge=round_edge)
        holes = [brought_down(hole, eye, height, round_edge=round_edge) for hole in piece.holes]
        middle = outer.points.mean(axis=0) if len(outer.points) else np.zeros(2)
        aside = float(np.hypot(*(middle - [eye.x_mm, eye.y_mm])))
        hidden = 0.0 if round_edge else aside * height / eye.height_mm
        return flat_sizes(outer, holes, hidden, piece.unclear)

    return at


def _long_at(piece: SeenPiece) -> SizesAt:
    sides = piece.sides
    assert sides is not None
    return lambda eye, _: long_sizes(sides, eye)


def _off_by_height(
    sizes_at: SizesAt, found: Sizes, eye: Eye, usual: float, unsaid: bool
) -> dict[str, tuple[float, float]]:
    """How much too large and too small each size may be by how high its edge and the lens stand (nine in ten)."""
    x, y, high = eye.off_mm
    moved = (
        replace(eye, x_mm=eye.x_mm + x),
        replace(eye, y_mm=eye.y_mm + y),
        replace(eye, height_mm=eye.height_mm + high),
    )
    by_eye = [sizes_at(other, usual).sizes for other in moved]
    heights = (UNSAID_MM[0], UNSAID_MM[2]) if unsaid else (usual + HEIGHT_OFF_MM,)
    by_height = [sizes_at(eye, height).sizes for height in heights]
    off = {}
    for key, value in found.sizes.items():
        lens = SURE * float(np.linalg.norm([other.get(key, value) - value for other in by_eye]))
        ends = [other.get(key, value) - value for other in by_height]
        both = float(np.hypot(lens, SURE * ends[0]))
        off[key] = (max(0.0, -min(ends)) + lens, max(0.0, *ends) + lens) if unsaid else (both, both)
    return off
