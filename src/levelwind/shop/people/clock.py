"""A machine's clock that has gone back: asked about before it numbers a job or a bill by the wrong year."""

from datetime import datetime, timedelta

from django.db.models import Subquery
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.core.writing import moment_in_words
from levelwind.shop.models import JobEvent, MoneyEntry, Safekeeping, StockEntry
from levelwind.shop.people.safekeeping import safekeeping_set

BEHIND = timedelta(days=1)
"""How far the clock may lie behind what was written last. Our choice: more than any change of summer time or zone."""


def clock_behind(kept: Safekeeping | None = None) -> datetime | None:
    """When the last entry in the book was made, where the clock is behind it and nobody has said that it is right.

    ``kept`` is what ``safekeeping_with_newest`` read, where a page has read it already.
    """
    kept, now = kept or safekeeping_with_newest(), timezone.now()
    last = max((at for at in (kept.newest_event, kept.newest_money, kept.newest_stock) if at), default=now)  # type: ignore[attr-defined]
    said = kept.clock_right_at is not None and now > kept.clock_right_at - BEHIND
    return None if said or last <= now + BEHIND else last


def safekeeping_with_newest() -> Safekeeping:
    """The row about the book's safety, with when each kind of entry was last written, in one question to the book."""
    kinds = {"newest_event": JobEvent, "newest_money": MoneyEntry, "newest_stock": StockEntry}
    newest = {name: Subquery(kind._default_manager.order_by("-pk").values("at")[:1]) for name, kind in kinds.items()}
    rows = Safekeeping.objects.filter(pk=1).annotate(**newest)
    kept = rows.first()
    if kept is None:
        safekeeping_set()
        kept = rows.get()
    return kept


def clock_hold() -> None:
    """Raises LevelwindError, before anything is numbered, while the clock is behind the book."""
    if last := clock_behind():
        raise LevelwindError(f"{clock_said(last)} If it is right, say so at the Counter.")


def clock_said(last: datetime) -> str:
    now = _said(timezone.now())
    return f"This machine's clock says {now}, but the book's last entry is of {_said(last)}: put the clock right."


def clock_is_right() -> None:
    """Somebody looked: the clock is right, and an earlier entry was made by one that was not."""
    safekeeping_set(clock_right_at=timezone.now())


def _said(at: datetime) -> str:
    return moment_in_words(timezone.localtime(at), long=True)
