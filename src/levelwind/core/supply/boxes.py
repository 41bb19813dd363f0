"""What to pay at most for a box of reels that was looked at for a few minutes. Money is in minor units."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.supply.model import Spread
from levelwind.core.supply.spreads import Generator, drawn
from levelwind.core.supply.worth import DeadReel, play

OUTCOMES = 4_000
"""Outcomes of a box. Our choice: a chance is then known to 1 %, which is more than the looks know."""
MOST_REELS = 500
"""In one box. Our choice: beyond it the outcomes take seconds."""
CAREFUL = 0.2
"""Share of outcomes in which a box paid for with the careful sum still loses. Our choice."""


@dataclass(frozen=True, slots=True)
class BoxWorth:
    """Of all reels together, each made the most of; ``each`` by reel, nothing where no way pays."""

    worth: Quantity
    most_to_pay: float
    """The mean: paid again and again, boxes neither win nor lose."""
    careful: float
    """Brought in by eight boxes of ten."""
    each: tuple[float, ...]
    ways: tuple[str, ...]
    """By reel the way with the highest mean; empty where none pays."""
    loss: float | None
    """Chance that it brings less than is asked; None where nothing is."""


def box(
    reels: Sequence[DeadReel], misjudged: Spread, rng: Generator, asked: int | None = None, many: int = OUTCOMES
) -> BoxWorth:
    """``misjudged``, a spread around 1, is drawn once a box: what so short a look has wrong, it has wrong of all reels.

    >>> from levelwind.core.supply.worth import Piece
    >>> reel = DeadReel(50.0, (Piece("spool", Spread(2000, 2000, 2000), Spread(10, 10, 10)),), Spread(4, 4, 4))
    >>> told = box([reel, reel], Spread(1, 1, 1), np.random.default_rng(1), asked=2000)
    >>> told.worth.value, told.most_to_pay, told.careful, told.ways, told.loss
    (2600.0, 2600.0, 2600.0, ('parts', 'parts'), 0.0)
    """
    if not 1 <= len(reels) <= MOST_REELS:
        raise InputError("reels in the box", len(reels), f"from 1 to {MOST_REELS}")
    total, each, ways = np.zeros(many), [], []
    for reel in reels:
        played = play(reel, rng, many)
        way = max(played.means, key=lambda one: played.means[one])
        pays = played.means[way] > 0
        each.append(played.means[way] if pays else 0.0)
        ways.append(way if pays else "")
        if pays:
            total += played.outcomes[way]
    total *= drawn(misjudged, many, rng)
    mean = sum(each) * misjudged.mean
    low, careful, high = (float(end) for end in np.quantile(total, (0.05, CAREFUL, 0.95)))
    return BoxWorth(
        worth=Quantity(mean, min(low, mean), max(high, mean)),
        most_to_pay=mean,
        careful=max(careful, 0.0),
        each=tuple(each),
        ways=tuple(ways),
        loss=None if asked is None else float(np.mean(total < asked)),
    )
