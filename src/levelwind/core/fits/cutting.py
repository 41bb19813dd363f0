"""How many round washers a sheet gives, by rows that a hand can mark, and the most that any pattern could."""

from dataclasses import dataclass
from math import floor, isfinite, sqrt

from levelwind.core.errors import InputError
from levelwind.core.writing import written

CUT_MM = 1.0
"""mm between two washers, for the cut: our choice."""

HAIR = 1e-9
"""What rounding may lack of a whole row."""


@dataclass(frozen=True, slots=True)
class Cut:
    """``count`` washers can be laid on the sheet in rows, ``staggered`` or square; none can lay more than ``most``."""

    count: int
    most: int
    staggered: bool


def washers_from(length_mm: float, width_mm: float, outer_mm: float, *, cut_mm: float = CUT_MM) -> Cut:
    """The better of square and staggered rows, along either side, and Oler's bound on any pattern.

    Washers of diameter d, a cut apart, are discs of D = d + cut in a sheet a cut longer and wider. Their centres lie D
    or more apart in a rectangle a x b = (length + cut - D) x (width + cut - D), and of such points there are at most
    2 a b / (sqrt(3) D^2) + (a + b) / D + 1. Source: N. Oler, An inequality in the geometry of numbers, Acta Math. 105
    (1961), from memory. All in mm, above 0. Raises InputError.

    >>> washers_from(200, 150, 28.5)
    Cut(count=32, most=38, staggered=True)
    """
    for what, value in (("length of the sheet", length_mm), ("width of the sheet", width_mm), ("washer", outer_mm)):
        if not (isfinite(value) and value > 0):
            raise InputError(what, f"{written(value)} mm", "more than 0 mm")
    across = outer_mm + cut_mm
    a, b = (side + cut_mm - across for side in (length_mm, width_mm))
    if min(a, b) < -HAIR:
        return Cut(0, 0, False)
    most = floor(2 * a * b / (sqrt(3) * across**2) + (a + b) / across + 1 + HAIR)
    square = _fit(a, across) * _fit(b, across)
    staggered = max(_staggered(a, b, across), _staggered(b, a, across))
    return Cut(max(square, staggered), most, staggered > square)


def _fit(side: float, across: float) -> int:
    """Centres on a side, this far apart."""
    return floor(side / across + HAIR) + 1


def _staggered(along: float, up: float, across: float) -> int:
    """Rows half a washer aside of one another: every second one may hold one fewer."""
    rows = _fit(up, across * sqrt(3) / 2)
    aside = _fit(along - across / 2, across) if along >= across / 2 - HAIR else 0
    return (rows + 1) // 2 * _fit(along, across) + rows // 2 * aside
