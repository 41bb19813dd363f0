"""The bill: what was done and fitted, what it comes to, what was paid, what is due."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from levelwind.core.writing import day_in_words
from levelwind.documents import press
from levelwind.documents.letterhead import JobHead, Shop, head
from levelwind.documents.money import Currency, format_money
from levelwind.documents.price import HEADINGS, Kind

LOCAL_RULES = "Taxes and guarantees: the local rules decide, whatever is printed here."


@dataclass(frozen=True, slots=True)
class BillLine:
    """One thing done, fitted or paid for; ``amount`` in whole minor units, negative for something taken off."""

    what: str
    kind: Kind
    amount: int
    quantity: str = ""
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Tax:
    """A tax as the local rules name it, on all lines of its rate."""

    label: str
    amount: int


@dataclass(frozen=True, slots=True)
class Payment:
    """Money received: when, how, and how much in whole minor units; negative for money given back."""

    received: date
    how: str
    amount: int


@dataclass(frozen=True, slots=True)
class Bill:
    """What the owner pays. ``number`` is the bill's own; how to pay and the guarantee are the shop's words.

    With ``tax_included`` the lines hold their tax, which is told and not added. ``void`` says since when and why.
    """

    shop: Shop
    job: JobHead
    number: str
    dated: date
    lines: tuple[BillLine, ...]
    taxes: tuple[Tax, ...] = ()
    paid: tuple[Payment, ...] = ()
    due_by: date | None = None
    how_to_pay: str = ""
    guarantee: str = ""
    cautions: tuple[str, ...] = ()
    tax_included: bool = False
    void: str = ""

    @property
    def total(self) -> int:
        tax = 0 if self.tax_included else sum(tax.amount for tax in self.taxes)
        return sum(line.amount for line in self.lines) + tax

    @property
    def due(self) -> int:
        """What is still to pay; negative when the shop owes the owner."""
        return self.total - sum(payment.amount for payment in self.paid)


def render(bill: Bill) -> bytes:
    return press.pdf(layout(bill))


def layout(bill: Bill) -> press.Forme:
    currency = bill.shop.currency
    data = {
        **head("Bill", bill.shop, bill.job, bill.dated),
        "number": bill.number,
        "over": "What was done and fitted" if bill.job.tag else "What was sold",
        "groups": _groups(bill.lines, currency),
        "taxes": [{"what": tax.label, "amount": format_money(tax.amount, currency)} for tax in bill.taxes],
        "tax_included": bill.tax_included,
        "void": bill.void,
        "total": format_money(bill.total, currency),
        "paid": [
            {
                "what": f"{_changed_hands(p)} {day_in_words(p.received)}",
                "detail": p.how,
                "amount": format_money(-p.amount, currency),
            }
            for p in bill.paid
        ],
        "due": {"what": _due_in_words(bill), "amount": format_money(abs(bill.due), currency)},
        "how_to_pay": bill.how_to_pay if bill.due > 0 else "",
        "guarantee": bill.guarantee,
        "cautions": (LOCAL_RULES, *bill.cautions),
    }
    return press.Forme("bill", data, bill.dated)


def _changed_hands(payment: Payment) -> str:
    return "Given back" if payment.amount < 0 else "Received"


def _groups(lines: Sequence[BillLine], currency: Currency) -> list[dict[str, object]]:
    return [
        {"heading": heading, "lines": [_line(line, currency) for line in lines if line.kind == kind]}
        for kind, heading in HEADINGS.items()
        if any(line.kind == kind for line in lines)
    ]


def _line(line: BillLine, currency: Currency) -> dict[str, str]:
    return {
        "what": line.what,
        "detail": line.detail,
        "quantity": line.quantity,
        "amount": format_money(line.amount, currency),
    }


def _due_in_words(bill: Bill) -> str:
    if bill.due < 0:
        return "We owe you"
    if bill.due == 0:
        return "Paid in full" if bill.paid else "Nothing to pay"
    return f"Due by {day_in_words(bill.due_by)}" if bill.due_by else "Due"
