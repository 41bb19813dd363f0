"""Putting parts on the shelf and taking them from it. Entries are added, never edited; never fewer than none."""

from collections.abc import Mapping
from math import isfinite

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.writing import written
from levelwind.shop.editing import row_delete
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import BoneReel, DragPlan, Job, MoneyEntry, Part, Piece, ReelUse, StockEntry, UsedUp
from levelwind.shop.parts.selectors.consumables import used_by
from levelwind.shop.parts.selectors.shelf import HAIR, left_of_sheet, sold_and_out, still_out, stock_of

MOST_AT_ONCE = 10_000
MOST_USED = 100_000.0
"""Of a consumable that one reel may use, in its measure; our choice: more is a slip of the finger."""
GO_WITH_IT = ("offers", "reel_uses")
"""What hangs on a part and goes where the part goes: by the names of its relations."""


@transaction.atomic
def part_add(
    *, number: str, name: str, kind: str = "", spot: str = "", price_minor: int = 0, count: int = 0, by: str = ""
) -> Part:
    """A new part, with so many of it counted on the shelf."""
    number, name = number.strip(), name.strip()
    if not number or not name:
        raise LevelwindError("A part needs a number and a name.")
    if Part.objects.filter(number__iexact=number).exists():
        raise LevelwindError(f"There is a part {number} already. Find it and add to its count.")
    part = Part(number=number, name=name, kind=kind.strip(), spot=spot.strip(), price_minor=price_minor)
    part.full_clean()
    part.save()
    if count:
        stock_counted(part=part, count=count, note="when it was entered", by=by)
    return part


@transaction.atomic
def part_delete(*, part: Part) -> None:
    """Take away a part on which nothing hangs: no entry on the shelf, no order, no fit, no price, no bill, no stack.

    Raises LevelwindError that says what does.
    """
    plans = DragPlan.objects.exclude(setup={}, found={}).select_related("job")
    tags = sorted({plan.job.tag for plan in plans if _lies_in(plan, part)})
    if tags:
        raise LevelwindError(f"{part} cannot be taken away. It lies in the drag of {', '.join(tags)}.")
    row_delete(instance=part, what=str(part), but=GO_WITH_IT)


def _lies_in(plan: DragPlan, part: Part) -> bool:
    return str(part.pk) in map(str, (*plan.setup.get("parts", ()), *plan.found.get("parts", ())))


@transaction.atomic
def stock_bought(
    *, part: Part, count: int, unit_cost_minor: int | None = None, note: str = "", by: str = ""
) -> StockEntry:
    """Parts that came in new; each cost what the part costs unless it is said."""
    cost = part.cost_minor if unit_cost_minor is None else unit_cost_minor
    return _enter(part, _counted(count), False, "bought", unit_cost_minor=cost, note=note, by=by)


@transaction.atomic
def stock_from_donor(
    *, part: Part, count: int, bone: BoneReel | None = None, note: str = "", by: str = ""
) -> StockEntry:
    """Second-hand parts that came off a dead reel; ``bone`` where it is one of the bone box."""
    return _enter(part, _counted(count), True, "donor", bone=bone, note=note, by=by)


@transaction.atomic
def stock_counted(*, part: Part, count: int, used: bool = False, note: str = "", by: str = "") -> StockEntry | None:
    """Set the shelf right to what was counted, by an entry over the difference; None where the book was right."""
    if not 0 <= count <= MOST_AT_ONCE:
        raise InputError("count", count, f"from 0 to {MOST_AT_ONCE}")
    change = count - _there(_locked(part), used)
    return _enter(part, change, used, "counted", note=note, by=by) if change else None


@transaction.atomic
def part_counted(*, part: Part, new: int, used: int, left: float | None = None, by: str = "") -> bool:
    """Counted on a walk along the shelf, both sorts at once; of a consumable too what is ``left`` of the one begun, in
    its measure. Returns whether the book was right.
    """
    if left is not None and part.holds:
        if not 0 <= left <= part.holds:
            raise InputError(
                "left of the one begun", written(left), f"from 0 to the {written(part.holds)} that it holds"
            )
        part.cut_off = 1 - left / part.holds
        part.save(update_fields=["cut_off"])
    entries = [stock_counted(part=part, count=count, used=sort, by=by) for sort, count in ((False, new), (True, used))]
    part.counted_at = timezone.now()
    part.save(update_fields=["counted_at"])
    return entries == [None, None]


