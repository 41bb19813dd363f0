"""The shop whose book this is, and how its papers name it, its money and a job."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.db.models.signals import post_save

from levelwind.documents import letterhead as papers
from levelwind.documents.money import Currency
from levelwind.shop.models import Job, Shop

_read: ContextVar[list[Shop] | None] = ContextVar("shop", default=None)


@contextmanager
def shop_read_once() -> Iterator[None]:
    """Within this, the shop is read once and kept, for every sum on a page asks for it; a save lets go of it."""
    token = _read.set([])
    try:
        yield
    finally:
        _read.reset(token)


def shop_get() -> Shop:
    """The shop, or an unsaved one with the defaults while nobody has filled it in.

    Its name is empty until then, which papers and the counter page show as what is missing.
    """
    kept = _read.get()
    if kept:
        return kept[0]
    shop = Shop.objects.first() or Shop(pk=1)
    if kept is not None:
        kept.append(shop)
    return shop


def _let_go(**signal: Any) -> None:
    kept = _read.get()
    if kept:
        kept.clear()


post_save.connect(_let_go, sender=Shop)


def currency(shop: Shop) -> Currency:
    """The shop's money, as papers and pages write it."""
    return Currency(shop.currency_code, shop.currency_symbol, shop.currency_decimals)


def letterhead(shop: Shop) -> papers.Shop:
    """What every paper says of the shop."""
    return papers.Shop(
        name=shop.name,
        currency=currency(shop),
        address=lines(shop.address),
        phone=shop.phone,
        email=shop.email,
        tax_id=shop.tax_number,
        paper="us-letter" if shop.paper == "us-letter" else "a4",
    )


def sheet_head(job: Job, shop: Shop) -> papers.JobHead:
    """What every paper says of the job it belongs to."""
    return papers.JobHead(
        tag=job.tag,
        owner=job.owner.name,
        reel=job.reel,
        serial=job.serial,
        owner_address=lines(job.owner.address),
        invented=shop.invented,
    )


def lines(text: str) -> tuple[str, ...]:
    """A text typed over several lines, line by line, without the empty ones.

    >>> lines("7 Quay Road\\n\\n Saltwick ")
    ('7 Quay Road', 'Saltwick')
    """
    return tuple(line.strip() for line in text.splitlines() if line.strip())
