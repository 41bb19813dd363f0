"""What a cell says: a number, a sum, a count, a day, yes or no. What can be read two ways is asked, never guessed."""

import re
from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from levelwind.core.columns.model import Money
from levelwind.core.errors import InputError
from levelwind.core.writing import decimal_sign, written

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
YES, NO = ("yes", "y", "true", "1", "x", "it fits"), ("no", "n", "false", "0", "", "it does not fit")
CENTURY_TURNS = 69
"""Years of two figures: 69 to 99 are of the last century, 00 to 68 of this one, as POSIX reads %y (strptime; from
memory)."""
LONGEST = 60
"""Letters of a cell that holds a number or a day; our choice: more is no such thing, and is not searched."""

MOST_MM = 1000.0
"""mm; no piece of a reel is larger: our choice, as where it is typed."""

_GROUP = "[ '’\u00a0\u202f]"
_TIME = re.compile(r"[T ]\d{1,2}:\d\d(?::\d\d(?:\.\d+)?)?(?: ?[AaPp]\.?[Mm]\.?)?(?:Z| ?[+-]\d\d:?\d\d)?$")
_NUMBERS = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4}|\d\d)\.?")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_NAMED = (
    re.compile(r"(?P<d>\d{1,2})(?:st|nd|rd|th)?\.?[ -](?P<m>[A-Za-z]{3,9})\.?,?[ -](?P<y>\d{4}|\d\d)"),
    re.compile(r"(?P<m>[A-Za-z]{3,9})\.?[ -](?P<d>\d{1,2})(?:st|nd|rd|th)?,?[ -](?P<y>\d{4}|\d\d)"),
)
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*,? ", re.I)


def number(text: str, decimal: str) -> Decimal:
    """A number without a unit, its thousands grouped or not. Raises InputError for anything else.

    >>> number("1.234,50", ","), number("1 234.5", "."), number("-3", ".")
    (Decimal('1234.50'), Decimal('1234.5'), Decimal('-3'))
    """
    bare = " ".join(text.replace("\N{MINUS SIGN}", "-").split())
    other = "." if decimal == "," else ","
    whole = rf"\d{{1,3}}(?:(?:{_GROUP}|\{other})\d{{3}})+|\d+"
    if len(bare) > LONGEST or not re.fullmatch(rf"[-+]?(?:(?:{whole})(?:\{decimal}\d*)?|\{decimal}\d+)", bare):
        raise InputError("number", f"“{bare[:LONGEST]}”", f"figures, such as 12{decimal}50")
    return Decimal(re.sub(rf"{_GROUP}|\{other}", "", bare).replace(decimal, ".").rstrip("."))


def decimal_mark(cells: Iterable[str]) -> str:
    """The mark before decimals in a column; nothing where it has none, "?" where "1,234" stands alone.

    >>> decimal_mark(["12,5", "1.234,00"]), decimal_mark(["12.50"]), decimal_mark(["1,234"]), decimal_mark(["7"])
    (',', '.', '?', '')
    """
    told: set[str] = set()
    doubtful = False
    for cell in cells:
        figures = re.sub(r"[^\d.,]", "", cell[:LONGEST]).strip(".,")
        marks = re.sub(r"\d", "", figures)
        if not marks:
            continue
        if len(set(marks)) == 2:
            told.add(marks[-1])
        elif len(marks) > 1:
            told.add("," if marks[0] == "." else ".")
        elif re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", figures):
            doubtful = True
        else:
            told.add(marks)
    if len(told) == 1:
        return "." if told == {"."} else ","
    return "?" if told or doubtful else ""


def typed_number(text: str, *, grouped: bool = False) -> Decimal:
    """A number as a person types it into a field, with a point or a comma whatever the shop writes.

    One mark before three figures can be read two ways: as the shop's decimal sign it is that; the other groups
    thousands where sums are ``grouped``, and is asked about where not. Raises InputError.

    >>> typed_number("12,5"), typed_number("1.234,50"), typed_number("$1,250".lstrip("$"), grouped=True)
    (Decimal('12.5'), Decimal('1234.50'), Decimal('1250'))
    >>> typed_number("1,250")
    Traceback (most recent call last):
    ...
    levelwind.core.errors.InputError: number was “1,250”; allowed is 1250, or 1.25, for this can be read as either
    """
    own, bare = decimal_sign(), text.strip()
    bare = f"0{bare}" if bare.startswith((".", ",")) else bare
    mark = decimal_mark([bare]) or own
    if mark == "?":
        mark = own
        if own not in bare and not grouped:
            whole, _, part = bare.partition("," if own == "." else ".")
            either = f"{whole}{part}, or {written(f'{whole}.{part}'.rstrip('0'), '')}"
            raise InputError("number", f"“{bare[:LONGEST]}”", f"{either}, for this can be read as either")
    return number(bare, mark)


