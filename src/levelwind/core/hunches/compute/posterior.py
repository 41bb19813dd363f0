"""How likely each fault is, given all that was seen and not seen."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp

import numpy as np
from scipy.special import betaincinv

from levelwind.core.hunches.compute.evidence import Case, Question
from levelwind.core.hunches.compute.plan import Array
from levelwind.core.hunches.model import Counted, Fault, Finding, Net, Reading
from levelwind.core.quantities import Quantity

EXPLAINS = 0.05
"""A fault that explains the complaint with less than this chance stands among what is due anyway; our choice."""

NOT_LISTED = "not_listed"
"""The key of the hunch that stands for whatever the list lacks."""

NINETY = (0.05, 0.95)
"""The ends of an interval that holds the truth nine times in ten, as probabilities."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What one finding or reading does to a fault's probability: with it, less without it."""

    key: str
    change: float


@dataclass(frozen=True, slots=True)
class Hunch:
    """A fault with its probability. ``interval`` is None while the prior is a judgement without counts.

    ``explains`` is the chance that it is there and has brought about what the owner complains of: of several complaints
    the one that it explains best; 0 where he complains of nothing.
    """

    fault: Fault
    probability: float
    interval: Quantity | None
    moved: tuple[Moved, ...]
    explains: float = 0.0


@dataclass(frozen=True, slots=True)
class Hunches:
    """All faults: first those that explain the complaint, best first, then those that are due anyway, likeliest first.

    ``none`` is the chance that none of them is there; ``log_evidence`` is ln of the chance of seeing just this.
    """

    ranked: tuple[Hunch, ...]
    none: float
    log_evidence: float

    @property
    def explaining(self) -> tuple[Hunch, ...]:
        """What explains the complaint."""
        return tuple(hunch for hunch in self.ranked if hunch.explains >= EXPLAINS)

    @property
    def due(self) -> tuple[Hunch, ...]:
        """What may be there beside: due anyway where it is likely enough."""
        return tuple(hunch for hunch in self.ranked if hunch.explains < EXPLAINS)

    def of(self, fault: str) -> Hunch:
        return next(hunch for hunch in self.ranked if hunch.fault.key == fault)


def chance_seen(net: Net, finding: str, faults: frozenset[str]) -> float:
    """P(finding | exactly these faults) = 1 − (1 − leak) · Π (1 − link).

    >>> from levelwind.core.hunches.model import Fault, Finding
    >>> rough = Finding("rough", "turns roughly", 0.0, {"dry": 0.4, "rust": 0.8})
    >>> net = Net((Fault("dry", "dry bearing", 0.3), Fault("rust", "rusted bearing", 0.1)), (), (rough,))
    >>> round(chance_seen(net, "rough", frozenset({"dry", "rust"})), 6)
    0.88
    """
    shown = net.finding(finding)
    off = 1 - shown.leak
    for fault in faults:
        off *= 1 - shown.links.get(net.fault(fault).key, 0.0)
    return 1 - off


def posterior(net: Net, seen: Mapping[str, bool], readings: Sequence[Reading] = ()) -> Hunches:
    """Exact probability of each fault, and what moved it.

    ``seen`` maps a finding to True (seen) or False (looked for and not there); one that is left out was not looked at.
    Raises InputError for a key the net does not have or for too many findings that hang together, NotDeterminedError
    when what was seen cannot be true together.

    >>> from levelwind.core.hunches.model import Fault, Finding
    >>> rough = Finding("rough", "turns roughly", 0.1, {"dry": 0.8})
    >>> net = Net((Fault("dry", "dry bearing", 0.3),), (), (rough,))
    >>> round(posterior(net, {"rough": True}).of("dry").probability, 6)
    0.778481
    """
    case = Case(net, seen, readings)
    reasons = [*seen, *(reading.key for reading in readings)]
    answers = case.ask([Question(), Question(sound=True), *(Question(without=key) for key in reasons)])
    chances = [*zip(net.faults, answers.chance.T.tolist(), strict=True)]
    if net.unlisted:
        chances.append((Fault(NOT_LISTED, "something not on the list", net.unlisted), answers.unlisted.tolist()))
    log_evidence, log_sound, *log_left_out = answers.log_weight.tolist()
    surprise = [exp(log_evidence - without) for without in log_left_out]
    complaints = [net.finding(key) if seen.get(key) else None for key in reasons]
    hunches = [
        Hunch(
            fault,
            with_all,
            _interval(fault, with_all),
            _moves(reasons, with_all, left_out),
            _explains(fault, complaints, left_out, surprise),
        )
        for fault, (with_all, _, *left_out) in chances
    ]
    ranked = tuple(sorted(hunches, key=lambda h: (-h.explains if h.explains >= EXPLAINS else 0.0, -h.probability)))
    return Hunches(ranked, exp(log_sound - log_evidence), log_evidence)


def _explains(
    fault: Fault, complaints: Sequence[Finding | None], left_out: Sequence[float], surprise: Sequence[float]
) -> float:
    """Largest P(fault there and its link at work | all) = link · P(fault | rest) / P(complaint | rest).

    Its link at work brings the complaint about whatever else is there, so that only the fault and the link count.
    """
    told = zip(complaints, left_out, surprise, strict=True)
    shares = [
        (f.unlisted if fault.key == NOT_LISTED else f.links.get(fault.key, 0.0)) * without / chance
        for f, without, chance in told
        if f is not None and f.look is None
    ]
    return max(shares, default=0.0)


def pairs(net: Net, seen: Mapping[str, bool], readings: Sequence[Reading] = ()) -> Array:
    """Probability that two faults are there together: n × n in the net's order, each fault's own on the diagonal."""
    case = Case(net, seen, readings)
    answers = case.ask([Question(), *(Question(given=fault.key) for fault in net.faults)])
    joint = answers.chance[0][:, None] * answers.chance[1:]
    return np.asarray((joint + joint.T) / 2)


def _moves(reasons: Sequence[str], with_all: float, left_out: Sequence[float]) -> tuple[Moved, ...]:
    changes = [with_all - without for without in left_out]
    largest_first = sorted(range(len(changes)), key=[-abs(change) for change in changes].__getitem__)
    return tuple(Moved(reasons[place], changes[place]) for place in largest_first)


def _interval(fault: Fault, chance: float) -> Quantity | None:
    """The interval that the counts behind this fault's own prior leave, all else held.

    Posterior odds are prior odds times a factor in which the fault's own prior has no part, so the ends carry over.
    """
    if fault.counted is None or not 0 < chance < 1:
        return None
    factor = chance * (1 - fault.prior) / ((1 - chance) * fault.prior)
    low, high = (prior * factor / (prior * factor + 1 - prior) for prior in ninety(fault.counted))
    return Quantity(chance, min(low, chance), max(high, chance))


def ninety(counted: Counted) -> tuple[float, float]:
    """The middle nine tenths of the Beta distribution.

    >>> low, high = ninety(Counted(3.0, 9.0, 10))
    >>> round(low, 3), round(high, 3)
    (0.079, 0.47)
    """
    low, high = (float(betaincinv(counted.alpha, counted.beta, share)) for share in NINETY)
    return low, high
