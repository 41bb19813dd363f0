"""Lists brought in, and those on their way."""

from django.core.cache import cache
from django.db.models import QuerySet

from levelwind.shop.book.packed import unpacked
from levelwind.shop.book.sheets import Sheet
from levelwind.shop.models import Import

HEAVY = ("data", "rows", "refused_rows", "made")


def import_list() -> QuerySet[Import]:
    """The newest first, without those put aside, and without what they hold."""
    return Import.objects.exclude(state="dropped").defer(*HEAVY)


def import_get(pk: int) -> Import | None:
    return Import.objects.filter(pk=pk).first()


def import_before(kind: str, digest: str) -> Import | None:
    """The last list of this kind with the same headings: how it was matched is how this one will be."""
    same = Import.objects.filter(kind=kind, headings_digest=digest).exclude(matched={})
    return same.defer(*HEAVY).order_by("-pk").first()


def import_progress(one: Import) -> tuple[float, str]:
    """How far the writing has come, 0 to 1, and what is being written."""
    part, doing = cache.get(progress_key(one.pk)) or (0.0, "")
    return float(part), str(doing)


def progress_key(pk: int) -> str:
    return f"import-progress-{pk}"


def stop_key(pk: int) -> str:
    return f"import-stop-{pk}"


def refused_sheet(one: Import) -> Sheet | None:
    """The rows that were not taken when it came into the book."""
    kept = unpacked(one.refused_rows)
    if not kept:
        return None
    headings, *rows = kept
    return Sheet("not taken", tuple(headings), rows)
