"""What a picture of the measuring sheet shows: where the lens stood, how the paper came out, and the pieces."""

from dataclasses import dataclass

from levelwind.core.fits.outlines import Eye, SeenPiece


@dataclass(frozen=True, slots=True)
class PaperSeen:
    """Width and height of the paper itself as it is seen, in mm of the printed sheet; None where its edges are not.

    Printed smaller than meant, the paper comes out larger than it is.
    """

    across_mm: float | None
    down_mm: float | None


@dataclass(frozen=True, slots=True)
class SheetSeen:
    """All lengths are in mm of the printed sheet: what they are in truth, the measured lines tell."""

    paper: str
    eye: Eye
    tilt_deg: float
    blur_mm: float
    """Spread of a sharp edge on the picture."""
    marks_off_mm: float
    """How far the marks' edges lie off a flat sheet, standard deviation."""
    px_per_mm: float
    printed: PaperSeen
    pieces: tuple[SeenPiece, ...]
