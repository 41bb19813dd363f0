"""How likely each kind is, given all that was seen.

One reel is of one kind, so Bayes' rule is a row of products. What is of no family is most often like one in part: it
has kinds of its own, so that a reel which is a family's in some looks and not in others is not taken for that family.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from levelwind.core.naming.compute.marks import letters, mark_ratio, text_ratio, words_of
from levelwind.core.naming.model import CANNOT_TELL, NONE, SIZES, Key, Kind, Look, Sights, Size

Array = NDArray[np.float64]

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
    """Every kind, the likeliest first. ``families`` gives the sum of each family, likeliest first; the key of none of
    these is ``NONE``."""

    ranked: tuple[Named, ...]
    families: Mapping[str, float]

    @property
    def none(self) -> float:
        return self.families.get(NONE, 0.0)

    @property
    def in_book(self) -> tuple[Named, ...]:
        return tuple(named for named in self.ranked if named.kind.in_book)

    @property
    def not_in_book(self) -> float:
        return sum(named.probability for named in self.ranked if not named.kind.in_book)


def name_reel(key: Key, sights: Sights) -> Naming:
    """Exact probability of each kind. Raises InputError for a look, an answer or a size that the key does not have.

    >>> from levelwind.core.naming.model import Answer
    >>> yes_no = (Answer("yes", "yes"), Answer("no", "no"))
    >>> look = Look("star", "Is there a star?", 0.1, yes_no, {"star": (0.9, 0.1), "lever": (0.1, 0.9)})
    >>> key = Key((look,), (Kind("star", "star", 1.0), Kind("lever", "lever", 1.0)))
    >>> round(name_reel(key, Sights({"star": "yes"})).families["star"], 3)
    0.868
    """
    chance = chances(key, sights)
    order = np.argsort(-chance, kind="stable")
    ranked = tuple(Named(key.kinds[place], float(chance[place])) for place in order)
    families: dict[str, float] = {}
    for named in ranked:
        families[named.kind.family] = families.get(named.kind.family, 0.0) + named.probability
    return Naming(ranked, dict(sorted(families.items(), key=lambda item: -item[1])))


def chances(key: Key, sights: Sights) -> Array:
    """Probability of each kind, in the key's order."""
    log_chance = np.log([kind.weight for kind in key.kinds])
    for look, answer in sights.answers.items():
        asked = key.look(look)
        if answer != CANNOT_TELL:
            log_chance += np.log(shown(key, asked)[:, asked.place(answer)])
    for size in SIZES:
        if size.key in sights.sizes_mm:
            log_chance += np.log(density(key, size, sights.sizes_mm[size.key]))
    log_chance += marks_say(key, sights.marks)
    chance = np.exp(log_chance - log_chance.max())
    return np.asarray(chance / chance.sum())


def shown(key: Key, look: Look) -> Array:
    """P(answer | kind), kinds by answers: the family's odds, the pattern's own signs over them, and a slip."""
    of_family = family_odds(look)
    raw = np.array([of_family[kind.family] if kind.family else odd_odds(of_family, kind.like) for kind in key.kinds])
    for place, kind in enumerate(key.kinds):
        if any(sign.look == look.key for sign in kind.signs):
            raw[place] = np.mean([in_year(look, kind, year, raw[place]) for year in years_of(kind)], axis=0)
    return np.asarray((1 - SLIP) * raw + SLIP / raw.shape[1])


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


def years_of(kind: Kind) -> range:
    """The years in which a kind was made; where an end is not known, out to the first or last year of its signs."""
    ends = [year for sign in kind.signs for year in (sign.year_from, sign.year_to) if year]
    first = kind.year_from or min([FIRST_YEAR if not ends else min(ends) - 10, kind.year_to or LAST_YEAR])
    last = kind.year_to or max([LAST_YEAR if not ends else max(ends) + 10, first])
    return range(first, last + 1)


def density(key: Key, size: Size, mm: float) -> Array:
    """Density of this size for each kind: round the book's size where it has one, else anywhere, evenly in its log."""
    anywhere = 1 / (mm * np.log(size.most_mm / size.least_mm))
    there = np.array([kind.sizes_mm.get(size.key, np.nan) for kind in key.kinds])
    near = np.exp(-0.5 * ((mm - there) / CALIPER_MM) ** 2) / (CALIPER_MM * np.sqrt(2 * np.pi))
    mixed = (1 - MISMEASURED) * near + MISMEASURED * anywhere
    return np.asarray(np.where(np.isnan(there), anywhere, mixed))


def between(key: Key, size: Size, edges: Array) -> Array:
    """Chance that the size falls between each two edges, kinds by stretches; the edges span its whole range."""
    even = np.diff(np.log(edges)) / np.log(size.most_mm / size.least_mm)
    there = np.array([kind.sizes_mm.get(size.key, np.nan) for kind in key.kinds])
    near = np.diff(ndtr((edges[None, :] - there[:, None]) / CALIPER_MM), axis=1)
    mixed = (1 - MISMEASURED) * near + MISMEASURED * even
    return np.asarray(np.where(np.isnan(there)[:, None], even, mixed))


def marks_say(key: Key, marks: str) -> Array:
    """Log of how much likelier what was read is on each kind than on a reel of which no text is known.

    A reel that is not in the book may bear a text of the book all the same: its maker's, or a name that two took.
    """
    said = np.zeros(len(key.kinds))
    bears = [tuple((letters(text), not kind.other_size) for text in kind.marks) for kind in key.kinds]
    book = {text for texts, kind in zip(bears, key.kinds, strict=True) if kind.in_book for text in texts}
    for read in words_of(marks):
        ratio = {text: text_ratio(read, *text) for text in book.union(*bears)}
        shared = float(np.mean([mark_ratio([ratio[text]]) for text in book])) if book else 1.0
        elsewhere = 1 - SHARED_MARK + SHARED_MARK * shared
        said += np.log([mark_ratio(ratio[text] for text in texts) if texts else elsewhere for texts in bears])
    return said
