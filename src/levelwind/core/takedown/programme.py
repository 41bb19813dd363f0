"""Choices settled by mixed integer programming (HiGHS, through scipy): rules with circles, or too wide for a diagram.

One unknown says whether a step is done, one by which of its ways, and one whether a place comes off. A step that is
done is done by one way, and what stands before that way is off:

    sum of by_way(step) = done,   off(before) >= sum of by_way(step) over the ways it stands before,
    sum of done over the steps that free it >= off(place)

and the minutes of the steps done are made least. A second run, held to those minutes, makes the steps fewest.

Only steps that can serve what is wanted are looked at. Two places of which neither can wait for the other, however the
choices fall, need nothing more. Places that could wait for each other in a circle (a strongly connected part of who may
wait for whom) have an unknown for when they come off and by which way, so that none comes before what it waits for:

    sum of from(place, way) >= off(place),   by_way >= from(place, way),
    when(place) >= when(before) + 1 - (n + 1) (1 - from(place, way))   for n places of that part
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from levelwind.core.takedown.ways import Settled, Way

_Name = TypeVar("_Name", bound=Hashable)

SECONDS = 3.0
"""Time the solver may take for the least minutes, and again for the fewest steps: a person waits. Our choice."""
SLACK_MINUTES = 1e-6
"""How much dearer than the least the second run may come out: less than any difference that means something."""


def by_programme(ways: Sequence[Way], minutes: Sequence[float], wanted: frozenset[str], found: Settled) -> Settled:
    """The steps that take the fewest minutes, and are fewest among such sets; ``found`` is a way in, with its floor.

    What is not proven in time is the best way found, with the minutes below which none comes.
    """
    program = _Program(ways, len(minutes), wanted)
    least = program.solve(np.asarray(minutes, dtype=float))
    tried = [(sum(minutes[step] for step in steps), steps) for steps in (least.steps, found.steps) if steps is not None]
    spent, steps = min(tried, key=lambda pair: pair[0])
    if not least.proven:
        return Settled(steps, min(max(found.at_least_min, least.floor), spent))
    held = {program.done[step]: minutes[step] for step in range(len(minutes))}
    program.add(held, -np.inf, spent + SLACK_MINUTES)
    fewest = program.solve(1 + np.arange(len(minutes)) / len(minutes) ** 2)
    return Settled(fewest.steps or steps, spent)


@dataclass(frozen=True, slots=True)
class _Answer:
    """The steps, None where there are none in time; the cost below which there are none; whether these cost no more."""

    steps: frozenset[int] | None
    floor: float
    proven: bool


def _parts(ways: Sequence[Way]) -> dict[str, int]:
    """By place, the number from 1 of the circle it can be caught in; 0 where it can wait for itself in no way."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import connected_components

    places = sorted({place for way in ways for place in way.after | way.frees})
    spot = {place: number for number, place in enumerate(places)}
    waits = {(spot[place], spot[before]) for way in ways for place in way.frees for before in way.after}
    first, second = [pair[0] for pair in waits], [pair[1] for pair in waits]
    graph = csr_array((np.ones(len(waits)), (first, second)), shape=(len(places), len(places)))
    _, labels = connected_components(graph, directed=True, connection="strong")
    many = np.bincount(labels)
    return {place: int(labels[n]) + 1 if many[labels[n]] > 1 or (n, n) in waits else 0 for place, n in spot.items()}


class _Program:
    """The unknowns by their columns, and the rows that bind them."""

    def __init__(self, ways: Sequence[Way], steps: int, wanted: frozenset[str]) -> None:
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.columns = 0
        self.steps = steps
        places = sorted({place for way in ways for place in way.after | way.frees})
        part = _parts(ways)
        self.done = self._take(range(steps))
        self.by_way = self._take(range(len(ways)))
        self.off = self._take(places)
        around = [place for place in places if part[place] > 0]
        self.source = self._take(
            [(place, number) for number, way in enumerate(ways) for place in sorted(way.frees) if part[place] > 0]
        )
        self.when = self._take(around)
        self._steps_done(ways)
        self._places_off(ways)
        self._circles(ways, part)
        self._bounds(wanted, {way.step for way in ways})

    def _take(self, names: Iterable[_Name]) -> dict[_Name, int]:
        """A column for each name."""
        taken = {name: self.columns + number for number, name in enumerate(names)}
        self.columns += len(taken)
        return taken

    def _steps_done(self, ways: Sequence[Way]) -> None:
        """By one way each, with what stands before that way off."""
        of_step: dict[int, list[int]] = {}
        for number, way in enumerate(ways):
            of_step.setdefault(way.step, []).append(number)
        for step, numbers in of_step.items():
            self.add({self.done[step]: -1.0, **{self.by_way[number]: 1.0 for number in numbers}}, 0, 0)
            for before in sorted(frozenset().union(*(ways[number].after for number in numbers))):
                held = {self.by_way[number]: 1.0 for number in numbers if before in ways[number].after}
                self.add({self.off[before]: -1.0, **held}, -np.inf, 0)

    def _places_off(self, ways: Sequence[Way]) -> None:
        freed_by: dict[str, set[int]] = {}
        for way in ways:
            for place in way.frees:
                freed_by.setdefault(place, set()).add(way.step)
        for place, column in self.off.items():
            self.add({column: -1.0, **{self.done[step]: 1.0 for step in freed_by.get(place, ())}}, 0, np.inf)

    def _circles(self, ways: Sequence[Way], part: Mapping[str, int]) -> None:
        sources: dict[str, dict[int, float]] = {}
        for (place, number), column in self.source.items():
            sources.setdefault(place, {})[column] = 1.0
            self.add({column: 1, self.by_way[number]: -1}, -np.inf, 0)
            self._in_turn(place, [before for before in ways[number].after if part[before] == part[place]], column)
        for place in self.when:
            self.add({self.off[place]: -1, **sources.get(place, {})}, 0, np.inf)

    def _in_turn(self, place: str, after: Sequence[str], column: int) -> None:
        late = len(self.when) + 1
        if place in after:
            self.add({column: 1}, 0, 0)
        for before in after:
            if before != place:
                self.add({self.when[place]: 1, self.when[before]: -1, column: -late}, 1 - late, np.inf)

    def _bounds(self, wanted: frozenset[str], able: set[int]) -> None:
        when = list(self.when.values())
        self.lower, self.upper, self.whole = np.zeros(self.columns), np.ones(self.columns), np.ones(self.columns)
        self.lower[[self.off[place] for place in wanted]] = 1
        self.upper[[column for step, column in self.done.items() if step not in able]] = 0
        self.upper[when] = len(when)
        self.whole[when] = 0

    def add(self, row: dict[int, float], low: float, high: float) -> None:
        self.rows.append((row, low, high))

    def solve(self, cost: NDArray[np.float64]) -> _Answer:
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
            options={"mip_rel_gap": 0, "time_limit": SECONDS},
        )
        steps = None if answer.x is None else frozenset(step for step in self.done if answer.x[step] > 0.5)
        floor = answer.mip_dual_bound if answer.mip_dual_bound is not None else 0.0
        return _Answer(steps, max(float(floor), 0.0), bool(answer.status == 0))