@transaction.atomic
def stock_cut(*, part: Part, count: int, sheet: Part, of_sheet: int, by: str = "") -> StockEntry:
    """Washers cut from a sheet that gives ``of_sheet`` of them; a sheet leaves the shelf once all of it is cut off."""
    held = _locked(sheet)
    left = left_of_sheet(stock_of(held).all, held.cut_off, of_sheet)
    if _counted(count) > left:
        many = "none" if not left else f"only {left}"
        raise LevelwindError(f"From {held} {many} of these can still be cut, and {count} wanted: nothing was taken.")
    share = (held.cut_off or 0.0) + count / of_sheet
    while share > 1 - HAIR:
        _enter(held, -1, stock_of(held).new == 0, "cut_up", by=by)
        share -= 1
    held.cut_off = share if share > HAIR else None
    held.save(update_fields=["cut_off"])
    cost = held.cost_minor // of_sheet
    return _enter(part, count, False, "cut", unit_cost_minor=cost, note=f"from {held.number}", by=by)


@transaction.atomic
def stock_used_up(*, part: Part, job: Job, amount: float, note: str = "", by: str = "") -> UsedUp:
    """So much of a consumable, in its measure, went into a reel; below nothing, so much did not after all.

    A tin leaves the shelf once all of it is used, and comes back with what is put back.
    """
    held = _locked(part)
    if not held.holds or not isfinite(amount):
        raise LevelwindError(f"{held} says no measure and how much is in one: nothing is counted off it.")
    there = max((stock_of(held).all - (held.cut_off or 0.0)) * held.holds, 0.0)
    if amount > there + HAIR:
        words = (
            f"By the book {written(there)} {held.measure} of {held} are left, not {written(amount)}: count it first."
        )
        raise LevelwindError(words)
    entry = UsedUp(part=held, job=job, amount=amount, note=note, by=by)
    entry.full_clean()
    entry.save()
    share = (held.cut_off or 0.0) + amount / held.holds
    while share > 1 - HAIR:
        _enter(held, -1, stock_of(held).new == 0, "used_up", by=by)
        share -= 1
    while share < -HAIR:
        _enter(held, 1, False, "used_up", by=by)
        share += 1
    held.cut_off = share if share > HAIR else None
    held.save(update_fields=["cut_off"])
    return entry


@transaction.atomic
def job_used_up(*, job: Job, totals: Mapping[Part, float], by: str = "") -> int:
    """What a reel used up of each consumable, in all: what differs from what is written leaves the shelf or comes back.

    Said again, nothing is done. Returns of how many consumables something was written.
    """
    said = 0
    for part, total in totals.items():
        if not (isfinite(total) and 0 <= total <= MOST_USED):
            raise InputError(f"used of {part.number}", written(total), f"from 0 to {written(MOST_USED)} {part.measure}")
        amount = total - used_by(job).get(part.pk, 0.0)
        if abs(amount) > HAIR:
            stock_used_up(part=part, job=job, amount=amount, by=by)
            said += 1
    return said


@transaction.atomic
def reel_use_say(*, part: Part, amount: float | None, family: str = "") -> None:
    """A reel of this family, or any reel, uses up so much of it; None or 0: it is not said any more."""
    if not amount:
        part.reel_uses.filter(family=family).delete()
        return
    use = part.reel_uses.filter(family=family).first() or ReelUse(part=part, family=family)
    use.amount = amount
    use.full_clean()
    use.save()


@transaction.atomic
def stock_thrown_away(*, part: Part, count: int, used: bool = False, note: str = "", by: str = "") -> StockEntry:
    return _enter(part, -_counted(count), used, "thrown", note=note, by=by)


@transaction.atomic
def stock_returned(*, part: Part, count: int, used: bool = False, note: str = "", by: str = "") -> StockEntry:
    """Sent back to whom they came from."""
    return _enter(part, -_counted(count), used, "returned", unit_cost_minor=part.cost_minor, note=note, by=by)


