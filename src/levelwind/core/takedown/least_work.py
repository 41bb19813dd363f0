"""The cheapest set of steps that frees what is wanted, exactly.

"Cannot before" and "either way" rules make an AND/OR graph (L. S. Homem de Mello and A. C. Sanderson, "AND/OR graph
representation of assembly plans", IEEE Transactions on Robotics and Automation 6, 1990). Steps that no way in can do
without are found by following the rules; mostly that is the whole answer. Where a true choice is left, work shared
between two branches counts once, which makes the least work a hard problem; `choices` settles it.
"""

from collections.abc import Sequence
from functools import lru_cache
from math import fsum

from levelwind.core.errors import InputError
from levelwind.core.takedown.choices import cheapest_ways
from levelwind.core.takedown.model import Rules, Step
from levelwind.core.takedown.ways import Settled, Way


def least_work(rules: Rules, wanted: frozenset[str], off: frozenset[str]) -> tuple[tuple[Step, ...], float]:
    """The steps, in the order of the rules, that free every wanted place in the fewest minutes, and those minutes.

    Of equally quick sets the one with fewer steps, then the one with steps earlier in the rules. Where choices are too
    many to prove the least, the best steps found, and the minutes below which no way in comes. Raises InputError for a
    place that cannot be reached, naming the circle if there is one.
    """
    refuse_unreachable(rules, wanted, off)
    steps, needed = _without_choice(rules, wanted, off)
    if wanted <= _freed(steps, off):
        return steps, fsum(step.minutes for step in steps)
    settled = _settled(rules, needed, off)
    return tuple(rules.steps[index] for index in sorted(settled.steps)), settled.at_least_min


@lru_cache(maxsize=64)
def _settled(rules: Rules, needed: frozenset[str], off: frozenset[str]) -> Settled:
    """Kept: a page asks at every tick, and what stops by the clock may find another way the next time."""
    return cheapest_ways(_ways(rules, off), [step.minutes for step in rules.steps], needed)


def refuse_unreachable(rules: Rules, wanted: frozenset[str], off: frozenset[str] = frozenset()) -> None:
    """Raises InputError for a wanted place that no order of the steps can free, and says what stands in the way."""
    reachable = _freed(rules.steps, off)
    for place in sorted(wanted):
        rules.place(place)
        if place not in reachable:
            raise _unreachable(rules, place, reachable)


def _without_choice(
    rules: Rules, wanted: frozenset[str], off: frozenset[str]
) -> tuple[tuple[Step, ...], frozenset[str]]:
    """The steps that every way to the wanted places has in common, as far as the rules say so outright, and the places
    that come off on every one."""
    forced: set[int] = set()
    needed = set(wanted - off)
    waiting = list(needed)
    while waiting:
        place = waiting.pop()
        free_it = [index for index, step in enumerate(rules.steps) if place in step.frees]
        if len(free_it) > 1 or free_it[0] in forced:
            continue
        forced.add(free_it[0])
        new = frozenset.intersection(*rules.steps[free_it[0]].ways()) - off - needed
        needed |= new
        waiting += new
    return tuple(rules.steps[index] for index in sorted(forced)), frozenset(needed)


def _freed(steps: Sequence[Step], off: frozenset[str]) -> frozenset[str]:
    """Everything that is off once no further one of these steps can be done."""
    left = list(steps)
    while ready := [step for step in left if step.can_be_done(off)]:
        off = off.union(*(step.frees for step in ready))
        left = [step for step in left if step not in ready]
    return off


def _ways(rules: Rules, off: frozenset[str]) -> list[Way]:
    """Every way of every step, but those that wait for what never comes off."""
    reachable = _freed(rules.steps, off)
    return [
        Way(index, after - off, frozenset(step.frees) - off)
        for index, step in enumerate(rules.steps)
        for after in step.ways()
        if after <= reachable
    ]


def _unreachable(rules: Rules, place: str, reachable: frozenset[str]) -> InputError:
    """Follow what waits for what until nothing frees it, or until it bites its own tail."""
    trail = [place]
    while True:
        step = next((step for step in rules.steps if trail[-1] in step.frees), None)
        if step is None:
            was = f"out of reach, because no step frees {rules.place(trail[-1]).name}"
            break
        blocked = min(step.ways()[0] - reachable)
        if blocked in trail:
            circle = [*trail[trail.index(blocked) :], blocked]
            was = "in a circle: " + " waits for ".join(rules.place(key).name for key in circle)
            break
        trail.append(blocked)
    return InputError(f"the way to {rules.place(place).name}", was, "rules by which every place comes free at last")
