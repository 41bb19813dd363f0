"""Which part serves which place, with who says so and how sure."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from operator import or_

from django.db.models import F, Q

from levelwind.core.fits.chains import Alike, Chain, Instead, Serves, Slot, denied, inferred
from levelwind.core.writing import written
from levelwind.shop.models import Fit, Part, Pattern
from levelwind.shop.models.part_sizes import SizeOf
from levelwind.shop.parts.selectors.shelf import parts_with_stock
from levelwind.shop.parts.selectors.statements import LIKE, SAME_NUMBER_SURE, Said, said_around
from levelwind.shop.parts.selectors.tried import Tried
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern

FEWEST_SIZES = 2
"""Sizes that tell a part; one alone is met in too many: our choice."""

ALIKE_MM = 0.1
ALIKE_SURE = 0.6
"""Judgements: two sizes that agree to a caliper's tenth are worth a try, and no more than that."""

HAIR = 1e-9
"""mm; what rounding may add."""

SHIM_MM = 0.5
SHIM_SURE = 0.4
"""Judgements: what is thinner by no more than this is made up with a shim, and is worth less than a whole one."""

EVEN = 0.5
"""What is less sure than this is a guess, and stands behind what has to be waited for: our choice."""

MOST_GUESSED = 8
"""Parts offered for one place that nobody said anything of there: our choice."""

MOST_WEIGHED = 4 * MOST_GUESSED
"""Chains for one place, the surest, of which those of one kind of part are offered: our choice."""

MOST_SIZED = 2 * MOST_GUESSED
"""Parts of the sizes wanted that are looked at for each place, those on the shelf first: our choice."""


@dataclass(frozen=True, slots=True)
class Saying:
    """One reason to hold that a part fits, or does not."""

    basis: str
    words: str
    sure: float
    said_by: str
    note: str = ""
    fit: int | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """A part that serves a place, with every reason given for it, the surest first, and every one ``against`` it."""

    part: Part
    sayings: tuple[Saying, ...]
    new: int
    used: int
    on_order: int
    against: tuple[Saying, ...] = ()

    @property
    def sure(self) -> float:
        return self.sayings[0].sure

    @property
    def here(self) -> int:
        return self.new + self.used

    @property
    def taken_unasked(self) -> bool:
        """Whether it may be taken without a person looking: nobody contradicts it, and it is more than a guess."""
        return not self.against and self.sure >= EVEN

    @property
    def price_minor(self) -> int | None:
        return self.part.price_minor or None

    @property
    def when(self) -> str:
        """When it can be in the hand."""
        if self.here:
            return "now"
        if self.on_order:
            return "on its way"
        of = f" from {self.part.supplier}" if self.part.supplier else ""
        days = self.part.days_to_come
        return f"about {days} days{of}" if days is not None else f"to be ordered{of}, nobody said how long it takes"


Rank = tuple[bool, bool, bool, float, bool, float, str]
"""What a list of stand-ins is sorted by."""

Reasons = dict[tuple[str, int], list[Saying]]
"""By place and part."""


def offers(
    pattern: Pattern, places: Sequence[PlaceInPattern], measured: Mapping[str, Mapping[str, float]] | None = None
) -> dict[str, tuple[Offer, ...]]:
    """What fits each of these places of a pattern; ``measured`` gives caliper readings of the pieces in hand, in mm.

    What somebody contradicts comes last. Before it parts on the shelf come before parts that are not; among those the
    surest first.
    """
    return offers_of(pattern, places, said_of_places(pattern, places), measured)


def said_of_places(pattern: Pattern, places: Sequence[PlaceInPattern]) -> Said:
    return said_around({(pattern.pk, place.key): place.part_number for place in places})


