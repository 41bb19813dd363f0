"""Ways to free a place: those that can serve what is wanted, and one way in."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush


@dataclass(frozen=True, slots=True)
class Way:
    """A step, by its number in the rules, with one set of places that is enough for it."""

    step: int
    after: frozenset[str]
    frees: frozenset[str]


@dataclass(frozen=True, slots=True)
class Settled:
    """The numbers of the steps chosen, and the minutes below which no way in comes: theirs, where they are proven."""

    steps: frozenset[int]
    at_least_min: float


def ways_that_serve(ways: Sequence[Way], wanted: frozenset[str]) -> list[Way]:
    """Those of steps that free what is wanted, or what stands before such a step, and so on."""
    needed, waiting = set(wanted), list(wanted)
    freed_by: dict[str, list[Way]] = {}
    for way in ways:
        for place in way.frees:
            freed_by.setdefault(place, []).append(way)
    serving: set[Way] = set()
    while waiting:
        for way in freed_by.get(waiting.pop(), ()):
            serving.add(way)
            new = way.after - needed
            needed |= new
            waiting += new
    return [way for way in ways if way in serving]


def no_spare_ways(ways: Sequence[Way]) -> list[Way]:
    """Without those of which another way of the same step asks for part alone."""
    kept: dict[int, list[Way]] = {}
    for way in sorted(ways, key=lambda way: len(way.after)):
        of_step = kept.setdefault(way.step, [])
        if not any(other.after <= way.after for other in of_step):
            of_step.append(way)
    return [way for of_step in kept.values() for way in of_step]


def some_way(ways: Sequence[Way], minutes: Sequence[float], wanted: frozenset[str]) -> Settled:
    """A way in, each place by the way cheapest if nothing is shared; its floor is the dearest place by itself."""
    by = _cheapest_by_itself(ways, minutes, sum)
    chosen: set[int] = set()
    waiting, met = list(wanted), set(wanted)
    while waiting:
        way = by[waiting.pop()][1]
        chosen.add(way.step)
        waiting += way.after - met
        met |= way.after
    alone = _cheapest_by_itself(ways, minutes, max)
    return Settled(frozenset(chosen), max(alone[place][0] for place in wanted))


def _cheapest_by_itself(
    ways: Sequence[Way], minutes: Sequence[float], together: Callable[[Iterable[float]], float]
) -> dict[str, tuple[float, Way]]:
    """By place its cost and way, what is before it counted ``together``: the cheapest is settled first.

    D. Knuth, "A generalization of Dijkstra's algorithm", Information Processing Letters 6, 1977.
    """
    settled: dict[str, tuple[float, Way]] = {}
    waiting: dict[str, list[int]] = {}
    lacking = [len(way.after) for way in ways]
    ready: list[tuple[float, int]] = []
    for number, way in enumerate(ways):
        for place in way.after:
            waiting.setdefault(place, []).append(number)
        if not way.after:
            heappush(ready, (minutes[way.step], number))
    while ready:
        cost, number = heappop(ready)
        for place in ways[number].frees - settled.keys():
            settled[place] = cost, ways[number]
            for later in waiting.get(place, ()):
                lacking[later] -= 1
                if not lacking[later]:
                    before = together(settled[each][0] for each in ways[later].after)
                    heappush(ready, (minutes[ways[later].step] + before, later))
    return settled
