"""The price: what the work will cost, at least, likely and at most, and when the reel will be ready."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from levelwind.core.writing import day_in_words
from levelwind.documents import press
from levelwind.documents.letterhead import JobHead, Shop, head
from levelwind.documents.money import Currency, format_money
from levelwind.documents.picture import Picture

ESTIMATE = "This is an estimate, not a bill. What an estimate binds either of us to is set by the local rules."
OLD_PARTS = "Replaced parts go back to you with the reel unless you say otherwise."
"""Common practice of the trade, no source; some places make it law."""

Kind = Literal["work", "part", "post"]
HEADINGS: dict[Kind, str] = {"work": "Work", "part": "Parts", "post": "Post"}


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One thing to be done or fitted; amounts in whole minor units, at least, likely and at most."""

    what: str
    kind: Kind
    low: int
    likely: int
    high: int
    detail: str = ""

    @property
    def only_if_needed(self) -> bool:
        """Nothing as far as anybody can tell now; it may turn out to be needed once the reel is open."""
        return self.likely == 0 < self.high


@dataclass(frozen=True, slots=True)
class Tax:
    """A tax as the local rules name it, on all lines of its rate."""

    label: str
    low: int
    likely: int
    high: int


@dataclass(frozen=True, slots=True)
class Promise:
    """The day the reel will be ready, and the chance (0 to 1) of keeping it, where that was computed."""

    ready: date
    chance: float | None = None


@dataclass(frozen=True, slots=True)
class Price:
    """What is sent to the owner for a yes or a no."""

    shop: Shop
    job: JobHead
    dated: date
    lines: tuple[PriceLine, ...]
    complaint: str = ""
    found: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    taxes: tuple[Tax, ...] = ()
    promise: Promise | None = None
    included: tuple[str, ...] = ()
    say_yes: str = ""
    valid_until: date | None = None
    cautions: tuple[str, ...] = ()

    @property
    def total(self) -> tuple[int, int, int]:
        """At least, likely and at most, tax included: the sums of the columns, as a customer adds them up."""
        return _sums((*self.lines, *self.taxes))


def render(price: Price) -> bytes:
    return press.pdf(layout(price))


def layout(price: Price) -> press.Forme:
    currency = price.shop.currency
    data = {
        **head("Price", price.shop, price.job, price.dated),
        "complaint": price.complaint,
        "found": price.found,
        "pictures": price.pictures,
        "groups": _groups([line for line in price.lines if not line.only_if_needed], currency),
        "if_needed": [_line(line, currency) for line in price.lines if line.only_if_needed],
        "before_tax": [format_money(amount, currency) for amount in _sums(price.lines)] if price.taxes else None,
        "taxes": [{"what": tax.label, "amounts": _three(tax, currency)} for tax in price.taxes],
        "total": [format_money(amount, currency) for amount in price.total],
        "promise": price.promise and _promise(price.promise),
        "included": (*price.included, OLD_PARTS),
        "say_yes": price.say_yes,
        "valid_until": price.valid_until and day_in_words(price.valid_until),
        "cautions": (ESTIMATE, *price.cautions),
    }
    return press.Forme("price", data, price.dated)


def _groups(lines: Sequence[PriceLine], currency: Currency) -> list[dict[str, object]]:
    return [
        {
            "heading": heading,
            "lines": [_line(line, currency) for line in lines if line.kind == kind],
        }
        for kind, heading in HEADINGS.items()
        if any(line.kind == kind for line in lines)
    ]


def _line(line: PriceLine, currency: Currency) -> dict[str, object]:
    return {"what": line.what, "detail": line.detail, "amounts": _three(line, currency)}


def _three(line: PriceLine | Tax, currency: Currency) -> list[str]:
    """Nothing is left blank, as a column of noughts says less than its gaps; what costs nothing at all says so."""
    amounts = (line.low, line.likely, line.high)
    if not any(amounts):
        return ["", "free", ""]
    return [format_money(amount, currency) if amount else "" for amount in amounts]


def _sums(rows: Sequence[PriceLine | Tax]) -> tuple[int, int, int]:
    """At least, likely and at most."""
    low, likely, high = (sum(getattr(row, name) for row in rows) for name in ("low", "likely", "high"))
    return low, likely, high


def _promise(promise: Promise) -> dict[str, str | None]:
    chance = None if promise.chance is None else f"{_cautious_percent(promise.chance)} in 100 chance of keeping it"
    return {"ready": day_in_words(promise.ready), "chance": chance}


def _cautious_percent(chance: float) -> int:
    """Whole percent, never 0 or 100: nobody knows that."""
    return min(99, max(1, round(chance * 100)))
