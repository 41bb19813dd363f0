"""Choices between ways in, and who settles them.

Rules without a circle are settled place by place (`diagram`), others, and those too wide for that, by mixed integer
programming (`programme`). What neither can prove in its room is told with the least that any way in could take.
"""

from collections.abc import Sequence

from levelwind.core.takedown.diagram import Diagram, order_without_circle
from levelwind.core.takedown.ways import Settled, Way, no_spare_ways, some_way, ways_that_serve


def cheapest_ways(ways: Sequence[Way], minutes: Sequence[float], wanted: frozenset[str]) -> Settled:
    """The steps that free every wanted place in the fewest minutes, and are fewest among such sets.

    Every wanted place must be within reach. Where the least cannot be proven, the best found and how low it might be.

    >>> lid, hatch = Way(0, frozenset(), frozenset({"lid"})), Way(1, frozenset(), frozenset({"hatch"}))
    >>> gear = [Way(2, frozenset({place}), frozenset({"gear"})) for place in ("lid", "hatch")]
    >>> settled = cheapest_ways([lid, hatch, *gear], [3.0, 1.0, 0.5], frozenset({"gear"}))
    >>> sorted(settled.steps), settled.at_least_min
    ([1, 2], 1.5)
    """
    serving = no_spare_ways(ways_that_serve(ways, wanted))
    order = order_without_circle(serving)
    if order is None:
        found = some_way(serving, minutes, wanted)
    else:
        found, exact = Diagram(serving, minutes, wanted, order).settled()
        if exact:
            return found
    # The solver takes half a second to import: only rules that need it wait for it.
    from levelwind.core.takedown.programme import by_programme

    return by_programme(serving, minutes, wanted, found)