def sum_minor(text: str, decimal: str, money: Money) -> int:
    """A sum in the shop's money as whole minor units. Raises InputError where it is none, below nothing, or another's.

    >>> sum_minor("$1,250.00", ".", Money("USD", "$", 2)), sum_minor("38,5 €", ",", Money("EUR", "€", 2))
    (125000, 3850)
    """
    short = text[: 2 * LONGEST].replace("\N{MINUS SIGN}", "-")
    bare = short
    for mark in filter(None, (money.code, money.sign)):
        bare = re.sub(re.escape(mark), " ", bare, flags=re.I)
    if strange := re.search(r"[^\d.,'’\s()+-]+", bare):
        raise InputError("sum", f"“{short}”", f"a sum in {money.code}, and not in “{strange[0]}”")
    found = number(bare.strip("() "), decimal)
    minor = found.scaleb(money.decimals)
    if minor < 0 or "(" in bare:
        raise InputError("sum", f"“{short}”", "0 or more")
    if minor != minor.to_integral_value():
        raise InputError("sum", f"“{short}”", f"at most {money.decimals} figures after the point")
    return int(minor)


def count(text: str, decimal: str, most: int) -> int:
    """How many: a whole number from 0 to ``most``. Raises InputError.

    >>> count("12", ".", 100), count("3.0", ".", 100)
    (12, 3)
    """
    found = number(text, decimal)
    if found != found.to_integral_value() or not 0 <= found <= most:
        raise InputError("count", f"“{text.strip()[:LONGEST]}”", f"a whole number from 0 to {most}")
    return int(found)


def share(text: str, decimal: str) -> float:
    """How sure, as a part of one: "90 %", "0.9". Raises InputError outside 0 to 1.

    >>> share("90 %", "."), share("0.8", ".")
    (0.9, 0.8)
    """
    bare = text.strip()
    found = float(number(bare.removesuffix("%").strip(), decimal)) / (100 if bare.endswith("%") else 1)
    if not 0 <= found <= 1:
        raise InputError("share", f"“{bare[:LONGEST]}”", "from 0 to 1, or from 0 % to 100 %")
    return found


def size_mm(text: str, decimal: str) -> float:
    """A size in millimetres, "2.3" or "2,3 mm". Raises InputError for another unit, and for nothing and below.

    >>> size_mm("2,3 mm", ","), size_mm("12", ".")
    (2.3, 12.0)
    """
    bare = text.strip()
    found = float(number(bare.removesuffix("mm").strip(), decimal))
    if not 0 < found <= MOST_MM:
        raise InputError("size", f"“{bare[:LONGEST]}”", f"over 0 and up to {MOST_MM:g} mm")
    return found


def yes_or_no(text: str) -> bool:
    """Raises InputError for a word that is neither.

    >>> yes_or_no("Yes"), yes_or_no("")
    (True, False)
    """
    word = text.strip().casefold()
    if word in YES or word in NO:
        return word in YES
    raise InputError("answer", f"“{text.strip()[:LONGEST]}”", "yes or no")


def day_order(cells: Iterable[str]) -> str:
    """Whether the day or the month is first in a column of days; nothing where none is in doubt, "?" where it is.

    Days written with points have the day first (common practice, no source) unless the figures say otherwise.

    >>> day_order(["3/4/2025", "25/4/2025"]), day_order(["3/4/2025"]), day_order(["2025-04-03", "5/5/2025"])
    ('day', '?', '')
    """
    told: set[str] = set()
    doubtful = False
    for cell in cells:
        found = _NUMBERS.fullmatch(_without_time(cell))
        if found is None or found[1] == found[3]:
            continue
        first, second = int(found[1]), int(found[3])
        if first > 12 or (found[2] == "." and second <= 12):
            told.add("day")
        elif second > 12:
            told.add("month")
        else:
            doubtful = True
    if len(told) == 1:
        return told.pop()
    return "?" if told or doubtful else ""


def day(text: str, order: str) -> date:
    """A day as people write it. Raises InputError for what is none, or could be two.

    >>> day("2025-04-03 10:15", ""), day("3/4/25", "day"), day("April 3rd, 2025", "")
    (datetime.date(2025, 4, 3), datetime.date(2025, 4, 3), datetime.date(2025, 4, 3))
    """
    bare = _WEEKDAY.sub("", _without_time(text))
    refusal = InputError("day", f"“{bare[:LONGEST]}”", "a day such as 2025-04-03 or 3 April 2025")
    parts = _parts(bare, order)
    if parts is None:
        raise refusal
    try:
        return date(*parts)
    except ValueError:
        raise refusal from None


def _parts(bare: str, order: str) -> tuple[int, int, int] | None:
    """Year, month, day."""
    if found := _YEAR_FIRST.fullmatch(bare):
        return int(found[1]), int(found[2]), int(found[3])
    if found := _NUMBERS.fullmatch(bare):
        first, second, year = int(found[1]), int(found[3]), _year(found[4])
        if not order and first != second and max(first, second) <= 12 and found[2] != ".":
            return None
        month_first = order == "month" or (not order and second > 12)
        return (year, first, second) if month_first else (year, second, first)
    for pattern in _NAMED:
        if (found := pattern.fullmatch(bare)) and found["m"][:3].casefold() in MONTHS:
            return _year(found["y"]), MONTHS.index(found["m"][:3].casefold()) + 1, int(found["d"])
    return None


def _year(figures: str) -> int:
    year = int(figures)
    if len(figures) == 4:
        return year
    return year + (1900 if year >= CENTURY_TURNS else 2000)


def _without_time(text: str) -> str:
    """What stands in a cell, its blanks made single, and without the hour; what is longer than any day as it is."""
    bare = " ".join(text[: 2 * LONGEST].split())
    return _TIME.sub("", bare) if len(bare) <= LONGEST else bare
