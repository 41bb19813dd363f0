"""Everything that would do for a place, in one list: parts, donor reels, standard sizes, what can be cut from sheet."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db.models.functions import Coalesce

from levelwind.core.fits.chains import Alike, Slot
from levelwind.core.fits.cutting import washers_from
from levelwind.core.quantities import percent, whole
from levelwind.core.takedown import Rules, reach
from levelwind.shop.models import BoneReel, Part, Pattern, StockEntry
from levelwind.shop.parts.selectors.fits import ALIKE_MM, Offer, Rank, offers_of, rank, said_of_places, sizes_wanted
from levelwind.shop.parts.selectors.shelf import left_of_sheet, parts_with_stock
from levelwind.shop.parts.selectors.standard import standard_part
from levelwind.shop.patterns.selectors.layouts import Layout, PlaceInPattern, pattern_layout
from levelwind.shop.people.selectors import shop_get

DONOR_SOUND = 0.7
"""How often a piece off a dead reel is as good as wanted: our choice; nobody has counted."""

CUT_SURE = 0.6
"""A washer cut to the sizes is worth about what one of the same sizes is: our choice."""

MOST_DONORS = 6
"""Donor reels offered for one place: our choice."""

SHEET = "sheet"
"""The kind of a part that washers are cut from; its sizes are length, width and thickness."""

CUT_KINDS = ("friction_washer", "washer")
"""Kinds of place whose piece is a plain ring."""


@dataclass(frozen=True, slots=True)
class OtherWay:
    """What would do and is no part of the shelf: a ``donor``, a ``standard`` size, or a ``cut`` from sheet.

    ``number`` and ``name`` are what it is written down under on the shelf once it is taken. ``part`` is the sheet it is
    cut from; of a donor's piece, the surest part that fits, by which it goes, None where nobody said one.
    """

    kind: str
    title: str
    why: str
    sure: float
    price_minor: int | None
    when: str
    now: bool
    number: str
    name: str
    bone: BoneReel | None = None
    part: Part | None = None
    of_sheet: int = 0
    """How many a whole sheet gives."""

    @property
    def key(self) -> str:
        return f"{self.kind} {self.bone.pk if self.bone else self.number}"

    @property
    def for_the_owner(self) -> str:
        """What a price calls it."""
        return f"{self.name}{', second-hand' if self.bone else ''}"


@dataclass(frozen=True, slots=True)
class StandIn:
    """One row of the list: an offer of the shelf, or another way."""

    offer: Offer | None = None
    way: OtherWay | None = None

    @property
    def key(self) -> str:
        """By what a page names this row."""
        return f"part {self.offer.part.pk}" if self.offer else self.way.key if self.way else ""

    @property
    def for_the_owner(self) -> str:
        """What a price calls it."""
        if self.offer:
            return f"{self.offer.part.name} {self.offer.part.number}"
        return self.way.for_the_owner if self.way else ""

    @property
    def part(self) -> Part | None:
        """The part of the shelf that it is, or comes off a donor as."""
        if self.offer:
            return self.offer.part
        return self.way.part if self.way and self.way.bone else None

    @property
    def price_minor(self) -> int | None:
        one = self.offer or self.way
        return one.price_minor if one else None

    @property
    def sure(self) -> float:
        one = self.offer or self.way
        assert one is not None
        return one.sure

    @property
    def order(self) -> Rank:
        if (offer := self.offer) is not None:
            return rank(offer.sure, offer.here > 0, offer.price_minor, offer.part.number, offer.against)
        assert self.way is not None
        return rank(self.way.sure, self.way.now, self.way.price_minor, self.way.title)


def standins(
    pattern: Pattern, places: Sequence[PlaceInPattern], measured: Mapping[str, Mapping[str, float]]
) -> dict[str, tuple[StandIn, ...]]:
    """Everything that would do for each of these places; ``measured`` gives caliper readings of the pieces, in mm."""
    said = said_of_places(pattern, places)
    found = offers_of(pattern, places, said, measured)
    sizes = {place.key: sizes_wanted(found[place.key], measured.get(place.key, {})) for place in places}
    donors = _donors(pattern, places, found, said.alike)
    sheets = list(parts_with_stock().filter(kind=SHEET, stock__here__gt=0)[:20]) if _may_be_cut(places, sizes) else []
    rows = {}
    for place in places:
        ways = [*donors.get(place.key, ()), *_standard(place, sizes[place.key]), *_cut(place, sizes[place.key], sheets)]
        all_of_it = [*(StandIn(offer=offer) for offer in found[place.key]), *(StandIn(way=way) for way in ways)]
        rows[place.key] = tuple(sorted(all_of_it, key=lambda row: row.order))
    return rows


def _donors(
    pattern: Pattern,
    places: Sequence[PlaceInPattern],
    found: Mapping[str, Sequence[Offer]],
    alike: Iterable[Alike],
) -> dict[str, list[OtherWay]]:
    """Donor reels with such a piece on them, as far as the ledger does not say that it came off already."""
    slots: dict[Slot, list[tuple[str, float]]] = {(pattern.pk, place.key): [(place.key, 1.0)] for place in places}
    for same in alike:
        slots.setdefault(same.there, []).append((same.here[1], same.sure))
    bones = BoneReel.objects.filter(stripped_on=None, pattern__in={pk for pk, _ in slots}).select_related("pattern")
    reels = list(bones.order_by("pk")[: MOST_DONORS * 5])
    gone = _came_off(reels)
    minutes, names = _Minutes(), {place.key: place.name for place in places}
    rows: dict[str, list[OtherWay]] = {}
    for bone in reels:
        for (pk, there), heres in slots.items():
            for here, sure in heres if pk == bone.pattern_id else ():
                off = any((bone.pk, offer.part.pk) in gone for offer in found[here])
                if not off and len(rows.get(here, ())) < MOST_DONORS and (took := minutes.of(bone, there)) is not None:
                    rows.setdefault(here, []).append(_donor(bone, sure, took, found[here], names[here]))
    return rows


class _Minutes:
    """What a place of a pattern takes to reach, each worked out once."""

    def __init__(self) -> None:
        self.hour_minor = shop_get().hour_minor
        self.known: dict[Slot, float | None] = {}
        self.layouts: dict[int, Layout] = {}
        self.took: list[tuple[Rules, str, float]] = []

    def of(self, bone: BoneReel, key: str) -> tuple[float, int] | None:
        """Minutes and their price; None where its pattern lacks the place."""
        assert bone.pattern is not None
        slot = (bone.pattern.pk, key)
        if slot not in self.known:
            if slot[0] not in self.layouts:
                self.layouts[slot[0]] = pattern_layout(bone.pattern)
            layout = self.layouts[slot[0]]
            self.known[slot] = self._by(layout.rules, key) if key in layout.by_key() else None
        took = self.known[slot]
        return None if took is None else (took, whole(took * self.hour_minor / 60))

    def _by(self, rules: Rules, key: str) -> float:
        """Most patterns come apart by the very rules of their family."""
        for known, place, minutes in self.took:
            if known is rules and place == key:
                return minutes
        minutes = reach(rules, (key,)).minutes
        self.took.append((rules, key, minutes))
        return minutes


def _donor(bone: BoneReel, sure: float, took: tuple[float, int], found: Sequence[Offer], name: str) -> OtherWay:
    minutes, price = took
    lies = f", {bone.spot}" if bone.spot else ""
    seen = f"; {bone.condition.rstrip('. ')}" if bone.condition else ""
    why = f"{whole(minutes)} min to take off it, at the shop’s hour{seen}"
    title = f"{bone.reel} in the bone box{lies}"
    part = next((offer.part for offer in found if offer.taken_unasked), None)
    number, name = (part.number, part.name) if part else ("", name)
    return OtherWay("donor", title, why, sure * DONOR_SOUND, price, "today", True, number, name, bone=bone, part=part)


def _came_off(reels: Sequence[BoneReel]) -> set[tuple[int, int]]:
    """Donor reel and part, for what has come off one of these; of parts that are one, the one that is kept."""
    if not reels:
        return set()
    off = StockEntry.objects.filter(bone__in=reels)
    return set(off.values_list("bone", Coalesce("part__merged_into", "part")))


def _standard(place: PlaceInPattern, sizes: Mapping[str, float]) -> list[OtherWay]:
    """The standard size that these sizes are most likely of."""
    one = standard_part(place.kind, sizes)
    if one is None:
        return []
    title = f"{one.name} {one.what}"
    return [OtherWay("standard", title, one.why, one.sure, None, "from any dealer", False, one.number, one.what)]


def _may_be_cut(places: Sequence[PlaceInPattern], sizes: Mapping[str, Mapping[str, float]]) -> bool:
    return any(place.kind in CUT_KINDS and "outer diameter" in sizes[place.key] for place in places)


def _cut(place: PlaceInPattern, sizes: Mapping[str, float], sheets: Sequence[Part]) -> list[OtherWay]:
    outer, inner, thick = (sizes.get(name) for name in ("outer diameter", "inner diameter", "thickness"))
    if place.kind not in CUT_KINDS or not outer or not inner:
        return []
    return [way for sheet in sheets if (way := _cut_from(sheet, outer, inner, thick))]


def _cut_from(sheet: Part, outer: float, inner: float, thick: float | None) -> OtherWay | None:
    length, width, own = (sheet.sizes_mm.get(name) for name in ("length", "width", "thickness"))
    if not length or not width or (thick and own and abs(own - thick) > ALIKE_MM):
        return None
    cut = washers_from(length, width, outer)
    left = left_of_sheet(vars(sheet)["here"], sheet.cut_off, cut.count) if cut.count else 0
    if not left:
        return None
    what = f"{sheet.number} {sheet.name}{f', {own:g} mm' if own else ''}"
    rows = "staggered" if cut.staggered else "square"
    most = f", and no pattern gives more than {cut.most}" if cut.most > cut.count else ", and no pattern gives more"
    why = f"{cut.count} of {outer:g} mm from {length:g} x {width:g} mm in {rows} rows{most}"
    if not (thick and own):
        why += "; its thickness is not compared"
    if sheet.cut_off:
        why += f"; the sheet begun is {percent(sheet.cut_off)} cut off, {left} are left"
    price = -(-sheet.price_minor // cut.count) if sheet.price_minor else None
    number, name = f"{sheet.number} {outer:g}x{inner:g}"[-40:], "washer cut from sheet"
    way = OtherWay("cut", f"Cut from {what}", why, CUT_SURE, price, "today", True, number, name, part=sheet)
    return replace(way, of_sheet=cut.count)
