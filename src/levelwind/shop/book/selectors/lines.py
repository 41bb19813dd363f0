"""The rows of a list as what they say: each cell read into its field, or refused with its reason."""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Model

from levelwind.core.columns import cells
from levelwind.core.columns.model import Field, Money, Written
from levelwind.core.errors import InputError
from levelwind.shop.people.selectors import currency, shop_get

MOST_COUNTED = 10_000
"""Of one thing; our choice, as where it is typed."""


@dataclass(slots=True)
class Line:
    """One row: its number in the file, its cells, what they say by field, and what is to become of it.

    Refused with a reason in ``why``; else the same as something in the book (``known``, with ``by`` what it is
    recognised) or in an earlier row (``earlier``), which may take its ``fills``; else new.
    """

    row: int
    cells: list[str]
    values: dict[str, Any]
    why: list[str] = field(default_factory=list)
    known: int | None = None
    earlier: "Line | None" = None
    by: str = ""
    fills: dict[str, Any] = field(default_factory=dict)
    made: Model | None = None

    @property
    def fate(self) -> str:
        if self.why:
            return "refused"
        return "known" if self.known or self.earlier else "new"

    def checked(self, made: Model, said: Collection[str]) -> bool:
        """Whether the model takes the values ``said``; what it does not take is a reason."""
        before = len(self.why)
        for each in made._meta.fields:
            if each.name not in said:
                continue
            raw = getattr(made, each.attname)
            if each.blank and raw in each.empty_values:
                continue
            try:
                setattr(made, each.attname, each.clean(raw, made))
            except ValidationError as refusal:
                self.why.append(f"{each.verbose_name}: {' '.join(refusal.messages)}")
        return len(self.why) == before


@dataclass(frozen=True, slots=True)
class Matched:
    """What a person said of a list: the column of each field, what is the same for every row, and how to read it."""

    columns: Mapping[str, int] = field(default_factory=dict)
    same: Mapping[str, str] = field(default_factory=dict)
    written: Written = field(default_factory=Written)
    known: str = "skip"
    """What is in the book already: ``skip`` it, ``fill`` what is blank, or write it down as ``new``."""

    @classmethod
    def of(cls, kept: Mapping[str, Any]) -> "Matched":
        columns = {str(key): int(column) for key, column in kept.get("columns", {}).items()}
        written = Written(kept.get("decimal", ""), kept.get("order", ""))
        return cls(columns, dict(kept.get("same", {})), written, kept.get("known", "skip"))


@dataclass(frozen=True, slots=True)
class Doubt:
    """What can be read two ways: ``decimal`` or ``order``, with a cell that shows it."""

    about: str
    shown: str


def doubts(fields: Sequence[Field], matched: Matched, rows: Sequence[list[Any]]) -> tuple[Matched, tuple[Doubt, ...]]:
    """How the list writes numbers and days, as far as its cells tell; and what they leave in doubt."""
    numbers = list(_cells_of(fields, ("money", "count", "number", "share", "mm"), matched, rows))
    days = list(_cells_of(fields, ("day",), matched, rows))
    mark, order = cells.decimal_mark(numbers), cells.day_order(days)
    open_now = []
    if mark == "?" and not matched.written.decimal:
        open_now.append(Doubt("decimal", next(n for n in numbers if cells.decimal_mark([n]) == "?" or "," in n)))
    if order == "?" and not matched.written.order:
        open_now.append(Doubt("order", next(d for d in days if cells.day_order([d]))))
    said = matched.written
    told = Written(said.decimal or ("." if mark in ("", "?") else mark), said.order if order == "?" else order)
    return Matched(matched.columns, matched.same, told, matched.known), tuple(open_now)


def _cells_of(
    fields: Sequence[Field], holds: Sequence[str], matched: Matched, rows: Sequence[list[Any]]
) -> Iterator[str]:
    for each in fields:
        column = matched.columns.get(each.key)
        if each.holds in holds and column is not None:
            for row in rows:
                if len(row) > column + 1 and row[column + 1]:
                    yield row[column + 1]


def read_lines(fields: Sequence[Field], matched: Matched, rows: Sequence[list[Any]]) -> list[Line]:
    """Every row read; ``rows`` as `levelwind.recordings.lists` gives them, below the headings."""
    money = currency(shop_get())
    reads = _reads(matched.written, Money(money.code, money.symbol, money.decimals))
    wanted = [(each, matched.columns.get(each.key), matched.same.get(each.key, "")) for each in fields]
    wanted = [(each, column, same) for each, column, same in wanted if column is not None or same]
    lacking = [each.label for each in fields if each.needed and each.key not in {one.key for one, _, _ in wanted}]
    return [_line(row, wanted, reads, lacking) for row in rows]


def _line(
    row: list[Any],
    wanted: Sequence[tuple[Field, int | None, str]],
    reads: Mapping[str, Callable[[str], Any]],
    lacking: Sequence[str],
) -> Line:
    line = Line(int(row[0]), row[1:], {}, [f"{label}: in no column" for label in lacking])
    for each, column, same in wanted:
        text = row[column + 1] if column is not None and len(row) > column + 1 else ""
        text = (text if text.strip() else same).strip()
        if not text:
            if each.needed:
                line.why.append(f"{each.label}: nothing stands there")
            continue
        try:
            line.values[each.key] = reads[each.holds](text)
        except InputError as refusal:
            line.why.append(f"{each.label} was {refusal.was}; allowed is {refusal.allowed}")
    return line


def _reads(written: Written, money: Money) -> dict[str, Callable[[str], Any]]:
    """What reads a cell of each sort; the same words are read once."""
    decimal = written.decimal or "."
    reads: dict[str, Callable[[str], Any]] = {
        "count": lambda text: cells.count(text, decimal, MOST_COUNTED),
        "money": lambda text: cells.sum_minor(text, decimal, money),
        "share": lambda text: cells.share(text, decimal),
        "mm": lambda text: cells.size_mm(text, decimal),
        "number": lambda text: float(cells.number(text, decimal)),
        "day": lambda text: cells.day(text, written.order),
        "yes or no": cells.yes_or_no,
    }
    return {holds: cache(read) for holds, read in reads.items()} | dict.fromkeys(("text", "mail", "phone"), str)
