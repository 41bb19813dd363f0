"""Donor reels: into the bone box whole, out of it as second-hand parts."""

from collections.abc import Mapping

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.core.writing import day_in_words
from levelwind.shop.models import BoneReel, Job, Part, Pattern, StockEntry
from levelwind.shop.parts.selectors.bones import came_off
from levelwind.shop.parts.services.shelf import stock_from_donor


@transaction.atomic
def bone_add(
    *,
    reel: str,
    pattern: Pattern | None = None,
    condition: str = "",
    spot: str = "",
    paid_minor: int = 0,
    job: Job | None = None,
) -> BoneReel:
    """A dead reel for the box; ``job`` where it stayed behind from one."""
    name = " ".join(reel.split()) or (str(pattern) if pattern else "")
    if not name:
        raise LevelwindError("Enter what reel it is, or choose its pattern.")
    bone = BoneReel(
        reel=name, pattern=pattern, condition=condition.strip(), spot=spot.strip(), paid_minor=paid_minor, job=job
    )
    bone.full_clean()
    bone.save()
    return bone


@transaction.atomic
def bone_delete(*, bone: BoneReel) -> None:
    """It should not be in the box. Raises LevelwindError once a part came off it, or where it is a job's reel."""
    current = BoneReel.objects.select_for_update().get(pk=bone.pk)
    if current.job:
        raise LevelwindError(f"It stayed behind from {current.job.tag}: take that job up again.")
    if current.mended_as:
        raise LevelwindError(f"It is on the bench as {current.mended_as.tag}.")
    if current.stripped_on or came_off(current):
        raise LevelwindError(f"Parts came off this {current.reel}: it stays in the book.")
    current.delete()


@transaction.atomic
def bone_strip(*, bone: BoneReel, parts: Mapping[Part, int], bare: bool = False, by: str = "") -> list[StockEntry]:
    """Parts off a donor reel and onto the shelf, second-hand. ``bare`` when nothing more on it is worth taking off."""
    current = BoneReel.objects.select_for_update().get(pk=bone.pk)
    if current.mended_as:
        raise LevelwindError(f"It is on the bench as {current.mended_as.tag}.")
    if current.stripped_on is not None:
        raise LevelwindError(
            f"This {current.reel} was stripped bare on {day_in_words(current.stripped_on, long=True)}."
        )
    wanted = {part: count for part, count in parts.items() if count}
    if not wanted and not bare:
        raise LevelwindError("Nothing was said to come off: write a count beside a part.")
    note = f"off {current.reel}"
    entries = [
        stock_from_donor(part=part, count=count, bone=current, note=note, by=by) for part, count in wanted.items()
    ]
    if bare:
        current.stripped_on = timezone.localdate()
        current.save(update_fields=["stripped_on"])
    return entries
