"""Bringing a list in: the file read, its columns matched, and one press that writes all of it or nothing."""

import logging
from collections.abc import Mapping
from datetime import timedelta
from hashlib import sha256
from time import monotonic
from typing import Any

from django.core.cache import cache
from django.db import IntegrityError, transaction
from django.utils import timezone
from django_tasks import task

from levelwind.core.columns.guess import heading_row
from levelwind.core.errors import InputError, LevelwindError
from levelwind.recordings.limited import Stopped
from levelwind.recordings.lists import ENCODINGS, SEPARATORS, read_list
from levelwind.shop.book.packed import packed
from levelwind.shop.book.selectors.columns import KINDS
from levelwind.shop.book.selectors.imports import import_before, progress_key, stop_key
from levelwind.shop.book.selectors.lines import Matched, doubts
from levelwind.shop.book.selectors.plans import Plan, guessed, headings_key, known_again, plan_of, refused_of, table_of
from levelwind.shop.book.services.import_rows import rows_write
from levelwind.shop.book.sheets import bare
from levelwind.shop.models import Import

log = logging.getLogger(__name__)

AT_ONCE = 2000
"""Rows that are written while the page waits; longer lists go through the queue. Our choice: about a second."""
TELL_S = 0.3
"""How often it is told how far the writing is; our choice."""
LOOKED_AT = 0.3
"""Of the whole, looking at the rows before they are written takes about so much: measured on lists of 50,000."""
SILENT = timedelta(seconds=90)
"""A list under way of which nothing was heard for so long was a killed worker's; our choice."""
KEPT = timedelta(days=30)
"""So long a list's own rows are kept after it came into the book, to be matched anew. Our choice."""
BROKEN = "Levelwind itself failed on this list. Nothing of it is in the book, and the fault is in Levelwind's log."


def import_begin(*, kind: str, file_name: str, data: bytes, by: str = "") -> Import:
    """Keep a list that was sent, read and matched as far as can be guessed. Raises InputError for what is no list."""
    if kind not in KINDS:
        raise InputError("kind of list", repr(kind), ", ".join(KINDS))
    one = Import(kind=kind, file_name=file_name[-120:] or "a list", data=data, by=by)
    _read(one, head_row=None)
    one.save()
    return one


def import_read_again(*, one: Import, sheet: str, encoding: str, separator: str, head_row: int | None) -> Import:
    """Another sheet of the file, other letters, another separator, or headings in another row."""
    if encoding not in ENCODINGS or separator not in SEPARATORS:
        raise LevelwindError("The page was not understood: load it again.")
    one.sheet, one.written, one.said = sheet, {"encoding": encoding, "separator": separator}, ""
    _read(one, head_row=head_row)
    with transaction.atomic():
        _open(one)
        one.save()
    return one


def _read(one: Import, head_row: int | None) -> None:
    """In the limited process, while nothing of the book is held."""
    kind, how = KINDS[one.kind], one.written
    found = read_list(
        bytes(one.data),
        one.file_name,
        sheet=one.sheet,
        prefer=kind.sheets,
        encoding=how.get("encoding", ""),
        separator=how.get("separator", ""),
    )
    one.sheets, one.sheet, rows = list(found.sheets), found.sheet[:120], found.cells()
    if found.separator:
        rows = [[row[0], *map(bare, row[1:])] for row in rows]
    one.rows = packed(rows)
    one.head_row = rows[heading_row([row[1:] for row in rows])][0] if head_row is None else head_row
    table = table_of(one)
    one.headings_digest = sha256(headings_key(table.headings).encode()).hexdigest()
    before = import_before(one.kind, one.headings_digest)
    one.matched = guessed(kind, table, before.matched if before else None)


@transaction.atomic
def import_match(
    *,
    one: Import,
    columns: Mapping[str, int],
    same: Mapping[str, str],
    decimal: str = "",
    order: str = "",
    known: str = "skip",
) -> Import:
    """Keep which column holds which field and how the list is read; it is known by its headings the next time."""
    one = _open(one)
    keys, table = {field.key for field in KINDS[one.kind].fields}, table_of(one)
    held = {key: n for key, n in columns.items() if key in keys and 0 <= n < len(table.headings)}
    if decimal not in ("", ".", ",") or order not in ("", "day", "month") or known not in ("skip", "fill", "new"):
        raise LevelwindError("The page was not understood: load it again.")
    one.matched = known_again(held, table) | {
        "same": {key: text.strip()[:200] for key, text in same.items() if key in keys and text.strip()},
        "decimal": decimal,
        "order": order,
        "known": known,
    }
    one.said = ""
    one.save(update_fields=["matched", "said"])
    return one


