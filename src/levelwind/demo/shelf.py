"""The invented shelf over a year: opened, taken from, ordered for, counted; and the bone box beside it."""

from dataclasses import dataclass
from datetime import timedelta
from random import Random

from levelwind.demo.names import BENCH, SUPPLIERS
from levelwind.demo.parts import ITEMS, SALVAGE, Item
from levelwind.demo.teller import Story, Teller
from levelwind.shop.editing import fields_save
from levelwind.shop.models import Part, PartOrder, Pattern
from levelwind.shop.parts.selectors.shelf import part_list
from levelwind.shop.parts.services.bones import bone_add, bone_strip
from levelwind.shop.parts.services.fits import fit_say, part_replaces
from levelwind.shop.parts.services.orders import part_order_add, part_order_arrived
from levelwind.shop.parts.services.shelf import part_add, reel_use_say, stock_counted, stock_thrown_away
from levelwind.shop.parts.services.suppliers import offer_keep
from levelwind.shop.patterns.services.limits import place_limit_set

ORDER_DAYS = (338, 312, 281, 255, 226, 199, 171, 144, 118, 90, 61, 33, 5)
"""How many days ago the shelf was gone through and what was short was ordered."""

COUNT_DAYS = (270, 181, 88)


WORN_AT, LEAST_WASHER_MM = "S35", 0.85
"""The pattern whose first drag washer has a limit of wear, and that limit, mm: invented."""

REPLACED = ("BH-L336", "BH-W336")
"""A part, and the one that is used instead of it."""


ALSO_HAD_FROM = (("BH-W285", 2, 120, 25), ("BB 5-13-4", 1, 205, 10), ("BUSH-O5", 3, 540, 1))
"""Parts that another supplier has too: which, at what cost in cents, in what packs."""


CONSUMED = (
    ("GR-50", "drag grease, tub", "g", 50.0, 1.5, 900, 3),
    ("OIL-20", "light oil, bottle", "ml", 20.0, 0.6, 640, 3),
    ("WIPE-100", "lint-free wipes, box", "pieces", 100.0, 4.0, 720, 5),
)
"""Used up on every reel: number, name, measure, how much is in one, how much a reel uses, its cost in cents, how many
there are."""


@dataclass(frozen=True, slots=True)
class Donor:
    """A dead reel in the bone box, and what has come off it: part numbers and counts."""

    code: str
    condition: str
    spot: str
    paid: int
    days_ago: int
    off: tuple[tuple[str, int], ...] = ()
    bare: bool = False
    reel: str = ""


DONORS = (
    Donor("S35", "Frame bent, gears good. No handle.", "crate A", 1500, 352, (("ST35-31", 1), ("ST35-44", 1)), True),
    Donor("S35", "Plates cracked by frost, spool good.", "crate A", 800, 240, (("ST35-27", 1),)),
    Donor("S25", "Complete but seized with salt.", "crate A", 500, 198, (("ST25-27", 1), ("ST-58", 1))),
    Donor("O5", "Spool gone, all the brass is there.", "crate B", 2000, 301, (("D-PIN", 1), ("D5/31", 1))),
    Donor("O8", "Plates warped. Star and handle good.", "crate B", 3500, 160),
    Donor("L18", "Dropped on a quay: foot broken off.", "crate C", 1000, 133, (("LS18.210", 1), ("LS18.216", 1))),
    Donor("V60", "Rotor cracked, body and gears good.", "crate D", 600, 287, (("U6-44", 1), ("U-SL", 1)), True),
    Donor("V40", "No spool, bail bent double.", "crate D", 300, 105, (("U4-27", 1),)),
    Donor("K2", "For its bail and clicker. Rest is worn out.", "crate D", 1200, 77, (("D-BS", 1),)),
    Donor("E80", "Water in the body for a winter.", "crate C", 0, 49),
    Donor("", "No name on the plate. Bronze gears, 36 teeth.", "crate B", 400, 210, reel="old star drag, no name"),
)


