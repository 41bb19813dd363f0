"""Writing owners and the shop's own row into the book."""

from django.db import transaction

from levelwind.shop.models import Owner, Shop

PASSING = "Over the counter, no name"
OWN = "The shop’s own"


@transaction.atomic
def owner_add(*, owner: Owner) -> Owner:
    """Write an unsaved owner into the book. Raises django's ValidationError where the model refuses a value."""
    owner.full_clean()
    owner.save(force_insert=True)
    return owner


def owner_passing() -> Owner:
    """Everybody who buys without a name, as one owner of the book; written down at the first sale."""
    return Owner.objects.get_or_create(kind="passing", defaults={"name": PASSING})[0]


def owner_shop() -> Owner:
    """The shop as the owner of its own reels; written down when the first is taken in."""
    return Owner.objects.get_or_create(kind="shop", defaults={"name": OWN})[0]


def shop_open() -> Shop:
    """The shop's row, made with the defaults if the book has none yet, so that its form can save field by field."""
    return Shop.objects.get_or_create(pk=1)[0]


def scale_keep(*, most_N: float) -> None:
    """Keep what the shop's hanging scale can read at most, in newtons; the rest of the row may be unfilled yet."""
    shop = shop_open()
    shop.scale_most_N = most_N
    shop.save(update_fields=["scale_most_N"])
