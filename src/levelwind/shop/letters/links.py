"""A link for an owner who waits: long, for one reel, for some weeks, closed by the shop at any time.

Off until the shop turns it on, and only where a public address behind a proxy with TLS is set.
"""

from datetime import timedelta
from hashlib import sha256
from secrets import token_urlsafe

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import Job, OwnerLink, Price, Stage, Word
from levelwind.shop.money.selectors import price_latest
from levelwind.shop.money.services.prices import word_record
from levelwind.shop.people.selectors import shop_get

KEY_BYTES = 32
"""Of chance in a link: 256 bits, far more than the 128 that OWASP asks of a session's key (ASVS 4.0, 3.2.2; from
memory)."""
OPEN_FOR = timedelta(days=45)
"""How long a link opens. Our choice: an owner's answer, the work and the way home."""
ANSWERED_AT = (Stage.LOOKED_OVER, Stage.PRICE_SENT, Stage.AGREED)
"""Where the reel is while its price can be answered by a link: once it is apart, a person is asked."""


def links_offered() -> bool:
    """Whether a link can be given at all: the shop wants it, and there is a public address for it."""
    return bool(settings.PUBLIC) and shop_get().owner_links


@transaction.atomic
def link_make(*, job: Job, by: str = "") -> str:
    """A new link's whole address. It is told once: the book keeps only what its key hashes to."""
    if not links_offered():
        raise LevelwindError("Links for owners are not turned on, or no public address is set.")
    key, now = token_urlsafe(KEY_BYTES), timezone.now()
    link = OwnerLink(job=job, key_sha256=_hashed(key), made_at=now, until=now + OPEN_FOR, by=by)
    link.full_clean()
    link.save(force_insert=True)
    job_note(job=job, text="A link for the owner was made.", by=by)
    return f"{settings.PUBLIC.rstrip('/')}/o/{key}/"


@transaction.atomic
def links_close(*, job: Job, by: str = "") -> int:
    """Every link to the job opens nothing from now on; how many there were. Pressed again, none."""
    closed = open_links(job).update(closed_at=timezone.now())
    if closed:
        job_note(job=job, text="The links for the owner were closed.", by=by)
    return closed


def open_links(job: Job) -> QuerySet[OwnerLink]:
    return _still_open().filter(job=job)


def link_find(key: str) -> OwnerLink | None:
    """The link of this key, where it still opens; nothing tells one that is closed from one that never was."""
    if not links_offered():
        return None
    found = _still_open().filter(key_sha256=_hashed(key))
    return found.select_related("job__owner", "job__parcel", "job__pattern").first()


def link_opened(*, link: OwnerLink) -> None:
    link.opened_at = timezone.now()
    link.save(update_fields=["opened_at"])


def price_to_answer(job: Job) -> Price | None:
    """The newest price, where it is sent and the reel is not apart yet."""
    price = price_latest(job)
    return price if price and price.sent_at and job.stage in ANSWERED_AT else None


@transaction.atomic
def link_answer(*, link: OwnerLink, price_number: int, said: str, up_to_minor: int | None = None) -> Word:
    """The owner's own word by the link. Raises LevelwindError where that price cannot be answered any more."""
    price = price_to_answer(link.job)
    if price is None:
        raise LevelwindError("This cannot be answered here any more. Please call or write to the shop.")
    if price.number != price_number:
        raise LevelwindError("There is a newer price than the one you saw: look at it before you answer.")
    return word_record(price=price, said=said, how="link", up_to_minor=up_to_minor, by="the owner")


def _still_open() -> QuerySet[OwnerLink]:
    return OwnerLink.objects.filter(closed_at=None, until__gt=timezone.now())


def _hashed(key: str) -> str:
    return sha256(key.encode()).hexdigest()
