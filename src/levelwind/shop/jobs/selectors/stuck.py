"""What of a job would not come apart, and what its owner said to it; and what the owner forbids."""

from collections.abc import Iterable
from dataclasses import dataclass

from levelwind.reference.stuck import Leave, Procedure, stuck
from levelwind.shop.models import Job, Stuck, Word


@dataclass(frozen=True, slots=True)
class StuckNow:
    """A piece that will not come, its procedure, and how far the owner's word on it is."""

    row: Stuck
    procedure: Procedure
    word: Word | None

    @property
    def may_go_on(self) -> bool:
        return not self.procedure.asks or (self.word is not None and self.word.said != "no")

    @property
    def asked(self) -> str:
        """How far the asking is, in a sentence."""
        price = self.row.price
        if self.word is not None and price is not None:
            said = "said no: leave it as it is" if self.word.said == "no" else f"said {self.word.get_said_display()}"
            return f"The owner {said} (price {price.number})."
        if price is None:
            return "The owner is not asked yet." if self.procedure.asks else "Nobody need be asked."
        return f"On price {price.number}, " + ("sent: no word yet." if price.sent_at else "not sent yet.")


def stuck_now(job: Job, steps: Iterable[str] | None = None) -> tuple[StuckNow, ...]:
    """What has not come yet, of these steps or of the whole job."""
    rows = Stuck.objects.filter(job=job, came_at=None).select_related("price")
    if steps is not None:
        rows = rows.filter(step__in=list(steps))
    known = stuck().procedures
    rows_known = [row for row in rows if row.what in known]
    prices = [row.price_id for row in rows_known if row.price_id]
    words = {word.price_id: word for word in Word.objects.filter(price__in=prices)} if prices else {}
    return tuple(StuckNow(row, known[row.what], words.get(row.price_id or 0)) for row in rows_known)


def left_as_it_is(job: Job, kinds: Iterable[str] | None = None) -> tuple[Leave, ...]:
    """What the owner forbids: of what touches pieces of these kinds, or all of it."""
    kinds = None if kinds is None else tuple(kinds)
    said = (leave for key, leave in stuck().leaves.items() if key in job.leave.split(","))
    return tuple(leave for leave in said if kinds is None or leave.touches(kinds))


def leave_in_words(job: Job) -> str:
    """What the owner forbids in one sentence for a price or a proof sheet; empty where nothing is.

    >>> leave_in_words(Job(leave="polish,paint", leave_note="as it was fished"))
    'Left as it is: no polish, no paint or lacquer, and none taken off (as it was fished).'
    """
    names = ", ".join(leave.name for leave in left_as_it_is(job))
    note = f" ({job.leave_note})" if job.leave_note else ""
    return f"Left as it is: {names}{note}." if names else ""
