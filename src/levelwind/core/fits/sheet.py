"""The measuring sheet as it is printed: where its marks, its two measured lines and the room for pieces lie.

In mm from the sheet's upper left corner, to the right and down.
"""

from dataclasses import dataclass

from levelwind.core.errors import InputError

MARK_MM = 14.0
"""mm; side of a mark: a phone half a metre away still reads it. Our choice."""

CELLS = 6
"""Cells along a mark: four of its number and a black one round them, as the dictionary has it."""

EDGE_MM = 18.0
"""mm from the paper's edge to the middle of a mark: further in than any printer leaves white. Our choice."""

LINE_MM = 100.0
"""mm; the two lines that tell whether the printer kept the size: as long as a small caliper opens. Our choice."""

CODES = (
    0xB532, 0x0F9A, 0x332D, 0x9946, 0x549E, 0x79CD, 0x9E2E, 0xC4F2, 0xFEDA, 0xCF56, 0xF991, 0x11A7,
    0x0EB7, 0x2A0F, 0x24B1, 0x263E, 0x4665, 0x6600, 0x6C5E, 0x76AF, 0x868B, 0xB02B, 0xCCD5, 0xDD82,
)  # fmt: skip
"""The first marks of the common ArUco dictionary of 4 by 4 cells: 16 cells row by row, white is 1. A test holds them to
the marker detector's own."""

PAPERS = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}
"""mm across and down: ISO 216, and ANSI/ASME Y14.1 A."""

PER_SHEET = 12
"""Marks on one sheet: the corners, one more on each short side, three on each long side. Our choice."""


@dataclass(frozen=True, slots=True)
class Mark:
    """``number`` in the dictionary, and where its middle lies."""

    number: int
    x_mm: float
    y_mm: float

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Upper left, upper right, lower right, lower left."""
        half = MARK_MM / 2
        return tuple((self.x_mm + i * half, self.y_mm + j * half) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1)))

    @property
    def white(self) -> tuple[tuple[int, int], ...]:
        """The white cells of its number, by row and column among its ``CELLS``."""
        code = CODES[self.number]
        return tuple((n // 4 + 1, n % 4 + 1) for n in range(16) if code >> (15 - n) & 1)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One of the papers, with its marks: each paper has numbers of its own, so that a picture says which it is."""

    paper: str
    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]

    @property
    def room(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of where pieces may lie."""
        return EDGE_MM + 23, EDGE_MM + 11, self.width_mm - EDGE_MM - 11, self.height_mm - EDGE_MM - 25

    @property
    def line_across(self) -> tuple[float, float, float]:
        """Left end, right end and height of the measured line across."""
        left = (self.width_mm - LINE_MM) / 2
        return left, left + LINE_MM, self.height_mm - EDGE_MM - 13

    @property
    def line_down(self) -> tuple[float, float, float]:
        """Upper end, lower end and place across of the measured line down."""
        top = (self.height_mm - LINE_MM) / 2
        return top, top + LINE_MM, EDGE_MM + 14


def sheet(paper: str) -> Sheet:
    """The sheet for a paper.

    >>> [(mark.number, mark.x_mm, mark.y_mm) for mark in sheet("a4").marks[:3]]
    [(0, 18.0, 18.0), (1, 105.0, 18.0), (2, 192.0, 18.0)]
    """
    if paper not in PAPERS:
        raise InputError("paper", repr(paper), " or ".join(PAPERS))
    width, height = PAPERS[paper]
    left, right, top, bottom = EDGE_MM, width - EDGE_MM, EDGE_MM, height - EDGE_MM
    between = [top + (bottom - top) * part for part in (0.25, 0.5, 0.75)]
    at = [(left, top), (width / 2, top), (right, top)]
    at += [(side, down) for down in between for side in (left, right)]
    at += [(left, bottom), (width / 2, bottom), (right, bottom)]
    first = PER_SHEET * list(PAPERS).index(paper)
    return Sheet(paper, width, height, tuple(Mark(first + n, *place) for n, place in enumerate(at)))


CORNERS = {"upper left": 0, "upper right": 2, "lower left": 9, "lower right": 11}
"""Which of a sheet's marks lie in its corners."""
