"""Choices settled place by place, from what comes off last to what comes off first.

What is still to be done hangs on nothing but the places still needed and those that came off along with others: a
decision diagram, one layer a place. Two ways that lead to the same two sets are one, the cheaper. Where a reel's rules
reach back over a few places only, as they do, layers stay narrow, and the least work is exact.

Layers are narrowed first by leaving out dear states: what is found is a way in. Then nothing is left out but states
that cannot cost less than it (what is spent and the dearest place still needed, by itself): what is found is the least.
Where layers grow too wide for that, no way in is cheaper than the cheapest state of the last layer may become. D.
Bergman, A. Cire, W.-J. van Hoeve and J. Hooker, Decision Diagrams for Optimization, Springer 2016, from memory.
"""

from collections.abc import Sequence
from graphlib import CycleError, TopologicalSorter

from levelwind.core.takedown.ways import Settled, Way

NARROWED = 200
"""States of one layer once it is narrowed: the largest rules there may be take a second or two. Our choice."""
MOST_TRIED = 300_000
"""Ways tried, state by state, while the answer is to be exact: a second or two. Our choice."""
BILLIONTHS = 1_000_000_000
"""Minutes are counted in whole billionths, so that sums in any order are equal: less than means something."""

_State = tuple[int, int]
_Chain = tuple[int, "_Chain"] | None
_Found = tuple[int, _Chain]
_Layer = dict[_State, _Found]


def order_without_circle(ways: Sequence[Way]) -> list[str] | None:
    """The places, each after all that may stand before it; None where places could wait for one another in a circle."""
    before: dict[str, set[str]] = {}
    for way in ways:
        for place in sorted(way.frees):
            before.setdefault(place, set()).update(way.after)
    try:
        return list(TopologicalSorter({place: sorted(before[place]) for place in before}).static_order())
    except CycleError:
        return None


class Diagram:
    """Ways as bits of the places in their order; costs as whole numbers in which minutes go before number of steps."""

    def __init__(
        self, ways: Sequence[Way], minutes: Sequence[float], wanted: frozenset[str], order: Sequence[str]
    ) -> None:
        spot = {place: number for number, place in enumerate(order)}
        steps = len(minutes)
        self.size = len(order)
        self.start: _Layer = {(_bits(wanted, spot), 0): (0, None)}
        self.whole = 2 * steps**3 + 1
        self.cost = [round(each * BILLIONTHS) * self.whole + steps**2 + number for number, each in enumerate(minutes)]
        self.free: list[list[tuple[int, int, int]]] = [[] for _ in order]
        for way in ways:
            for place in way.frees:
                self.free[spot[place]].append((way.step, _bits(way.after, spot), _bits(way.frees, spot)))
        along = 0
        for _, _, frees in (way for free in self.free for way in free):
            along |= frees if frees.bit_count() > 1 else 0
        # What comes off along with another may be paid for already where it stands before a place: it counts nothing.
        self.alone: list[int] = []
        for free in self.free:
            self.alone.append(min(self._may_cost((after & ~along, 0), self.cost[step]) for step, after, _ in free))

    def settled(self) -> tuple[Settled, bool]:
        """The least work and True; where layers grow too wide for it, a way in with a floor, and False."""
        some = self._some_way()
        layer, tried = self.start, 0
        for place in reversed(range(self.size)):
            tried += len(layer) * len(self.free[place])
            if tried > MOST_TRIED:
                floor = min(self._may_cost(state, spent) for state, (spent, _) in layer.items())
                return self._settled(some, floor), False
            below = self._below(layer, place)
            layer = {state: found for state, found in below.items() if self._may_cost(state, found[0]) <= some[0]}
        least = min(layer.values(), key=_spent)
        return self._settled(least, least[0]), True

    def _some_way(self) -> _Found:
        """Through the states that look cheapest: by what is spent, and something for each place still needed."""
        layer, each = self.start, max(self.cost) // 2
        for place in reversed(range(self.size)):
            below = self._below(layer, place)
            ranked = sorted(below.items(), key=lambda item: item[1][0] + item[0][0].bit_count() * each)
            layer = dict(ranked[:NARROWED])
        return min(layer.values(), key=_spent)

    def _may_cost(self, state: _State, spent: int) -> int:
        """No less than this: what is spent, and the dearest of the places still needed, taken by itself."""
        needed, dearest = state[0], 0
        while needed:
            place = needed.bit_length() - 1
            dearest = max(dearest, self.alone[place])
            needed ^= 1 << place
        return spent + dearest

    def _below(self, layer: _Layer, place: int) -> _Layer:
        """The states once it is settled how this place, the last that is left, comes off."""
        bit, cost = 1 << place, self.cost
        below: _Layer = {}
        for (needed, off), (spent, chain) in layer.items():
            if not needed & bit:
                _keep(below, (needed, off & (bit - 1)), spent, chain)
                continue
            for step, after, frees in self.free[place]:
                gone = off | frees
                state = (needed | after) & ~gone, gone & (bit - 1)
                _keep(below, state, spent + cost[step], (step, chain))
        return below

    def _settled(self, found: _Found, floor: int) -> Settled:
        steps, chain = set(), found[1]
        while chain:
            step, chain = chain
            steps.add(step)
        return Settled(frozenset(steps), floor // self.whole / BILLIONTHS)


def _bits(places: frozenset[str], spot: dict[str, int]) -> int:
    return sum(1 << spot[place] for place in places)


def _keep(layer: _Layer, state: _State, spent: int, chain: _Chain) -> None:
    known = layer.get(state)
    if known is None or spent < known[0]:
        layer[state] = (spent, chain)


def _spent(found: _Found) -> int:
    return found[0]
