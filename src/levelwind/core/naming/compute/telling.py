"""What to look at next: the look that tells most for its minutes.

What a look tells is the mean of the bits by which it narrows down what the reel is: the mutual information of the
answer and the kind (Lindley, Annals of Mathematical Statistics 27, 1956; Shannon, Bell System Technical Journal 27,
1948). One look ahead.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from levelwind.core.naming.compute.posterior import CALIPER_MM, Array, between, chances, shown
from levelwind.core.naming.model import MARKS, NONE, SIZES, Key, Kind, Sights, Size

APART_MM = 3 * CALIPER_MM
"""Sizes of the book nearer than this are not told apart by one reading, when a look is valued."""
READABLE = 0.5
"""Chance that a plate or a foot still bears a text that the book has; a judgement, used only to value the look."""
MARKS_MINUTES = 1.0
"""Minutes to clean a plate and a foot with a cloth and read them; common practice, no source."""
MOST_LIKELY = 4
"""Families among which the two are sought that a look tells apart best; our choice."""
MOST_TEXTS = 60
"""Texts told from one another when reading is valued, the likeliest; all others count as one. Our choice."""
TELLS = 0.01
"""Bits below which a look tells nothing worth a tap; our choice."""


@dataclass(frozen=True, slots=True)
class NextLook:
    """A look not yet made: its key (a look's, a size's, or "marks"), the bits it tells on the mean, its minutes, and
    the keys of the two families it tells apart best."""

    key: str
    bits: float
    minutes: float
    apart: tuple[str, str] | None

    @property
    def per_minute(self) -> float:
        return self.bits / self.minutes


def next_looks(key: Key, sights: Sights) -> tuple[NextLook, ...]:
    """Every look that still tells something, the most telling for its minutes first."""
    chance = chances(key, sights)
    likely = _likely(key, chance)
    told = ((name, bits(chance, outcomes), minutes, outcomes) for name, minutes, outcomes in _ways(key, sights, chance))
    looks = [
        NextLook(name, much, minutes, _apart(likely, outcomes))
        for name, much, minutes, outcomes in told
        if much > TELLS
    ]
    return tuple(sorted(looks, key=lambda look: -look.per_minute))


def bits(chance: Array, outcomes: Array) -> float:
    """Mutual information in bits of the kind (``chance``) and an outcome (``outcomes``, kinds by outcomes, rows to 1).

    >>> round(bits(np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.0, 1.0]])), 6)
    1.0
    """
    outcome = chance @ outcomes
    ratio = np.divide(outcomes, outcome, out=np.ones_like(outcomes), where=(outcomes > 0) & (outcome > 0))
    return float((chance[:, None] * outcomes * np.log2(ratio)).sum())


def _ways(key: Key, sights: Sights, chance: Array) -> Iterator[tuple[str, float, Array]]:
    tried = {*sights.answers, *sights.sizes_mm, *sights.in_vain, *([MARKS] if sights.marks else [])}
    for look in key.looks:
        if look.key not in tried:
            yield look.key, look.minutes, shown(key, look)
    for size in SIZES:
        if size.key not in tried and (edges := _edges(key, size)) is not None:
            yield size.key, size.minutes, between(key, size, edges)
    if MARKS not in tried and any(kind.marks for kind in key.kinds):
        yield MARKS, MARKS_MINUTES, _as_read(key.kinds, chance)


def _edges(key: Key, size: Size) -> Array | None:
    """Midway between the book's sizes that one reading tells apart, and round each: None where the book has none."""
    sizes = sorted({kind.sizes_mm[size.key] for kind in key.kinds if size.key in kind.sizes_mm})
    inside = [mm for mm in sizes if size.least_mm < mm < size.most_mm]
    edges = {size.least_mm, size.most_mm}
    for mm in inside:
        edges |= {max(mm - APART_MM, size.least_mm), min(mm + APART_MM, size.most_mm)}
    return np.array(sorted(edges)) if inside else None


def _as_read(kinds: tuple[Kind, ...], chance: Array) -> Array:
    """Chance that each of the likeliest texts of the book is read, or another, or none."""
    weight: dict[tuple[str, ...], float] = {}
    for kind, likely in zip(kinds, chance.tolist(), strict=True):
        if kind.marks:
            weight[kind.marks] = weight.get(kind.marks, 0.0) + likely
    column = {marks: place for place, marks in enumerate(sorted(weight, key=lambda marks: -weight[marks])[:MOST_TEXTS])}
    outcomes = np.zeros((len(kinds), len(column) + 2))
    for place, kind in enumerate(kinds):
        if kind.marks:
            outcomes[place, column.get(kind.marks, -2)] = READABLE
        outcomes[place, -1] = 1 - outcomes[place, :-1].sum()
    return outcomes


def _likely(key: Key, chance: Array) -> dict[str, Array]:
    """The chances of the kinds of each of the likeliest families, in the key's order, 0 for all others."""
    of = {family: np.array([kind.family == family for kind in key.kinds]) * chance for family in key.families}
    ranked = sorted(of, key=lambda family: -of[family].sum())[:MOST_LIKELY]
    return {family: of[family] for family in ranked if family != NONE and of[family].sum() > TELLS}


def _apart(likely: dict[str, Array], outcomes: Array) -> tuple[str, str] | None:
    """The two families whose answers differ most, weighed by the chance that it is one of the two."""
    whole = {family: chance.sum() for family, chance in likely.items()}
    rows = {family: chance @ outcomes / whole[family] for family, chance in likely.items()}
    return max(
        combinations(likely, 2),
        key=lambda two: whole[two[0]] * whole[two[1]] * np.abs(rows[two[0]] - rows[two[1]]).sum(),
        default=None,
    )
