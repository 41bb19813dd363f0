"""A box of reels seen at a sale: what it is worth by what was counted, and what came of it. Only reads."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from django.db.models import Case, QuerySet, Value, When

from levelwind.core.supply import Spread
from levelwind.core.supply.boxes import BoxWorth, box
from levelwind.core.supply.worth import DeadReel
from levelwind.shop.models import BoneReel, Job, Pattern, SeenBox, SeenReels, Stage
from levelwind.shop.money.own import OwnReel, own_reel
from levelwind.shop.money.worth import AS_IT_LIES, WAYS, Came, Lying, Mends, came_of, dead_reel, pieces_on, times_of
from levelwind.shop.patterns.selectors.patterns import with_words

LOOKS = {"dead": "does not turn", "turns": "turns", "good": "turns well"}
"""What a look of a minute tells, by the field it is counted in."""
MENDS = {
    "dead": Mends(opens=True, comes_right=0.5, parts=Spread(0.05, 0.2, 0.5)),
    "turns": AS_IT_LIES,
    "good": Mends(opens=False, comes_right=0.9, parts=Spread(0.0, 0.02, 0.1)),
}
"""What mending takes, by what the look told. Judgements; common practice, no source."""
MISJUDGED = Spread(0.5, 0.95, 1.15)
"""Around what a box is worth as it was seen: at a sale one sees the best side. A judgement."""


@dataclass(frozen=True, slots=True)
class RowWorth:
    """A line of the box; sums in minor units, rounded once."""

    row: SeenReels
    pattern: Pattern | None
    whole_minor: int | None
    sold_before: int
    """Reels of the pattern sold before, in whose middle the price lies; 0 where it was typed."""
    mean_minor: int | None
    """Of all of them; None where nothing is known that they could bring."""
    ways: tuple[str, ...]
    each: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """A box as it was seen: its lines with a reel in them, and all of it; None while nothing of it can be told."""

    rows: tuple[RowWorth, ...]
    told: BoxWorth | None

    @property
    def count(self) -> int:
        return sum(row.row.count for row in self.rows)

    @property
    def untold(self) -> int:
        return sum(row.row.count for row in self.rows if row.mean_minor is None)

    @property
    def most_minor(self) -> int:
        return round(self.told.most_to_pay) if self.told else 0

    @property
    def careful_minor(self) -> int:
        return round(self.told.careful) if self.told else 0

    @property
    def low_minor(self) -> int:
        return round(self.told.worth.low) if self.told else 0

    @property
    def high_minor(self) -> int:
        return round(self.told.worth.high) if self.told else 0


def seen_boxes() -> QuerySet[SeenBox]:
    """Those not bought first, then the newest."""
    waiting = Case(When(bought_on=None, then=Value(0)), default=Value(1))
    return SeenBox.objects.order_by(waiting, "-seen_on", "-pk")


def seen_box_get(pk: int) -> SeenBox | None:
    return SeenBox.objects.filter(pk=pk).first()


def pattern_meant(text: str) -> Pattern | None:
    """The one pattern in which every word occurs; the one of this very name, where several have them all."""
    found = list(with_words(Pattern.objects.filter(merged_into=None), text)[:40]) if text.strip() else []
    if len(found) == 1:
        return found[0]
    return next((pattern for pattern in found if str(pattern).casefold() == text.strip().casefold()), None)


def seen_worth(seen: SeenBox) -> Seen:
    rows = [row for row in seen.reels.all() if row.count]
    drawn: list[DeadReel] = []
    found: list[tuple[RowWorth, int]] = []
    ahead: dict[int, int] = {}
    for row in rows:
        blank, reels = _row(row, ahead)
        drawn += reels
        found.append((blank, len(reels)))
    told = box(drawn, MISJUDGED, np.random.default_rng(seen.pk), seen.asked_minor) if drawn else None
    return Seen(tuple(_told(found, told)), told)


def _row(row: SeenReels, ahead: dict[int, int]) -> tuple[RowWorth, list[DeadReel]]:
    pattern = pattern_meant(row.text)
    sold = _sold_before(pattern) if pattern and row.whole_minor is None else []
    whole = row.whole_minor if row.whole_minor is not None else round(float(np.median(sold))) if sold else None
    kind = pattern.family if pattern else row.family
    pieces, times, reels = pieces_on(pattern), times_of(kind), []
    for look in looks(row):
        lying = Lying(pattern, kind, whole, mends=MENDS[look])
        before = ahead.get(pattern.pk, 0) if pattern else 0
        reel = dead_reel(lying, pieces(before), times)
        if reel:
            reels.append(reel)
        if pattern:
            ahead[pattern.pk] = before + 1
    return RowWorth(row, pattern, whole, len(sold), None, ()), reels


def looks(row: SeenReels) -> Iterator[str]:
    """The look of each reel of a line, the best first."""
    for look in ("good", "turns", "dead"):
        yield from [look] * getattr(row, look)


def _told(found: list[tuple[RowWorth, int]], told: BoxWorth | None) -> Iterator[RowWorth]:
    at = 0
    for row, count in found:
        if not count or told is None:
            yield row
            continue
        each, ways = told.each[at : at + count], told.ways[at : at + count]
        at += count
        words = tuple(dict.fromkeys(WAYS[way] if way else "not worth its minutes" for way in ways))
        share = MISJUDGED.mean
        yield replace(
            row, mean_minor=round(sum(each) * share), ways=words, each=tuple(round(one * share) for one in each)
        )


def _sold_before(pattern: Pattern) -> list[int]:
    sold = Job.objects.filter(stage=Stage.SOLD, pattern=pattern, sold_for__isnull=False).order_by("-stage_since")
    return list(sold.values_list("sold_for__amount_minor", flat=True)[:20])


@dataclass(frozen=True, slots=True)
class CameOf:
    """A reel out of the box: on the bench or sold as the shop's own, or lying there with what came off it."""

    bone: BoneReel
    own: OwnReel | None
    came: Came

    @property
    def brought_minor(self) -> int:
        """Before work: what it was sold for less its parts; of one stripped what its parts are worth second-hand."""
        if self.own is None:
            return self.came.worth_minor
        return (self.own.sold_minor or 0) - self.own.parts_minor

    @property
    def is_open(self) -> bool:
        """Something may still come of it."""
        return self.own.sold_minor is None if self.own else self.bone.stripped_on is None


@dataclass(frozen=True, slots=True)
class BoxCame:
    rows: tuple[CameOf, ...]
    paid_minor: int

    @property
    def brought_minor(self) -> int:
        return sum(row.brought_minor for row in self.rows)

    @property
    def left_minor(self) -> int:
        """What is left for the work so far; below nothing while it has not brought what was paid."""
        return self.brought_minor - self.paid_minor

    @property
    def open(self) -> int:
        return sum(row.is_open for row in self.rows)


def box_came(seen: SeenBox) -> BoxCame:
    bones = BoneReel.objects.filter(box=seen.box).select_related("mended_as__owner", "mended_as__sold_for", "pattern")
    rows = tuple(
        CameOf(bone, own_reel(bone.mended_as) if bone.mended_as else None, came_of(bone))
        for bone in bones.order_by("pk")
    )
    return BoxCame(rows, seen.paid_minor or 0)


def seen_box_of(bone: BoneReel) -> SeenBox | None:
    return SeenBox.objects.filter(box=bone.box).first() if bone.box else None
