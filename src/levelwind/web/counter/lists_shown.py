"""A list beside our fields, and what would come of it, as its page shows them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

from levelwind.core.columns.model import Field
from levelwind.core.writing import day_in_words, written
from levelwind.documents.money import format_money
from levelwind.recordings.lists import ENCODINGS, SEPARATORS
from levelwind.shop.book.selectors.columns import Kind
from levelwind.shop.book.selectors.lines import Doubt, Line, Matched
from levelwind.shop.book.selectors.plans import Plan, Table
from levelwind.shop.models import Import
from levelwind.shop.parts.selectors.sizes import sizes_written
from levelwind.shop.people.selectors import currency, shop_get

FIRST = 8
"""Rows of each sort that are shown; the file of refused ones has them all."""
LONGEST = 60
SAMPLE = 24


@dataclass(frozen=True, slots=True)
class MatchRow:
    """One of our fields, the column that holds it (None for none), and what is said for every row."""

    field: Field
    chosen: int | None
    columns: tuple[tuple[int, str], ...]
    same: str
    shown: bool
    """Matched, or seldom to be done without; the others are folded away."""


@dataclass(frozen=True, slots=True)
class Shown:
    """Rows as they will stand: a cell for each heading."""

    headings: tuple[str, ...]
    rows: tuple[tuple[Line, tuple[tuple[str, str], ...]], ...]


@dataclass(frozen=True, slots=True)
class Preview:
    counts: dict[str, int]
    new: Shown
    known: Shown
    refused: tuple[Line, ...]
    doubts: tuple[Doubt, ...]
    lacking: tuple[str, ...]
    decimal: str
    order: str
    how_known: str
    left_over: tuple[str, ...]
    sheets: tuple[str, ...]
    encodings: tuple[tuple[str, str], ...]
    separators: tuple[tuple[str, str], ...]

    @property
    def ready(self) -> bool:
        return not self.doubts and bool(self.counts["new"] or self.counts["filled"])

    @property
    def doubtful(self) -> dict[str, str]:
        return {doubt.about: doubt.shown for doubt in self.doubts}


def match_rows(kind: Kind, table: Table, plan: Plan) -> tuple[MatchRow, ...]:
    columns = tuple((n, _named(table, n)) for n in range(len(table.headings)))
    return tuple(_match_row(kind, field, columns, plan.matched) for field in kind.fields)


def _match_row(kind: Kind, field: Field, columns: tuple[tuple[int, str], ...], matched: Matched) -> MatchRow:
    chosen, same = matched.columns.get(field.key), matched.same.get(field.key, "")
    shown = field.needed or field.key in kind.always or chosen is not None or bool(same)
    return MatchRow(field, chosen, columns, same, shown)


def _named(table: Table, number: int) -> str:
    """A column by its heading and the first thing that stands in it."""
    sample = next((cell for cell in table.column(number)[:200] if cell.strip()), "")
    short = " ".join(sample.split())
    short = short if len(short) <= SAMPLE else f"{short[:SAMPLE]}…"
    return f"{table.headings[number][:40]}{f': {short}' if short else ''}"


def preview(one: Import, plan: Plan, table: Table) -> Preview:
    taken = set(plan.matched.columns.values())
    said = plan.matched.columns.keys() | plan.matched.same.keys()
    return Preview(
        counts=plan.counts,
        new=_shown(plan.kind, plan.of("new")[:FIRST]),
        known=_shown(plan.kind, plan.of("known")[:FIRST]),
        refused=tuple(plan.of("refused")[:FIRST]),
        doubts=plan.doubts,
        lacking=tuple(field.label for field in plan.kind.fields if field.needed and field.key not in said),
        decimal=one.matched.get("decimal", ""),
        order=one.matched.get("order", ""),
        how_known=plan.matched.known,
        left_over=tuple(heading for n, heading in enumerate(table.headings) if n not in taken),
        sheets=tuple(one.sheets),
        encodings=tuple(ENCODINGS.items()),
        separators=tuple(SEPARATORS.items()),
    )


def _shown(kind: Kind, lines: Sequence[Line]) -> Shown:
    names = {"sizes_mm" if field.key == "sizes" else field.key: field for field in kind.fields}
    used = [name for name in names if any(line.values.get(name) not in (None, "") for line in lines)]
    money = currency(shop_get())

    def text(name: str, value: Any) -> str:
        if value in (None, ""):
            return ""
        if names[name].holds == "money":
            return format_money(value, money)
        return _text(value)

    rows = tuple((line, tuple((names[n].label, text(n, line.values.get(n))) for n in used)) for line in lines)
    return Shown(tuple(names[name].label for name in used), rows)


def _text(value: Any) -> str:
    if isinstance(value, datetime):
        return _text(timezone.localdate(value))
    if isinstance(value, date):
        return day_in_words(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return sizes_written(value, "; ")
    words = written(value, "") if isinstance(value, float | Decimal) else str(value)
    return words if len(words) <= LONGEST else f"{words[:LONGEST]}…"
