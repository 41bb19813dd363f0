"""The shop whose book this is, and how its papers name it, its money and a job."""

from typing import Any

from asgiref.local import Local
from django.core.signals import request_finished, request_started
from django.db.models.signals import post_save

from levelwind.documents import letterhead as papers
from levelwind.documents.money import Currency
from levelwind.shop.models import Job, Shop

_asked = Local()


def shop_get() -> Shop:
    """The shop, or an unsaved one with the defaults while nobody has filled it in.

    Its name is empty until then, which papers and the counter page show as what is missing. Every sum on a page asks
    for it, so a request reads it once and keeps it; outside a request it is read each time.
    """
    shops: list[Shop] | None = getattr(_asked, "shops", None)
    if shops:
        return shops[0]
    shop = Shop.objects.first() or Shop(pk=1)
    if shops is not None:
        shops.append(shop)
    return shop


def _keep_for_a_request(**signal: Any) -> None:
    _asked.shops = []


def _keep_no_longer(**signal: Any) -> None:
    _asked.shops = None


def _forget(**signal: Any) -> None:
    if getattr(_asked, "shops", None):
        _asked.shops = []


request_started.connect(_keep_for_a_request)
request_finished.connect(_keep_no_longer)
post_save.connect(_forget, sender=Shop)


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
