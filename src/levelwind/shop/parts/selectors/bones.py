"""The bone box: donor reels, whole, not yet stripped."""

from dataclasses import dataclass

from django.db.models import F, Q, QuerySet

from levelwind.shop.models import BoneReel, Job, Part, Pattern
from levelwind.shop.parts.selectors.fits import Offer, offers
from levelwind.shop.parts.selectors.shelf import stock_entries
from levelwind.shop.patterns.selectors.layouts import pattern_places


def bone_list(*, words: str = "", stripped: bool = False) -> QuerySet[BoneReel]:
    """Donor reels that still have parts on them, or those stripped bare."""
    bones = BoneReel.objects.select_related("pattern", "job").filter(stripped_on__isnull=not stripped, mended_as=None)
    for word in words.split()[:6]:
        bones = bones.filter(
            Q(reel__icontains=word)
            | Q(condition__icontains=word)
            | Q(spot__icontains=word)
            | Q(pattern__maker__icontains=word)
            | Q(pattern__model__icontains=word)
        )
    return bones.order_by(F("stripped_on").desc(), "reel", "pk")


def donors_for(job: Job) -> list[BoneReel]:
    """Donor reels of the job's own pattern."""
    return list(bone_list().filter(pattern=job.pattern_id)) if job.pattern_id else []


@dataclass(frozen=True, slots=True)
class Salvage:
    """A part that may be on a donor reel: the places it serves there, and how many they hold."""

    offer: Offer
    places: tuple[str, ...]
    count: int


def salvage(pattern: Pattern | None) -> tuple[Salvage, ...]:
    """Parts worth looking for on a donor reel, each once; nothing while its pattern is not named."""
    if pattern is None:
        return ()
    places = pattern_places(pattern)
    found = offers(pattern, places)
    parts: dict[int, Salvage] = {}
    for place in places:
        for offer in [offer for offer in found[place.key] if offer.taken_unasked][:1]:
            had = parts.get(offer.part.pk, Salvage(offer, (), 0))
            parts[offer.part.pk] = Salvage(offer, (*had.places, place.name), had.count + place.count)
    return tuple(parts.values())


def came_off(bone: BoneReel) -> tuple[tuple[Part, int], ...]:
    """What has come off a donor reel already."""
    entries = stock_entries().filter(bone=bone).select_related("part")
    counts: dict[Part, int] = {}
    for entry in entries:
        counts[entry.part] = counts.get(entry.part, 0) + entry.change
    return tuple(counts.items())


def box_of(bone: BoneReel) -> tuple[int, int]:
    """How many reels came in the same box, and what was paid for all of them; (1, its own) for one by itself."""
    if not bone.box:
        return 1, bone.paid_minor
    paid = list(BoneReel.objects.filter(box=bone.box).values_list("paid_minor", flat=True))
    return len(paid), sum(paid)
