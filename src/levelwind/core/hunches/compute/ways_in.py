"""How long it takes to get to each look: the least work of the takedown, from the reel as it stands."""

from levelwind.core.hunches.model import Net
from levelwind.core.takedown import Rules, reach


def opened(net: Net, rules: Rules) -> frozenset[str]:
    """Every place that is off on a reel of this family that is called open."""
    return frozenset(place for step in reach(rules, net.opening).steps for place in step.frees)


def ways_in(net: Net, rules: Rules, off: frozenset[str] = frozenset()) -> dict[str, float]:
    """Minutes to each look that names places to reach, when those in ``off`` are off already.

    A place that the reel lacks needs no work. Raises InputError where the takedown cannot reach a place.
    """
    there = {place.key for place in rules.places} - off
    wanted = {look.key: there.intersection(look.reach) for look in net.looks if look.reach}
    return {key: round(reach(rules, places, off).minutes, 2) for key, places in wanted.items()}
