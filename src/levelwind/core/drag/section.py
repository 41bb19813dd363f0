"""The stack in section, as data to draw from: half a cut through the axis, in millimetres, to scale."""

from collections.abc import Container
from dataclasses import dataclass
from itertools import pairwise

from levelwind.core.drag import chain
from levelwind.core.drag.model import Stack

MARGIN_MM = 1.5
"""Left free around a section, at its own scale: our choice."""

TIE_MM = 1.6
"""From the largest washer out to the line that stands for the gear: our choice."""

NUMBERS_MM = 5.4
"""Under the axis for three rows of numbers, so that those of thin washers do not run into one another: our choice."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One body in section: along the axis from x0 to x1, from the axis outwards from r0 to r1."""

    name: str
    kind: str
    tied_to: str
    material: str
    x0_mm: float
    x1_mm: float
    r0_mm: float
    r1_mm: float
    idle: bool

    @property
    def middle_mm(self) -> float:
        """Along the axis."""
        return round((self.x0_mm + self.x1_mm) / 2, 6)


@dataclass(frozen=True, slots=True)
class Face:
    """Where two bodies touch: at x, from r0 to r1; ``slips`` under drag, ``carries`` torque or not."""

    x_mm: float
    r0_mm: float
    r1_mm: float
    slips: bool
    carries: bool


@dataclass(frozen=True, slots=True)
class Section:
    """Pieces from the far end of the stack to the clamp, and their faces."""

    pieces: tuple[Piece, ...]
    faces: tuple[Face, ...]
    length_mm: float
    radius_mm: float

    @property
    def gear_line_mm(self) -> float:
        """How far from the axis the line lies that stands for the gear."""
        return round(self.radius_mm + TIE_MM, 6)

    @property
    def frame_mm(self) -> tuple[float, float, float, float]:
        """Left, top, width and height of all that is drawn: along the axis from the far end, outwards upwards, less."""
        top = round(self.gear_line_mm + MARGIN_MM, 6)
        return -MARGIN_MM, -top, round(self.length_mm + 2 * MARGIN_MM, 6), round(top + NUMBERS_MM, 6)

    @property
    def has_idle(self) -> bool:
        return any(piece.idle for piece in self.pieces)

    @property
    def words(self) -> str:
        """The section in a sentence or two, for whoever does not see it."""
        names = [f"{n} {piece.name}{' (idle)' if piece.idle else ''}" for n, piece in enumerate(self.pieces, 1)]
        slips = [f"{n} and {n + 1}" for n, face in enumerate(self.faces, 1) if face.slips]
        tail = f" It slips between {', '.join(slips)}." if slips else " Nothing in it can slip."
        return f"From the far end to the clamp: {', '.join(names)}.{tail}"


def section(stack: Stack, slipping: Container[int], idle: Container[int]) -> Section:
    """A stack laid out along its axis; ``slipping`` counts its contacts, ``idle`` its bodies, from 0 at the far end."""
    pieces, x = [], 0.0
    for place, body in enumerate(stack.bodies):
        end = x + 1000 * body.thickness_m
        radii = (1000 * body.inner_radius_m, 1000 * body.outer_radius_m)
        named = (body.name, body.kind.value, body.tie.value, body.material)
        pieces.append(Piece(*named, round(x, 6), round(end, 6), *radii, place in idle))
        x = end
    carrying = chain.carrying(stack)
    faces = tuple(
        Face(
            below.x1_mm,
            max(below.r0_mm, above.r0_mm),
            min(below.r1_mm, above.r1_mm),
            i in slipping,
            i in carrying,
        )
        for i, (below, above) in enumerate(pairwise(pieces))
    )
    return Section(tuple(pieces), faces, round(x, 6), max(piece.r1_mm for piece in pieces))
