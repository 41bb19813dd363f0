"""A stack in section, laid out on a sheet: what a page needs to draw it, in millimetres to scale."""

from dataclasses import dataclass

from levelwind.core.drag.section import Section

MARGIN_MM = 1.5
BAND_MM = 1.6
"""Room above for the gear's line, and below the axis for the sleeve's."""

LABEL_MM = 1.5
"""Height of one row of numbers; three rows, so that thin washers' numbers do not run into one another."""


@dataclass(frozen=True, slots=True)
class DrawnPiece:
    number: int
    name: str
    kind: str
    tied_to: str
    idle: bool
    x0: float
    x1: float
    middle: float
    top: float
    bottom: float
    label_y: float
    tie_y: float


@dataclass(frozen=True, slots=True)
class DrawnFace:
    x: float
    top: float
    bottom: float
    slips: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    """Half a cut through the axis, the axis at ``axis_y``; the far end to the left, the clamp to the right."""

    width: float
    height: float
    gear_y: float
    axis_y: float
    x0: float
    x1: float
    pieces: tuple[DrawnPiece, ...]
    faces: tuple[DrawnFace, ...]

    @property
    def has_idle(self) -> bool:
        return any(piece.idle for piece in self.pieces)

    @property
    def says(self) -> str:
        """The drawing in a sentence, for whoever does not see it."""
        between = [f"{piece.number} {piece.name}{' (idle)' if piece.idle else ''}" for piece in self.pieces]
        slips = [
            f"{self.pieces[i].number} and {self.pieces[i + 1].number}"
            for i, face in enumerate(self.faces)
            if face.slips
        ]
        tail = f" It slips between {', '.join(slips)}." if slips else " Nothing in it can slip."
        return f"From the far end to the clamp: {', '.join(between)}.{tail}"


def drawing(section: Section) -> Drawing:
    """The section with its gear line above, its axis below, and its numbers under that."""
    gear_y = MARGIN_MM
    outside_y = gear_y + BAND_MM
    axis_y = outside_y + section.radius_mm
    pieces = []
    for number, piece in enumerate(section.pieces, 1):
        tie_y = {"gear": gear_y, "sleeve": axis_y}.get(piece.tied_to, axis_y)
        pieces.append(
            DrawnPiece(
                number=number,
                name=piece.name,
                kind=piece.kind,
                tied_to=piece.tied_to,
                idle=piece.idle,
                x0=_tidy(MARGIN_MM + piece.x0_mm),
                x1=_tidy(MARGIN_MM + piece.x1_mm),
                middle=_tidy(MARGIN_MM + (piece.x0_mm + piece.x1_mm) / 2),
                top=_tidy(axis_y - piece.r1_mm),
                bottom=_tidy(axis_y - piece.r0_mm),
                label_y=_tidy(axis_y + LABEL_MM * (1 + (number - 1) % 3)),
                tie_y=tie_y,
            )
        )
    faces = tuple(
        DrawnFace(_tidy(MARGIN_MM + f.x_mm), _tidy(axis_y - f.r1_mm), _tidy(axis_y - f.r0_mm), f.slips)
        for f in section.faces
    )
    return Drawing(
        width=_tidy(section.length_mm + 2 * MARGIN_MM),
        height=_tidy(axis_y + 3.6 * LABEL_MM),
        gear_y=gear_y,
        axis_y=_tidy(axis_y),
        x0=MARGIN_MM,
        x1=_tidy(MARGIN_MM + section.length_mm),
        pieces=tuple(pieces),
        faces=faces,
    )


def _tidy(millimetres: float) -> float:
    return round(millimetres, 3)
