"""A box seen at a sale is written down, bought or let go; a reel out of the bone box goes onto the bench."""

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.models import BoneReel, Job, Parcel, SeenBox, SeenReels
from levelwind.shop.money.seen_boxes import LOOKS, RowWorth, looks, seen_worth
from levelwind.shop.money.tax import shared
from levelwind.shop.parts.selectors.bones import came_off
from levelwind.shop.parts.services.bones import bone_add, bone_delete
from levelwind.shop.people.services import owner_shop

LINES, MORE, MOST_LINES = 6, 4, 60
"""Empty lines of a new box; those that come with one press; and all of one box. Our choice."""


@transaction.atomic
def seen_box_begin() -> SeenBox:
    """A box with empty lines, all there to be typed into when the network is not; one still empty is taken up."""
    used = SeenReels.objects.exclude(text="", dead=0, turns=0, good=0).values("box")
    empty = SeenBox.objects.filter(where="", asked_minor=None, note="", bought_on=None).exclude(pk__in=used).first()
    if empty:
        return empty
    seen = SeenBox.objects.create()
    SeenReels.objects.bulk_create(SeenReels(box=seen) for _ in range(LINES))
    return seen


@transaction.atomic
def seen_lines_add(*, seen: SeenBox) -> None:
    """More empty lines; none while as many are empty still."""
    seen = _still_open(seen)
    rows = list(seen.reels.all())
    if sum(not (row.text or row.count) for row in rows) >= MORE:
        return
    if len(rows) + MORE > MOST_LINES:
        raise InputError("lines of a box", len(rows) + MORE, f"at most {MOST_LINES}")
    SeenReels.objects.bulk_create(SeenReels(box=seen) for _ in range(MORE))


@transaction.atomic
def seen_box_buy(*, seen: SeenBox, paid_minor: int, spot: str = "", by: str = "") -> list[BoneReel]:
    """Its reels go into the bone box, with what was paid shared over them by what each was thought to be worth.

    Where nothing was thought of any, alike. Bought already, nothing more happens.
    """
    locked = SeenBox.objects.select_for_update().get(pk=seen.pk)
    if locked.bought_on:
        return list(BoneReel.objects.filter(box=locked.box))
    found = seen_worth(locked)
    reels = [(row, look, worth) for row in found.rows for look, worth in zip(looks(row.row), _each(row), strict=True)]
    if not reels:
        raise LevelwindError("Count the reels in it first.")
    weights = [worth for *_, worth in reels]
    shares = shared(paid_minor, weights if any(weights) else [1] * len(reels))
    bones = [
        bone_add(
            reel=row.row.text or (str(row.pattern) if row.pattern else "a reel of the box"),
            pattern=row.pattern,
            condition=f"At the sale: {LOOKS[look]}.",
            spot=spot,
            paid_minor=share,
        )
        for (row, look, _), share in zip(reels, shares, strict=True)
    ]
    for bone, (row, *_) in zip(bones, reels, strict=True):
        bone.box, bone.whole_minor = locked.box, row.whole_minor
        bone.save(update_fields=["box", "whole_minor"])
    locked.bought_on, locked.paid_minor = timezone.localdate(), paid_minor
    locked.told = [found.most_minor, found.low_minor, found.high_minor] if found.told else None
    locked.full_clean()
    locked.save(update_fields=["bought_on", "paid_minor", "told"])
    return bones


def _each(row: RowWorth) -> tuple[int, ...]:
    return row.each or (0,) * row.row.count


@transaction.atomic
def seen_box_not_bought(*, seen: SeenBox) -> SeenBox:
    """It was not bought after all: its reels are out of the bone box. Refused once something came of one."""
    locked = SeenBox.objects.select_for_update().get(pk=seen.pk)
    for bone in BoneReel.objects.filter(box=locked.box):
        bone_delete(bone=bone)
    locked.bought_on = locked.paid_minor = locked.told = None
    locked.save(update_fields=["bought_on", "paid_minor", "told"])
    return locked


@transaction.atomic
def seen_box_delete(*, seen: SeenBox) -> None:
    """Out of the book. Refused where it was bought."""
    _still_open(seen).delete()


def _still_open(seen: SeenBox) -> SeenBox:
    locked = SeenBox.objects.select_for_update().get(pk=seen.pk)
    if locked.bought_on:
        raise LevelwindError("This box was bought: its reels are in the bone box.")
    return locked


@transaction.atomic
def bone_to_bench(*, bone: BoneReel, by: str = "") -> Job:
    """A reel out of the bone box is booked in as the shop's own, for what was paid for it. Pressed again, that job."""
    current = BoneReel.objects.select_for_update().select_related("mended_as", "pattern").get(pk=bone.pk)
    if current.mended_as:
        return current.mended_as
    if current.stripped_on or came_off(current):
        raise LevelwindError(f"Parts came off this {current.reel}: it is a donor, not whole any more.")
    job = Job(
        reel=current.reel,
        pattern=current.pattern,
        looked_like=current.condition,
        bought_minor=current.paid_minor,
        asks_minor=current.whole_minor,
    )
    job_book_in(owner=owner_shop(), parcel=Parcel(came_by="counter"), reels=[job], by=by)
    current.mended_as = job
    current.save(update_fields=["mended_as"])
    return job
