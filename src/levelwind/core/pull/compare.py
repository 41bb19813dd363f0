"""Two pulls like for like: as found against as left."""

from dataclasses import dataclass

from levelwind.core.changes import Change, Verdict, change
from levelwind.core.errors import NotDeterminedError
from levelwind.core.notes import Note
from levelwind.core.pull.model import PullResult
from levelwind.core.pull.report import average
from levelwind.core.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Figure:
    """A number of a pull that is compared: what it is called, its unit, and how closely it repeats.

    ``repeats`` is the part of it by which two pulls of one unchanged drag lie apart, nine times in ten, beyond the
    interval of either.
    """

    name: str
    unit: str
    repeats: float


FIGURES = {
    "running_N": Figure("running drag", "N", 0.03),
    "breakaway_N": Figure("breakaway", "N", 0.08),
    "startup_ratio": Figure("start-up ratio", "", 0.08),
    "wobble_N": Figure("wobble", "N", 0.15),
}
"""By the field of a pull. The hand's pace, how long the drag stood, and how warm it is change what it truly gives: on
250 made pairs of one drag pulled by two hands nine in ten truths lay within 0.03, 0.10, 0.10 and 0.14 of one another
(docs/physics/compare.md)."""
REPORTED = ("startup_ratio", "running_N")
"""Those that the words tell."""


@dataclass(frozen=True, slots=True)
class PullsCompared(Verdict):
    """What the work did to a drag."""

    def shown(self) -> dict[str, object]:
        """The one JSON shape: `levelwind compare --json`."""
        figures = {key: self.change(key) for key in FIGURES}
        return {"kind": "compare", "status": "ok", "of": "pull", **figures, "cautions": self.cautions}


def compare(found: PullResult, left: PullResult) -> PullsCompared:
    """As found against as left: each figure that both logs tell.

    Where a log holds several pulls their average stands, its interval no narrower than their disagreement allows.
    Raises NotDeterminedError where a log holds none.

    >>> from levelwind.core.pull import typed
    >>> compare(typed(32.4, 20.0), typed(24.0, 21.0)).reported[1].words()
    'running drag 20.0 to 21.0 N: up by 1.0 N (-0.9 to 2.9), too small to tell from chance'
    """
    changes = {key: each for key in FIGURES if (each := _changed(key, found, left))}
    if not changes:
        raise NotDeterminedError("as found and as left have no number in common")
    cautions = (*_borne(found, "as found"), *_borne(left, "as left"))
    reported = tuple(changes[key] for key in REPORTED)
    return PullsCompared(tuple(changes.values()), reported, tuple(_sticking(found, left)), cautions)


def _changed(key: str, found: PullResult, left: PullResult) -> Change | None:
    try:
        return figure_changed(key, average(found, key), average(left, key))
    except NotDeterminedError:
        return None


def figure_changed(key: str, found: Quantity, left: Quantity) -> Change:
    """One of ``FIGURES`` of two pulls."""
    figure = FIGURES[key]
    repeats = figure.repeats * max(found.value, left.value)
    return change(figure.name, figure.unit, found, left, key=key, repeats=repeats)


def _borne(result: PullResult, moment: str) -> list[Note]:
    """What each reading says of itself, of several pulls no sentence twice."""
    notes = dict.fromkeys((*result.cautions, *(note for pull in result.pulls for note in pull.cautions)))
    return [note.after(moment) for note in notes]


def _sticking(found: PullResult, left: PullResult) -> list[Note]:
    """Where both logs tell whether the drag sticks, and one of them says that it does."""
    before, after = _sticks(found), _sticks(left)
    if before is None or after is None or not (before or after):
        return []
    come = Note.of("stick_slip_come", "stick-slip has come")
    gone, still = Note.of("stick_slip_gone", "stick-slip gone"), Note.of("stick_slip_still", "still stick-slip")
    return [{(True, False): gone, (False, True): come, (True, True): still}[before, after]]


def _sticks(result: PullResult) -> bool | None:
    """None where no pull of a log tells; numbers read off a display never do."""
    told = [pull.stick_slip for pull in result.pulls if pull.start_s is not None and pull.stick_slip is not None]
    return any(told) if told else None
