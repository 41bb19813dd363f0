"""How a shop writes numbers and days: one home for both.

Numbers are rounded where they always are (``quantities``); only here they become the characters that a person reads.
Outside ``written_as``, as on the command line and in JSON, numbers have a point and days the month's name.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from levelwind.core.errors import InputError

NO_BREAK = "\N{NO-BREAK SPACE}"
MARKS = {
    "point": (".", ","),
    "comma": (",", "."),
    "space": (",", NO_BREAK),
    "quote": (".", "\N{RIGHT SINGLE QUOTATION MARK}"),
}
"""By name: what stands before the decimals, and between thousands. As countries write (common practice, no source)."""
DAYS = {
    "named": ("{d} {month} {y}", "{d} {month}", "{month} {y}"),
    "points": ("{d:02}.{m:02}.{y}", "{d:02}.{m:02}.", "{m:02}.{y}"),
    "slashes": ("{d:02}/{m:02}/{y}", "{d:02}/{m:02}", "{m:02}/{y}"),
    "month_first": ("{m:02}/{d:02}/{y}", "{m:02}/{d:02}", "{m:02}/{y}"),
    "year_first": ("{y}-{m:02}-{d:02}", "{m:02}-{d:02}", "{y}-{m:02}"),
}
"""By name: a day with its year and without, and a month. The last is ISO 8601's, whose day without a year we write
likewise."""
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Writing:
    """How numbers and days are written, each by its name in ``MARKS`` and ``DAYS``."""

    numbers: str = "point"
    days: str = "named"

    def __post_init__(self) -> None:
        for what, name, names in (("numbers", self.numbers, MARKS), ("days", self.days, DAYS)):
            if name not in names:
                raise InputError(f"how {what} are written", repr(name), "one of " + ", ".join(names))


PLAIN = Writing()
_asked: ContextVar[Callable[[], Writing]] = ContextVar("writing", default=lambda: PLAIN)


@contextmanager
def written_as(how: Callable[[], Writing]) -> Iterator[None]:
    """Within this, numbers and days are written as ``how`` says when it is asked."""
    token = _asked.set(how)
    try:
        yield
    finally:
        _asked.reset(token)


def written_plainly() -> AbstractContextManager[None]:
    """Within this, as on the command line: for what another program reads."""
    return written_as(lambda: PLAIN)


def decimal_sign() -> str:
    """What stands before the decimals: a point or a comma."""
    return MARKS[_asked.get()().numbers][0]


def written(number: float | Decimal | str, spec: str = "g") -> str:
    """A number in the characters of whoever reads; ``spec`` as Python's format has it, "" for figures that are made.

    >>> written(2.5), written(1234.5, ",.2f"), written("12.50", "")
    ('2.5', '1,234.50', '12.50')
    >>> with written_as(lambda: Writing("comma")):
    ...     written(2.5), written(1234.5, ",.2f"), written("12.50", "")
    ('2,5', '1.234,50', '12,50')
    """
    figures = format(number, spec)
    decimal, group = MARKS[_asked.get()().numbers]
    return figures if (decimal, group) == MARKS["point"] else figures.translate({ord("."): decimal, ord(","): group})


_FIGURES = re.compile(r"(?<![\w.,])\d*\.\d+(?![\w.])")


def retold(words: str) -> str:
    """A sentence of our own that stands somewhere with its figures in it, such as a hint or a row of a table.

    >>> with written_as(lambda: Writing("comma")):
    ...     retold("such as 2.81, 7/32 or .112")
    'such as 2,81, 7/32 or ,112'
    """
    return _FIGURES.sub(lambda found: written(found[0], ""), words)


def read_back(text: str) -> Decimal:
    """The number that ``written`` wrote for the same shop, its thousands grouped or not.

    >>> with written_as(lambda: Writing("comma")):
    ...     read_back(written(1234.5, ",.2f"))
    Decimal('1234.50')
    """
    decimal, group = MARKS[_asked.get()().numbers]
    return Decimal(text.replace(group, "").replace(decimal, "."))


def day_in_words(day: date, *, year: bool = True, long: bool = False, weekday: str = "") -> str:
    """A day; ``long``: the month's whole name where it is named; ``weekday``: "short" or "long" before it.

    >>> may = date(2026, 5, 4)
    >>> day_in_words(may), day_in_words(may, year=False, weekday="short"), day_in_words(may, long=True)
    ('4 May 2026', 'Mon 4 May', '4 May 2026')
    >>> with written_as(lambda: Writing(days="points")):
    ...     day_in_words(may), day_in_words(may, year=False, weekday="long")
    ('04.05.2026', 'Monday 04.05.')
    """
    month = MONTHS[day.month - 1]
    pattern = DAYS[_asked.get()().days][0 if year else 1]
    words = pattern.format(d=day.day, m=day.month, y=day.year, month=month if long else month[:3])
    before = WEEKDAYS[day.weekday()]
    return f"{before if weekday == 'long' else before[:3]} {words}" if weekday else words


def month_in_words(day: date) -> str:
    """The month that the day lies in, with its year; its whole name where months are named.

    >>> month_in_words(date(2026, 5, 4))
    'May 2026'
    """
    pattern = DAYS[_asked.get()().days][2]
    return pattern.format(m=day.month, y=day.year, month=MONTHS[day.month - 1])


def moment_in_words(at: datetime, *, year: bool = True, long: bool = False) -> str:
    """A day and its time to the minute, in the time zone it comes in."""
    return f"{day_in_words(at, year=year, long=long)}, {at:%H:%M}"
