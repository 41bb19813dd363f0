"""Who has a part, for its page: what it costs there with the postage, how long they take, how they kept their word."""

from dataclasses import dataclass

from levelwind.shop.models import Part, Supplier
from levelwind.shop.parts.selectors.suppliers import (
    Days,
    Offered,
    SupplierRecord,
    days_of,
    offered,
    record_of,
    suppliers_by_key,
)
from levelwind.web.shelf.forms import OfferForm


@dataclass(frozen=True, slots=True)
class OfferRow:
    offer: Offered
    supplier: Supplier | None
    days: Days
    record: SupplierRecord


@dataclass(frozen=True, slots=True)
class OffersContext:
    rows: tuple[OfferRow, ...]
    form: OfferForm
    open: bool


def offers_context(part: Part, form: OfferForm | None) -> OffersContext:
    offers = offered(part)
    known = suppliers_by_key() if offers else {}
    rows = tuple(
        OfferRow(offer, known.get(offer.key), days_of(offer.supplier, known.get(offer.key)), record_of(offer.supplier))
        for offer in offers
    )
    return OffersContext(rows, form or OfferForm(), form is not None)
