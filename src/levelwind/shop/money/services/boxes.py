"""A box of reels taken in for their parts, with what was paid for all of them."""

import re

from django.db import transaction

from levelwind.core.errors import InputError
from levelwind.shop.models import BoneReel, Owner, Pattern
from levelwind.shop.money.tax import shared
from levelwind.shop.parts.services.bones import bone_add
from levelwind.shop.people.services import owner_shop

MOST_IN_A_BOX = 100
"""Reels taken in at once; our choice."""
COUNTED = re.compile(r"(?P<count>[1-9]\d?)\s*[x×]\s+(?P<name>\S.*)")
"""Several of one kind on a line."""


@transaction.atomic
def bone_box_add(*, text: str, paid_minor: int = 0, spot: str = "", press: str = "") -> list[BoneReel]:
    """A box of dead reels, one a line ("3 × Skerry 50"), with what was paid for all: shared over them alike.

    The same press again adds nothing. A line that names a pattern is of that pattern.
    """
    Owner.objects.select_for_update().get(pk=owner_shop().pk)  # one box after the other
    here = list(BoneReel.objects.filter(box=press)) if press else []
    if here:
        return here
    names = [name for line in filter(str.strip, text.splitlines()) for name in _counted(line)]
    if not 1 <= len(names) <= MOST_IN_A_BOX:
        raise InputError("reels in the box", len(names), f"from 1 to {MOST_IN_A_BOX}, one a line")
    known = {str(pattern).casefold(): pattern for pattern in Pattern.objects.filter(merged_into=None)}
    shares = shared(paid_minor, [1] * len(names))
    bones = [
        bone_add(reel=name[:120], pattern=known.get(name.casefold()), spot=spot, paid_minor=share)
        for name, share in zip(names, shares, strict=True)
    ]
    BoneReel.objects.filter(pk__in=[bone.pk for bone in bones]).update(box=press)
    return bones


def _counted(line: str) -> list[str]:
    found = COUNTED.fullmatch(line.strip())
    return [found["name"]] * int(found["count"]) if found else [" ".join(line.split())]
