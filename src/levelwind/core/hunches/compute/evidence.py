"""From a net and what is known of one reel to rows of weights for the sweep."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import NamedTuple

import numpy as np

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.hunches.compute.plan import Array
from levelwind.core.hunches.compute.sweep import Questions, answer
from levelwind.core.hunches.model import Net, Reading


@dataclass(frozen=True, slots=True)
class Question:
    """One question: as known, but with some findings taken as missing, one finding or reading left out, one fault
    taken as there, or no fault there at all."""

    missing: tuple[str, ...] = ()
    without: str | None = None
    given: str | None = None
    sound: bool = False


class Told(NamedTuple):
    """``log_weight`` (B) is ln of the chance of what each question takes as known, −inf where it cannot be;
    ``chance`` (B × n) is each fault's posterior, ``unlisted`` (B) that of something not on the list."""

    log_weight: Array
    chance: Array
    unlisted: Array


@dataclass(frozen=True, slots=True)
class Case:
    """A net with what was seen (True), looked for and not seen (False), and read."""

    net: Net
    seen: Mapping[str, bool]
    readings: Sequence[Reading] = ()

    def __post_init__(self) -> None:
        findings = {finding.key for finding in self.net.findings}
        faults = {fault.key for fault in self.net.faults}
        for key in self.seen:
            if key not in findings:
                raise InputError(
                    "finding", repr(key), "one of " + ", ".join(get_close_matches(key, findings, 3, 0) or findings)
                )
        for reading in self.readings:
            for key in reading.ratios:
                if key not in findings | faults:
                    raise InputError(f"what {reading.key} speaks for", repr(key), "a fault or a finding of the net")

    def ask(self, rows: Sequence[Question]) -> Told:
        """Answers to all rows; the first must be possible.

        Raises NotDeterminedError when what was seen cannot be true together in this net.
        """
        told = self._either_way(rows)
        if told.log_weight[0] == -np.inf:
            raise NotDeterminedError("What was seen cannot all be true of one reel: untick what you are least sure of.")
        return told

    def _either_way(self, rows: Sequence[Question]) -> Told:
        """What is not on the list touches findings all over the net, and would hold them all open at one time. So it
        is taken as missing and as there, each way a sum of its own, and the two are added: exact, and twice the work.
        """
        questions, prior = self._questions(rows), self.net.unlisted
        heard = answer(questions)
        if not prior:
            return Told(*heard, np.zeros(len(rows)))
        raised = 1 - (1 - questions.leak) * (1 - np.array([finding.unlisted for finding in self.net.findings]))
        with_it = answer(replace(questions, leak=raised))
        there = with_it.log_weight + np.where([row.sound for row in rows], -np.inf, np.log(prior))
        whole = np.logaddexp(heard.log_weight + np.log1p(-prior), there)
        possible = np.isfinite(whole)
        share = np.where(possible, np.exp(there - np.where(possible, whole, 0.0)), 0.0)[:, None]
        chance = share * with_it.chance + (1 - share) * heard.chance
        return Told(whole, np.where(possible[:, None], chance, 0.0), share[:, 0])

    def _questions(self, rows: Sequence[Question]) -> Questions:
        """What most rows have alike is weighed once: a page asks a hundred that differ in one finding."""
        without = {row.without for row in rows if any(reading.key == row.without for reading in self.readings)}
        alike = {key: self._weights(key) for key in (None, *without)}
        faults = {fault.key: place for place, fault in enumerate(self.net.faults)}
        findings = {finding.key: place for place, finding in enumerate(self.net.findings)}
        places = {key: place for place, key in enumerate(alike)}
        of_row = [places.get(row.without, 0) for row in rows]  # the first is what is known with no reading left out
        there, missing, on, off = (
            np.array(columns)[of_row] for columns in zip(*(each.weights for each in alike.values()), strict=True)
        )
        for number, row in enumerate(rows):
            if row.sound:
                there[number] = 0.0
            if row.given in faults:
                missing[number, faults[row.given]] = 0.0
            if row.without in findings:
                ratio = alike.get(row.without, alike[None]).ratios.get(row.without, 1.0)
                on[number, findings[row.without]], off[number, findings[row.without]] = ratio, 1.0
            for key in row.missing:
                if key in findings:
                    on[number, findings[key]], off[number, findings[key]] = 0.0, 1.0
        return Questions(there, missing, on, off, links_of(self.net), np.array([f.leak for f in self.net.findings]))

    def _weights(self, without: str | None) -> "_Alike":
        """What is known, with one reading left out."""
        ratios: dict[str, float] = {}
        for reading in self.readings:
            if reading.key != without:
                for key, ratio in reading.ratios.items():
                    ratios[key] = ratios.get(key, 1.0) * ratio
        there = [fault.prior * ratios.get(fault.key, 1.0) for fault in self.net.faults]
        missing = [1 - fault.prior for fault in self.net.faults]
        states = [self._state(finding.key, ratios) for finding in self.net.findings]
        return _Alike(ratios, (there, missing, [on for on, _ in states], [off for _, off in states]))

    def _state(self, key: str, ratios: Mapping[str, float]) -> tuple[float, float]:
        """Weights of a finding there and missing. A finding that was seen leaves nothing for a reading to add."""
        if key in self.seen:
            return (1.0, 0.0) if self.seen[key] else (0.0, 1.0)
        return ratios.get(key, 1.0), 1.0


class _Alike(NamedTuple):
    ratios: dict[str, float]
    weights: tuple[list[float], list[float], list[float], list[float]]
    """Of each fault there and missing, of each finding there and missing."""


def links_of(net: Net) -> Array:
    """Links as a table, faults by findings, 0 where there is none."""
    return np.array([[f.links.get(fault.key, 0.0) for f in net.findings] for fault in net.faults]).reshape(
        len(net.faults), len(net.findings)
    )
