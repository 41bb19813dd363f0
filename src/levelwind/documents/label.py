"""Labels for the shelf's drawers: a part's number and name, where it lies, and a code that opens its count."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from levelwind.core.errors import InputError
from levelwind.documents import press, square_code
from levelwind.documents.letterhead import Shop
from levelwind.documents.letters import shortened

LONGEST_NAME = 80
"""Letters of a part's name that a label holds at a size that can be read; our choice."""


@dataclass(frozen=True, slots=True)
class Label:
    """One part's label, 70 by 37 mm. ``url`` is what the code opens."""

    number: str
    name: str
    spot: str
    url: str


def render(labels: Sequence[Label], shop: Shop, dated: date) -> bytes:
    """Three labels across on the shop's paper, with lines to cut along."""
    return press.pdf(layout(labels, shop, dated))


def layout(labels: Sequence[Label], shop: Shop, dated: date) -> press.Forme:
    if not labels:
        raise InputError("labels to print", "none", "at least one part")
    rows = [
        {
            "number": label.number,
            "name": shortened(label.name, LONGEST_NAME),
            "spot": label.spot,
            "code": square_code.svg(label.url),
        }
        for label in labels
    ]
    return press.Forme("labels", {"paper": shop.paper, "labels": rows}, dated)
