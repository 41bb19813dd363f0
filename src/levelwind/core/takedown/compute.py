"""The way in and the way back."""

from collections.abc import Iterable
from math import fsum

from levelwind.core.takedown.least_work import least_work
from levelwind.core.takedown.model import LEAST_DIFFERENCE_MIN, Rebuild, Refit, Rules, Step, Takedown


def reach(rules: Rules, places: Iterable[str], off: frozenset[str] = frozenset()) -> Takedown:
    """The least work, in minutes, that frees these places when those in ``off`` are off already.

    The steps come in an order the rules allow that keeps the hand on one assembly as long as it can. Where choices are
    too many to prove the least, ``gap_min`` says how much quicker a way in might at most be.
    Raises InputError when a place is unknown, cannot be reached, or waits for itself in a circle.

    >>> from levelwind.core.takedown.model import Place
    >>> lid, gear = Place(key="lid", name="lid", group="body"), Place(key="gear", name="gear", group="body")
    >>> lift = Step(key="lift_lid", do="Lift the lid.", frees=("lid",), minutes=1.0)
    >>> draw = Step(key="draw_gear", do="Draw the gear.", frees=("gear",), minutes=0.5, after=frozenset({"lid"}))
    >>> way = reach(Rules((lid, gear), (lift, draw)), ["gear"])
    >>> [step.key for step in way.steps], way.minutes, way.why
    (['lift_lid', 'draw_gear'], 1.5, ('in the way of the gear', 'asked for'))
    """
    wanted = frozenset(places)
    least, at_least_min = least_work(rules, wanted, off)
    steps = natural_order(rules, least, off)
    minutes = fsum(step.minutes for step in steps)
    gap_min = minutes - at_least_min
    return Takedown(
        steps, minutes, _reasons(rules, steps, wanted, off), gap_min if gap_min >= LEAST_DIFFERENCE_MIN else 0.0
    )


def full(rules: Rules, off: frozenset[str] = frozenset()) -> Takedown:
    """The whole reel apart in the least work."""
    return reach(rules, [place.key for place in rules.places], off)


def rebuild(rules: Rules, off: frozenset[str]) -> Rebuild:
    """The way back for the places that are off: the takedown reversed, with its gates.

    Places that were put back too early, while something behind them is still out, are named as coming off again.
    """
    # From a closed reel, not from how it lies now: the way back must take out what closes in front of an open place.
    down = natural_order(rules, least_work(rules, off, frozenset())[0], frozenset())
    again = tuple(step for step in down if not off & set(step.frees))
    steps = tuple(Refit(step, _refilled(step, off)) for step in reversed(down))
    return Rebuild(steps, rules.finish, again)


def natural_order(rules: Rules, steps: tuple[Step, ...], off: frozenset[str]) -> tuple[Step, ...]:
    """These steps in an order the rules allow: same assembly first, then the order of the rules."""
    ordered: list[Step] = []
    left = list(steps)
    while left:
        ready = [step for step in left if step.can_be_done(off)]
        # Staying on one assembly saves turning the reel over; the minutes are the same in any allowed order.
        hand = _group(rules, ordered[-1]) if ordered else None
        step = next((step for step in ready if _group(rules, step) == hand), ready[0])
        left.remove(step)
        ordered.append(step)
        off |= set(step.frees)
    return tuple(ordered)


def _group(rules: Rules, step: Step) -> str:
    return rules.place(step.frees[0]).group


def _refilled(step: Step, off: frozenset[str]) -> tuple[str, ...]:
    """Last off, first in."""
    out = [key for key in step.frees if key in off] or step.frees
    return tuple(reversed(out))


def _reasons(rules: Rules, steps: tuple[Step, ...], wanted: frozenset[str], off: frozenset[str]) -> tuple[str, ...]:
    return tuple(_reason(rules, steps, index, wanted, off) for index in range(len(steps)))


def _reason(rules: Rules, steps: tuple[Step, ...], index: int, wanted: frozenset[str], off: frozenset[str]) -> str:
    """Why a step is in the plan: its own place was asked for, or a later step cannot be done before it."""
    if wanted & set(steps[index].frees):
        return "asked for"
    # Play the plan on with this step left out: the first step that then cannot be done is the one it serves.
    reached = off.union(*(step.frees for step in steps[:index]))
    behind = steps[index]
    for behind in steps[index + 1 :]:
        if not behind.can_be_done(reached):
            break
        reached |= set(behind.frees)
    return f"in the way of the {rules.place(behind.frees[0]).name}"