def offers_of(
    pattern: Pattern,
    places: Sequence[PlaceInPattern],
    said: Said,
    measured: Mapping[str, Mapping[str, float]] | None = None,
) -> dict[str, tuple[Offer, ...]]:
    """The same, of what was read from the book already."""
    slots = {(pattern.pk, place.key): place for place in places}
    reasons: Reasons = {}
    guessed: dict[str, tuple[Chain, ...]] = {}
    for slot, place in slots.items():
        for part, saying in said_of(said, slot):
            reasons.setdefault((place.key, part), []).append(saying)
        guessed[place.key] = inferred(said.book, slot, MOST_WEIGHED)
    against = {place.key: denied(said.book, slot) for slot, place in slots.items()}
    kept = _best_guesses(guessed)
    names = names_of([*kept, *(chain for some in against.values() for chain in some)], places)
    for chain in kept:
        reasons.setdefault((chain.slot[1], chain.part), []).append(guess(chain, names))
    parts = {part.pk: part for part in parts_with_stock().filter(pk__in={pk for _, pk in reasons})}
    if measured is not None:
        _add_alike(reasons, parts, places, measured)
    found: dict[str, list[Offer]] = {place.key: [] for place in places}
    for (key, pk), some_reasons in reasons.items():
        no = [_no(chain, said, names) for chain in against[key] if chain.part == pk]
        found[key].append(_offer(parts[pk], some_reasons, no))
    return {key: tuple(sorted(some, key=_first)) for key, some in found.items()}


def said_of(said: Said, slot: Slot) -> list[tuple[int, Saying]]:
    """What is said of this slot itself: its number, and whoever vouches for a part."""
    number = Saying("number", "same number", SAME_NUMBER_SURE, "the pattern book")
    return [
        *((part, number) for part in said.numbered.get(slot, ())),
        *((fit.part_id, _word(fit)) for fit in said.fits.get(slot, ()) if fit.serves),
        *((each.part, by_jobs(each)) for each in said.tried.get(slot, ()) if each.serves),
    ]


def by_jobs(tried: Tried) -> Saying:
    """What the shop's own jobs say, with their counts."""
    return Saying("jobs", tried.words, tried.sure, "the shop’s jobs")


def _word(fit: Fit) -> Saying:
    return Saying(fit.basis, fit.get_basis_display(), fit.sure, fit.said_by, fit.note, fit.pk)


@dataclass(frozen=True, slots=True)
class Names:
    """What the sentences call patterns, parts, and the places of the pattern in hand."""

    patterns: Mapping[int, str]
    parts: Mapping[int, str]
    places: Mapping[str, str]


def names_of(chains: Iterable[Chain], places: Sequence[PlaceInPattern]) -> Names:
    links = [link for chain in chains for link in chain.links]
    slots = {each.there for each in links if isinstance(each, Alike)} | {
        each.slot for each in links if isinstance(each, Serves)
    }
    parts = {each.of for each in links if isinstance(each, Instead)} | {
        each.part for each in links if not isinstance(each, Alike)
    }
    patterns = Pattern.objects.filter(pk__in={pk for pk, _ in slots})
    return Names(
        {one.pk: str(one) for one in patterns},
        dict(Part.objects.filter(pk__in=parts).values_list("pk", "number")),
        {place.key: place.name for place in places},
    )


def guess(chain: Chain, names: Names) -> Saying:
    """A chain as a reason, link by link."""
    words = "; ".join(word for word in _link_words(chain, names) if word)
    return Saying("inferred", "nobody says so, but it follows", chain.sure, "", words)


def _link_words(chain: Chain, names: Names) -> Iterable[str]:
    first = chain.slot
    serving: list[Serves] = []
    for link in chain.links:
        if isinstance(link, Alike):
            first = link.there
            same = "has the same here" if link.why == LIKE else "has the same number"
            yield f"{_where(link.there, chain.slot, names)} {same}"
        elif isinstance(link, Instead):
            yield f"{names.parts[link.part]} replaces {names.parts[link.of]}"
        elif not serving:
            serving.append(link)
            yield f"{names.parts[link.part]} fits {'here' if first == chain.slot else 'there'}"
        elif len(serving) == 1:
            serving.append(link)
        else:
            where = _where(link.slot, chain.slot, names)
            yield f"{names.parts[serving[1].part]} and {names.parts[link.part]} both fit {where}"


def _where(slot: Slot, here: Slot, names: Names) -> str:
    if slot[0] == here[0]:
        return f"the {names.places.get(slot[1], slot[1])}"
    return f"the {names.patterns.get(slot[0], 'pattern')}"


