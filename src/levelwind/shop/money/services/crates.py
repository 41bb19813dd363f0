"""One price and one word for all reels of a crate."""

from collections.abc import Collection

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.jobs import parcel_jobs
from levelwind.shop.models import Parcel
from levelwind.shop.money.crates import CrateRow, crate_of
from levelwind.shop.money.selectors import price_latest
from levelwind.shop.money.services.prices import price_draft, price_send, word_record
from levelwind.shop.money.tax import shared
from levelwind.shop.people.selectors import shop_get


@transaction.atomic
def crate_price(*, parcel: Parcel, by: str = "") -> int:
    """Make up a price for each reel that has none. Returns for how many; pressed again, for none."""
    _hold(parcel)
    bare = [job for job in parcel_jobs(parcel) if not job.is_over and price_latest(job) is None]
    for job in bare:
        price_draft(job=job, by=by)
    return len(bare)


@transaction.atomic
def crate_send(*, parcel: Parcel, by: str = "") -> int:
    """Call the prices of all reels sent, as one. Returns how many were; pressed again, none."""
    _hold(parcel)
    unsent = [row.price for row in crate_of(parcel, shop_get()).priced if row.price and not row.price.sent_at]
    for price in unsent:
        price_send(price=price, by=by)
    return len(unsent)


@transaction.atomic
def crate_word(
    *, parcel: Parcel, said: str, how: str, to: Collection[str], up_to_minor: int | None = None, by: str = ""
) -> int:
    """The owner's word on the crate: it stands for the reels whose tags are in ``to``; the others are a no.

    A sum is shared out over the reels by what each may cost at most. What was said of a price before is not written
    twice. Returns to how many reels a word was taken down.
    """
    _hold(parcel)
    priced = crate_of(parcel, shop_get()).priced
    meant = [row for row in priced if row.job.tag in to]
    if not priced:
        raise LevelwindError("No reel of this crate has a price yet: make the prices up first.")
    if said == "up_to" and up_to_minor is None:
        raise LevelwindError("Enter the most the owner agreed to for the whole crate.")
    if said != "no" and not meant:
        raise LevelwindError("A yes to no reel at all is a no: say no, or tick the reels it is for.")
    shares = shared(up_to_minor or 0, [row.totals.with_tax[2] if row.totals else 0 for row in meant])
    wanted = {row.job.tag: (said, share if said == "up_to" else None) for row, share in zip(meant, shares, strict=True)}
    return sum(_say(row, *wanted.get(row.job.tag, ("no", None)), how, by) for row in priced)


def _say(row: CrateRow, said: str, up_to_minor: int | None, how: str, by: str) -> bool:
    word, price = row.word, row.price
    if price is None or (word and (word.price_id, word.said, word.up_to_minor) == (price.pk, said, up_to_minor)):
        return False
    word_record(price=price, said=said, how=how, up_to_minor=up_to_minor, note="for the crate", by=by)
    return True


def _hold(parcel: Parcel) -> None:
    """Locked until the transaction ends: two who press take turns."""
    Parcel.objects.select_for_update().get(pk=parcel.pk)
