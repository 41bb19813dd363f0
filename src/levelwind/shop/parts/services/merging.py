"""Two parts of the shelf that turn out to be one, and back while nothing new hangs on it."""

from collections.abc import Iterable

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Fit, Part, PartOffer, PartOrder, Replacement
from levelwind.shop.parts.selectors.shelf import stock_of
from levelwind.shop.parts.selectors.suppliers import supplier_key
from levelwind.shop.parts.services.shelf import stock_over

DETAILS = ("kind", "maker", "material", "sizes_mm", "spot", "supplier", "days_to_come", "cost_minor", "price_minor")
"""What the one part takes from the other where nothing stands."""


@transaction.atomic
def part_merge(*, gone: Part, into: Part, by: str = "") -> Part:
    """Shelf, open orders, offers, fits and replacements go over to ``into``; ``gone`` stays in the book as the same.

    Its ledger stays as written and is read with the other's; so is what was fitted, priced and billed. Said again,
    nothing is done. Raises LevelwindError where either is one with another part already.
    """
    gone, into = _held(gone, into)
    if gone.merged_into_id == into.pk:
        return into
    if gone.pk == into.pk:
        raise LevelwindError("A part is merged into another one, not into itself.")
    if gone.merged_into or into.merged_into or gone.merged_from.exists():
        raise LevelwindError(f"{gone.number} or {into.number} is one with another part already: take that back first.")
    stock = stock_of(gone)
    filled = {name: getattr(gone, name) for name in (*DETAILS, "friction") if getattr(gone, name)}
    filled = {name: value for name, value in filled.items() if not getattr(into, name)}
    had = {supplier_key(into.supplier), *(supplier_key(row.supplier) for row in into.offers.all())}
    gone.went_over = {
        "new": stock.new,
        "used": stock.used,
        "orders": list(gone.orders.filter(arrived_on=None).values_list("pk", flat=True)),
        "fits": _free(gone.fits.all(), {(fit.pattern_id, fit.place, fit.basis) for fit in into.fits.all()}),
        "replaces": list(
            gone.replaces.exclude(
                instead_of__in=[*into.replaces.values_list("instead_of", flat=True), into.pk]
            ).values_list("pk", flat=True)
        ),
        "replaced_by": list(
            gone.replaced_by.exclude(part__in=[*into.replaced_by.values_list("part", flat=True), into.pk]).values_list(
                "pk", flat=True
            )
        ),
        "offers": [row.pk for row in gone.offers.all() if supplier_key(row.supplier) not in had],
        "filled": filled,
    }
    for name, value in filled.items():
        setattr(into, name, value)
    into.save(update_fields=list(filled))
    gone.merged_into = into
    gone.save(update_fields=["merged_into", "went_over"])
    _carry(gone.went_over, into)
    for used, count in ((False, stock.new), (True, stock.used)):
        stock_over(part=gone, to=into, count=count, used=used, by=by)
    return into


@transaction.atomic
def part_merge_undo(*, gone: Part, by: str = "") -> Part:
    """These are two parts after all: what went over comes back.

    Raises LevelwindError where fewer are left on the shelf than went over, or an order that went over has come.
    """
    if gone.merged_into is None:
        return gone
    gone, into = _held(gone, gone.merged_into)
    went, stock = gone.went_over, stock_of(into)
    if stock.new < went["new"] or stock.used < went["used"]:
        raise LevelwindError(
            f"{went['new']} new and {went['used']} second-hand went over to {into.number}, and {stock.new} and "
            f"{stock.used} lie there now: they stay one."
        )
    if PartOrder.objects.filter(pk__in=went["orders"]).exclude(arrived_on=None).exists():
        raise LevelwindError(f"An order that went over to {into.number} has come and lies there: they stay one.")
    _carry(went, gone)
    taken = [name for name, value in went["filled"].items() if getattr(into, name) == value]
    for name in taken:
        setattr(into, name, getattr(Part(), name))
    into.save(update_fields=taken)
    gone.merged_into, gone.went_over = None, {}
    gone.save(update_fields=["merged_into", "went_over"])
    for used, count in ((False, went["new"]), (True, went["used"])):
        stock_over(part=into, to=gone, count=count, used=used, by=by)
    return gone


def _held(one: Part, other: Part) -> tuple[Part, Part]:
    """Both as the book has them now, locked in one order."""
    found = {row.pk: row for row in Part.objects.select_for_update().filter(pk__in=[one.pk, other.pk]).order_by("pk")}
    return found[one.pk], found[other.pk]


def _free(fits: Iterable[Fit], said: set[tuple[int, str, str]]) -> list[int]:
    """The statements that the other part has none like: of two alike, each keeps its own."""
    return [fit.pk for fit in fits if (fit.pattern_id, fit.place, fit.basis) not in said]


def _carry(went: dict[str, list[int]], to: Part) -> None:
    PartOrder.objects.filter(pk__in=went["orders"]).update(part=to)
    PartOffer.objects.filter(pk__in=went.get("offers", ())).update(part=to)  # none in what an older version merged
    Fit.objects.filter(pk__in=went["fits"]).update(part=to)
    Replacement.objects.filter(pk__in=went["replaces"]).update(part=to)
    Replacement.objects.filter(pk__in=went["replaced_by"]).update(instead_of=to)
