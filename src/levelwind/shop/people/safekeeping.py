"""The one row about how the book is kept safe, and what hangs on it: codes that were closed."""

from datetime import datetime

from django.utils import timezone

from levelwind.shop.models import Safekeeping


def safekeeping_get() -> Safekeeping:
    """The row, unsaved where nothing was ever said."""
    return Safekeeping.objects.filter(pk=1).first() or Safekeeping(pk=1)


def safekeeping_set(**facts: object) -> None:
    """Change facts of the row, which is made where there is none yet."""
    Safekeeping.objects.update_or_create(pk=1, defaults=facts)


def codes_close() -> None:
    """Every code that was shown for a phone opens nothing from now on."""
    safekeeping_set(codes_closed_at=timezone.now())


def codes_closed_at() -> datetime | None:
    return Safekeeping.objects.filter(pk=1).values_list("codes_closed_at", flat=True).first()
