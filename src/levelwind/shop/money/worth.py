"""What a donor reel is worth: in parts, mended and sold whole, or left shut. Only reads."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from django.db.models import Sum
from django.utils import timezone
from numpy.typing import NDArray

from levelwind.core.supply import Spread
from levelwind.core.supply import worth as core
from levelwind.core.supply.demand import DAYS_A_MONTH, chances, demands
from levelwind.core.supply.stock import Offer
from levelwind.core.supply.stock import Part as Stocked
from levelwind.reference.families import family
from levelwind.shop.jobs.selectors.minutes import shop_minutes
from levelwind.shop.models import BoneReel, Job, Part, Pattern, Piece, Stage, StockEntry
from levelwind.shop.parts.selectors.bones import Salvage, came_off, salvage
from levelwind.shop.parts.selectors.to_order import USES
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.people.selectors import shop_get

YEARS = 2
"""In which a part must be sold or fitted to count, and of which use is looked back on. Our choice: shelves fill up."""
USED = Spread(0.4, 0.6, 0.8)
"""Share of a new part's price that a second-hand one brings. A judgement; common practice, no source."""
GOOD, GOOD_CASES = 0.6, 8
"""Chance that a piece of a dead reel is fit for use, and how many of the shop's own cases it counts as. A judgement."""
STRAYS = Spread(0.8, 1.0, 1.6)
"""Around the bench's own minutes, of a reel that nobody has opened yet. A judgement."""
STRIP = Spread(1, 2, 5)
"""min; to clean and label a piece once it is off. A judgement."""
CLEANING = 25
"""min; to clean a whole reel that is mended, as a price has it. A judgement."""
SHUT = Spread(3, 5, 15)
"""min; to offer it as it lies there. A judgement."""
AROUND = Spread(0.75, 1.0, 1.2)
"""Around a price that somebody names for a whole reel. A judgement."""
FOR_PARTS = Spread(0.0, 0.1, 0.3)
"""Share of a mended reel's price that goes into it as parts. A judgement."""
COMES_RIGHT, SELLS_WHOLE = 0.85, 0.9
"""Chances that a reel runs as it should once mended, and that a whole one is sold. Judgements."""
WAYS = {"parts": "in parts", "mended": "mended, sold whole", "shut": "left shut"}
"""What each way is called on the page."""
MOST_UNITS = 60
"""Units of a part whose use is foretold; beyond it none is sold. Our choice."""


@dataclass(frozen=True, slots=True)
class PieceWorth:
    """A part on it: what it brings, if it is good and if it is asked for."""

    name: str
    price_minor: int
    good: float
    sells: float


@dataclass(frozen=True, slots=True)
class Came:
    """What came of a reel so far, at today's prices of second-hand parts."""

    pieces: int
    worth_minor: int


@dataclass(frozen=True, slots=True)
class Way:
    """What one way brings, in minor units rounded once: its mean and where nine outcomes in ten lie."""

    words: str
    mean_minor: int
    low_minor: int
    high_minor: int
    best: float
    loss: float


@dataclass(frozen=True, slots=True)
class BoneWorth:
    told: core.Worth
    pieces: tuple[PieceWorth, ...]
    opening_min: float

    @property
    def ways(self) -> tuple[Way, ...]:
        told = ((WAYS[key], way) for key, way in self.told.ways.items() if key in WAYS)
        return tuple(
            Way(words, round(way.worth.value), round(way.worth.low), round(way.worth.high), way.best, way.loss)
            for words, way in told
        )

    @property
    def strip(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(piece.name for piece in self.told.strip))

    @property
    def leave(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(piece.name for piece in self.told.leave if piece.name not in self.strip))

    @property
    def most_to_pay_minor(self) -> int:
        return round(self.told.most_to_pay)


def bone_worth(bone: BoneReel) -> BoneWorth | None:
    """None where nothing is known that it could bring: no pattern with priced parts, and no price of it whole."""
    kind = bone.pattern.family if bone.pattern else ""
    return reel_worth(Lying(bone.pattern, kind, bone.whole_minor, bone.shut_minor), bone.pk, times_of(kind))


@dataclass(frozen=True, slots=True)
class Mends:
    """What mending such a reel takes: whether it is opened, the share of its price that goes in as parts."""

    opens: bool
    comes_right: float
    parts: Spread


AS_IT_LIES = Mends(opens=True, comes_right=COMES_RIGHT, parts=FOR_PARTS)
"""Of a reel of which nothing more is known."""


@dataclass(frozen=True, slots=True)
class Lying:
    """A reel that could be stripped, mended or left: its pattern or at least its family, and what it would bring."""

    pattern: Pattern | None
    family: str
    whole_minor: int | None
    shut_minor: int | None = None
    mends: Mends = AS_IT_LIES


@dataclass(frozen=True, slots=True)
class Times:
    """Minutes of this bench: into a reel, and in and back."""

    way_in: float = 0.0
    both_ways: float | None = None


def times_of(kind: str) -> Times:
    """Of a family; none where it is not said."""
    if not kind:
        return Times()
    kin = family(kind)
    own = shop_minutes(kin.rules, kin.key)
    return Times(own.way_in(kin.rules.steps), own.both_ways(kin.rules.steps))


