"""What to look at next, whether to look at all, and whether to mend: money against minutes.

For each fault there is one choice, to put it right or to leave it. Putting it right costs its parts and minutes
whether or not it was there; leaving it costs a comeback, and the mend after all, if it was there and the owner meets
it. A look is worth the money that the better choices after it save on average (the expected value of information:
Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961, chapter 4; for troubleshooting, Heckerman, Breese and
Rommelse, Communications of the ACM 38(3), 1995). It is looked one step ahead, and each fault's choice is taken by
itself: a part that serves two faults is counted with each.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

import numpy as np

from levelwind.core.errors import InputError
from levelwind.core.hunches.compute.evidence import Case, Row
from levelwind.core.hunches.compute.sweep import Array
from levelwind.core.hunches.model import Fault, Finding, Look, Net, Reading

NOTICED = 0.2
"""A judgement: of the faults nobody complained of, one in five brings the reel back."""

MOST_SHOWN = 7
"""Findings one look may still show; 128 ways it can turn out."""


@dataclass(frozen=True, slots=True)
class Costs:
    """The shop's money: a minute of work, a reel that comes back, and where known what a fault's mend really costs.

    ``noticed`` is the chance that a fault the owner did not complain of brings the reel back all the same. ``mend``
    overrides the family's rough figure for a fault (parts and work together). ``is_open``: the reel is apart already,
    so that nothing is paid for opening it.
    """

    minute: float
    comeback: float
    noticed: float = NOTICED
    mend: Mapping[str, float] = field(default_factory=dict)
    is_open: bool = False

    def __post_init__(self) -> None:
        for what, money in {"price of a minute": self.minute, "cost of a comeback": self.comeback, **self.mend}.items():
            if not 0 <= money < float("inf"):
                raise InputError(what, money, "0 or more")
        if not 0 <= self.noticed <= 1:
            raise InputError("chance that a fault is noticed", self.noticed, "0 to 1")

    def to_mend(self, fault: Fault) -> float:
        """Parts and minutes, on a reel that is open that far."""
        return self.mend.get(fault.key, fault.parts.value + fault.minutes * self.minute)

    def of_leaving(self, fault: Fault, complaints: Sequence[Finding]) -> float:
        """What leaving a fault that is there costs: a comeback and the mend after all, if the owner meets it.

        He does when it brings his complaint up again (its link to what he said), or when it is noticed anyway. Where
        nothing was complained of, the whole reel was given in hand, and every fault counts in full.
        """
        unmet = 1 - self.noticed if complaints else 0.0
        for complaint in complaints:
            unmet *= 1 - complaint.links.get(fault.key, 0.0)
        return (self.comeback + self.to_mend(fault)) * (1 - unmet)

    def minutes_for(self, net: Net, look: Look) -> float:
        """The look's own minutes, and those of opening the reel where it is still whole."""
        return look.minutes + (net.opening_minutes if look.needs_open and not self.is_open else 0.0)


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


