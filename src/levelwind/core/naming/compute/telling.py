"""What to look at next: the look that tells most for its minutes.

What a look tells is the mean of the bits by which it narrows down what the reel is: the mutual information of the
answer and the kind (Lindley, Annals of Mathematical Statistics 27, 1956; Shannon, Bell System Technical Journal 27,
1948). One look ahead.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from levelwind.core.naming.compute.columns import Array, Kinds, in_columns
from levelwind.core.naming.compute.posterior import CALIPER_MM, Outcomes, between, chances, shown
from levelwind.core.naming.model import MARKS, NONE, SIZES, Key, Sights, Size

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
MOST_EDGES = 400
"""Edges between which sizes are told apart when measuring is valued: of more, one in so many. Our choice: a book of
thousands of patterns has a size everywhere."""
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
    kinds, chance = in_columns(key.kinds), chances(key, sights)
    likely = _likely(kinds, chance)
    looks = []
    for name, minutes, outcomes in _ways(key, kinds, sights, chance):
        much = bits(outcomes.weighed(chance), outcomes.rows)
        if much > TELLS:
            looks.append(NextLook(name, much, minutes, _apart(likely, outcomes)))
    return tuple(sorted(looks, key=lambda look: -look.per_minute))


def bits(chance: Array, outcomes: Array) -> float:
    """Mutual information in bits of the kind (``chance``) and an outcome (``outcomes``, kinds by outcomes, rows to 1).

    Kinds with the same row may be added up before.

    >>> round(bits(np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.0, 1.0]])), 6)
    1.0
    """
    outcome = chance @ outcomes
    ratio = np.divide(outcomes, outcome, out=np.ones_like(outcomes), where=(outcomes > 0) & (outcome > 0))
    return float((chance[:, None] * outcomes * np.log2(ratio)).sum())


def _ways(key: Key, kinds: Kinds, sights: Sights, chance: Array) -> Iterator[tuple[str, float, Outcomes]]:
    tried = {*sights.answers, *sights.sizes_mm, *sights.in_vain, *([MARKS] if sights.marks else [])}
    for look in key.looks:
        if look.key not in tried:
            yield look.key, look.minutes, shown(kinds, look)
    for size in SIZES:
        if size.key not in tried and (edges := _edges(kinds, size)) is not None:
            yield size.key, size.minutes, between(kinds, size, edges)
    if MARKS not in tried and kinds.marked.max() >= 0:
        yield MARKS, MARKS_MINUTES, _as_read(kinds, chance)


def _edges(kinds: Kinds, size: Size) -> Array | None:
    """Midway between the book's sizes that one reading tells apart, and round each: None where the book has none."""
    sizes = np.unique(kinds.size_mm(size.key))
    inside = sizes[(sizes > size.least_mm) & (sizes < size.most_mm)]
    if not len(inside):
        return None
    ends = [size.least_mm, size.most_mm]
    edges = np.unique(np.concatenate([ends, inside - APART_MM, inside + APART_MM]).clip(ends[0], ends[1]))
    step = -(-len(edges) // MOST_EDGES)
    return np.unique(np.concatenate([ends, edges[::step]]))


def _as_read(kinds: Kinds, chance: Array) -> Outcomes:
    """Chance that each of the likeliest texts of the book is read, or another, or none."""
    marked = kinds.marked
    weight = np.bincount(marked[marked >= 0], chance[marked >= 0])
    likeliest = np.argsort(-weight, kind="stable")[:MOST_TEXTS]
    many = len(likeliest)
    column = np.full(len(weight) + 1, many)  # another text
    column[likeliest] = np.arange(many)
    column[-1] = many + 1  # of no marks, by their place -1
    rows = np.zeros((many + 2, many + 2))
    rows[np.arange(many + 1), np.arange(many + 1)] = READABLE
    rows[:, -1] = 1 - rows[:, :-1].sum(axis=1)
    return Outcomes(rows, column[marked])


def _likely(kinds: Kinds, chance: Array) -> dict[str, Array]:
    """The chances of the kinds of each of the likeliest families, in the key's order, 0 for all others."""
    family_of = np.array([family for family, _ in kinds.groups])[kinds.group]
    of = {family: np.where(family_of == family, chance, 0.0) for family, _ in kinds.groups}
    ranked = sorted(of, key=lambda family: -of[family].sum())[:MOST_LIKELY]
    return {family: of[family] for family in ranked if family != NONE and of[family].sum() > TELLS}


def _apart(likely: dict[str, Array], outcomes: Outcomes) -> tuple[str, str] | None:
    """The two families whose answers differ most, weighed by the chance that it is one of the two."""
    whole = {family: chance.sum() for family, chance in likely.items()}
    rows = {family: outcomes.weighed(chance) @ outcomes.rows / whole[family] for family, chance in likely.items()}
    return max(
        combinations(likely, 2),
        key=lambda two: whole[two[0]] * whole[two[1]] * np.abs(rows[two[0]] - rows[two[1]]).sum(),
        default=None,
    )
