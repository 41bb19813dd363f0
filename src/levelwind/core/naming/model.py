"""What goes in: the looks at a reel that nobody knows, what it may be, and what was seen of it.

A reel is of exactly one kind: a pattern of the book, a reel of some family that no pattern of the book stands for, or
none of these. Each look has a few answers; a family says how often each is met with on its reels. A pattern may know
better: its signs say what its reels show at a look, in which years.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import isfinite

from levelwind.core.errors import InputError
from levelwind.core.writing import written

NONE = ""
"""The family of the kind that stands for everything no family here is built like."""
MARKS = "marks"
"""The look that is the text read off plate and foot."""
CANNOT_TELL = ""
"""The answer to a look that was tried and gave nothing."""
MOST_LOOKS = 200
"""Looks in one key, those of dated signs included. Our choice."""
MOST_KINDS = 30_000
"""Kinds a reel may be, a pattern's kin among them. Our choice: more than any bench meets; the sum stays quick."""
LONGEST_MARKS = 200
"""Letters of the text read off one reel. Our choice: a plate and a foot hold less."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One thing a look may show, and what it is called."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class Look:
    """One look: what it asks, what to do, the minutes it takes, and its answers.

    ``odds`` gives for each family how often a reel of it shows each answer, in the answers' order; they add up to 1.
    """

    key: str
    ask: str
    minutes: float
    answers: tuple[Answer, ...]
    odds: Mapping[str, tuple[float, ...]]
    do: str = ""

    def __post_init__(self) -> None:
        _demand(0 < self.minutes <= 1000, f"minutes of the look {self.key}", self.minutes, "above 0 to 1000 minutes")
        _demand(len(self.answers) > 1, f"answers of the look {self.key}", len(self.answers), "2 or more")
        _no_twins(f"answer of the look {self.key}", (answer.key for answer in self.answers))
        for family, odds in self.odds.items():
            whole = len(odds) == len(self.answers) and all(0 <= chance <= 1 for chance in odds)
            _demand(
                whole and abs(sum(odds) - 1) < 1e-6,
                f"odds of {family} at the look {self.key}",
                list(odds),
                f"{len(self.answers)} chances from 0 to 1 that add up to 1",
            )

    def place(self, answer: str) -> int:
        """The place of an answer in the order of the answers."""
        keys = [known.key for known in self.answers]
        _demand(answer in keys, f"answer to {self.key}", repr(answer[:60]), "one of " + ", ".join(keys))
        return keys.index(answer)


@dataclass(frozen=True, slots=True)
class Sign:
    """What a pattern's reels show at a look, from one year to another; None where that end is not known."""

    look: str
    answer: str
    year_from: int | None = None
    year_to: int | None = None

    def stands_in(self, year: int) -> bool:
        return (self.year_from or year) <= year <= (self.year_to or year)


@dataclass(frozen=True, slots=True)
class Kind:
    """One thing the reel may be.

    ``key`` names it; ``weight`` is how likely it is before any look, beside the others' weights. ``marks`` are texts
    that stand on its plates and foot, ``sizes_mm`` its dimensions as the book has them, ``signs`` what its reels show
    otherwise than its family's. A reel that is not ``in_book`` may have some of them from a pattern that is; of another
    size (``other_size``) it has another number in its marks. One of no family may be ``like`` a family in part.
    """

    key: str
    family: str
    weight: float
    like: str = ""
    in_book: bool = False
    marks: tuple[str, ...] = ()
    other_size: bool = False
    sizes_mm: Mapping[str, float] = field(default_factory=dict)
    signs: tuple[Sign, ...] = ()
    year_from: int | None = None
    year_to: int | None = None

    def __post_init__(self) -> None:
        _demand(0 < self.weight < float("inf"), f"weight of {self.key}", self.weight, "above 0")


@dataclass(frozen=True, slots=True)
class Size:
    """A dimension a caliper can take on any reel: from ``least_mm`` to ``most_mm`` all is met with."""

    key: str
    name: str
    where: str
    minutes: float
    least_mm: float
    most_mm: float


SIZES = (
    Size("spool_width_mm", "spool, width between the flanges", "inside, where the line lies", 1.0, 3.0, 200.0),
    Size("spool_flange_mm", "spool, diameter over the flanges", "across the widest flange", 1.0, 15.0, 250.0),
    Size("plate_mm", "plate or body, diameter", "across the head plate, rings and screws left out", 1.0, 20.0, 300.0),
    Size("foot_mm", "foot, length", "from tip to tip along the rod", 1.0, 20.0, 150.0),
)
"""Dimensions that are asked, the minutes they take and the range met with on any reel: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Sights:
    """What was seen: answers by look, ``CANNOT_TELL`` where a look gave nothing, sizes in mm, and the marks as read.

    A mark is typed with a ? for each letter that cannot be read. ``in_vain`` are sizes, or "marks", that were tried for
    and gave nothing.
    """

    answers: Mapping[str, str] = field(default_factory=dict)
    sizes_mm: Mapping[str, float] = field(default_factory=dict)
    marks: str = ""
    in_vain: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        known = {size.key: size for size in SIZES}
        for key, mm in self.sizes_mm.items():
            _demand(key in known, "dimension", repr(key[:60]), "one of " + ", ".join(known))
            size = known[key]
            fits = isfinite(mm) and size.least_mm <= mm <= size.most_mm
            _demand(fits, size.name, f"{written(mm)} mm", f"{written(size.least_mm)} to {written(size.most_mm)} mm")
        _demand(len(self.marks) <= LONGEST_MARKS, "length of the marks", len(self.marks), f"up to {LONGEST_MARKS}")


@dataclass(frozen=True, slots=True)
class Key:
    """All looks, and all that a reel may be: one of the kinds has to be it.

    ``common``, by family: by how much the weights of its kinds, and of those like it in part, are multiplied; else 1.
    """

    looks: tuple[Look, ...]
    kinds: tuple[Kind, ...]
    common: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _demand(0 < len(self.looks) <= MOST_LOOKS, "number of looks", len(self.looks), f"1 to {MOST_LOOKS}")
        _demand(0 < len(self.kinds) <= MOST_KINDS, "number of kinds", len(self.kinds), f"1 to {MOST_KINDS}")
        _no_twins("look", (look.key for look in self.looks))
        _no_twins("kind", (kind.key for kind in self.kinds))
        families = {*self.families}
        for look in self.looks:
            lacking = sorted(families - {NONE, *look.odds})
            _demand(not lacking, f"odds at the look {look.key}", "without " + ", ".join(lacking), "a row for each")
        for asked, answer in {(sign.look, sign.answer) for kind in self.kinds for sign in kind.signs}:
            self.look(asked).place(answer)

    @property
    def families(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys([kind.family for kind in self.kinds]))

    def look(self, key: str) -> Look:
        for look in self.looks:
            if look.key == key:
                return look
        raise InputError("look", repr(key[:60]), "one of " + ", ".join(look.key for look in self.looks))


def _demand(holds: bool, what: str, was: object, allowed: str) -> None:
    if not holds:
        raise InputError(what, was, allowed)


def _no_twins(what: str, keys: Iterable[str]) -> None:
    all_keys, met = list(keys), set[str]()
    if len(set(all_keys)) == len(all_keys):
        return
    for key in all_keys:
        _demand(key not in met, what, repr(key), "one that is not there yet")
        met.add(key)
