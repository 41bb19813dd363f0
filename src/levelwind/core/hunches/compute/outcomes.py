"""All ways a look can turn out, and the money at stake with each fault."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from levelwind.core.errors import InputError
from levelwind.core.hunches.compute.evidence import Case, Question
from levelwind.core.hunches.compute.plan import Array
from levelwind.core.hunches.costs import Costs
from levelwind.core.hunches.model import Finding, Look, Net

MOST_SHOWN = 7
"""Findings one look may still show; 128 ways it can turn out."""


@dataclass(frozen=True, slots=True)
class Outcomes:
    """All ways a look can turn out: P(outcome) and P(fault and outcome), given what is known."""

    outcome: Array
    joint: Array


@dataclass(frozen=True, slots=True)
class Stakes:
    """For each fault the money to put it right, the money lost if it is there and left, and the chance ``soon`` that
    it is lost though the fault is not there yet."""

    mend: Array
    leave: Array
    soon: Array

    def left(self, chance: Array, whole: Array | float = 1.0) -> Array:
        """Expected money of leaving it: ``chance`` that it is there, out of ``whole``."""
        return np.asarray(self.leave * (self.soon * whole + (1 - self.soon) * chance))

    def now(self, chance: Array) -> Array:
        """Expected money by the better choice with what is known."""
        return np.minimum(self.mend, self.left(chance))

    def after(self, outcomes: Outcomes) -> Array:
        """Expected money by the better choice after each outcome."""
        outcome = outcomes.outcome[:, None]
        return np.asarray(np.minimum(outcome * self.mend, self.left(outcomes.joint, outcome)).sum(axis=0))


def open_looks(net: Net, seen: Mapping[str, bool]) -> dict[str, tuple[Finding, ...]]:
    """Looks with something left to show, and what that is."""
    return {look.key: found for look in net.looks if (found := _unseen(net, look, seen))}


def settled_looks(net: Net, seen: Mapping[str, bool]) -> tuple[Look, ...]:
    """Looks made already: all that they may show was seen or looked for."""
    return tuple(look for look in net.looks if net.shown_by(look.key) and not _unseen(net, look, seen))


def _unseen(net: Net, look: Look, seen: Mapping[str, bool]) -> tuple[Finding, ...]:
    found = tuple(finding for finding in net.shown_by(look.key) if finding.key not in seen)
    if len(found) > MOST_SHOWN:
        raise InputError(f"number of findings of the look {look.key}", len(found), f"up to {MOST_SHOWN}")
    return found


def stakes_of(net: Net, seen: Mapping[str, bool], costs: Costs) -> Stakes:
    complaints = [finding for finding in net.said if seen.get(finding.key)]
    return Stakes(
        np.array([costs.to_mend(fault) for fault in net.faults]),
        np.array([costs.of_leaving(fault, complaints) for fault in net.faults]),
        np.array([fault.soon for fault in net.faults]),
    )


def outcomes_of(case: Case, looks: Mapping[str, tuple[Finding, ...]]) -> tuple[Array, dict[str, Outcomes]]:
    """Posterior as it stands, and each look's outcomes.

    Only "these findings missing" is asked, for every set of a look's findings; the ways with some of them there
    follow by inclusion and exclusion within the look. What that loses in figures is 1e-16 of the whole, while a
    choice weighs money times these same numbers.
    """
    rows = {key: _subsets(found) for key, found in looks.items()}
    answers = case.ask([Question(), *(Question(missing=row) for subsets in rows.values() for row in subsets)])
    weight = np.exp(answers.log_weight - answers.log_weight[0])
    joint, start, outcomes = weight[:, None] * answers.chance, 1, {}
    for key, subsets in rows.items():
        stop = start + len(subsets)
        outcomes[key] = Outcomes(_exactly(weight[start:stop]), _exactly(joint[start:stop]))
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