def _no(chain: Chain, said: Said, names: Names) -> Saying:
    """A word against a part, with whoever said it."""
    link = chain.links[-1]
    assert isinstance(link, Serves)
    denied_here = (fit for fit in said.fits.get(link.slot, ()) if fit.part_id == chain.part and not fit.serves)
    fit = next((fit for fit in denied_here if fit.sure == link.sure), None)
    if fit is None:
        tried = next(each for each in said.tried[link.slot] if each.part == chain.part and not each.serves)
        return replace(by_jobs(tried), sure=chain.sure)
    where = "" if link.slot == chain.slot else f"in {_where(link.slot, chain.slot, names)}"
    return replace(word_against(fit), sure=chain.sure, note=", ".join(word for word in (where, fit.note) if word))


def word_against(fit: Fit) -> Saying:
    return Saying(fit.basis, "it does not fit", fit.sure, fit.said_by, fit.note, fit.pk)


def _best_guesses(guessed: Mapping[str, Sequence[Chain]]) -> list[Chain]:
    """The surest few for each place; parts that do for one another are of one kind, as far as theirs are known."""
    served = {
        link.part for some in guessed.values() for chain in some for link in chain.links if isinstance(link, Serves)
    }
    kinds = dict(Part.objects.filter(pk__in=served).exclude(kind="").values_list("pk", "kind")) if served else {}

    def of_one_kind(chain: Chain) -> bool:
        mine = {kinds[link.part] for link in chain.links if isinstance(link, Serves) and link.part in kinds}
        return not chain.swaps or len(mine) < 2

    return [chain for some in guessed.values() for chain in [one for one in some if of_one_kind(one)][:MOST_GUESSED]]


def sizes_wanted(offers: Sequence[Offer], measured: Mapping[str, float]) -> Mapping[str, float]:
    """As new, by the surest part that is known to fit and has sizes; else as the piece in hand was measured."""
    sized = (offer.part.sizes_mm for offer in offers if offer.sure > EVEN and not offer.against)
    return next((sizes for sizes in sized if len(sizes) >= FEWEST_SIZES), measured)


def _add_alike(
    reasons: Reasons,
    parts: dict[int, Part],
    places: Sequence[PlaceInPattern],
    measured: Mapping[str, Mapping[str, float]],
) -> None:
    """Parts of the sizes that were measured, or where nothing was, of those of a part that is said to fit."""
    wanted = dict(measured)
    for (key, pk), some in reasons.items():
        if key not in measured and max(saying.sure for saying in some) > EVEN and len(parts[pk].sizes_mm) > 1:
            wanted.setdefault(key, parts[pk].sizes_mm)
    alike = _alike(places, wanted, reasons, parts)
    found = [row for row in alike if row[0] in measured or (row[0], row[1]) not in reasons]
    found = [
        (key, pk, saying if key in measured else replace(saying, said_by="the shelf")) for key, pk, saying in found
    ]
    new = {pk for _, pk, _ in found} - parts.keys()
    parts.update({part.pk: part for part in parts_with_stock().filter(pk__in=new)})
    for key, pk, saying in found:
        reasons.setdefault((key, pk), []).append(saying)


def _alike(
    places: Sequence[PlaceInPattern],
    measured: Mapping[str, Mapping[str, float]],
    said: Collection[tuple[str, int]],
    parts: Mapping[int, Part],
) -> list[tuple[str, int, Saying]]:
    """Parts of the place's kind that agree in two sizes or more with what was measured, or need a shim.

    All that are ``said`` to fit there, and of the others the surest few, those on the shelf first.
    """
    asked = [(place, sizes) for place in places if len(sizes := measured.get(place.key, {})) >= FEWEST_SIZES]
    # A drag has six washers of one size: looked for once.
    different = {(place.kind, *sorted(sizes.items())): (place.kind, sizes) for place, sizes in asked}
    found = _of_these_sizes(list(different.values())) if asked else []
    kept: list[tuple[str, int, Saying]] = []
    for place, sizes in asked:
        told = [(pk, parts[pk].kind, parts[pk].sizes_mm) for key, pk in said if key == place.key]
        known = [*told, *(row for row in found if (place.key, row[0]) not in said)]
        alike = [
            (place.key, pk, saying)
            for pk, kind, part_sizes in known
            if kind == place.kind and (saying := _sized(sizes, part_sizes))
        ]
        alike.sort(key=lambda row: -row[2].sure)
        kept += [row for row in alike if row[:2] in said]
        kept += [row for row in alike if row[:2] not in said][:MOST_GUESSED]
    return kept


