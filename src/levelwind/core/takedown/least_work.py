"""The cheapest set of steps that frees what is wanted, exactly.

"Cannot before" and "either way" rules make an AND/OR graph (L. S. Homem de Mello and A. C. Sanderson, "AND/OR graph
representation of assembly plans", IEEE Transactions on Robotics and Automation 6, 1990). Work shared between two
branches counts once, which makes the least work a hard problem in general; the rules of a reel have few choices, so
a best-first search over sets of steps settles it at once. Its lower bound is D. E. Knuth's generalisation of
Dijkstra's algorithm (Information Processing Letters 6, 1977) with the steps already chosen at no cost.
"""

import heapq
from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum, inf

from levelwind.core.errors import InputError, NoConvergenceError
from levelwind.core.takedown.model import Rules, Step

SEARCH_LIMIT = 20_000
"""Sets of steps looked at before the search gives up. The families need fewer than a hundred."""


@dataclass(frozen=True, slots=True)
class _Way:
    """A step with one of the sets of places that is enough for it."""

    step: int
    minutes: float
    needs: frozenset[str]
    frees: frozenset[str]


def least_work(rules: Rules, wanted: frozenset[str], off: frozenset[str]) -> tuple[Step, ...]:
    """The steps, in the order of the rules, that free every wanted place in the fewest minutes.

    Of equally quick sets the one with fewer steps. Raises InputError for a place that cannot be reached, naming the
    circle if there is one, and NoConvergenceError when the rules hold too many choices to settle.
    """
    ways = [
        _Way(index, step.minutes, needs, frozenset(step.frees))
        for index, step in enumerate(rules.steps)
        for needs in step.needs.ways()
    ]
    _refuse_unreachable(rules, ways, wanted, off)
    chosen = _Search(ways, wanted, off).run()
    return tuple(rules.steps[index] for index in sorted({ways[i].step for i in chosen}))


class _Search:
    """Best-first search over sets of ways; a set grows by one way that any solution containing it must have."""

    def __init__(self, ways: list[_Way], wanted: frozenset[str], off: frozenset[str]) -> None:
        self.ways, self.wanted, self.off = ways, wanted, off
        self.by_place: dict[str, list[int]] = {}
        for index, way in enumerate(ways):
            for place in way.frees:
                self.by_place.setdefault(place, []).append(index)

    def run(self) -> frozenset[int]:
        start: frozenset[int] = frozenset()
        queue = [(*self._rank(start), start)]
        seen = {start}
        while queue and len(seen) <= SEARCH_LIMIT:
            chosen = heapq.heappop(queue)[-1]
            fired, reached = _fire(self.ways, chosen, self.off)
            if self.wanted <= reached:
                return fired
            for grown in self._grow(chosen, fired, reached):
                rank = self._rank(grown)
                if grown not in seen and rank[0] < inf:
                    seen.add(grown)
                    heapq.heappush(queue, (*rank, grown))
        raise NoConvergenceError(
            f"The takedown rules hold too many either-way choices: no least work among {SEARCH_LIMIT} sets of steps. "
            "Ask for fewer places at a time, or take choices out of the rules."
        )

    def _grow(self, chosen: frozenset[int], fired: frozenset[int], reached: frozenset[str]) -> list[frozenset[int]]:
        freed = self.off.union(*(self.ways[i].frees for i in chosen))
        open_places = self.wanted.union(*(self.ways[i].needs for i in chosen)) - freed
        if open_places:
            forced = min(open_places, key=lambda place: (len(self._frees(place, chosen)), place))
            return [chosen | {i} for i in self._frees(forced, chosen)]
        # Every need is met, but only in a circle: some need of a stuck step must also be freed from outside it.
        stuck = frozenset().union(*(self.ways[i].needs for i in chosen - fired)) - reached
        return [chosen | {i} for place in sorted(stuck) for i in self._frees(place, chosen)]

    def _frees(self, place: str, chosen: frozenset[int]) -> list[int]:
        used = {self.ways[i].step for i in chosen}
        return [i for i in self.by_place.get(place, ()) if self.ways[i].step not in used]

    def _rank(self, chosen: frozenset[int]) -> tuple[float, int, tuple[int, ...]]:
        used = {self.ways[i].step: self.ways[i].minutes for i in chosen}
        spent = fsum(used.values())
        bound = _bounds(self.ways, self.off, frozenset(used))
        ahead = max((bound.get(place, inf) for place in self._wants(chosen)), default=0.0)
        return round(spent + ahead, 9), len(used), tuple(sorted(used))

    def _wants(self, chosen: frozenset[int]) -> frozenset[str]:
        return self.wanted.union(*(self.ways[i].needs for i in chosen))


def _fire(ways: list[_Way], chosen: Iterable[int], off: frozenset[str]) -> tuple[frozenset[int], frozenset[str]]:
    """Which of the chosen ways can be done in some order, and what is off after them."""
    fired: set[int] = set()
    reached = off
    waiting = set(chosen)
    while ready := {i for i in waiting if ways[i].needs <= reached}:
        fired |= ready
        waiting -= ready
        reached = reached.union(*(ways[i].frees for i in ready))
    return frozenset(fired), reached


def _bounds(ways: list[_Way], off: frozenset[str], free_steps: frozenset[int]) -> dict[str, float]:
    """Minutes that freeing each place costs at least: the dearest of a way's needs, then the way itself."""
    bound = dict.fromkeys(off, 0.0)
    left = [len(way.needs - off) for way in ways]
    waits: dict[str, list[int]] = {}
    for index, way in enumerate(ways):
        for place in way.needs - off:
            waits.setdefault(place, []).append(index)

    def own(index: int) -> float:
        return 0.0 if ways[index].step in free_steps else ways[index].minutes

    queue = [(own(index), place) for index, way in enumerate(ways) if not left[index] for place in way.frees]
    heapq.heapify(queue)
    while queue:
        minutes, place = heapq.heappop(queue)
        if place in bound:
            continue
        bound[place] = minutes
        for index in waits.get(place, ()):
            left[index] -= 1
            if not left[index]:
                for freed in ways[index].frees:
                    heapq.heappush(queue, (minutes + own(index), freed))
    return bound


def _refuse_unreachable(rules: Rules, ways: list[_Way], wanted: frozenset[str], off: frozenset[str]) -> None:
    reachable = _bounds(ways, off, frozenset())
    for place in sorted(wanted):
        rules.place(place)
        if place not in reachable:
            raise _unreachable(rules, ways, place, frozenset(reachable))


def _unreachable(rules: Rules, ways: list[_Way], place: str, reachable: frozenset[str]) -> InputError:
    """Follow what waits for what until nothing frees it, or until it bites its own tail."""
    trail = [place]
    while True:
        way = next((way for way in ways if trail[-1] in way.frees), None)
        if way is None:
            was = f"out of reach, because no step frees {rules.place(trail[-1]).name}"
            break
        blocked = min(way.needs - reachable)
        if blocked in trail:
            circle = [*trail[trail.index(blocked) :], blocked]
            was = "in a circle: " + " waits for ".join(rules.place(key).name for key in circle)
            break
        trail.append(blocked)
    return InputError(f"the way to {rules.place(place).name}", was, "rules by which every place comes free at last")
