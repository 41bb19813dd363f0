"""Two owners that turn out to be one, and back while nothing new hangs on it; an owner taken away."""

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.editing import row_delete
from levelwind.shop.models import Bill, Job, JobEvent, Owner, Parcel

DETAILS = ("phone", "email", "address")
"""What the one owner takes from the other where nothing stands."""


@transaction.atomic
def owner_merge(*, gone: Owner, into: Owner, by: str = "") -> Owner:
    """Jobs, parcels and bills go over to ``into``; ``gone`` stays in the book as the same. Said again, nothing is done.

    Entries of the ledger stay as written: what is owed on them counts for ``into``. Raises LevelwindError where either
    is merged already.
    """
    gone, into = _held(gone, into)
    if gone.merged_into_id == into.pk:
        return into
    if gone.pk == into.pk:
        raise LevelwindError("An owner is merged into another one, not into themselves.")
    if gone.kind or into.kind:
        raise LevelwindError(f"{gone if gone.kind else into} is nobody in particular: it stays by itself.")
    if gone.merged_into or into.merged_into or gone.merged_from.exists():
        raise LevelwindError(f"{gone} or {into} is one with another owner already: take that back first.")
    filled = {name: getattr(gone, name) for name in DETAILS if getattr(gone, name) and not getattr(into, name)}
    gone.went_over = {
        "jobs": list(gone.jobs.values_list("pk", flat=True)),
        "parcels": list(gone.parcels.values_list("pk", flat=True)),
        "bills": list(gone.bills.values_list("pk", flat=True)),
        "filled": filled,
    }
    _carry(gone.went_over, into, f"{gone} is the same as {into}.", by)
    for name, text in filled.items():
        setattr(into, name, text)
    into.save(update_fields=list(filled))
    gone.merged_into = into
    gone.save(update_fields=["merged_into", "went_over"])
    return into


@transaction.atomic
def owner_merge_undo(*, gone: Owner, by: str = "") -> Owner:
    """These are two owners after all: what went over comes back.

    Raises LevelwindError where something new hangs on it: a bill over what went over, or a job that is somebody else's.
    """
    into = gone.merged_into
    if into is None:
        return gone
    gone, into = _held(gone, into)
    went = gone.went_over
    new = Bill.objects.filter(owner=into, entries__job__in=went["jobs"]).exclude(pk__in=went["bills"]).first()
    if new:
        raise LevelwindError(f"Bill {new.number} was made to {into} over what went over: they stay one.")
    if Job.objects.filter(pk__in=went["jobs"]).exclude(owner=into).exists():
        raise LevelwindError("A job that went over belongs to somebody else by now: they stay one.")
    _carry(went, gone, f"{gone} and {into} are two owners after all.", by)
    taken = [name for name, text in went["filled"].items() if getattr(into, name) == text]
    for name in taken:
        setattr(into, name, "")
    into.save(update_fields=taken)
    gone.merged_into, gone.went_over = None, {}
    gone.save(update_fields=["merged_into", "went_over"])
    return gone


@transaction.atomic
def owner_delete(*, owner: Owner) -> None:
    """Take away an owner on whom nothing hangs. Raises LevelwindError that says what does."""
    row_delete(instance=owner, what=str(owner))


def _held(one: Owner, other: Owner) -> tuple[Owner, Owner]:
    """Both as the book has them now, locked in one order."""
    found = {row.pk: row for row in Owner.objects.select_for_update().filter(pk__in=[one.pk, other.pk]).order_by("pk")}
    return found[one.pk], found[other.pk]


def _carry(went: dict[str, list[int]], to: Owner, words: str, by: str) -> None:
    for model, name in ((Job, "jobs"), (Parcel, "parcels"), (Bill, "bills")):
        model._default_manager.filter(pk__in=went[name]).update(owner=to)
    JobEvent.objects.bulk_create(JobEvent(job_id=pk, text=words[:300], by=by) for pk in went["jobs"])