def import_start(*, one: Import, by: str = "") -> None:
    """Write it into the book: at once where it is short, else beside the pages. Pressed twice, once.

    Raises LevelwindError where something is still to be said.
    """
    one.refresh_from_db()
    if one.state != "open":
        return
    table = table_of(one)
    if doubts(KINDS[one.kind].fields, Matched.of(one.matched), table.rows)[1]:
        raise LevelwindError("Choose first how this list writes its days and its numbers.")
    began = timezone.now()
    mine = Import.objects.filter(pk=one.pk, state="open").update(state="under_way", started_at=began, by=by, said="")
    if not mine:
        return
    cache.delete_many([stop_key(one.pk), progress_key(one.pk)])
    if len(table.rows) <= AT_ONCE:
        import_run(one.pk)
    else:
        cache.set(progress_key(one.pk), (0.0, "waiting for its turn"))
        import_task.enqueue(one.pk)


def import_stop(*, one: Import) -> None:
    """Stop what is being written: nothing of it stays."""
    cache.set(stop_key(one.pk), True, timeout=600)


@task()
def import_task(pk: int) -> str:
    return import_run(pk)


def import_run(pk: int) -> str:
    """Write a list that is under way, in one transaction; what hinders stands with the list, which is open again."""
    one = Import.objects.filter(pk=pk, state="under_way").first()
    if one is None:
        return "nothing to do"
    try:
        tell = _teller(pk)
        tell(0.0, "reading the rows")
        plan = plan_of(one, tell=lambda part, doing: tell(LOOKED_AT * part, doing))
        if not plan.counts["new"] and not plan.counts["filled"]:
            return _open_again(one, "Nothing in this list would come into the book as it is matched now.")
        _written(one, plan, lambda part, doing: tell(LOOKED_AT + (1 - LOOKED_AT) * part, doing))
    except Stopped:
        return _open_again(one, "Stopped: nothing of it is in the book.")
    except IntegrityError:
        return _open_again(one, "The book was changed meanwhile: look at it once more. Nothing of it is in the book.")
    except LevelwindError as refusal:
        return _open_again(one, str(refusal))
    except Exception:
        log.exception("The list %s could not be written", pk)
        return _open_again(one, BROKEN)
    finally:
        cache.delete_many([stop_key(pk), progress_key(pk)])
    return "in the book"


@transaction.atomic
def _written(one: Import, plan: Plan, tell: Any) -> None:
    held = Import.objects.select_for_update().get(pk=one.pk)
    if held.state != "under_way":
        return
    made = rows_write(one, plan, tell, one.by)
    held.state, held.done_at, held.counts = "done", timezone.now(), plan.counts
    held.made = packed(made)
    refused = refused_of(plan, table_of(one))
    held.refused_rows = packed([refused.headings, *refused.rows]) if refused else b""
    held.save(update_fields=["state", "done_at", "counts", "made", "refused_rows"])


def _open_again(one: Import, words: str) -> str:
    Import.objects.filter(pk=one.pk, state="under_way").update(state="open", started_at=None, said=words[:300])
    return words


def _teller(pk: int) -> Any:
    last = 0.0

    def tell(part: float, doing: str) -> None:
        nonlocal last
        if monotonic() - last < TELL_S:
            return
        last = monotonic()
        cache.set(progress_key(pk), (part, doing), timeout=int(SILENT.total_seconds()))
        if cache.get(stop_key(pk)):
            raise Stopped("stopped by hand")

    return tell


@transaction.atomic
def import_drop(*, one: Import) -> None:
    """Put a list aside that is not in the book: the file and its rows go, how its columns were matched is kept."""
    _open(one)
    Import.objects.filter(pk=one.pk).update(state="dropped", data=b"", rows=b"", refused_rows=b"")


def _open(one: Import) -> Import:
    held = Import.objects.select_for_update().get(pk=one.pk)
    if held.state != "open":
        raise LevelwindError(f"{held} is {held.get_state_display()}: nothing of it can be changed now.")
    return held


def imports_sweep() -> None:
    """Open again what a killed worker had; let go of the rows of lists that have long been in the book."""
    now = timezone.now()
    for one in Import.objects.filter(state="under_way", started_at__lt=now - SILENT).only("pk"):
        if not cache.get(progress_key(one.pk)):
            _open_again(one, "It was broken off: nothing of it is in the book. Press again.")
    old = Import.objects.filter(state="done", done_at__lt=now - KEPT).exclude(rows=b"")
    old.update(data=b"", rows=b"")
