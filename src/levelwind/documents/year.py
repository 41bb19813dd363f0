"""The year for the accountant: what was billed, taxed and received by month, and what stood open at its end."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from levelwind.core.writing import day_in_words
from levelwind.documents import press
from levelwind.documents.letterhead import JobHead, Shop, head
from levelwind.documents.money import format_money


@dataclass(frozen=True, slots=True)
class Month:
    """In whole minor units; ``received`` less what was given back."""

    name: str
    before_tax: int
    tax: int
    received: int


@dataclass(frozen=True, slots=True)
class Rate:
    """Tax of one rate over the year."""

    name: str
    before_tax: int
    tax: int


@dataclass(frozen=True, slots=True)
class Year:
    """``owed`` and ``shelf`` as they stood at the end of ``last``; the shelf at what its parts cost today."""

    shop: Shop
    first: date
    last: date
    months: tuple[Month, ...]
    rates: tuple[Rate, ...]
    owed: int
    shelf: int
    dated: date
    invented: bool = False


def render(year: Year) -> bytes:
    return press.pdf(layout(year))


def layout(year: Year) -> press.Forme:
    currency = year.shop.currency
    about = JobHead(
        tag="", owner="", reel=f"{day_in_words(year.first)} to {day_in_words(year.last)}", invented=year.invented
    )

    def row(name: str, sums: Sequence[int]) -> list[str]:
        return [name, *(format_money(each, currency) for each in sums)]

    months = [(each.before_tax, each.tax, each.before_tax + each.tax, each.received) for each in year.months]
    data = {
        **head("Year", year.shop, about, year.dated),
        "of": "time",
        "months": [row(each.name, sums) for each, sums in zip(year.months, months, strict=True)],
        "total": row("All", [sum(column) for column in zip(*months, strict=True)]),
        "rates": [row(each.name, (each.before_tax, each.tax)) for each in year.rates],
        "owed": format_money(year.owed, currency),
        "shelf": format_money(year.shelf, currency),
        "last": day_in_words(year.last),
    }
    return press.Forme("year", data, year.dated)