def own_worth(job: Job) -> BoneWorth | None:
    """Of a reel of the shop's own that is not mended yet, from here on: what went into it so far is spent either way.

    None where it is mended or gone, or nothing is known that it could bring.
    """
    if not job.is_own or job.stage not in NOT_MENDED:
        return None
    kind = job.pattern.family if job.pattern else job.clear_family
    times = times_of(kind)
    if job.stage == Stage.APART and times.both_ways is not None:
        times = Times(0.0, times.both_ways - times.way_in)
    return reel_worth(Lying(job.pattern, kind, job.asks_minor), job.pk, times)


NOT_MENDED = (Stage.BOOKED_IN, Stage.LOOKED_OVER, Stage.PRICE_SENT, Stage.AGREED, Stage.APART)


def reel_worth(lying: Lying, seed: int, times: Times) -> BoneWorth | None:
    pieces = pieces_on(lying.pattern)(0)
    reel = dead_reel(lying, pieces, times)
    if reel is None:
        return None
    return BoneWorth(core.worth(reel, np.random.default_rng(seed)), pieces, times.way_in)


def dead_reel(lying: Lying, pieces: tuple[PieceWorth, ...], times: Times) -> core.DeadReel | None:
    """None where nothing is known that it could bring."""
    whole, mends, mending = lying.whole_minor, lying.mends, None
    if whole and times.both_ways is not None:
        mending = core.Mending(
            minutes=STRAYS.times((times.both_ways if mends.opens else 0) + CLEANING),
            price=AROUND.times(whole),
            parts=mends.parts.times(whole),
            comes_right=mends.comes_right,
            sells=SELLS_WHOLE,
        )
    if not pieces and mending is None:
        return None
    shut = lying.shut_minor
    return core.DeadReel(
        minute=shop_get().hour_minor / 60,
        pieces=tuple(
            core.Piece(piece.name, USED.times(piece.price_minor), STRIP, piece.good, piece.sells) for piece in pieces
        ),
        opening=STRAYS.times(times.way_in),
        mending=mending,
        shut=core.Unopened(AROUND.times(shut), SHUT, SELLS_WHOLE) if shut else core.Unopened(),
    )


def came_of(bone: BoneReel) -> Came:
    """What came off it and lies on the shelf or went out since."""
    off = came_off(bone)
    return Came(sum(n for _, n in off), round(sum(n * _price(part) * USED.likely for part, n in off)))


def pieces_on(pattern: Pattern | None) -> Callable[[int], tuple[PieceWorth, ...]]:
    """Each unit of each part that would be looked for, the first of a part likelier asked for than the next.

    Asked with how many reels of the pattern have their parts on offer before.
    """
    rows = [row for row in salvage(pattern) if _price(row.offer.part)]
    if not rows or pattern is None:
        return lambda ahead: ()
    keys = {place.name: place.key for place in pattern_places(pattern)}
    good, asked = _good(pattern.family), _asked_for(rows)

    def pieces(ahead: int) -> tuple[PieceWorth, ...]:
        return tuple(
            PieceWorth(
                row.offer.part.name,
                _price(row.offer.part),
                min(good(keys[name]) for name in row.places),
                float(asked[row.offer.part.pk][min(max(row.offer.here, 0) + ahead * row.count + unit, MOST_UNITS)]),
            )
            for row in rows
            for unit in range(row.count)
        )

    return pieces


def _price(part: Part) -> int:
    return part.price_minor or part.cost_minor


def _good(kind: str) -> Callable[[str], float]:
    """By place: how often a piece there was found sound on this bench, leaning on the judgement."""
    judged = Piece.objects.filter(job__pattern__family=kind).exclude(state="").order_by()
    every: Counter[str] = Counter()
    sound: Counter[str] = Counter()
    for place, state in judged.values_list("place", "state"):
        every[place] += 1
        sound[place] += state in ("good", "clean")
    return lambda place: (sound[place] + GOOD * GOOD_CASES) / (every[place] + GOOD_CASES)


def _asked_for(rows: list[Salvage]) -> Mapping[int, NDArray[np.float64]]:
    """By part and number of units: the chance that more than so many are used within the years."""
    parts = {row.offer.part.pk for row in rows}
    today = timezone.localdate()
    used: dict[int, list[int]] = {pk: [0] * (12 * YEARS) for pk in parts}
    since = timezone.now() - timedelta(days=DAYS_A_MONTH * 12 * YEARS)
    out = StockEntry.objects.filter(part__in=parts, at__gt=since, why__in=USES)
    for pk, day, change in out.order_by().values_list("part", "at__date").annotate(change=Sum("change")):
        month = min(int((today - day).days / DAYS_A_MONTH), 12 * YEARS - 1)
        used[pk][-1 - month] -= change
    stocked = [Stocked(str(pk), (Offer("-", 1),), tuple(max(n, 0) for n in months)) for pk, months in used.items()]
    days = np.full((len(stocked), 1), YEARS * 12 * DAYS_A_MONTH)
    told = chances(demands(stocked), days, MOST_UNITS)[:, 0, :]
    more = np.clip(1 - np.cumsum(told, axis=1), 0.0, 1.0)
    return dict(zip(used, more, strict=True))