@transaction.atomic
def stock_take(
    *, part: Part, job: Job, count: int = 1, used: bool = False, piece: Piece | None = None, by: str = ""
) -> StockEntry:
    """Take parts from the shelf for a job. Two people after the last one: the second is refused."""
    entry = _enter(part, -_counted(count), used, "taken", job=job, piece=piece, by=by)
    job_note(job=job, text=f"{count} × {part} taken from the shelf{', second-hand' if used else ''}.", by=by)
    return entry


@transaction.atomic
def stock_put_back(*, taken: StockEntry, count: int | None = None, by: str = "") -> StockEntry:
    """Put back what was taken for a job, the whole of it unless a smaller count is said; never more than was taken."""
    part = _locked(taken.part)
    left = still_out(part).get((taken.used, taken.job_id, taken.piece_id), 0)
    count = left if count is None else count
    if taken.why != "taken" or taken.job is None or not 0 < count <= left:
        raise LevelwindError(f"{left} of {part.number} can be put back from this job, not {count}.")
    entry = _enter(part, count, taken.used, "back", job=taken.job, piece=taken.piece, by=by)
    job_note(job=taken.job, text=f"{count} × {part} put back on the shelf.", by=by)
    return entry


@transaction.atomic
def stock_sell(*, part: Part, charge: MoneyEntry, count: int, used: bool = False, by: str = "") -> StockEntry:
    """Sold over the counter: off the shelf for a line of a bill. Of two after the last one the second is refused."""
    return _enter(part, -_counted(count), used, "sold", charge=charge, by=by)


@transaction.atomic
def stock_brought_back(*, sold: StockEntry, count: int, sound: bool, note: str = "", by: str = "") -> list[StockEntry]:
    """What was sold comes back: onto the shelf again, or where it is not ``sound`` thrown away at once."""
    part, left = _locked(sold.part), sold_and_out(sold)
    if not 0 < count <= left:
        raise LevelwindError(f"{left} of {part.number} can come back from this sale, not {count}.")
    back = _enter(part, count, sold.used, "brought", charge=sold.charge, note=note, by=by)
    return [back] if sound else [back, _enter(part, -count, sold.used, "thrown", note=note, by=by)]


@transaction.atomic
def stock_over(*, part: Part, to: Part, count: int, used: bool, by: str = "") -> None:
    """So many are another part's from now on: the two were one, or are two after all."""
    for whose, change, other in ((part, -count, to), (to, count, part)):
        if count:
            entry = StockEntry(part=whose, change=change, used=used, why="merged", note=f"{other.number}"[:200], by=by)
            entry.full_clean()
            entry.save()


def _enter(part: Part, change: int, used: bool, why: str, **said: object) -> StockEntry:
    """What is put on the shelf of a part that is one with another lies on that one's at once."""
    part = _locked(part)
    if part.merged_into and change < 0 and why != "thrown":
        raise LevelwindError(f"{part} is the same as {part.merged_into}: take that.")
    there = _there(part, used)
    if there + change < 0:
        raise LevelwindError(_too_many(part, -change, used, there))
    entry = StockEntry(part=part, change=change, used=used, why=why, **said)
    entry.full_clean()
    entry.save()
    if part.merged_into and change > 0:
        stock_over(part=part, to=part.merged_into, count=change, used=used)
    return entry


def _locked(part: Part) -> Part:
    """The part, held until the transaction ends, so that nobody takes what is being counted here."""
    return Part.objects.select_for_update().get(pk=part.pk)


def _there(part: Part, used: bool) -> int:
    stock = stock_of(part)
    return stock.used if used else stock.new


def _counted(count: int) -> int:
    if not 1 <= count <= MOST_AT_ONCE:
        raise InputError("count", count, f"from 1 to {MOST_AT_ONCE}")
    return count


def _too_many(part: Part, wanted: int, used: bool, there: int) -> str:
    sort = "second-hand" if used else "new"
    if not there:
        return f"No {sort} {part} is left on the shelf: nothing was taken."
    return f"Only {there} {sort} of {part} on the shelf, and {wanted} wanted: nothing was taken."
