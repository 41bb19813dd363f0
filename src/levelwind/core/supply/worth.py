"""What a dead reel is worth: in parts, mended and sold whole, or left shut; a decision tree, and what may come of it.

Money is in minor units of one currency.
"""

from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.supply.model import LONGEST_MIN, Spread
from levelwind.core.supply.spreads import Generator, drawn

Money = NDArray[np.float64]

OUTCOMES = 10_000
"""Outcomes that spread and chances are counted from. Our choice: a chance is then known to half of 1 %."""
MOST_PIECES = 500
"""Parts of one reel. Our choice: no reel has more."""
NOTHING = Spread(0, 0, 0)
"""No minutes, no money."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A part that could be stripped from the reel."""

    name: str
    price: Spread
    """What it brings, sold or fitted in place of one that would be bought."""
    minutes: Spread
    """To strip, clean and label it."""
    good: float = 1.0
    """Chance that it is fit for use."""
    sells: float = 1.0
    """Chance that it is sold or fitted in the time one is willing to wait."""


@dataclass(frozen=True, slots=True)
class Mending:
    """The reel mended and sold whole."""

    minutes: Spread
    price: Spread
    parts: Spread = NOTHING
    """What the parts cost that go into it."""
    comes_right: float = 1.0
    """Chance that it runs as it should afterwards; else it is open, and stripped where that pays."""
    sells: float = 1.0


@dataclass(frozen=True, slots=True)
class Unopened:
    """The reel as it is, sold for what somebody gives."""

    price: Spread = NOTHING
    minutes: Spread = NOTHING
    sells: float = 1.0


@dataclass(frozen=True, slots=True)
class DeadReel:
    """A reel and what could be made of it."""

    minute: float
    """What a minute at the bench costs."""
    pieces: tuple[Piece, ...] = ()
    opening: Spread = NOTHING
    """Minutes until the first piece can be reached."""
    mending: Mending | None = None
    shut: Unopened = Unopened()

    def __post_init__(self) -> None:
        if not (isfinite(self.minute) and self.minute >= 0):
            raise InputError("minute", self.minute, "what a minute at the bench costs, 0 or more")
        if not self.pieces and self.mending is None:
            raise InputError("reel", "no parts and no mending", "parts that could be stripped, or what mending takes")
        if len(self.pieces) > MOST_PIECES:
            raise InputError("parts", len(self.pieces), f"up to {MOST_PIECES}")
        chances = {
            f"{what} of {piece.name}": getattr(piece, what) for piece in self.pieces for what in ("good", "sells")
        }
        minutes = {f"minutes of {piece.name}": piece.minutes for piece in self.pieces} | {"opening": self.opening}
        chances["sells, shut"], minutes["minutes, shut"] = self.shut.sells, self.shut.minutes
        if self.mending:
            chances |= {"comes right": self.mending.comes_right, "sells, mended": self.mending.sells}
            minutes["minutes, mended"] = self.mending.minutes
        for what, chance in chances.items():
            if not 0 <= chance <= 1:
                raise InputError(what, f"{chance:g}", "a chance from 0 to 1")
        for what, spread in minutes.items():
            if spread.high > LONGEST_MIN:
                raise InputError(what, f"{spread.high:g}", f"up to {LONGEST_MIN:g} minutes")


@dataclass(frozen=True, slots=True)
class Way:
    """What one way brings: its mean, where nine outcomes in ten lie, how often it turns out best of all, or a loss."""

    worth: Quantity
    best: float
    loss: float


@dataclass(frozen=True, slots=True)
class Worth:
    """The ways by their names, the one with the highest mean, and what it rests on."""

    ways: dict[str, Way]
    """"parts", "mended", "shut", as far as the reel has them."""
    advice: str
    strip: tuple[Piece, ...]
    """Pieces that are worth their minutes, once the reel is open."""
    leave: tuple[Piece, ...]
    most_to_pay: float
    """For the reel as it lies there: nothing if no way brings more."""


