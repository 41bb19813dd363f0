"""What is known of a supplier, and which other suppliers have a part."""

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.editing import fields_save
from levelwind.shop.models import Part, PartOffer, Supplier
from levelwind.shop.parts.selectors.suppliers import supplier_key


@transaction.atomic
def supplier_keep(
    *,
    name: str,
    postage_minor: int = 0,
    minimum_minor: int = 0,
    free_from_minor: int | None = None,
    days: tuple[int | None, int | None, int | None] = (None, None, None),
    note: str = "",
) -> Supplier:
    """The one supplier of this name, whatever the case of its letters, as it is said now."""
    name = name.strip()
    if not name:
        raise LevelwindError("A supplier needs a name.")
    low, likely, high = days
    if any(each is None for each in days) and any(each is not None for each in days):
        raise InputError("days of the supplier", "not all of the three", "low, likely and high, or none of them")
    if low is not None and likely is not None and high is not None and not low <= likely <= high > 0:
        raise InputError("days of the supplier", f"{low}, {likely}, {high}", "low, likely, high in this order")
    row = Supplier.objects.filter(name__iexact=name).first() or Supplier(name=name)
    row.postage_minor, row.minimum_minor, row.free_from_minor = postage_minor, minimum_minor, free_from_minor
    row.days_low, row.days_likely, row.days_high, row.note = low, likely, high, note.strip()
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def offer_keep(*, part: Part, supplier: str, cost_minor: int, pack: int = 1) -> PartOffer:
    """Another supplier has the part, at this cost. Said again of the same one, the later word counts."""
    supplier = supplier.strip()
    if not supplier:
        raise LevelwindError("Who has it? An offer needs the name of a supplier.")
    if supplier_key(supplier) == supplier_key(part.supplier):
        raise LevelwindError(f"{part.supplier} is the part’s own supplier: what it costs there stands on the part.")
    if cost_minor < 1:
        raise InputError("what it costs there", cost_minor, "more than 0")
    row = part.offers.filter(supplier__iexact=supplier).first() or PartOffer(part=part, supplier=supplier)
    row.cost_minor, row.pack = cost_minor, pack
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def offer_take_back(*, offer: PartOffer) -> None:
    """That supplier has it no more."""
    offer.delete()


@transaction.atomic
def offer_made_usual(*, offer: PartOffer) -> Part:
    """Ordered there as a rule from now on: it stands on the part, and who stood there is one of the others."""
    part = Part.objects.select_for_update().get(pk=offer.part_id)
    before = part.supplier.strip(), part.cost_minor, part.pack
    now = {"supplier": offer.supplier, "cost_minor": offer.cost_minor, "pack": offer.pack, "days_to_come": None}
    offer.delete()
    fields_save(instance=part, was={name: getattr(part, name) for name in now}, now=now)
    if before[0] and before[1] and supplier_key(before[0]) != supplier_key(part.supplier):
        offer_keep(part=part, supplier=before[0], cost_minor=before[1], pack=before[2])
    return part