def shelf_open(patterns: dict[str, Pattern]) -> dict[str, Part]:
    """Enter every part with its first count, and every fit that somebody vouches for; by number."""
    shelf = {}
    for item in ITEMS:
        part = shelf[item.number] = _enter(item)
        for fits in item.fits:
            for code in fits.codes:
                for place in fits.places:
                    fit_say(
                        part=part,
                        pattern=patterns[code],
                        place=place,
                        basis=fits.basis,
                        said_by=fits.said_by,
                        sure=fits.sure,
                        note=fits.note,
                    )
    for number, supplier, cost, pack in ALSO_HAD_FROM:
        offer_keep(part=shelf[number], supplier=SUPPLIERS[supplier], cost_minor=cost, pack=pack)
    for consumed in CONSUMED:
        _consumable(*consumed)
    worn, (gone, now) = patterns[WORN_AT], REPLACED
    place_limit_set(pattern=worn, place="friction_1", dimension="thickness", new_mm=1.0, least_mm=LEAST_WASHER_MM)
    part_replaces(part=shelf[now], instead_of=shelf[gone], said_by=BENCH, note="Woven where leather was.")
    return shelf


def _consumable(number: str, name: str, measure: str, holds: float, a_reel: float, cost: int, count: int) -> None:
    part = part_add(number=number, name=name, spot="bench", count=count, by=BENCH)
    facts = {"measure": measure, "holds": holds, "cost_minor": cost, "supplier": SUPPLIERS[0]}
    fields_save(instance=part, was={key: getattr(part, key) for key in facts}, now=facts)
    reel_use_say(part=part, amount=a_reel)


def _enter(item: Item) -> Part:
    part = part_add(
        number=item.number,
        name=item.name,
        kind=item.kind,
        spot=item.spot,
        price_minor=item.price,
        count=item.start,
        by=BENCH,
    )
    facts = {
        "maker": item.maker,
        "material": item.material,
        "sizes_mm": item.sizes or {},
        "supplier": SUPPLIERS[item.supplier],
        "days_to_come": item.days,
        "cost_minor": item.cost,
        "keep_at_least": item.keep,
        "note": item.note,
    }
    fields_save(instance=part, was={name: getattr(part, name) for name in facts}, now=facts)
    return part


def restocking(teller: Teller, rng: Random) -> Story:
    """Every few weeks what is short is ordered; old parts that only turn up in salvage are ordered when they do."""
    salvage = SUPPLIERS[SALVAGE]
    for day in ORDER_DAYS:
        yield teller.clock.moment(day, 17)
        for part in part_list(view="short"):
            if part.on_order or (part.supplier == salvage and rng.random() < 0.6):
                continue
            order = part_order_add(part=part, count=max(1, round(part.keep_at_least * 1.5) - part.here), by=BENCH)
            teller.begin(arriving(teller, order, rng.choice((-2, -1, 0, 0, 1, 4))))


def arriving(teller: Teller, order: PartOrder, late: int) -> Story:
    """An order comes about when it was expected, with the morning's post."""
    days = (order.part.days_to_come or 7) + late
    yield (teller.clock.now + timedelta(days=max(1, days))).replace(hour=10, minute=20)
    part_order_arrived(order=order, by=BENCH)


def counting(teller: Teller, shelf: dict[str, Part], rng: Random) -> Story:
    """Once a quarter a few drawers are counted, and now and then one is missing."""
    for day in COUNT_DAYS:
        yield teller.clock.moment(day, 16)
        some = rng.sample(sorted(shelf), 12)
        for part in part_list(view="here").filter(number__in=some):
            if part.new:
                stock_counted(part=part, count=part.new - (rng.random() < 0.4), note="drawers counted", by=BENCH)
    yield teller.clock.moment(64, 11)
    stock_thrown_away(part=shelf["BH-F215"], count=2, note="mouse got at the bag", by=BENCH)


def donating(teller: Teller, donor: Donor, patterns: dict[str, Pattern], shelf: dict[str, Part]) -> Story:
    yield teller.clock.moment(donor.days_ago, 12)
    bone = bone_add(
        reel=donor.reel,
        pattern=patterns.get(donor.code),
        condition=donor.condition,
        spot=donor.spot,
        paid_minor=donor.paid,
    )
    if donor.off or donor.bare:
        yield teller.clock.moment(donor.days_ago - 20, 15)
        bone_strip(bone=bone, parts={shelf[number]: count for number, count in donor.off}, bare=donor.bare, by=BENCH)
