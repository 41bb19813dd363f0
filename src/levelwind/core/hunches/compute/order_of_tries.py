"""Which mend to try first when the reel can be tried after each: the order with the least expected money.

One fault is there, which one is not known; tries are made in turn until one of them cures it. When each try can cure
only faults that no other cures, the order is by chance over cost, p/c, largest first (Kadane and Simon, Optimal
strategies for a class of constrained sequential problems, Annals of Statistics 5, 1977). When they overlap no such rule
holds, so all orders are weighed here, by way of the sets of tries already made.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from levelwind.core.errors import InputError

MOST_TRIES = 14
"""16 384 sets of tries."""


@dataclass(frozen=True, slots=True)
class Try:
    """One mend: its cost, and for each fault the chance that it cures it, whatever failed before."""

    key: str
    cost: float
    cures: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Order:
    """Keys in the order to try them, and the expected cost until cured or out of tries."""

    tries: tuple[str, ...]
    cost: float


def order_of_tries(chances: Mapping[str, float], tries: Sequence[Try]) -> Order:
    """The cheapest order. ``chances`` gives each fault's probability, one of them being there (they sum to 1).

    Cost of an order = Σ cost of a try × P(nothing before it cured).

    >>> tries = [Try("new bearing", 20, {"dry": 1, "rusted": 1}), Try("oil", 3, {"dry": 1})]
    >>> order = order_of_tries({"dry": 0.8, "rusted": 0.2}, tries)
    >>> order.tries, round(order.cost, 6)
    (('oil', 'new bearing'), 7.0)
    """
    if len(tries) > MOST_TRIES:
        raise InputError("number of tries", len(tries), f"up to {MOST_TRIES}")
    if abs(sum(chances.values()) - 1) > 1e-9 or min(chances.values(), default=0.0) < 0:
        raise InputError("chances of the faults", dict(chances), "0 or more each, 1 together: one of them is there")
    best: dict[int, Order] = {0: Order((), 0.0)}
    for made in range(1, 1 << len(tries)):
        lasts = [place for place in range(len(tries)) if made >> place & 1]
        ways = (_followed_by(best[made ^ 1 << place], made ^ 1 << place, place, chances, tries) for place in lasts)
        best[made] = min(ways, key=lambda order: order.cost)
    return best[(1 << len(tries)) - 1]


def _followed_by(before: Order, made: int, place: int, chances: Mapping[str, float], tries: Sequence[Try]) -> Order:
    failed = 0.0
    for fault, chance in chances.items():
        for other in range(len(tries)):
            if made >> other & 1:
                chance *= 1 - tries[other].cures.get(fault, 0.0)
        failed += chance
    return Order((*before.tries, tries[place].key), before.cost + failed * tries[place].cost)
