"""How likely each kind is, given all that was seen.

One reel is of one kind, so Bayes' rule is a row of products. What is of no family is most often like one in part: it
has kinds of its own, so that a reel which is a family's in some looks and not in others is not taken for that family.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.special import ndtr

from levelwind.core.naming.compute.columns import Array, Kinds, Places, in_columns
from levelwind.core.naming.compute.marks import mark_ratios, text_ratios, words_of
from levelwind.core.naming.model import CANNOT_TELL, NONE, SIZES, Key, Kind, Look, Sights, Size

SLIP = 0.08
"""Chance that a look is misjudged or a piece is of another reel, so that any answer comes; found on made-up reels."""
ANYTHING = 0.5
"""What none of the families is built like shows each answer alike in half of its looks, and else what reels show; our
choice."""
OTHERWISE = 0.4
"""Share of its looks in which a reel of no family is unlike the one it is partly like; found on made-up reels,
docs/physics/naming.md."""
SWAPPED = 0.15
"""Chance that a piece is not the one its pattern had in that year; a judgement for reels with an old repair."""
CALIPER_MM = 0.4
"""Standard deviation of a dimension against the book's: a caliper by hand on a worn rim, and the maker's own spread; a
judgement."""
MISMEASURED = 0.08
"""Chance that a size was taken somewhere else, or off a spool that is not its own; a judgement."""
SHARED_MARK = 0.5
"""Chance that a mark on a reel not in the book is a text of the book: its maker's, or a model's name that two makers
took; a judgement."""

FIRST_YEAR, LAST_YEAR = 1880, 2030
"""Years a reel may be of whose pattern does not say; our choice."""


@dataclass(frozen=True, slots=True)
class Named:
    """A kind with its probability."""

    kind: Kind
    probability: float


@dataclass(frozen=True, slots=True)
class Naming:
    """``chances`` gives each kind's probability. ``families`` gives the sum of each family, likeliest first; the key of
    none of these is ``NONE``."""

    kinds: Kinds
    chances: Array
    families: Mapping[str, float]

    @property
    def ranked(self) -> tuple[Named, ...]:
        """Every kind, the likeliest first."""
        return self._ranked(np.arange(len(self.kinds)))

    @property
    def none(self) -> float:
        return self.families.get(NONE, 0.0)

    @property
    def in_book(self) -> tuple[Named, ...]:
        return self.in_book_from(0.0)

    def in_book_from(self, least: float) -> tuple[Named, ...]:
        """Those of the book that are so likely at least."""
        return self._ranked(np.flatnonzero(self.kinds.in_book & (self.chances >= least)))

    @property
    def not_in_book(self) -> float:
        return float(self.chances[~self.kinds.in_book].sum())

    def _ranked(self, places: Places) -> tuple[Named, ...]:
        order = places[np.argsort(-self.chances[places], kind="stable")]
        return tuple(Named(self.kinds[place], float(self.chances[place])) for place in order)


def name_reel(key: Key, sights: Sights) -> Naming:
    """Exact probability of each kind. Raises InputError for a look, an answer or a size that the key does not have.

    >>> from levelwind.core.naming.model import Answer
    >>> yes_no = (Answer("yes", "yes"), Answer("no", "no"))
    >>> look = Look("star", "Is there a star?", 0.1, yes_no, {"star": (0.9, 0.1), "lever": (0.1, 0.9)})
    >>> key = Key((look,), (Kind("star", "star", 1.0), Kind("lever", "lever", 1.0)))
    >>> round(name_reel(key, Sights({"star": "yes"})).families["star"], 3)
    0.868
    """
    kinds, chance = in_columns(key.kinds), chances(key, sights)
    families: dict[str, float] = {}
    for (family, _), sum_ in zip(kinds.groups, np.bincount(kinds.group, chance), strict=True):
        families[family] = families.get(family, 0.0) + float(sum_)
    return Naming(kinds, chance, dict(sorted(families.items(), key=lambda item: -item[1])))


def chances(key: Key, sights: Sights) -> Array:
    """Probability of each kind, in the key's order."""
    kinds = in_columns(key.kinds)
    common = [key.common.get(family or like, 1.0) for family, like in kinds.groups]
    log_chance = np.log(kinds.weights) + np.log(common)[kinds.group]
    for look, answer in sights.answers.items():
        asked = key.look(look)
        if answer != CANNOT_TELL:
            shows = shown(kinds, asked)
            log_chance += np.log(shows.rows[:, asked.place(answer)])[shows.of]
    for size in SIZES:
        if size.key in sights.sizes_mm:
            log_chance += np.log(density(kinds, size, sights.sizes_mm[size.key]))
    log_chance += marks_say(kinds, sights.marks)
    chance = np.exp(log_chance - log_chance.max())
    return np.asarray(chance / chance.sum())


@dataclass(frozen=True, slots=True)
class Outcomes:
    """What may come of a look: ``rows`` of chances that add up to 1, and for each kind the place of its row, ``of``."""

    rows: Array
    of: Places

    def weighed(self, chance: Array) -> Array:
        """The kinds' chances added up row by row."""
        return np.asarray(np.bincount(self.of, chance, minlength=len(self.rows)), float)


