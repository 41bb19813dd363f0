"""Fills an empty book with the invented shop, through the services, from a fixed seed."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from random import Random

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.demo.before import lists_brought_in
from levelwind.demo.case import Shopful
from levelwind.demo.clock import scripted_clock
from levelwind.demo.names import SHOP, SUPPLIERS
from levelwind.demo.patterns import pattern_book
from levelwind.demo.pictures import Album
from levelwind.demo.shelf import DONORS, counting, donating, restocking, shelf_open
from levelwind.demo.signs import signs_write
from levelwind.demo.stays import CURRENT, Arrival, past
from levelwind.demo.story import arriving, unfinished
from levelwind.demo.teller import Teller
from levelwind.shop.editing import fields_save
from levelwind.shop.models import Owner
from levelwind.shop.money.services.flat import flat_add, own_hour_keep, yearly_cost_add
from levelwind.shop.money.services.seen_boxes import seen_box_begin
from levelwind.shop.parts.services.suppliers import supplier_keep
from levelwind.shop.people.services import day_off_add, hours_keep, shop_open

SEED = 4417
OPENED = 364
"""How many days ago the book begins; the year before that comes into it from lists."""
HOURS = (5.0, 5.0, 3.0, 5.0, 4.0, 2.0, 0.0)
"""At the bench, Monday first: told when the story is over, so that the past was promised by how long reels took."""
POSTAGE = (
    (SUPPLIERS[0], 690, 0, 7500),
    (SUPPLIERS[1], 850, 2000, None),
    (SUPPLIERS[2], 1200, 0, None),
    (SUPPLIERS[3], 540, 1500, 6000),
)
"""By supplier: a parcel's postage, the smallest order, the goods from which postage is free; in cents."""
FAIR_IN = 9
"""Days until two days off."""

OWN_HOUR, DESK_HOURS = 2000, Decimal(6)
YEARLY = (
    ("Rent of the shed", 252_000),
    ("Power and heating", 61_000),
    ("Insurance", 38_500),
    ("Boxes and padding", 24_000),
)
"""What is paid by the year, in cents."""
FLAT = (
    ("Full service, star drag", "star_drag", 8500, None),
    ("Full service, fixed spool", "fixed_spool", 7200, None),
    ("Old line off, new line on", "", 1200, 12),
)
SALE = "Jumble sale at the quay, third table"
BOX = (
    ("Estermoor Hethering 30", "", 2, 3, 1, 11000),
    ("Estermoor Hethering 50", "", 1, 2, 4, 8500),
    ("Old fly reels, no name", "single_action", 0, 2, 5, 4500),
)
"""Kind, how many turn well, turn, do not turn, and what one brings mended."""


@transaction.atomic
def seed() -> None:
    """Write the invented shop's two years into an empty book: all of it, or nothing where something goes wrong.

    The same every time, counted from today. Raises LevelwindError where the book has anything in it already.
    """
    if Owner.objects.exists():
        raise LevelwindError("The book is not empty: the demonstration shop would be mixed into it.")
    with scripted_clock() as clock:
        tell(Teller(clock), (*past(Random(SEED)), *CURRENT))
    hours_keep(hours=HOURS)
    fair = timezone.localdate() + timedelta(days=FAIR_IN)
    for name, postage, minimum, free_from in POSTAGE:
        supplier_keep(name=name, postage_minor=postage, minimum_minor=minimum, free_from_minor=free_from)
    day_off_add(first=fair, last=fair + timedelta(days=1), what="the harbour fair")
    _what_it_asks()
    _box_at_a_sale()


def _what_it_asks() -> None:
    """What it pays by the year, and its own prices. Nobody has held prices against an hour's cost yet."""
    own_hour_keep(own_hour_minor=OWN_HOUR, desk_hours=DESK_HOURS)
    for text, amount in YEARLY:
        yearly_cost_add(text=text, amount_minor=amount)
    for text, family, amount, minutes in FLAT:
        flat_add(text=text, family=family, amount_minor=amount, minutes=minutes)


def _box_at_a_sale() -> None:
    """Seen and not bought yet."""
    seen = seen_box_begin()
    fields_save(instance=seen, was={"where": "", "asked_minor": None}, now={"where": SALE, "asked_minor": 9500})
    for row, said in zip(seen.reels.all(), BOX, strict=False):
        now = dict(zip(("text", "family", "good", "turns", "dead", "whole_minor"), said, strict=True))
        fields_save(instance=row, was={name: getattr(row, name) for name in now}, now=now)


def tell(teller: Teller, arrivals: Sequence[Arrival]) -> None:
    """Open the shop a year ago with its pattern book, old lists and shelf; tell what came of these arrivals since."""
    teller.clock.now = teller.clock.moment(OPENED)
    shop = shop_open()
    fields_save(instance=shop, was={name: getattr(shop, name) for name in SHOP}, now=SHOP)
    patterns = pattern_book()
    owners = lists_brought_in(teller.clock, Random(f"{SEED} before"))
    signs_write(patterns)
    shelf = shelf_open(patterns)
    place = Shopful(teller, owners, patterns, Album())
    teller.begin(restocking(teller, Random(f"{SEED} orders")))
    teller.begin(counting(teller, shelf, Random(f"{SEED} counts")))
    for donor in DONORS:
        teller.begin(donating(teller, donor, patterns, shelf))
    for number, arrival in enumerate(arrivals):
        teller.begin(arriving(place, arrival, Random(f"{SEED} {number}")))
    teller.begin(unfinished(place))
    teller.tell()
