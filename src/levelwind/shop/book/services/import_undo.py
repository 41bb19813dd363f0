"""Taking a list back, as long as nothing hangs on what came by it."""

from django.db import transaction
from django.db.models import Model
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.core.writing import day_in_words
from levelwind.shop.book.selectors.import_made import MADE_OF, came_by, hindrances, within
from levelwind.shop.models import Balance, Import, PartStock

SUMS: dict[str, tuple[type[Model], str]] = {"owner": (Balance, "owner_id"), "part": (PartStock, "part_id")}
"""What the database itself keeps of such a row, by which key: it goes with it."""


@transaction.atomic
def import_take_back(*, one: Import, by: str = "") -> None:
    """What came goes, what was filled in is blank again where nobody changed it; pressed twice, once.

    The list itself is open again where its rows are still kept. Raises LevelwindError that says what hinders.
    """
    held = Import.objects.select_for_update().get(pk=one.pk)
    if held.state != "done":
        return
    if why := hindrances(held):
        raise LevelwindError(f"{held} stays in the book: {'; '.join(why)}.")
    made = came_by(held)
    for name, model in MADE_OF.items():
        if runs := made["keys"].get(name):
            if name in SUMS:
                sums, key = SUMS[name]
                kept = sums._base_manager.filter(within(runs, key))
                kept._raw_delete(kept.db)
            rows = model._base_manager.filter(within(runs))
            rows._raw_delete(rows.db)  # nothing hangs on them: no row is looked at again
    for name, pk, said in made["filled"]:
        _blank_again(name, pk, said)
    day = timezone.localdate()
    held.said = (
        f"Taken back on {day_in_words(day, long=True)}{f' by {by}' if by else ''}: nothing of it is in the book."[:300]
    )
    held.state = "open" if held.rows else "taken_back"
    held.made, held.refused_rows, held.counts, held.done_at = b"", b"", {}, None
    held.save(update_fields=["said", "state", "made", "refused_rows", "counts", "done_at"])


def _blank_again(name: str, pk: int, said: dict[str, object]) -> None:
    model = MADE_OF[name]
    row = model._base_manager.filter(pk=pk).first()
    taken = [each for each, value in said.items() if row is not None and getattr(row, each) == value]
    if row is not None and taken:
        blank = {each: getattr(model(), each) for each in taken}
        model._base_manager.filter(pk=pk).update(**blank)
