"""What is known of a supplier, and what the shop says of waiting and keeping."""

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.models import Supplier


@transaction.atomic
def supplier_keep(
    *,
    name: str,
    postage_minor: int = 0,
    minimum_minor: int = 0,
    free_from_minor: int | None = None,
    days: tuple[int | None, int | None, int | None] = (None, None, None),
    note: str = "",
) -> Supplier:
    """The one supplier of this name, whatever the case of its letters, as it is said now."""
    name = name.strip()
    if not name:
        raise LevelwindError("A supplier needs a name.")
    low, likely, high = days
    if any(each is None for each in days) and any(each is not None for each in days):
        raise InputError("days of the supplier", "not all of the three", "low, likely and high, or none of them")
    if low is not None and likely is not None and high is not None and not low <= likely <= high > 0:
        raise InputError("days of the supplier", f"{low}, {likely}, {high}", "low, likely, high in this order")
    row = Supplier.objects.filter(name__iexact=name).first() or Supplier(name=name)
    row.postage_minor, row.minimum_minor, row.free_from_minor = postage_minor, minimum_minor, free_from_minor
    row.days_low, row.days_likely, row.days_high, row.note = low, likely, high, note.strip()
    row.full_clean()
    row.save()
    return row
