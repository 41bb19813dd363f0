"""Text read off a plate or a foot, letters missing or mistaken, against the texts that the book knows.

The best stretch of a text for what was read, letter by letter with letters left out or put in (local alignment: Smith
and Waterman, Journal of Molecular Biology 147, 1981), each step weighed by the log of its odds under "this is that
text" against "these are some letters". A score is thus the log of a likelihood ratio for the best place, and the log of
the number of places it was the best of is taken off it.
"""

from collections.abc import Iterable
from math import exp, log

UNREAD = "?"
"""What stands for a letter that cannot be read: it speaks neither for nor against."""
RIGHT = 0.92
"""Chance that a letter that was read is the one that stands there; a judgement for worn and stamped plates."""
ALIKE = 14.0
"""Letters of makers' names are as hard to guess as one of 14 equal ones: an entropy of 3.8 bits a letter, from memory
3.9 to 4.1 for single letters of English."""
MATCH = log(RIGHT * ALIKE)
MISMATCH = log((1 - RIGHT) / 25 * ALIKE)
GAP = log(0.02)
"""A letter left out or put in while reading: one in fifty; a judgement."""
STANDS = 0.55
"""Chance that what was read is one of the texts the book has of a pattern, and not a patent, a place or a shop; a
judgement."""
MOST_RATIO = 1e5
"""However long the text, no reading speaks more than this for one pattern: plates are swapped. Our choice."""


def letters(text: str) -> str:
    """The text with nothing left but capital letters, figures and marks for unread ones.

    >>> letters("St?g & sons, No. 3")
    'ST?GSONSNO3'
    """
    return "".join(sign for sign in text.upper() if sign.isalnum() or sign == UNREAD)


def words_of(marks: str) -> list[str]:
    """The marks as read, part by part: each line, and each stretch between commas or semicolons, by itself."""
    parts = marks.replace(";", "\n").replace(",", "\n").split("\n")
    return [word for part in parts if (word := letters(part)).strip(UNREAD)]


def alignment(read: str, text: str) -> float:
    """Log of the likelihood ratio of the best stretch of ``text`` for ``read``; 0 where no stretch speaks for it.

    >>> round(alignment("SK?RRY", "SKERRY"), 2)
    12.78
    """
    best, above = 0.0, [0.0] * (len(text) + 1)
    for sign in read:
        row = [0.0]
        for place, there in enumerate(text, 1):
            step = 0.0 if UNREAD in (sign, there) else MATCH if sign == there else MISMATCH
            row.append(max(0.0, above[place - 1] + step, above[place] + GAP, row[-1] + GAP))
        best, above = max(best, *row), row
    return best


def text_ratio(read: str, text: str) -> float:
    """How many times likelier it is to read this on a place where ``text`` stands than where some letters stand.

    >>> text_ratio("SKERRY", "SKERRY") > 1000
    True
    """
    return exp(alignment(read, text)) / (len(read) * len(text)) if text else 0.0


def mark_ratio(ratios: Iterable[float]) -> float:
    """How many times likelier a mark is to be read on a reel that bears texts with these ratios than on any other.

    From 1 - STANDS, where it is like none of them, up to MOST_RATIO.

    >>> round(mark_ratio([text_ratio("PATENT", "SKERRY")]), 2)
    0.48
    """
    return min(1 - STANDS + STANDS * sum(ratios), MOST_RATIO)
