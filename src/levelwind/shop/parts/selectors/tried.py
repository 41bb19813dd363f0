"""What the shop's own jobs tell: which parts were fitted in a place and stayed, and which came out again."""

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, Q
from django.db.models.functions import Coalesce

from levelwind.core.fits.chains import Serves, Slot
from levelwind.shop.models import Piece, Stage
from levelwind.shop.parts.selectors.slots import PIECES, AtSlots

BAD = ("worn", "broken")
"""What a new piece is found to be where it did not serve."""

BAD_LATER = (*BAD, "missing")


@dataclass(frozen=True, slots=True)
class Tried:
    """In how many jobs a part was fitted in a slot and went home in it, and in how many it was bad or came back so."""

    part: int
    slot: Slot
    worked: int
    failed: int

    @property
    def jobs(self) -> int:
        return self.worked + self.failed

    @property
    def serves(self) -> bool:
        return self.worked >= self.failed

    @property
    def sure(self) -> float:
        """(k + ½) / (n + 1), the middle of what k of n leaves open (Jeffreys), for what the more of them say.

        >>> Tried(1, (1, "dog"), 3, 0).sure, Tried(1, (1, "dog"), 0, 1).sure
        (0.875, 0.75)
        """
        return (max(self.worked, self.failed) + 0.5) / (self.jobs + 1)

    @property
    def words(self) -> str:
        many = f"{self.jobs} job{'' if self.jobs == 1 else 's'}"
        return f"went home in {self.worked} of {many}" if self.serves else f"was bad in {self.failed} of {many}"

    def statement(self) -> Serves:
        return Serves(self.part, self.slot, self.sure, self.serves)


def tried_at(slots: Collection[Slot]) -> list[Tried]:
    """Of finished jobs and of new pieces that proved bad; a comeback whose piece there was bad counts against."""
    if not slots:
        return []
    there = AtSlots(slots, PIECES)
    again = Piece.objects.filter(job__comeback_of=OuterRef("job"), place=OuterRef("place"), state__in=BAD_LATER)
    bad = Q(state__in=BAD) | Q(came_back=True)
    went = Q(job__stage=Stage.HOME, where="reel")
    fitted = Piece.objects.filter(there, part__isnull=False, replaces__isnull=False).annotate(came_back=Exists(again))
    rows = (
        fitted.filter(went | bad)
        .order_by()
        .annotate(one=Coalesce("part__merged_into", "part"))
        .values("one", "job__pattern", "place")
        .annotate(
            worked=Count("job", distinct=True, filter=went & ~bad), failed=Count("job", distinct=True, filter=bad)
        )
    )
    return [Tried(row["one"], (row["job__pattern"], row["place"]), row["worked"], row["failed"]) for row in rows]