def worth(reel: DeadReel, rng: Generator, many: int = OUTCOMES) -> Worth:
    """Each way by the tree's own means, with the spread of what may come of it.

    >>> spool = Piece("spool", Spread(2000, 2000, 2000), Spread(10, 10, 10), good=0.5)
    >>> told = worth(DeadReel(50.0, (spool,), Spread(4, 4, 4)), np.random.default_rng(1))
    >>> told.advice, told.ways["parts"].worth.value, told.most_to_pay
    ('parts', 300.0, 300.0)
    """
    played = play(reel, rng, many)
    means, outcomes = played.means, played.outcomes
    advice = max(means, key=lambda way: means[way])
    best = np.max(list(outcomes.values()), axis=0)
    ways: dict[str, Way] = {way: _way(means[way], outcomes[way], best) for way in means}
    leave = tuple(piece for piece in reel.pieces if piece not in played.strip)
    return Worth(ways, advice, played.strip, leave, max(means[advice], 0.0))


@dataclass(frozen=True, slots=True)
class Played:
    """By way, the tree's own mean and what came of each outcome; and the pieces worth their minutes."""

    means: dict[str, float]
    outcomes: dict[str, Money]
    strip: tuple[Piece, ...]


def play(reel: DeadReel, rng: Generator, many: int) -> Played:
    strip = tuple(piece for piece in reel.pieces if _mean(piece, reel.minute) > 0)
    stripped = sum(_mean(piece, reel.minute) for piece in strip)
    pieces = sum((_piece(piece, reel.minute, many, rng) for piece in strip), np.zeros(many))
    means = {"shut": _sold(reel.shut.price, reel.shut.sells) - reel.minute * reel.shut.minutes.mean}
    outcomes = {
        "shut": _brings(reel.shut.price, reel.shut.sells, many, rng) - reel.minute * drawn(reel.shut.minutes, many, rng)
    }
    if reel.pieces:
        means["parts"] = stripped - reel.minute * reel.opening.mean
        outcomes["parts"] = pieces - reel.minute * drawn(reel.opening, many, rng)
    if reel.mending:
        means["mended"] = _mended(reel.mending, reel.minute, stripped)
        outcomes["mended"] = _mended_outcomes(reel.mending, reel.minute, pieces, rng)
    return Played(means, outcomes, strip)


def _mean(piece: Piece, minute: float) -> float:
    return piece.good * _sold(piece.price, piece.sells) - minute * piece.minutes.mean


def _sold(price: Spread, sells: float) -> float:
    return sells * price.mean


def _mended(mending: Mending, minute: float, stripped: float) -> float:
    """Where it does not come right it lies open: what is worth stripping is stripped."""
    sold = mending.comes_right * _sold(mending.price, mending.sells)
    return sold + (1 - mending.comes_right) * stripped - mending.parts.mean - minute * mending.minutes.mean


def _brings(price: Spread, sells: float, many: int, rng: Generator) -> Money:
    return np.where(rng.random(many) < sells, drawn(price, many, rng), 0.0)


def _piece(piece: Piece, minute: float, many: int, rng: Generator) -> Money:
    return _brings(piece.price, piece.good * piece.sells, many, rng) - minute * drawn(piece.minutes, many, rng)


def _mended_outcomes(mending: Mending, minute: float, pieces: Money, rng: Generator) -> Money:
    many = len(pieces)
    sold = _brings(mending.price, mending.sells, many, rng)
    cost = drawn(mending.parts, many, rng) + minute * drawn(mending.minutes, many, rng)
    return np.where(rng.random(many) < mending.comes_right, sold, pieces) - cost


def _way(mean: float, outcomes: Money, best: Money) -> Way:
    low, high = (float(each) for each in np.quantile(outcomes, (0.05, 0.95)))
    worth = Quantity(mean, min(low, mean), max(high, mean))
    return Way(worth, float(np.mean(outcomes >= best)), float(np.mean(outcomes < 0)))
