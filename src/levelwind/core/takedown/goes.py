"""Small steps that follow one another are one go of the hand: shown together, ticked with one press."""

from collections.abc import Callable, Iterable
from math import fsum

from levelwind.core.takedown.model import Refit, Step

MOST_STEPS_IN_A_GO = 4
"""Steps ticked with one press. Our choice: what still stands in large type on a phone, and is kept in mind."""
LONGEST_GO_MIN = 2.5
"""Minutes of the steps of one go together. Our choice: more is work of its own, ticked when it is done."""
MOST_PIECES_IN_A_GO = 5
"""Kinds of piece that one go frees or puts in. Our choice: each stands in the list with its cell and its oil."""


def goes(steps: Iterable[Step]) -> tuple[tuple[Step, ...], ...]:
    """The steps of a way in as goes, in their order. A step with a caution begins a go: the caution stands ahead of it.

    >>> undo = Step(key="undo", do="Undo the screw.", frees=("screw",), minutes=0.3)
    >>> lift = Step(key="lift", do="Lift the lid.", frees=("lid",), minutes=0.5)
    >>> pry = Step(key="pry", do="Pry out the spring.", frees=("spring",), minutes=0.5, cautions=("springs",))
    >>> [[step.key for step in go] for go in goes([undo, lift, pry])]
    [['undo', 'lift'], ['pry']]
    """
    made: list[list[Step]] = []
    for step in steps:
        if made and not step.cautions and _has_room(made[-1], step):
            made[-1].append(step)
        else:
            made.append([step])
    return tuple(tuple(go) for go in made)


def goes_back(
    refits: Iterable[Refit], alone: Callable[[Refit], bool] = lambda refit: False
) -> tuple[tuple[Refit, ...], ...]:
    """The steps of a way back as goes. A gate ahead of a step or a caution begins a go, a gate after a step ends it.

    ``alone`` says which step must be ticked by itself, as one whose piece is worn and not renewed.
    """
    made: list[list[Refit]] = []
    for refit in refits:
        if made and not alone(refit) and not alone(made[-1][-1]) and _goes_on(made[-1], refit):
            made[-1].append(refit)
        else:
            made.append([refit])
    return tuple(tuple(go) for go in made)


def _goes_on(go: list[Refit], refit: Refit) -> bool:
    step, last = refit.step, go[-1].step
    if step.cautions or any(gate.ahead for gate in step.gates) or any(not gate.ahead for gate in last.gates):
        return False
    return _has_room([one.step for one in go], step)


def _has_room(go: list[Step], step: Step) -> bool:
    minutes = fsum(one.minutes for one in (*go, step))
    pieces = sum(len(one.frees) for one in (*go, step))
    return len(go) < MOST_STEPS_IN_A_GO and minutes <= LONGEST_GO_MIN and pieces <= MOST_PIECES_IN_A_GO
