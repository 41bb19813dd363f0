"""Bookings begun and not finished."""

from dataclasses import dataclass

from django.db.models import Count

from levelwind.shop.models import Draft, Owner, Pattern

START = {"reels": [1], "away": [], "parcel_came_by": "post"}
"""What a draft holds before anything is typed: one reel without a name, come by post."""


def field_name(key: int, name: str) -> str:
    """Under which name a draft keeps a field of one of its reels.

    >>> field_name(2, "serial")
    'reel2_serial'
    """
    return f"reel{key}_{name}"


@dataclass(frozen=True, slots=True)
class DraftReel:
    """A reel of a draft: its key there, its place on the page, and what its owner calls it so far."""

    key: int
    number: int
    name: str

    @property
    def title(self) -> str:
        """What to call it until it has a tag."""
        return f"Reel {self.number}" + (f": {self.name}" if self.name else ", not named yet")


def draft_reels(draft: Draft, which: str = "reels") -> list[DraftReel]:
    """The draft's reels in order; with ``which="away"`` those taken away again, which can still be put back."""
    keys = draft.data.get(which, [])
    return [
        DraftReel(key, number, draft.data.get(field_name(key, "reel"), "").strip())
        for number, key in enumerate(keys, 1)
    ]


def draft_owner(draft: Draft) -> Owner | None:
    """The owner chosen for it, if one was chosen and is still in the book."""
    return Owner.objects.filter(pk=draft.data.get("owner") or 0).first()


@dataclass(frozen=True, slots=True)
class DraftRow:
    draft: Draft
    owner: str
    reels: tuple[str, ...]
    photo_count: int


def draft_list() -> list[DraftRow]:
    """Bookings in which anything was typed or photographed, the last one touched first."""
    drafts = [
        draft
        for draft in Draft.objects.annotate(photo_count=Count("photos")).order_by("-saved_at", "-pk")
        if draft.data != START or draft.photo_count
    ]
    owners = Owner.objects.in_bulk({draft.data["owner"] for draft in drafts if draft.data.get("owner")})
    return [_row(draft, owners, draft.photo_count) for draft in drafts]


def _row(draft: Draft, owners: dict[int, Owner], photo_count: int) -> DraftRow:
    chosen = owners.get(draft.data.get("owner", 0))
    reels = tuple(reel.name or reel.title for reel in draft_reels(draft))
    return DraftRow(draft, chosen.name if chosen else draft.data.get("owner_name", ""), reels, photo_count)


def patterns_to_pick() -> dict[int, Pattern]:
    """The pattern book by primary key, in its order, without what is retired: read once for a booking of many reels."""
    return {pattern.pk: pattern for pattern in Pattern.objects.filter(retired_on=None)}


def draft_get(pk: int) -> Draft | None:
    """The booking, or None once it is finished or thrown away."""
    return Draft.objects.filter(pk=pk).first()
