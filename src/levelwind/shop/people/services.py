"""Writing owners and the shop's own row into the book."""

from collections.abc import Sequence
from datetime import date

from django.db import transaction

from levelwind.core.errors import InputError
from levelwind.core.supply import Calendar
from levelwind.shop.models import DayOff, Owner, Shop

LONGEST_OFF = 400
"""Days off in one row; our choice: longer is a slip of the finger."""

PASSING = "Over the counter, no name"
OWN = "The shop’s own"


@transaction.atomic
def owner_add(*, owner: Owner) -> Owner:
    """Write an unsaved owner into the book. Raises django's ValidationError where the model refuses a value."""
    owner.full_clean()
    owner.save(force_insert=True)
    return owner


def owner_passing() -> Owner:
    """Everybody who buys without a name, as one owner of the book; written down at the first sale."""
    return Owner.objects.get_or_create(kind="passing", defaults={"name": PASSING})[0]


def owner_shop() -> Owner:
    """The shop as the owner of its own reels; written down when the first is taken in."""
    return Owner.objects.get_or_create(kind="shop", defaults={"name": OWN})[0]


def shop_open() -> Shop:
    """The shop's row, made with the defaults if the book has none yet, so that its form can save field by field."""
    return Shop.objects.get_or_create(pk=1)[0]


def scale_keep(*, most_N: float) -> None:
    """Keep what the shop's hanging scale can read at most, in newtons; the rest of the row may be unfilled yet."""
    shop = shop_open()
    shop.scale_most_N = most_N
    shop.save(update_fields=["scale_most_N"])


def hours_keep(*, hours: Sequence[float]) -> Shop:
    """Keep the hours of each weekday, Monday first; none on any day takes them back, and dates are foretold no more."""
    shop = shop_open()
    shop.hours = list(Calendar(tuple(hours)).hours) if any(hours) else []
    shop.save(update_fields=["hours"])
    return shop


def day_off_add(*, first: date, last: date | None = None, what: str = "") -> DayOff:
    """Nobody works from that day to the last; one day where none is given."""
    last = last or first
    if not 0 <= (last - first).days < LONGEST_OFF:
        raise InputError("last day off", last.isoformat(), f"{first.isoformat()} or up to {LONGEST_OFF} days later")
    row = DayOff(first=first, last=last, what=what)
    row.full_clean()
    row.save(force_insert=True)
    return row


def day_off_remove(*, pk: int) -> None:
    """It is worked on after all; nothing where it is gone already."""
    DayOff.objects.filter(pk=pk).delete()
