"""What the shop's closed jobs teach: judged probabilities become counted ones, a little with every reel.

Each judged probability p enters as a Beta distribution worth ``weight`` reels, Beta(weight · p, weight · (1 − p)), and
each closed job that shows it one way or the other adds one to its side. Source: Gelman and others, Bayesian Data
Analysis, 3rd edition, 2013, section 2.4 (Beta prior, binomial data).

A link cannot be counted on a reel with several faults that bring about the same finding: which of them did it? So a
link is counted only on reels where its fault is the only one there that can bring the finding about, and every other
such fault was seen to be sound; a leak only where all of them were. On those reels the finding turns up with chance
1 − (1 − leak) · (1 − link), and the link follows from what is counted.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from levelwind.core.errors import InputError
from levelwind.core.hunches.model import Counted, Fault, Finding, Net

WEIGHT = 10.0
"""A judgement is worth ten reels until the shop says otherwise."""

SHARPEST = 1e-6
"""No counted probability is brought closer to 0 or 1 than this: a reel can always surprise."""


@dataclass(frozen=True, slots=True)
class ClosedJob:
    """One reel that went home: the faults found, the faults looked for and found sound, and what was seen or not.

    A fault in neither set stays unknown, and nothing is learnt about it.
    """

    found: frozenset[str]
    sound: frozenset[str]
    seen: Mapping[str, bool]


def learn(net: Net, closed: Sequence[ClosedJob], weight: float = WEIGHT) -> Net:
    """The net with priors, leaks and links brought up to date, each with its counts.

    Give it the family's net as judged, not one that has learnt already, and all closed jobs: nothing is counted twice.
    Raises InputError for a job that names a fault the net does not have, or calls one both found and sound.

    >>> net = Net((Fault("dry", "dry bearing", 0.4),), (), (Finding("slow", "stops early", 0.1, {"dry": 0.8}),))
    >>> job = ClosedJob(frozenset({"dry"}), frozenset(), {"slow": True})
    >>> fault = learn(net, [job] * 5).fault("dry")
    >>> round(fault.prior, 3), fault.counted.jobs
    (0.6, 5)
    """
    if not 0 < weight <= 1e6:
        raise InputError("weight of a judgement", weight, "above 0 to 1 000 000 reels")
    for job in closed:
        _check(net, job)
    faults = tuple(_fault(fault, closed, weight) for fault in net.faults)
    findings = tuple(_finding(finding, closed, weight) for finding in net.findings)
    return replace(net, faults=faults, findings=findings)


def _check(net: Net, job: ClosedJob) -> None:
    for fault in job.found | job.sound:
        net.fault(fault)
    if both := job.found & job.sound:
        raise InputError("faults of a closed job", ", ".join(sorted(both)), "each found or sound, not both")


def _counted(judged: float, yes: int, no: int, weight: float) -> Counted | None:
    """None where there is nothing to count, and the judgement stands."""
    judged = min(max(judged, SHARPEST), 1 - SHARPEST)
    return Counted(weight * judged + yes, weight * (1 - judged) + no, yes + no) if yes + no else None


def _fault(fault: Fault, closed: Sequence[ClosedJob], weight: float) -> Fault:
    yes = sum(fault.key in job.found for job in closed)
    no = sum(fault.key in job.sound for job in closed)
    counted = _counted(fault.prior, yes, no, weight)
    return replace(fault, prior=_inside(counted.mean), counted=counted) if counted else fault


def _finding(finding: Finding, closed: Sequence[ClosedJob], weight: float) -> Finding:
    """The leak first, from reels with no cause there; then each link, from reels where it is the one cause."""
    causes = {fault for fault, link in finding.links.items() if link > 0}
    known = [job for job in closed if finding.key in job.seen and causes <= job.found | job.sound]
    leaked = _shown(finding, [job for job in known if not causes & job.found], finding.leak, weight)
    leak = _inside(leaked.mean) if leaked else finding.leak
    counted = {"": leaked} if leaked else {}
    links = dict(finding.links)
    for cause in causes:
        alone = [job for job in known if causes & job.found == {cause}]
        brought = _shown(finding, alone, 1 - (1 - leak) * (1 - finding.links[cause]), weight)
        if brought:
            links[cause] = max(0.0, 1 - (1 - _inside(brought.mean)) / (1 - leak))
            counted[cause] = brought
    return replace(finding, leak=leak, links=links, counted=counted)


def _shown(finding: Finding, jobs: Sequence[ClosedJob], judged: float, weight: float) -> Counted | None:
    yes = sum(job.seen[finding.key] for job in jobs)
    return _counted(judged, yes, len(jobs) - yes, weight)


def _inside(chance: float) -> float:
    return min(max(chance, SHARPEST), 1 - SHARPEST)
