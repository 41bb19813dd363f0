"""The shop's own washers as what a piece may be."""

from collections.abc import Sequence
from math import isfinite

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError, LevelwindError, NotDeterminedError
from levelwind.core.fits.kinds import WASHER
from levelwind.core.fits.model import Candidate, Form, Span, Table
from levelwind.core.writing import written
from levelwind.reference.families import DIMENSIONS
from levelwind.shop.models import Part

SIZES = ("outer diameter", "inner diameter", "thickness")
"""What a part's sizes are called, in the order of the kind's dimensions."""

KNOWN_BY = {
    "bearing": {"inner diameter": "bore", "outer diameter": "od", "width": "width"},
    "washer": {"inner diameter": "id", "outer diameter": "od", "thickness": "thickness"},
    "thread": {"thread diameter": "diameter", "thread pitch": "pitch"},
    "nut": {"inner diameter": "diameter", "thread pitch": "pitch"},
    "oring": {"inner diameter": "id", "thickness": "section"},
    "clip": {"shaft or bore": "shaft", "groove diameter": "groove", "thickness": "thickness"},
    "spring": {"outer diameter": "od", "inner diameter": "id", "thickness": "thickness"},
}
"""For each kind of piece, what its sizes are called in a pattern and where a piece is known by them."""

STANDARD_OF = {
    **{"bearing": "bearing", "screw": "thread", "nut": "nut", "ring": "oring", "clip": "clip"},
    "spring_washer": "spring",
}
"""The kinds of place whose piece may be known by a standard's sizes, and the kind of piece."""

PART_NAMES = {
    **{"thread": "screw", "nut": "nut", "bearing": "ball bearing", "oring": "O-ring", "clip": "clip"},
    "spring": "disc spring",
}
"""What a part of a standard size is called on the shelf."""

PIECE_OF = {
    **STANDARD_OF,
    "washer": "washer",
    "friction_washer": "washer",
    "keyed_washer": "washer",
    "eared_washer": "washer",
}
"""The kinds of place whose piece is looked for by its sizes, and the kind of piece."""

LARGEST_MM = 1000.0
"""mm; no piece of a reel is larger: our choice."""

ABOUT_MM = (0.1, 0.1, 0.05)
"""mm; how far the sizes written at a part may be off what it is, either way: our choice."""


def number_on_shelf(name: str, piece: str) -> str:
    """What a part of a standard size is written down under: a nut has the same designation as its screw.

    >>> number_on_shelf("M3x0.5", "thread"), number_on_shelf("M3x0.5", "nut")
    ('M3x0.5', 'M3x0.5 nut')
    """
    return f"{name} nut" if piece == "nut" else name


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


def sizes_read(text: str) -> dict[str, float]:
    """Caliper readings in mm as a person writes them, one on a line. Raises LevelwindError for what is none.

    >>> sizes_read("outer diameter 28.5\\nThickness: 1,2 mm")
    {'outer diameter': 28.5, 'thickness': 1.2}
    """
    return dict(_size_read(line) for line in text.splitlines() if line.strip())


def _size_read(line: str) -> tuple[str, float]:
    name, _, number = line.replace("mm", "").replace(":", " ").strip().rpartition(" ")
    name = " ".join(name.lower().split())
    try:
        size = float(typed_number(number))
    except InputError:
        size = float("nan")
    if name not in DIMENSIONS:
        raise LevelwindError(
            f"“{line.strip()[:40]}” was not understood. Begin a size with one of {', '.join(DIMENSIONS)}."
        )
    if not (isfinite(size) and 0 < size <= LARGEST_MM):
        raise LevelwindError(f"The {name} can be over 0 and up to {written(LARGEST_MM)} mm. It was “{number[:20]}”.")
    return name, size


def sizes_written(sizes_mm: dict[str, float], between: str = "\n") -> str:
    """
    >>> sizes_written({"outer diameter": 28.5})
    'outer diameter 28.5'
    """
    return between.join(f"{name} {written(size)}" for name, size in sizes_mm.items())