@dataclass(frozen=True, slots=True)
class UnseenOrLook:
    """Expected money of the ways with one fault: leave it, put it right unseen, or look and then choose.

    ``look`` is the cheapest look left that shows it, with all its minutes laid to this fault; None where none is left.
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


@dataclass(frozen=True, slots=True)
class _Outcomes:
    """All ways a look can turn out: P(outcome) and P(fault and outcome), given what is known."""

    outcome: Array
    joint: Array


@dataclass(frozen=True, slots=True)
class _Stakes:
    """For each fault the money to put it right, and the money lost if it is there and left."""

    mend: Array
    leave: Array

    def now(self, chance: Array) -> Array:
        """Expected money by the better choice with what is known."""
        return np.minimum(self.mend, self.leave * chance)

    def after(self, outcomes: _Outcomes) -> Array:
        """Expected money by the better choice after each outcome."""
        return np.asarray(np.minimum(outcomes.outcome[:, None] * self.mend, self.leave * outcomes.joint).sum(axis=0))


def next_looks(
    net: Net, seen: Mapping[str, bool], costs: Costs, readings: Sequence[Reading] = ()
) -> tuple[NextLook, ...]:
    """Every look not yet done, the one worth most for its minutes first."""
    case, stakes = Case(net, seen, readings), _stakes(net, seen, costs)
    open_looks = _open_looks(net, seen)
    now, outcomes = _outcomes(case, open_looks)
    looks = [_valued(net, net.look(key), now, outcomes[key], stakes, costs) for key in open_looks]
    return tuple(sorted(looks, key=lambda look: (-look.per_minute, look.minutes)))


def unseen_or_look(
    net: Net, seen: Mapping[str, bool], costs: Costs, readings: Sequence[Reading] = ()
) -> tuple[UnseenOrLook, ...]:
    """For each fault: leave it, put it right unseen, or look first. Dearest to leave comes first.

    Opening the reel counts on neither side: most mends need it as much as the look does.
    """
    case, stakes = Case(net, seen, readings), _stakes(net, seen, costs)
    open_looks = _open_looks(net, seen)
    now, outcomes = _outcomes(case, open_looks)
    prices = {key: costs.minute * net.look(key).minutes for key in open_looks}
    spent = {key: (prices[key] + stakes.after(outcomes[key])).tolist() for key in open_looks}
    ways = []
    for place, fault in enumerate(net.faults):
        showing = [key for key, found in open_looks.items() if any(finding.links.get(fault.key) for finding in found)]
        best = min(showing, key=lambda key: spent[key][place], default=None)
        money = (float(stakes.leave[place] * now[place]), float(stakes.mend[place]))
        look = (net.look(best), spent[best][place]) if best else (None, inf)
        ways.append(UnseenOrLook(fault, float(now[place]), *money, *look))
    return tuple(sorted(ways, key=lambda way: -way.leave))


def _open_looks(net: Net, seen: Mapping[str, bool]) -> dict[str, tuple[Finding, ...]]:
    """Looks with something left to show, and what that is."""
    return {look.key: found for look in net.looks if (found := _unseen(net, look, seen))}


def _stakes(net: Net, seen: Mapping[str, bool], costs: Costs) -> _Stakes:
    complaints = [finding for finding in net.said if seen.get(finding.key)]
    return _Stakes(
        np.array([costs.to_mend(fault) for fault in net.faults]),
        np.array([costs.of_leaving(fault, complaints) for fault in net.faults]),
    )


def _unseen(net: Net, look: Look, seen: Mapping[str, bool]) -> tuple[Finding, ...]:
    found = tuple(finding for finding in net.shown_by(look.key) if finding.key not in seen)
    if len(found) > MOST_SHOWN:
        raise InputError(f"number of findings of the look {look.key}", len(found), f"up to {MOST_SHOWN}")
    return found


def _outcomes(case: Case, looks: Mapping[str, tuple[Finding, ...]]) -> tuple[Array, dict[str, _Outcomes]]:
    """Posterior as it stands, and each look's outcomes.

    Only "these findings missing" is asked, for every set of a look's findings; the ways with some of them there
    follow by inclusion and exclusion within the look. What that loses in figures is 1e-16 of the whole, while a
    choice weighs money times these same numbers.
    """
    rows = {key: _subsets(found) for key, found in looks.items()}
    answers = case.ask([Row(), *(Row(missing=row) for subsets in rows.values() for row in subsets)])
    weight = np.exp(answers.log_weight - answers.log_weight[0])
    joint, start, outcomes = weight[:, None] * answers.chance, 1, {}
    for key, subsets in rows.items():
        stop = start + len(subsets)
        outcomes[key] = _Outcomes(_exactly(weight[start:stop]), _exactly(joint[start:stop]))
        start = stop
    return answers.chance[0], outcomes


def _subsets(found: Sequence[Finding]) -> list[tuple[str, ...]]:
    """Subset number b holds the findings whose bits are set in b."""
    keys = [finding.key for finding in found]
    return [tuple(key for bit, key in enumerate(keys) if number >> bit & 1) for number in range(1 << len(keys))]


def _exactly(at_least: Array) -> Array:
    """From "at least these are missing" to "just these are missing": the Möbius transform over supersets."""
    exactly = at_least.copy()
    bits = len(exactly).bit_length() - 1
    for bit in range(bits):
        split = exactly.reshape(1 << (bits - 1 - bit), 2, -1)
        split[:, 0] -= split[:, 1]
    return np.asarray(np.maximum(exactly, 0.0))


def _valued(net: Net, look: Look, now: Array, outcomes: _Outcomes, stakes: _Stakes, costs: Costs) -> NextLook:
    gain = np.maximum(stakes.now(now) - stakes.after(outcomes), 0.0)
    minutes = costs.minutes_for(net, look)
    settles, against = _told_apart(net, now, outcomes, gain)
    return NextLook(look, minutes, float(gain.sum()), minutes * costs.minute, settles, against)


def _told_apart(net: Net, now: Array, outcomes: _Outcomes, gain: Array) -> tuple[Fault, Fault | None]:
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


NOTABLE = 0.1
"""A fault is told apart from another when it falls by at least this share of what the other moves."""
