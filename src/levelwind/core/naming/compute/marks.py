"""Text read off a plate or a foot, letters missing or mistaken, against the texts that the book knows.

The best stretch of a text for what was read, letter by letter with letters left out or put in (local alignment: Smith
and Waterman, Journal of Molecular Biology 147, 1981), each step weighed by the log of its odds under "this is that
text" against "these are some letters". A score is thus the log of a likelihood ratio for the best place, and the log of
the number of places it was the best of is taken off it.
"""

import re
from collections.abc import Iterable
from math import exp, log

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
    beside = 0.0
    best, above = sum(BESIDE for sign in read if sign != UNREAD), [0.0] * (len(text) + 1)
    left = best
    for sign in read:
        beside += 0.0 if sign == UNREAD else BESIDE
        row = [beside]
        for place, there in enumerate(text, 1):
            step = 0.0 if UNREAD in (sign, there) else MATCH if sign == there else MISMATCH
            row.append(max(beside, above[place - 1] + step, above[place] + GAP, row[-1] + GAP))
        best, above = max(best, max(row) + left - beside), row
    return best


def text_ratio(read: str, text: str, same_number: bool = True) -> float:
    """How many times likelier it is to read this on a place where ``text`` stands than where some letters stand.

    Sizes of one model differ in nothing but a number: another number than that of the text speaks against it. Not
    ``same_number``: the text with another number in place of its own, so that its own speaks against it.

    >>> text_ratio("SKERRY", "SKERRY"), text_ratio("SKERRY30", "SKERRY50"), text_ratio("SKERRY30", "SKERRY50", False)
    (1000.0, 50.0, 1000.0)
    """
    if not text:
        return 0.0
    if not same_number:
        read_letters, letters_there = re.sub(NUMBER, "", read), re.sub(r"[0-9]", "", text)
        against = OTHER_NUMBER if _same_number(read, text) else 1.0
        return against * _ratio(read_letters, letters_there)
    return (OTHER_NUMBER if _same_number(read, text) is False else 1.0) * _ratio(read, text)


def _ratio(read: str, text: str) -> float:
    places = len(read) * len(text)
    return min(exp(alignment(read, text)) / places, MOST_RATIO) if places else 0.0


def _same_number(read: str, text: str) -> bool | None:
    """Whether a number was read that stands in the text; None where one of the two has none."""
    numbers = [re.compile(number.replace(UNREAD, ".?")) for number in re.findall(NUMBER, read)]
    there = re.findall(r"[0-9]+", text)
    return any(number.fullmatch(one) for number in numbers for one in there) if numbers and there else None


def mark_ratio(ratios: Iterable[float]) -> float:
    """How many times likelier a mark is to be read on a reel that bears texts with these ratios than on any other.

    From 1 - STANDS, where it is like none of them.

    >>> round(mark_ratio([text_ratio("PATENT", "SKERRY")]), 2)
    0.31
    """
    return 1 - STANDS + STANDS * sum(ratios)
