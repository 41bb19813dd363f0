"""The order of a stack's loose pieces that carries most, over the whole stack at once.

The stack is laid from the far end on. Ways of laying that used the same pieces, ended on the same one and are held by
as much in the run they are in go on alike from there, so that only the best of them is kept: every order is weighed
without being written out. Torques are counted in whole steps here, so that orders that carry the same are found to.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from levelwind.core.drag.rings import Floats

Unit = tuple[int, ...]
"""Places of bodies that move as one: a body with what is bonded to it."""

MOST_LAID = 200_000
"""Ways kept side by side times the square of the pieces that change places: some tenths of a second's work, and enough
to weigh every order of eight pieces all different. Our choice."""

STEPS = 2**40
"""Steps to the torque of the strongest surface: each a part in 10¹² of it, far below what is shown. Our choice."""

NEVER_SLIPS = 2**62
"""Steps, more than any surface carries."""


@dataclass(frozen=True, slots=True)
class Pieces:
    """The bodies to lay, n of them.

    ``sides`` are 1, -1 or 0 as in ``chain``. ``per_N`` is what the body of the row carries under that of the column,
    in N m per N, infinite where they are bonded; ``bare`` says where no lining is between them, ``misses`` where they
    do not overlap: each of shape (n, n). ``bite_per_m`` is the friction along each one's keys over the radius they bear
    at.
    """

    sides: Sequence[int]
    per_N: Floats
    bare: npt.NDArray[np.bool_]
    misses: npt.NDArray[np.bool_]
    bite_per_m: Sequence[float]


class _Top(NamedTuple):
    """What a stack half laid goes on from.

    ``used`` has a bit for each unit laid of the stretch. ``side`` is that of the last tied body, ``bite`` its keys'
    for each step, ``below`` what the run under it carries. ``weakest`` is what the run since then carries so far, with
    whether that surface is bare: of two alike the lining slips.
    """

    used: int
    last: int
    side: int
    weakest: tuple[int, bool]
    bite: float
    below: int


class _Worth(NamedTuple):
    """Least is best: runs that slip without a lining, torque in steps less than none, bodies that left their place."""

    bare: int
    torque: int
    moved: int


Trail = tuple["Trail", Unit] | None
_Ways = dict[_Top, tuple[_Worth, Trail]]

_NOTHING = _Top(0, -1, 0, (NEVER_SLIPS, False), 0.0, 0)


class _Bench:
    """Lays one body on another, in whole steps of torque."""

    def __init__(self, pieces: Pieces) -> None:
        finite = np.isfinite(pieces.per_N)
        step = float(pieces.per_N[finite].max(initial=0.0)) / STEPS or 1.0
        steps = np.where(finite, np.rint(np.where(finite, pieces.per_N, 0.0) / step), NEVER_SLIPS)
        self.holds = [
            list(zip(map(int, row), bare, strict=True)) for row, bare in zip(steps, pieces.bare.tolist(), strict=True)
        ]
        self.misses = pieces.misses.tolist()
        self.sides = pieces.sides
        self.bites = [bite * step for bite in pieces.bite_per_m]

    def on(self, top: _Top, worth: _Worth, body: int, place: int) -> tuple[_Top, _Worth] | None:
        """The stack with one more body on top; None where it would miss the one below."""
        used, last, turning, weakest, bite, below = top
        bare, torque, moved = worth
        if last >= 0:
            if self.misses[last][body]:
                return None
            weakest = min(weakest, self.holds[last][body])
        moved += place != body
        side = self.sides[body]
        if not side:
            return _Top(used, body, turning, weakest, bite, below), _Worth(bare, torque, moved)
        slips = side * turning < 0
        carried = weakest[0] if slips else 0
        if bite:
            # Keys eat clamp force on its way down: see ``chain.clamp_shares``.
            torque = round(max((1 - bite * carried) / (1 + bite * below), 0.0) * torque)
        bite = self.bites[body]
        return (
            _Top(used, body, side, _NOTHING.weakest, bite, carried if bite else 0),
            _Worth(bare + (slips and weakest[1]), torque - carried, moved),
        )


def best_order(
    pieces: Pieces, stretches: Sequence[Sequence[Unit]], kinds: Sequence[Sequence[object]]
) -> tuple[tuple[int, ...], bool]:
    """Places of the bodies in the best order, and whether every order was weighed.

    ``stretches`` are the units that may change places with one another, from the far end on: one that stays has a
    stretch of its own. ``kinds`` says of each unit what it is to the drag: those of a kind keep their order. Best is
    the order with the fewest runs that slip without a lining, of those the one that carries most, of those the one
    that moves fewest.
    """
    bench, proven, place = _Bench(pieces), True, 0
    ways: _Ways = {_NOTHING: (_Worth(0, 0, 0), None)}
    for units, alike in zip(stretches, kinds, strict=True):
        before = [sum(1 << n for n in range(number) if alike[n] == alike[number]) for number in range(len(units))]
        for _ in units:
            ways = _one_more(bench, ways, units, before, place)
            if len(ways) > (most := max(MOST_LAID // len(units) ** 2, 1)):
                ways, proven = dict(sorted(ways.items(), key=lambda way: way[1][0])[:most]), False
        ways = {top._replace(used=0): way for top, way in ways.items()}
        place += sum(map(len, units))
    trail, laid = min(ways.values(), key=lambda way: way[0])[1], []
    while trail is not None:
        trail, unit = trail
        laid.append(unit)
    return tuple(body for unit in reversed(laid) for body in unit), proven


def _one_more(bench: _Bench, ways: _Ways, units: Sequence[Unit], before: Sequence[int], place: int) -> _Ways:
    """Every way with each unit that can lie on it next, of those that go on alike the best.

    ``before`` are the bits of the units that have to be laid first, ``place`` is where the stretch begins.
    """
    grown: _Ways = {}
    for top, (worth, trail) in ways.items():
        at = place + sum(len(unit) for number, unit in enumerate(units) if top.used >> number & 1)
        for number, unit in enumerate(units):
            if top.used >> number & 1 or top.used & before[number] != before[number]:
                continue
            laid: tuple[_Top, _Worth] | None = _Top(top.used | 1 << number, *top[1:]), worth
            for offset, body in enumerate(unit):
                laid = laid and bench.on(*laid, body, at + offset)
            if laid and (laid[0] not in grown or laid[1] < grown[laid[0]][0]):
                grown[laid[0]] = laid[1], (trail, unit)
    return grown