def shown(kinds: Kinds, look: Look) -> Outcomes:
    """P(answer | kind): the family's odds, the pattern's own signs over them, and a slip."""
    of_family = family_odds(look)
    rows = [of_family[family] if family else odd_odds(of_family, like) for family, like in kinds.groups]
    of = kinds.group
    if signed := kinds.signed.get(look.key):
        of = of.copy()
        for place in signed:
            kind, otherwise = kinds[place], rows[kinds.group[place]]
            of[place] = len(rows)
            rows.append(in_any_year(look, kind, otherwise))
    raw = np.array(rows)
    return Outcomes((1 - SLIP) * raw + SLIP / raw.shape[1], of)


def family_odds(look: Look) -> dict[str, Array]:
    """Each family's row, and that of none of these: half any answer, half what all families show."""
    rows = {family: np.array(odds) for family, odds in look.odds.items()}
    count = len(look.answers)
    rows[NONE] = ANYTHING / count + (1 - ANYTHING) * np.mean(list(rows.values()), axis=0)
    return rows


def odd_odds(of_family: Mapping[str, Array], like: str) -> Array:
    """What a reel of no family shows at a look: anything, or by half what the family shows that it is partly like."""
    return of_family[NONE] if not like else (1 - OTHERWISE) * of_family[like] + OTHERWISE * of_family[NONE]


def in_year(look: Look, kind: Kind, year: int, otherwise: Array) -> Array:
    """P(answer) of a pattern's reel made in this year: what its signs say of it, else what its family shows."""
    standing = [sign for sign in kind.signs if sign.look == look.key and sign.stands_in(year)]
    if not standing:
        return otherwise
    said = np.zeros(len(look.answers))
    for sign in standing:
        said[look.place(sign.answer)] += 1 / len(standing)
    return np.asarray((1 - SWAPPED) * said + SWAPPED * otherwise)


def in_any_year(look: Look, kind: Kind, otherwise: Array) -> Array:
    """The mean over the years of a pattern, told once from each year in which another sign begins or is no more."""
    years = years_of(kind)
    turns = {turn for sign in kind.signs for turn in (sign.year_from, sign.year_to and sign.year_to + 1) if turn}
    cuts = sorted({years.start, years.stop, *turns.intersection(years)})
    told = [(after - year) * in_year(look, kind, year, otherwise) for year, after in pairwise(cuts)]
    return np.asarray(sum(told) / len(years))


def years_of(kind: Kind) -> range:
    """The years in which a kind was made; where an end is not known, out to the first or last year of its signs."""
    ends = [year for sign in kind.signs for year in (sign.year_from, sign.year_to) if year]
    first = kind.year_from or min([FIRST_YEAR if not ends else min(ends) - 10, kind.year_to or LAST_YEAR])
    last = kind.year_to or max([LAST_YEAR if not ends else max(ends) + 10, first])
    return range(first, last + 1)


def density(kinds: Kinds, size: Size, mm: float) -> Array:
    """Density of this size for each kind: round the book's size where it has one, else anywhere, evenly in its log."""
    anywhere = 1 / (mm * np.log(size.most_mm / size.least_mm))
    there = kinds.size_mm(size.key)
    near = np.exp(-0.5 * ((mm - there) / CALIPER_MM) ** 2) / (CALIPER_MM * np.sqrt(2 * np.pi))
    mixed = (1 - MISMEASURED) * near + MISMEASURED * anywhere
    return np.asarray(np.where(np.isnan(there), anywhere, mixed))


def between(kinds: Kinds, size: Size, edges: Array) -> Outcomes:
    """Chance that the size falls between each two edges; the edges span its whole range."""
    even = np.diff(np.log(edges)) / np.log(size.most_mm / size.least_mm)
    there, of = np.unique(kinds.size_mm(size.key), return_inverse=True)
    near = np.diff(ndtr((edges[None, :] - there[:, None]) / CALIPER_MM), axis=1)
    mixed = (1 - MISMEASURED) * near + MISMEASURED * even
    return Outcomes(np.where(np.isnan(there)[:, None], even, mixed), of)


def marks_say(kinds: Kinds, marks: str) -> Array:
    """Log of how much likelier what was read is on each kind than on a reel of which no text is known.

    A reel that is not in the book may bear a text of the book all the same: its maker's, or a name that two took.
    """
    said = np.zeros(len(kinds))
    bearing, borne = kinds.bears
    silent = np.ones(len(kinds), bool)
    silent[bearing] = False
    for read in words_of(marks):
        ratios = text_ratios(read, kinds.texts)
        shared = float(mark_ratios(ratios[kinds.texts_of_book]).mean()) if len(kinds.texts_of_book) else 1.0
        elsewhere = 1 - SHARED_MARK + SHARED_MARK * shared
        likelier = mark_ratios(np.asarray(np.bincount(bearing, ratios[borne], minlength=len(kinds)), float))
        said += np.log(np.where(silent, elsewhere, likelier))
    return said
