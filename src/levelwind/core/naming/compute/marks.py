"""Text read off a plate or a foot, letters missing or mistaken, against the texts that the book knows.

The best stretch of a text for what was read, letter by letter with letters left out or put in (local alignment: Smith
and Waterman, Journal of Molecular Biology 147, 1981), each step weighed by the log of its odds under "this is that
text" against "these are some letters". A score is thus the log of a likelihood ratio for the best place, and the log of
the number of places it was the best of is taken off it.
"""

import re
from collections.abc import Iterable, Sequence
from math import log

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Text = tuple[str, bool]
"""Letters that stand on a reel, and whether with the number that is in them, or with another."""

NUMBER = r"[0-9?]*[0-9][0-9?]*"
"""A number as read, figures missing."""
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
BESIDE = log(0.5)
"""A letter read before or behind the stretch that a text explains; a judgement, so that two letters in eight are no
likeness while a text with a patent behind it is one."""
STANDS = 0.7
"""Chance that what was read is one of the texts the book has of a pattern, and not a patent, a place or a shop; a
judgement."""
OTHER_NUMBER = 0.05
"""Chance that the number in a text is another one than was read, though no figure of it was doubtful; a judgement."""
MOST_RATIO = 1e3
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
    """Log of the likelihood ratio of the best stretch of ``text`` for ``read``; what is read beside it costs a little.

    >>> round(alignment("SK?RRY", "SKERRY"), 2)
    12.78
    """
    return float(alignments(read, [text])[0])


def alignments(read: str, texts: Sequence[str]) -> Array:
    """The same of many texts, all of them letter by letter at once."""
    there = np.zeros((len(texts), max(map(len, texts), default=0)), np.int32)
    for row, text in zip(there, texts, strict=True):
        row[: len(text)] = [ord(sign) for sign in text]
    beyond = np.zeros((len(texts), there.shape[1] + 1), bool)
    beyond[:, 1:] = there == 0
    gaps = GAP * np.arange(there.shape[1] + 1)
    beside, left = 0.0, sum(BESIDE for sign in read if sign != UNREAD)
    best, above = np.full(len(texts), float(left)), np.zeros(beyond.shape)
    for sign in read:
        beside += 0.0 if sign == UNREAD else BESIDE
        step = np.where(there == ord(sign), MATCH, MISMATCH)
        step[(there == ord(UNREAD)) | (sign == UNREAD)] = 0.0
        row = np.maximum(above + GAP, beside)
        row[:, 0] = beside
        row[:, 1:] = np.maximum(row[:, 1:], above[:, :-1] + step)
        row = np.maximum.accumulate(row - gaps, axis=1) + gaps
        row[beyond] = -np.inf
        best, above = np.maximum(best, row.max(axis=1) + left - beside), row
    return best


def text_ratio(read: str, text: str, same_number: bool = True) -> float:
    """How many times likelier it is to read this on a place where ``text`` stands than where some letters stand.

    Sizes of one model differ in nothing but a number: another number than that of the text speaks against it. Not
    ``same_number``: the text with another number in place of its own, so that its own speaks against it.

    >>> text_ratio("SKERRY", "SKERRY"), text_ratio("SKERRY30", "SKERRY50"), text_ratio("SKERRY30", "SKERRY50", False)
    (1000.0, 50.0, 1000.0)
    """
    return float(text_ratios(read, [(text, same_number)])[0])


def text_ratios(read: str, texts: Sequence[Text]) -> Array:
    """The same of many texts, each with whether it is the same number."""
    ratios = np.zeros(len(texts))
    numbers = [re.compile(number.replace(UNREAD, ".?")) for number in re.findall(NUMBER, read)]
    same = [_same_number(numbers, text) for text, _ in texts]
    for own in (True, False):
        places = [place for place, (text, same_number) in enumerate(texts) if text and same_number == own]
        against = np.array([OTHER_NUMBER if same[place] is (not own) else 1.0 for place in places])
        there = [texts[place][0] if own else re.sub(r"[0-9]", "", texts[place][0]) for place in places]
        ratios[places] = against * _ratios(read if own else re.sub(NUMBER, "", read), there)
    return ratios


def _ratios(read: str, texts: Sequence[str]) -> Array:
    places = len(read) * np.array([len(text) for text in texts], float)
    likelier = np.exp(alignments(read, texts)) / np.maximum(places, 1.0)
    return np.where(places > 0, np.minimum(likelier, MOST_RATIO), 0.0)


def _same_number(read: Sequence[re.Pattern[str]], text: str) -> bool | None:
    """Whether a number was read that stands in the text; None where one of the two has none."""
    there = re.findall(r"[0-9]+", text) if read else []
    return any(number.fullmatch(one) for number in read for one in there) if there else None


def mark_ratio(ratios: Iterable[float]) -> float:
    """How many times likelier a mark is to be read on a reel that bears texts with these ratios than on any other.

    From 1 - STANDS, where it is like none of them.

    >>> round(mark_ratio([text_ratio("PATENT", "SKERRY")]), 2)
    0.31
    """
    return float(mark_ratios(np.array([sum(ratios)]))[0])


def mark_ratios(sums: Array) -> Array:
    """The same of many reels, of each the sum of its texts' ratios."""
    return np.asarray(1 - STANDS + STANDS * sums)
