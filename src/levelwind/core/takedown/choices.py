"""Choices between ways in, settled by mixed integer programming (HiGHS, through scipy).

One unknown says whether a step is done, one whether it is done by a given way, one whether a place comes off, one
which way it comes off by, and one when. A place that comes off by a way comes off after all that stands before it, so
that no two steps can wait for each other:

    done >= by_way,   off(before) >= by_way,   by_way >= from(place, way),   sum of from(place, way) >= off(place),
    when(place) >= when(before) + 1 - (n + 1) (1 - from(place, way))

and the minutes of the steps done are made least. A second run, held to those minutes, makes the steps fewest.
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import NoConvergenceError

_Name = TypeVar("_Name", bound=Hashable)

NODE_LIMIT = 20_000
"""Branches the solver may try. Two choices at each of seventy steps needed a few hundred."""

SLACK_MINUTES = 1e-6
"""How much dearer than the least the second run may come out: less than any difference that means something."""


@dataclass(frozen=True, slots=True)
class Way:
    """A step, by its number in the rules, with one set of places that is enough for it."""

    step: int
    after: frozenset[str]
    frees: frozenset[str]


def cheapest_ways(ways: Sequence[Way], minutes: Sequence[float], wanted: frozenset[str]) -> frozenset[int]:
    """The numbers of the steps that free every wanted place in the fewest minutes, and are fewest among such sets.

    Every wanted place must be within reach. Raises NoConvergenceError when the solver gives up.

    >>> lid, hatch = Way(0, frozenset(), frozenset({"lid"})), Way(1, frozenset(), frozenset({"hatch"}))
    >>> gear = [Way(2, frozenset({place}), frozenset({"gear"})) for place in ("lid", "hatch")]
    >>> sorted(cheapest_ways([lid, hatch, *gear], [3.0, 1.0, 0.5], frozenset({"gear"})))
    [1, 2]
    """
    program = _Program(ways, len(minutes), wanted)
    least = program.solve(np.asarray(minutes, dtype=float))
    held = {program.done[step]: minutes[step] for step in range(len(minutes))}
    program.add(held, -np.inf, sum(minutes[step] for step in least) + SLACK_MINUTES)
    return program.solve(1 + np.arange(len(minutes)) / len(minutes) ** 2)


class _Program:
    """The unknowns by their columns, and the rows that bind them."""

    def __init__(self, ways: Sequence[Way], steps: int, wanted: frozenset[str]) -> None:
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.columns = 0
        self.steps = steps
        places = sorted({place for way in ways for place in way.after | way.frees})
        self.done = self._take(range(steps))
        self.by_way = self._take(range(len(ways)))
        self.off = self._take(places)
        self.source = self._take([(place, number) for number, way in enumerate(ways) for place in sorted(way.frees)])
        self.when = self._take(places)
        self._rules(ways)
        self._bounds(wanted)

    def _take(self, names: Iterable[_Name]) -> dict[_Name, int]:
        """A column for each name."""
        taken = {name: self.columns + number for number, name in enumerate(names)}
        self.columns += len(taken)
        return taken

    def _rules(self, ways: Sequence[Way]) -> None:
        for number, way in enumerate(ways):
            self.add({self.by_way[number]: 1, self.done[way.step]: -1}, -np.inf, 0)
            for before in way.after:
                self.add({self.by_way[number]: 1, self.off[before]: -1}, -np.inf, 0)
        for place, column in self.off.items():
            sources = {self.source[name]: 1.0 for name in self.source if name[0] == place}
            self.add({column: -1, **sources}, 0, np.inf)
        for (place, number), column in self.source.items():
            self.add({column: 1, self.by_way[number]: -1}, -np.inf, 0)
            self._in_turn(place, ways[number].after, column)

    def _in_turn(self, place: str, after: frozenset[str], column: int) -> None:
        late = len(self.when) + 1
        if place in after:
            self.add({column: 1}, 0, 0)
        for before in after - {place}:
            self.add({self.when[place]: 1, self.when[before]: -1, column: -late}, 1 - late, np.inf)

    def _bounds(self, wanted: frozenset[str]) -> None:
        when = list(self.when.values())
        self.lower, self.upper, self.whole = np.zeros(self.columns), np.ones(self.columns), np.ones(self.columns)
        self.lower[[self.off[place] for place in wanted]] = 1
        self.upper[when] = len(when)
        self.whole[when] = 0

    def add(self, row: dict[int, float], low: float, high: float) -> None:
        self.rows.append((row, low, high))

    def solve(self, cost: NDArray[np.float64]) -> frozenset[int]:
        """The steps done when their cost is least. The solver comes in late: most takedowns hold no choice."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        entries = [
            (value, (number, column)) for number, row in enumerate(self.rows) for column, value in row[0].items()
        ]
        values, (numbers, columns) = [e[0] for e in entries], zip(*(e[1] for e in entries), strict=True)
        matrix = csr_array((values, (numbers, columns)), shape=(len(self.rows), self.columns))
        answer = milp(
            np.concatenate([cost, np.zeros(self.columns - self.steps)]),
            constraints=LinearConstraint(matrix, [row[1] for row in self.rows], [row[2] for row in self.rows]),
            bounds=Bounds(self.lower, self.upper),
            integrality=self.whole,
            options={"mip_rel_gap": 0, "node_limit": NODE_LIMIT},
        )
        if answer.status != 0:
            raise NoConvergenceError(
                "The takedown rules hold too many either-way choices to find the least work. "
                "Ask for fewer places at a time, or take choices out of the rules."
            )
        return frozenset(step for step in self.done if answer.x[step] > 0.5)
