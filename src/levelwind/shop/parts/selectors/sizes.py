"""The shop's own washers as what a piece may be."""

from collections.abc import Sequence

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fits.kinds import WASHER
from levelwind.core.fits.model import Candidate, Form, Span, Table
from levelwind.shop.models import Part

SIZES = ("outer diameter", "inner diameter", "thickness")
"""What a part's sizes are called, in the order of the kind's dimensions."""

KNOWN_BY = {
    "bearing": {"inner diameter": "bore", "outer diameter": "od", "width": "width"},
    "washer": {"inner diameter": "id", "outer diameter": "od", "thickness": "thickness"},
    "thread": {"thread diameter": "diameter", "thread pitch": "pitch"},
}
"""For each kind of piece, what its sizes are called in a pattern and where a piece is known by them."""

ABOUT_MM = (0.1, 0.1, 0.05)
"""mm; how far the sizes written at a part may be off what it is, either way: our choice."""


def washer_table(parts: Sequence[Part]) -> Table:
    """A candidate for each part that has its three sizes. Raises NotDeterminedError where none has."""
    sized = [(part, limits) for part in parts if (limits := _limits(part))]
    if not sized:
        raise NotDeterminedError("No washer on the shelf has its diameters and its thickness written down.")
    return Table(WASHER, tuple(_candidate(part, limits) for part, limits in sized))


def _candidate(part: Part, limits: tuple[Span, ...]) -> Candidate:
    name = ", ".join(each for each in (part.name, part.material) if each)
    return Candidate(part.number, name, (Form("", limits),), 1.0, "written", "the shop's shelf")


def _limits(part: Part) -> tuple[Span, ...] | None:
    try:
        sizes = [float(part.sizes_mm[name]) for name in SIZES]
    except (KeyError, TypeError, ValueError):
        return None
    limits = tuple((size - about, size + about) for size, about in zip(sizes, ABOUT_MM, strict=True))
    return limits if sizes[1] < sizes[0] and all(low > 0 for low, _ in limits) else None
