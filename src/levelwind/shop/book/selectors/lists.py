"""Each kind of list as it goes out, a row each: what the importer reads in again, column by column."""

from collections.abc import Iterator

from django.utils import timezone

from levelwind.documents.money import Currency
from levelwind.reference.families import family
from levelwind.shop.book.selectors.columns import KINDS
from levelwind.shop.book.selectors.tables import AT_ONCE, in_money
from levelwind.shop.book.sheets import Sheet
from levelwind.shop.models import ENDED, Fit, Job, MoneyEntry, Owner, PatternPlace, PlaceLimit, Replacement
from levelwind.shop.parts.selectors.shelf import parts_with_stock
from levelwind.shop.parts.selectors.sizes import sizes_written
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.people.selectors import currency, shop_get

LEFT_OUT = {
    "owners": ("first", "address_2", "postcode", "town", "region", "country"),
    "shelf": (),
    "fits": ("kind",),
    "limits": (),
    "replacements": (),
    "jobs": (),
}
"""Fields that the book keeps in another one's column."""


def list_sheets() -> Iterator[Sheet]:
    """The lists, each under the headings that the importer knows."""
    money = currency(shop_get())
    rows = {"owners": _owners(), "shelf": _shelf(money), "fits": _fits(), "jobs": _jobs(money)}
    rows |= {"limits": _limits(), "replacements": _replacements()}
    for key, kind in KINDS.items():
        shown = [field for field in kind.fields if field.key not in LEFT_OUT[key]]
        heads = [f"{field.label} ({money.code})" if field.holds == "money" else field.label for field in shown]
        yield Sheet(kind.sheets[0], tuple(head[:1].upper() + head[1:] for head in heads), rows[key])


def _owners() -> Iterator[list[object]]:
    for owner in Owner.objects.filter(merged_into=None, kind="").order_by("pk").iterator(AT_ONCE):
        since = timezone.localdate(owner.since)
        yield [owner.name, owner.email, owner.phone, owner.address, owner.note, since]


def _shelf(money: Currency) -> Iterator[list[object]]:
    for part in parts_with_stock().filter(merged_into=None).order_by("pk").iterator(AT_ONCE):
        sizes, kind = sizes_written(part.sizes_mm, "; "), part.kind.replace("_", " ")
        sums = [in_money(part.cost_minor, money), in_money(part.price_minor, money)]
        yield [
            *(part.number, part.name, kind, part.maker, part.material, sizes, part.spot, part.supplier),
            *(part.days_to_come, *sums, part.pack, part.last_buy_years, part.a_reel, part.cut_off),
            *(part.keep_at_least, part.new, part.used, part.note),
        ]


def _fits() -> Iterator[list[object]]:
    """A row for each fit, and one for each place whose own number no fit stands beside."""
    numbers = PatternPlace.objects.exclude(part_number="").select_related("pattern").order_by("pk")
    own = {(place.pattern_id, place.key): place for place in numbers}
    names: dict[int, dict[str, str]] = {}
    for fit in Fit.objects.select_related("part", "pattern").order_by("pk").iterator(AT_ONCE):
        place = own.pop((fit.pattern_id, fit.place), None)
        yield [
            *_reel(fit, names, fit.place),
            *(fit.part.number, place.part_number if place else "", fit.part.name),
            *(fit.get_basis_display(), fit.said_by, fit.sure, "yes" if fit.serves else "no", fit.note),
        ]
    for place in own.values():
        yield [*_reel(place, names, place.key), "", place.part_number, "", "", "", "", "", ""]


def _limits() -> Iterator[list[object]]:
    names: dict[int, dict[str, str]] = {}
    for row in PlaceLimit.objects.select_related("pattern").order_by("pk").iterator(AT_ONCE):
        sizes = (row.new_mm, row.least_mm, row.most_mm)
        yield [*_reel(row, names, row.place), row.dimension, *sizes, row.source]


def _replacements() -> Iterator[list[object]]:
    """Those of parts that are one with another stand with that one already."""
    said = Replacement.objects.filter(part__merged_into=None, instead_of__merged_into=None)
    for row in said.select_related("part", "instead_of").order_by("pk").iterator(AT_ONCE):
        yield [row.part.number, row.instead_of.number, row.said_by, row.sure, row.note]


def _reel(row: Fit | PatternPlace | PlaceLimit, names: dict[int, dict[str, str]], key: str) -> list[object]:
    """Maker, model, size, family and the place by its name, or by its key where two have one name."""
    pattern = row.pattern
    if pattern.pk not in names:
        found = {place.key: place.name for place in pattern_places(pattern)}
        many = list(found.values())
        names[pattern.pk] = {each: name if many.count(name) == 1 else each for each, name in found.items()}
    place = names[pattern.pk].get(key, key)
    return [pattern.maker, pattern.model, pattern.size, family(pattern.family).name, place]


def _jobs(money: Currency) -> Iterator[list[object]]:
    charged: dict[int | None, int] = {}
    for job, amount in MoneyEntry.objects.filter(kind__in=("charge", "tax", "credit")).values_list(
        "job", "amount_minor"
    ):
        charged[job] = charged.get(job, 0) + amount
    for job in Job.objects.filter(stage__in=ENDED).select_related("owner", "pattern").order_by("pk").iterator(AT_ONCE):
        came, went = timezone.localdate(job.booked_in_at), timezone.localdate(job.stage_since)
        pattern = job.pattern
        yield [
            *(job.owner.name, job.owner.email, job.owner.phone, job.tag, job.reel, job.serial, job.complaint),
            *(job.came_with, job.looked_like, came, max(came, went), job.get_stage_display()),
            *((pattern.maker, pattern.model, pattern.size) if pattern else ("", "", "")),
            *(job.done_note, job.verdict, in_money(charged.get(job.pk), money)),
        ]
