"""Small steps that follow one another are one go of the hand: shown together, ticked with one press."""

from collections.abc import Callable, Iterable, Sequence
from math import fsum

from levelwind.core.takedown.model import Refit, Step

MOST_STEPS_IN_A_GO = 5
"""Steps ticked with one press. Our choice: what still stands in large type on a phone."""
LONGEST_GO_MIN = 2.5
"""Minutes of the steps of one go together. Our choice: more is work of its own, ticked when it is done."""
MOST_PIECES_IN_A_GO = 6
"""Kinds of piece that one go frees or puts in. Our choice: each stands in the list with its cell and its oil."""
MOST_LETTERS_IN_A_GO = 350
"""Letters of what is to be done in a go on the way in. Our choice, tried on a phone of 390 by 844 px: it stands above
the button in large type."""
MOST_LETTERS_BACK = 620
"""The same on the way back, of what is asked and minded; tried on the same phone."""
LETTERS_OF_A_LINE = 25
"""What each step, piece, gate and caution takes beside its words, in letters: a name, and the space round it. Our
choice, tried on the same phone."""
MOST_CAUTIONS_IN_A_GO = 2
"""Cautions that steps of one go bring together. Our choice: they stand ahead of all of it, in full, and are read."""
MOST_ASKED_IN_A_GO = 3
"""Gates of one go, answered with its press. Our choice: three questions are read, five are nodded through."""
CAUTION_IN_GATES = 1.5
"""How much of a screen a caution takes, a gate being one; tried on the same phone."""
MOST_TO_HEED_IN_A_GO = 4.5
"""Gates of one go, and its cautions counted in gates. Our choice: so many stand beside the steps on the same screen."""


def goes(steps: Iterable[Step], alone: Callable[[Step], bool] = lambda step: False) -> tuple[tuple[Step, ...], ...]:
    """The steps of a way in as goes, in their order. ``alone`` says which must be ticked by itself, as one that waits.

    >>> undo = Step(key="undo", do="Undo the screw.", frees=("screw",), minutes=0.3)
    >>> lift = Step(key="lift", do="Lift the lid.", frees=("lid",), minutes=0.5)
    >>> pry = Step(key="pry", do="Pry out the spring.", frees=("spring",), minutes=2.0, cautions=("springs",))
    >>> [[step.key for step in go] for go in goes([undo, lift, pry])]
    [['undo', 'lift'], ['pry']]
    """
    made: list[list[Step]] = []
    for step in steps:
        go = [*made[-1], step] if made else []
        if go and not any(map(alone, go)) and _has_room(go) and sum(len(one.do) for one in go) <= MOST_LETTERS_IN_A_GO:
            made[-1] = go
        else:
            made.append([step])
    return tuple(tuple(go) for go in made)


def goes_back(
    refits: Iterable[Refit], alone: Callable[[Refit], bool] = lambda refit: False
) -> tuple[tuple[Refit, ...], ...]:
    """The steps of a way back as goes, each with its gates in their order.

    ``alone`` says which step must be ticked by itself, as one whose piece is worn and not renewed.
    """
    made: list[list[Refit]] = []
    for refit in refits:
        go = [*made[-1], refit] if made else []
        if go and not any(map(alone, go)) and _goes_on([one.step for one in go]):
            made[-1] = go
        else:
            made.append([refit])
    return tuple(tuple(go) for go in made)


def can_be_heeded(*, asked: int, cautions: int) -> bool:
    """Whether so many gates and cautions stand on one screen and are read.

    >>> can_be_heeded(asked=3, cautions=1), can_be_heeded(asked=2, cautions=2)
    (True, False)
    """
    return asked <= MOST_ASKED_IN_A_GO and asked + CAUTION_IN_GATES * cautions <= MOST_TO_HEED_IN_A_GO


def _goes_on(go: Sequence[Step]) -> bool:
    asks = [gate.ask for step in go for gate in step.gates]
    lines = len(go) + _pieces(go) + len(asks) + _cautions(go)
    letters = sum(map(len, asks)) + sum(len(step.back) for step in go) + LETTERS_OF_A_LINE * lines
    heeded = can_be_heeded(asked=len(asks), cautions=_cautions(go))
    return _has_room(go) and letters <= MOST_LETTERS_BACK and heeded


def _cautions(go: Sequence[Step]) -> int:
    return len({caution for step in go for caution in step.cautions})


def _pieces(go: Sequence[Step]) -> int:
    return sum(len(step.frees) for step in go)


def _has_room(go: Sequence[Step]) -> bool:
    minutes = fsum(step.minutes for step in go)
    small = len(go) <= MOST_STEPS_IN_A_GO and minutes <= LONGEST_GO_MIN and _pieces(go) <= MOST_PIECES_IN_A_GO
    return small and _cautions(go) <= MOST_CAUTIONS_IN_A_GO
