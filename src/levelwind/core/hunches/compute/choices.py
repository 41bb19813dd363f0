"""What to look at next, and whether to look at all: money against minutes.

For each fault there is one choice, to put it right or to leave it. Putting it right costs its parts and minutes whether
or not it was there; leaving it costs a comeback, and the mend after all, if it was there and the owner meets it; a
piece that is sound but due (its fault's ``soon``) may do so too. A look is worth the money that the better choices
after it save on average (the expected value of information: Raiffa and Schlaifer, Applied Statistical Decision Theory,
1961, chapter 4; for troubleshooting, Heckerman, Breese and Rommelse, Communications of the ACM 38(3), 1995). It is
looked one step ahead, and each fault's choice is taken by itself: a part that serves two faults is counted with each.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from levelwind.core.hunches.compute.evidence import Case
from levelwind.core.hunches.compute.outcomes import Outcomes, Stakes, open_looks, outcomes_of, stakes_of
from levelwind.core.hunches.compute.plan import Array
from levelwind.core.hunches.costs import Costs
from levelwind.core.hunches.model import Fault, Look, Net, Reading

NOTABLE = 0.1
"""A fault is told apart from another when it falls by at least this share of what the other moves."""

NOTHING = 1e-6
"""Money below which a look saves nothing: what is left of rounding; our choice."""


@dataclass(frozen=True, slots=True)
class NextLook:
    """A look not yet done. ``value`` and ``cost`` in money, ``per_minute`` = value / minutes.

    ``settles`` is the fault whose choice gains most by it; ``against`` the fault it is told apart from, if one is.
    """

    look: Look
    minutes: float
    value: float
    cost: float
    settles: Fault
    against: Fault | None

    @property
    def per_minute(self) -> float:
        return self.value / self.minutes

    @property
    def worth_it(self) -> bool:
        return self.value > self.cost

    @property
    def tells(self) -> bool:
        """Whether any way it can turn out would change a choice: a look that does not is not asked for."""
        return self.value > NOTHING


@dataclass(frozen=True, slots=True)
class UnseenOrLook:
    """Expected money of the ways with one fault: leave it, put it right unseen, or look and then choose.

    ``look`` is the cheapest look left that shows it, with all its minutes laid to this fault; None where none is left,
    or none that would change the choice: the fault asks nothing more.
    """

    fault: Fault
    probability: float
    leave: float
    unseen: float
    look: Look | None
    look_first: float

    @property
    def best(self) -> str:
        """ "leave", "unseen" or "look". Unseen only where the family's data call that sensible, or no look is left."""
        ways = {"leave": self.leave}
        if self.fault.renew_unseen or self.look is None:
            ways["unseen"] = self.unseen
        if self.look is not None:
            ways["look"] = self.look_first
        return min(ways, key=lambda way: ways[way])


def next_looks(
    net: Net, seen: Mapping[str, bool], costs: Costs, readings: Sequence[Reading] = ()
) -> tuple[NextLook, ...]:
    """Every look not yet done, the one worth most for its minutes first."""
    case, stakes = Case(net, seen, readings), stakes_of(net, seen, costs)
    left = open_looks(net, seen)
    now, outcomes = outcomes_of(case, left)
    looks = [_valued(net, net.look(key), now, outcomes[key], stakes, costs) for key in left]
    return tuple(sorted(looks, key=lambda look: (-look.per_minute, look.minutes)))


def unseen_or_look(
    net: Net, seen: Mapping[str, bool], costs: Costs, readings: Sequence[Reading] = ()
) -> tuple[UnseenOrLook, ...]:
    """For each fault: leave it, put it right unseen, or look first. Dearest to leave comes first.

    Opening the reel counts on neither side: most mends need it as much as the look does.
    """
    case, stakes = Case(net, seen, readings), stakes_of(net, seen, costs)
    left = open_looks(net, seen)
    now, outcomes = outcomes_of(case, left)
    prices = {key: costs.minute * net.look(key).minutes for key in left}
    spent = {key: (prices[key] + stakes.after(outcomes[key])).tolist() for key in left}
    ways, lost = [], stakes.left(now)
    for place, fault in enumerate(net.faults):
        showing = [key for key, found in left.items() if any(finding.links.get(fault.key) for finding in found)]
        best = min(showing, key=lambda key: spent[key][place], default=None)
        money = (float(lost[place]), float(stakes.mend[place]))
        look_first = spent[best][place] if best else inf
        tells = best is not None and min(money) + prices[best] - look_first > NOTHING
        look = net.look(best) if best and tells else None
        ways.append(UnseenOrLook(fault, float(now[place]), *money, look, look_first))
    return tuple(sorted(ways, key=lambda way: -way.leave))


def _valued(net: Net, look: Look, now: Array, outcomes: Outcomes, stakes: Stakes, costs: Costs) -> NextLook:
    gain = np.maximum(stakes.now(now) - stakes.after(outcomes), 0.0)
    minutes = costs.minutes_for(net, look)
    settles, against = _told_apart(net, now, outcomes, gain)
    return NextLook(look, minutes, float(gain.sum()), minutes * costs.minute, settles, against)


def _told_apart(net: Net, now: Array, outcomes: Outcomes, gain: Array) -> tuple[Fault, Fault | None]:
    """The fault whose choice gains most, and the one that falls most when the look speaks for the first."""
    spread = np.abs(outcomes.joint - outcomes.outcome[:, None] * now).sum(axis=0)
    first = int(np.lexsort((spread, gain))[-1])
    rise = outcomes.joint[:, first] - outcomes.outcome * now[first]
    speaks_for = rise > 0
    if not speaks_for.any():
        return net.faults[first], None
    fall = outcomes.outcome[speaks_for].sum() * now - outcomes.joint[speaks_for].sum(axis=0)
    second = int(np.argmax(fall))
    return net.faults[first], net.faults[second] if fall[second] > NOTABLE * spread[first] else None