def _of_these_sizes(asked: Sequence[tuple[str, Mapping[str, float]]]) -> list[tuple[int, str, dict[str, float]]]:
    """Parts of these kinds of which any two sizes agree, with kind and sizes: the database looks, by its indexes.

    Those on the shelf come first; of either so many as were met first, for to sort them all would read them all.
    """
    named = sorted({name for _, sizes in asked for name in sizes})
    column = {name: f"size_{number}" for number, name in enumerate(named)}
    near = Q()
    for kind, sizes in asked:
        agree = [
            Q(**{f"{column[name]}__range": (size - _slack(name) - HAIR, size + ALIKE_MM + HAIR)})
            for name, size in sorted(sizes.items(), key=lambda size: _slack(size[0]))
        ]
        # Each size with any of those behind it: as many ways into the indexes as sizes, not as pairs.
        for place, one in enumerate(agree[:-1]):
            near |= Q(kind=kind) & one & reduce(or_, agree[place + 1 :])
    sized = Part.objects.alias(**{column[name]: SizeOf(name) for name in named}).filter(near, merged_into=None)
    parts = sized.annotate(lying=F("stock__here") + 0).order_by()  # a sum, so that the sizes' indexes are gone by
    rows, most = parts.values_list("pk", "kind", "sizes_mm", "lying"), MOST_SIZED * len(asked)
    here = sorted(rows.filter(lying__gt=0)[:most], key=lambda row: (-row[3], row[0]))
    rest = sorted(rows.exclude(lying__gt=0)[: most - len(here)], key=lambda row: row[0]) if len(here) < most else []
    return [(pk, kind, sizes) for pk, kind, sizes, _ in (*here, *rest)]


def _slack(name: str) -> float:
    return SHIM_MM if name == "thickness" else ALIKE_MM


def _sized(sizes: Mapping[str, float], part_sizes: Mapping[str, float]) -> Saying | None:
    shared = sizes.keys() & part_sizes.keys()
    off = {name: part_sizes[name] - sizes[name] for name in shared}
    apart = {name: by for name, by in off.items() if abs(by) > ALIKE_MM + HAIR}
    if len(shared) < FEWEST_SIZES or apart.keys() - {"thickness"}:
        return None
    if not apart:
        words = f"{', '.join(sorted(shared))} agree to {written(ALIKE_MM)} mm"
        return Saying("measured", "same sizes", ALIKE_SURE, "the caliper", words)
    thinner = -apart["thickness"]
    if not 0 < thinner <= SHIM_MM or len(shared) <= FEWEST_SIZES:
        return None
    return Saying(
        "shimmed",
        f"with a shim of {written(thinner, '.2g')} mm",
        SHIM_SURE,
        "the caliper",
        f"{written(thinner, '.2g')} mm thinner",
    )


def _offer(part: Part, reasons: list[Saying], against: list[Saying]) -> Offer:
    ranked = tuple(sorted(reasons, key=lambda saying: -saying.sure))
    counts: dict[str, int] = vars(part)
    return Offer(part, ranked, counts["new"], counts["used"], counts["on_order"], tuple(against))


def rank(sure: float, now: bool, price_minor: int | None, name: str, against: Sequence[Saying] = ()) -> Rank:
    """Contradicted last, before it guesses under even odds, before them what is waited for; then the surest, then the
    cheapest."""
    return bool(against), sure < EVEN, not now, -sure, price_minor is None, price_minor or 0, name


def _first(offer: Offer) -> Rank:
    return rank(offer.sure, offer.here > 0, offer.price_minor, offer.part.number, offer.against)
