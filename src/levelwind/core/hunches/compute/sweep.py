"""The exact sum over all sets of faults that can be there together, for many questions at once.

Each fault in turn is taken as missing or there; one that is there switches on, each with its link's chance, the
findings it can bring about. The table carried along holds the probability of every set of findings switched on so far.
A finding enters the table with its first fault and leaves it after its last, so that the table has two to the power
of the findings open at one time: exact for any number of faults and findings whose web is not too dense. Only
findings known to be there (or doubtful) need a place in the table: one known to be missing multiplies each fault's
weight by (1 − link).

Every term is positive, so nothing cancels; the table is scaled after each fault and the scale kept as a logarithm.
The alternating sum known as Quickscore gives the same number but loses its figures when the findings are rare.

Sources: Heckerman, A tractable inference algorithm for diagnosing multiple diseases, UAI 1989 (Quickscore); Zhang and
Poole, Exploiting causal independence in Bayesian network inference, JAIR 5, 1996 (summing by single causes).
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.hunches.compute.plan import Array, Step, cells, plan

MOST_CELLS = 1 << 21
"""Numbers that the tables of one question may hold, 16 MB: fifteen findings seen that each of twenty among sixty faults
may bring about are open nearly all at one time, and take half a second."""

AT_A_TIME = 1 << 20
"""Numbers that the tables of all questions answered together may hold; more questions are answered in turns."""


@dataclass(frozen=True, slots=True)
class Questions:
    """B questions to a net of n faults and m findings.

    ``there`` and ``missing`` (B × n) weigh each fault's two states. ``on`` and ``off`` (B × m) weigh each finding's:
    (1, 0) seen, (0, 1) not seen, (1, 1) not looked at, (r, 1) r times likelier to be there than not.
    ``links`` is n × m, ``leak`` has m.
    """

    there: Array
    missing: Array
    on: Array
    off: Array
    links: Array
    leak: Array


class Answers(NamedTuple):
    """``log_weight`` (B) is ln of the total weight, −inf where the question cannot be; ``chance`` (B × n) is each
    fault's posterior, 0 where the question cannot be."""

    log_weight: Array
    chance: Array


