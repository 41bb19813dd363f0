"""The shelf: how many of each part there are, new and second-hand, and what is on its way."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import floor
from typing import Any, cast

from django.db.models import Count, F, Q, QuerySet, Sum, Value, Window
from django.db.models.functions import Upper

from levelwind.shop.finding.selectors import GRAM, parts_with
from levelwind.shop.models import Job, Part, PartOrder, PartStock, StockEntry

HAIR = 1e-9
"""What rounding may lack of a whole washer, or of a whole sheet."""

VIEWS = [("", "All parts"), ("short", "Under what to keep"), ("here", "On the shelf"), ("order", "On order")]


@dataclass(frozen=True, slots=True)
class Stock:
    """How many of a part lie on the shelf."""

    new: int = 0
    used: int = 0

    @property
    def all(self) -> int:
        return self.new + self.used


def stock_entries() -> QuerySet[StockEntry]:
    """The whole ledger, to read."""
    return cast("QuerySet[StockEntry]", StockEntry.objects.all())


def part_find(pk: int) -> Part | None:
    return Part.objects.filter(pk=pk).first()


def part_with_number(number: str) -> Part | None:
    """The part of this number, whatever the case of its letters; of one that is the same as another, the other."""
    parts = Part.objects.select_related("merged_into").annotate(large=Upper("number"))
    found = parts.filter(large=Upper(Value(number))).first()
    return found.merged_into or found if found else None


def parts_that_are_one() -> dict[int, int]:
    """By the key of each part that is the same as another: the other's."""
    rows = Part.objects.filter(merged_into__isnull=False).order_by("merged_into").values_list("pk", "merged_into")
    return {pk: into for pk, into in rows if into}


def parts_with_stock() -> QuerySet[Any]:
    """Parts, each with ``new``, ``used``, ``here`` (both) and ``on_order``."""
    return with_stock(Part.objects.all())


def with_stock(parts: QuerySet[Part]) -> QuerySet[Any]:
    return parts.annotate(**{name: F(f"stock__{name}") for name in ("new", "used", "here", "on_order")})


def part_list(*, words: str = "", view: str = "") -> QuerySet[Any]:
    """The same, each with its counts."""
    return with_stock(parts_found(words=words, view=view))


def parts_found(*, words: str = "", view: str = "") -> QuerySet[Part]:
    """Parts in which every word occurs in number, name, kind, maker, material or spot."""
    parts = Part.objects.filter(Q() if view else Q(merged_into=None))  # one that is another has nothing here or coming
    for word in words.split()[:6]:
        parts = parts.filter(
            Q(pk__in=parts_with(word))
            if len(word) >= GRAM
            else Q(number__icontains=word)
            | Q(name__icontains=word)
            | Q(kind__icontains=word)
            | Q(maker__icontains=word)
            | Q(material__icontains=word)
            | Q(spot__icontains=word)
        )
    # A bare truth is looked for in no index of SQLite's: hence "in".
    seen = {"short": Q(stock__short__in=[True]), "here": Q(stock__here__gt=0), "order": Q(stock__on_order__gt=0)}
    return parts.filter(seen.get(view, Q()))


def part_get(pk: int) -> Part:
    """The part with its counts; raises Part.DoesNotExist."""
    part: Part = parts_with_stock().get(pk=pk)
    return part


def stock_of(part: Part) -> Stock:
    return stocks([part.pk]).get(part.pk, Stock())


def left_of_sheet(sheets: int, cut_off: float | None, of_sheet: int) -> int:
    """How many washers the sheets on the shelf still give, of which the one begun is cut off by this share.

    >>> left_of_sheet(1, None, 32), left_of_sheet(2, 0.5, 32), left_of_sheet(1, 0.99, 32)
    (32, 48, 0)
    """
    return max(floor((sheets - (cut_off or 0.0)) * of_sheet + HAIR), 0)


def stocks(parts: Iterable[int]) -> dict[int, Stock]:
    """Counts of many parts in one query; a part never stocked is not in the answer."""
    kept = PartStock.objects.filter(part__in=list(parts)).exclude(new=0, used=0)
    return {part: Stock(new, used) for part, new, used in kept.values_list("part", "new", "used")}


def part_entries(part: Part) -> QuerySet[StockEntry]:
    """The ledger of a part and of those that are the same, newest first.

    Each entry with how many of its sort there were after it (``after``).
    """
    after = Window(Sum("change"), partition_by=[F("used")], order_by=[F("at").asc(), F("pk").asc()])
    whose = Q(part=part) | Q(part__in=Part.objects.filter(merged_into=part))
    entries = stock_entries().filter(whose).select_related("job", "charge__bill", "bone")
    return entries.annotate(after=after).order_by("-at", "-pk")


def entry_counts(part: Part) -> dict[str, int]:
    """How many lines of the part's ledger there are of each sort, by ``why``."""
    whose = Q(part=part) | Q(part__in=Part.objects.filter(merged_into=part))
    rows = stock_entries().filter(whose).order_by().values("why").annotate(lines=Count("pk"))
    return {row["why"]: row["lines"] for row in rows}


Owing = tuple[bool, int | None, int | None]
"""Second-hand or not, job, piece: what was taken for one of these can be put back from it."""


def still_out(part: Part, *, job: Job | None = None) -> dict[Owing, int]:
    """How many were taken and not put back, for each job and piece."""
    entries = stock_entries().filter(part=part, why__in=["taken", "back"])
    if job is not None:
        entries = entries.filter(job=job)
    sums = entries.order_by().values("used", "job", "piece").annotate(out=-Sum("change"))
    return {(row["used"], row["job"], row["piece"]): row["out"] for row in sums}


def sold_and_out(sold: StockEntry) -> int:
    """How many of what was sold over the counter did not come back."""
    entries = stock_entries().filter(charge=sold.charge_id, why__in=["sold", "brought"])
    return -(entries.aggregate(change=Sum("change"))["change"] or 0)


def part_orders_open(part: Part | None = None) -> QuerySet[PartOrder]:
    """Orders not yet here, the one expected first on top."""
    orders = PartOrder.objects.filter(arrived_on__isnull=True).select_related("part", "job", "piece")
    if part is not None:
        orders = orders.filter(part=part)
    return orders.order_by(F("expected_on").asc(nulls_last=True), "ordered_on", "pk")


MOST_OF_A_KIND = 75
"""Washers of one kind that a page offers; our choice."""


def washers(kinds: Iterable[str], those: Q | None = None, also: Iterable[int] = ()) -> list[Part]:
    """Parts of these kinds that lie on the shelf, so many of each kind, and by their keys ``also`` what lies elsewhere.

    Of all, or of ``those`` alone.
    """
    here = part_list(view="here").filter(those or Q())
    found = [part for kind in kinds for part in here.filter(kind=kind).order_by("number")[:MOST_OF_A_KIND]]
    missing = set(also).difference(part.pk for part in found)
    return [*found, *(parts_with_stock().filter(pk__in=missing).order_by("number") if missing else ())]
