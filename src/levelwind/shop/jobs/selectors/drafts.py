"""Bookings begun and not finished."""

from dataclasses import dataclass

from django.db.models import Count

from levelwind.shop.jobs.selectors.stays import Earlier, earlier_reels, known_before
from levelwind.shop.models import Draft, Job, Owner, Pattern

START = {"reels": [1], "away": [], "parcel_came_by": "post"}
"""What a draft holds before anything is typed: one reel without a name, come by post."""

STAY = "stay"
"""Under this a reel of a draft keeps which job was its stay before."""

SEEN = "seen"
"""Under this a reel of a draft keeps what was seen on it by who did not know it: what was said, by look."""

CLEAR_FAMILY = "clear_family"
"""Under this it keeps the family that was clear from them."""


def field_name(key: int, name: str) -> str:
    """Under which name a draft keeps a field of one of its reels.

    >>> field_name(2, "serial")
    'reel2_serial'
    """
    return f"reel{key}_{name}"


@dataclass(frozen=True, slots=True)
class DraftReel:
    """A reel of a draft: its key there, its place on the page, what its owner calls it so far, and its number."""

    key: int
    number: int
    name: str
    serial: str = ""

    @property
    def title(self) -> str:
        """What to call it until it has a tag."""
        return f"Reel {self.number}" + (f": {self.name}" if self.name else ", not named yet")

    @property
    def row(self) -> str:
        """The same as the head of its row among many, with its serial number."""
        return f"{self.title}, No. {self.serial}" if self.serial else self.title


def draft_reels(draft: Draft, which: str = "reels") -> list[DraftReel]:
    """The draft's reels in order; with ``which="away"`` those taken away again, which can still be put back."""
    keys = draft.data.get(which, [])
    return [
        DraftReel(key, number, *(draft.data.get(field_name(key, name), "").strip() for name in ("reel", "serial")))
        for number, key in enumerate(keys, 1)
    ]


def draft_reel(draft: Draft, key: int) -> DraftReel | None:
    """One reel of the draft by its key; None where it is not there, or was taken away."""
    return next((reel for reel in draft_reels(draft) if reel.key == key), None)


def draft_seen(draft: Draft, key: int) -> dict[str, str]:
    """What was seen on this reel so far, by look."""
    return dict(draft.data.get(field_name(key, SEEN)) or {})


def draft_clear_family(draft: Draft, key: int) -> str:
    """The family that those looks tell clearly, if they do."""
    return str(draft.data.get(field_name(key, CLEAR_FAMILY)) or "")


def draft_pattern(draft: Draft, key: int) -> Pattern | None:
    """The pattern picked for this reel."""
    picked = str(draft.data.get(field_name(key, "pattern")) or "")
    return Pattern.objects.filter(pk=int(picked)).first() if picked.isdecimal() and len(picked) < 10 else None


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


def draft_get(pk: int) -> Draft | None:
    """The booking, or None once it is finished or thrown away."""
    return Draft.objects.filter(pk=pk).first()


@dataclass(frozen=True, slots=True)
class WasHere:
    """Of one reel of a draft: the stay before that was chosen, or those to choose from."""

    key: int
    chosen: Job | None
    asked: tuple[Earlier, ...]

    @property
    def before(self) -> str:
        """What a button says ahead of the job it chooses."""
        return f"same {self.key}-"


def draft_earlier(draft: Draft) -> dict[int, WasHere]:
    """By the reels' keys: was it here before?"""
    owner, reels = draft_owner(draft), draft_reels(draft)

    def typed(reel: DraftReel, name: str) -> str:
        return str(draft.data.get(field_name(reel.key, name)) or "").strip()

    chosen = Job.objects.select_related("owner").in_bulk([int(pk) for reel in reels if (pk := typed(reel, STAY))])
    serials = {typed(reel, "serial") for reel in reels} - {""}
    known = [job for job in known_before(owner, serials) if job.pk not in chosen] if owner or serials else []
    found = {}
    for reel in reels:
        job, pattern = chosen.get(int(typed(reel, STAY) or 0)), typed(reel, "pattern")
        pattern_pk = int(pattern) if pattern.isdecimal() else None
        serial = typed(reel, "serial")
        asked = earlier_reels(known, serial=serial, pattern_pk=pattern_pk, reel=reel.name, owner=owner)
        found[reel.key] = WasHere(reel.key, job, () if job else asked)
    return found