def answer(questions: Questions) -> Answers:
    """Total weight and posterior of every fault, for each question.

    >>> one = np.ones((1, 1))
    >>> q = Questions(0.3 * one, 0.7 * one, one, 0 * one, links=0.8 * one, leak=np.array([0.1]))
    >>> log_weight, chance = answer(q)
    >>> round(float(np.exp(log_weight[0])), 6), round(float(chance[0, 0]), 6)   # 0.3 · 0.82 + 0.7 · 0.1
    (0.316, 0.778481)
    """
    plain = ((questions.on == questions.off) | (questions.on == 0)).all(axis=0)
    steps = plan(questions.links[:, ~plain])
    if (size := cells(steps)) > MOST_CELLS:
        allowed = f"up to {MOST_CELLS:,} combinations to weigh; leave some findings as not looked at"
        raise InputError("what was seen", f"too tangled with {size:,}", allowed)
    rows = max(1, AT_A_TIME // (size + questions.links.size))
    turns = [
        _run(*_fold_plain(_rows(questions, start, start + rows), plain), steps)
        for start in range(0, len(questions.there), rows)
    ]
    log_weights, chances = zip(*turns, strict=True)
    return Answers(np.concatenate(log_weights), np.concatenate(chances))


def _fold_plain(questions: Questions, plain: NDArray[np.bool_]) -> tuple[Questions, Array]:
    """Findings that are only missing or not looked at become weights of the faults, and a weight of the whole."""
    on, off, links = questions.on[:, plain], questions.off[:, plain], questions.links[:, plain]
    faults, findings = np.nonzero(links)  # most faults bring few findings about
    stays_off = np.where((on == off)[:, findings], 1.0, 1 - links[faults, findings])
    there = questions.there.copy()
    if len(faults):
        linked, first = np.unique(faults, return_index=True)
        there[:, linked] *= np.multiply.reduceat(stays_off, first, axis=1)
    weight = np.where(on == off, on, off * (1 - questions.leak[plain]))
    rest = Questions(
        there,
        questions.missing,
        questions.on[:, ~plain],
        questions.off[:, ~plain],
        questions.links[:, ~plain],
        questions.leak[~plain],
    )
    return rest, _log(weight).sum(axis=1)


def _rows(questions: Questions, start: int, stop: int) -> Questions:
    part = slice(start, stop)
    q = questions
    return Questions(q.there[part], q.missing[part], q.on[part], q.off[part], q.links, q.leak)


def _run(questions: Questions, log_weight: Array, steps: tuple[Step, ...]) -> Answers:
    """Forward through the faults, then back: what stands before and after a fault gives its posterior."""
    size = len(questions.there)
    table = np.ones((size, 1))
    before: list[Array] = []
    for step in steps:
        table = _open(table, questions.leak[list(step.opened)])
        before.append(table)
        table = _weighed(table, _switched(table, step, questions.links), step, questions)
        table, scale = _scaled(_close(table, step, questions))
        log_weight = log_weight + scale
    chance = np.zeros_like(questions.there)
    to_go = np.ones((size, 1))
    for step, table in zip(reversed(steps), reversed(before), strict=True):
        to_go = _unclose(to_go, step, questions)
        through = _unswitched(to_go, step, questions.links)
        with_it = questions.there[:, step.fault] * np.einsum("bs,bs->b", table, through)
        without = questions.missing[:, step.fault] * np.einsum("bs,bs->b", table, to_go)
        whole = with_it + without
        chance[:, step.fault] = np.divide(with_it, whole, out=np.zeros(size), where=whole > 0)
        to_go = _weighed(to_go, through, step, questions)
        to_go, _ = _scaled(_unopen(to_go, questions.leak[list(step.opened)]))
    return Answers(log_weight, chance)


def _weighed(table: Array, through: Array, step: Step, questions: Questions) -> Array:
    there, missing = questions.there[:, step.fault, None], questions.missing[:, step.fault, None]
    return missing * table + there * through


def _switched(table: Array, step: Step, links: Array) -> Array:
    """The fault is there: each finding it can bring about is switched on with its link's chance."""
    table = table.copy()
    for place, finding in enumerate(step.live):
        link = links[step.fault, finding]
        if link:
            off, on = _halves(table, place)
            on += link * off
            off *= 1 - link
    return table


def _unswitched(to_go: Array, step: Step, links: Array) -> Array:
    """The same move seen from the end."""
    to_go = to_go.copy()
    for place, finding in enumerate(step.live):
        link = links[step.fault, finding]
        if link:
            off, on = _halves(to_go, place)
            off *= 1 - link
            off += link * on
    return to_go


def _halves(table: Array, place: int) -> tuple[Array, Array]:
    """Views of the sets without and with the finding at a place."""
    split = table.reshape(len(table), 1 << place, 2, -1)
    return split[:, :, 0], split[:, :, 1]


def _open(table: Array, leak: Array) -> Array:
    for chance in leak:
        table = (table[:, :, None] * np.array([1 - chance, chance])).reshape(len(table), -1)
    return table


def _unopen(to_go: Array, leak: Array) -> Array:
    for chance in leak[::-1]:
        to_go = to_go.reshape(len(to_go), -1, 2) @ np.array([1 - chance, chance])
    return to_go


def _close(table: Array, step: Step, questions: Questions) -> Array:
    for place in step.closed:
        off, on = _halves(table, place)
        finding = step.live[place]
        kept = questions.off[:, finding, None, None] * off + questions.on[:, finding, None, None] * on
        table = kept.reshape(len(table), -1)
    return table


def _unclose(to_go: Array, step: Step, questions: Questions) -> Array:
    for place in reversed(step.closed):
        finding = step.live[place]
        split = to_go.reshape(len(to_go), 1 << place, -1)
        weights = np.stack([questions.off[:, finding], questions.on[:, finding]], axis=1)
        to_go = (split[:, :, None, :] * weights[:, None, :, None]).reshape(len(to_go), -1)
    return to_go


def _scaled(table: Array) -> tuple[Array, Array]:
    """Each question's row with its largest number 1, and the logarithm of what was taken out."""
    largest = table.max(axis=1)
    return table / np.where(largest > 0, largest, 1.0)[:, None], _log(largest)


def _log(values: Array) -> Array:
    """ln, with −inf for 0 and no noise about it."""
    return np.log(values, out=np.full(values.shape, -np.inf), where=values > 0)
