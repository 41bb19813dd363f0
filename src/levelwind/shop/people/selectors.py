"""Owners, what they owe, whom to ask how the reel does; and the shop itself, as its papers name it and its money."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.db.models.signals import post_save

from levelwind.core.supply import Calendar
from levelwind.core.writing import Writing, written_as
from levelwind.documents import letterhead as papers
from levelwind.documents.money import Currency
from levelwind.shop.models import OPEN, Balance, DayOff, Job, Owner, Sending, Shop, Stage


def owner_list(words: str = "", *, here: bool | None = None) -> QuerySet[Owner]:
    """Owners in whom every word occurs (name, e-mail, phone or address), all or those with a reel here or without.

    Each with ``job_count``, and ``here_count``: how many of those jobs are not over.
    """
    not_over = Job.objects.filter(stage__in=OPEN)
    owners = Owner.objects.filter(merged_into=None)
    owners = owners.annotate(job_count=_jobs(Job.objects.all()), here_count=_jobs(not_over))
    if here is not None:
        those = Q(pk__in=not_over.values("owner"))
        owners = owners.filter(those if here else ~those)
    for word in words.split()[:6]:
        owners = owners.filter(
            Q(name__icontains=word) | Q(email__icontains=word) | Q(phone__icontains=word) | Q(address__icontains=word)
        )
    return owners.order_by("name", "pk")


def _jobs(jobs: QuerySet[Job]) -> Coalesce:
    """How many of them are of the owner in hand: asked of each owner shown, not of the whole book."""
    each = jobs.filter(owner=OuterRef("pk")).order_by().values("owner").annotate(count=Count("pk"))
    return Coalesce(Subquery(each.values("count")), 0)


def owner_namesakes(name: str) -> list[Owner]:
    """Owners already in the book under this very name."""
    return list(owner_list().filter(name__iexact=name.strip())[:5]) if name.strip() else []


@dataclass(frozen=True, slots=True)
class Debt:
    """An owner whose jobs' entries do not sum to nothing; ``owes_minor`` is negative where the shop owes."""

    owner: Owner
    owes_minor: int


def debt_list() -> list[Debt]:
    """Who owes the shop, the largest sum first, then to whom the shop owes."""
    owing = Balance.objects.filter(Q(owes_minor__gt=0) | Q(owes_minor__lt=0))
    by_owner = owing.annotate(whose=Coalesce("owner__merged_into", "owner")).values("whose")
    sums = by_owner.annotate(owes=Sum("owes_minor")).exclude(owes=0).order_by("-owes")
    owes = dict(sums.values_list("whose", "owes"))
    owners = Owner.objects.in_bulk(owes)
    return [Debt(owners[pk], sum_minor) for pk, sum_minor in owes.items()]


def owner_owes(owner: Owner) -> int:
    """The sum of all entries on the owner's jobs and of the owner's own, in minor units."""
    kept = Balance.objects.filter(Q(owner=owner) | Q(owner__in=Owner.objects.filter(merged_into=owner)))
    return kept.aggregate(owes=Sum("owes_minor"))["owes"] or 0


def owner_jobs(owner: Owner) -> QuerySet[Job]:
    """The owner's jobs, newest first, each with ``owes`` (None where nothing was ever charged or paid)."""
    return (
        owner.jobs.select_related("pattern").annotate(owes=Sum("money__amount_minor")).order_by("-booked_in_at", "-pk")
    )


def follow_up_list(today: date) -> QuerySet[Sending]:
    """Reels that went home, whose day to ask has come and whose answer is not written down."""
    due = Sending.objects.filter(follow_up_on__lte=today, follow_up_note="", came_back=False, job__stage=Stage.HOME)
    due = due.filter(job__comeback=None)
    return due.select_related("job__owner").order_by("follow_up_on", "pk")


def owner_get(pk: str | int) -> Owner | None:
    """The owner with this number, which may come from outside; None where there is none."""
    was_two = Exists(Owner.objects.filter(merged_into=OuterRef("pk")))
    owners = Owner.objects.annotate(was_two=was_two)
    return owners.filter(pk=int(pk)).first() if str(pk).isdecimal() and len(str(pk)) < 16 else None


def owner_was(owner: Owner) -> tuple[Owner, ...]:
    """Under whom else this owner, read by ``owner_get``, stood in the book before they were merged."""
    return tuple(owner.merged_from.all()) if vars(owner).get("was_two") else ()


_read: ContextVar[list[Shop] | None] = ContextVar("shop", default=None)


@contextmanager
def shop_read_once() -> Iterator[None]:
    """Within this, the shop is read once and kept, for every sum on a page asks for it; a save lets go of it.

    Numbers and days are written as the shop writes them.
    """
    token = _read.set([])
    try:
        with written_as(shop_writing):
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


def shop_writing() -> Writing:
    shop = shop_get()
    return Writing(shop.numbers_written, shop.days_written)


def days_off(since: date) -> QuerySet[DayOff]:
    """Those that are not over by then, the next first."""
    return DayOff.objects.filter(last__gte=since)


def calendar(since: date) -> Calendar | None:
    """When the bench is worked at, from that day on; None until the shop says its hours."""
    hours = tuple(float(each) for each in shop_get().hours)
    if not any(hours):
        return None
    off = {row.first + timedelta(days=n) for row in days_off(since) for n in range((row.last - row.first).days + 1)}
    return Calendar(hours, frozenset(off))


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
