"""A takedown in words and rows, as data that a page, a sheet or the command line can lay out."""

from math import ceil
from typing import Any

from levelwind.core.takedown.model import Rules, Takedown
from levelwind.core.takedown.whereabouts import tray_cells
from levelwind.core.writing import written


def takedown_rows(rules: Rules, takedown: Takedown) -> list[dict[str, Any]]:
    """One row a step: its number, what to do, with what, for how long, why, and the pieces with their tray cells."""
    cells = tray_cells(rules, takedown.steps)
    return [
        {
            "number": number,
            "key": step.key,
            "do": step.do,
            "why": why,
            "minutes": step.minutes,
            "tool": step.tool,
            "cautions": list(step.cautions),
            "photo": step.photo,
            "frees": [
                {"place": key, "name": rules.place(key).name, "count": rules.place(key).count, "cell": cells[key]}
                for key in step.frees
            ],
        }
        for number, (step, why) in enumerate(zip(takedown.steps, takedown.why, strict=True), 1)
    ]


def in_a_sentence(rules: Rules, takedown: Takedown, places: tuple[str, ...]) -> str:
    """How much work the takedown is.

    >>> from levelwind.core.takedown import Place, Step, reach
    >>> cap = Place(key="cap", name="tail bearing cap", group="tail")
    >>> rules = Rules((cap,), (Step(key="unscrew", do="Unscrew the cap.", frees=("cap",), minutes=0.4),))
    >>> in_a_sentence(rules, reach(rules, ["cap"]), ("cap",))
    'To reach the tail bearing cap: 1 step, 0.4 minutes.'
    """
    count = len(takedown.steps)
    names = _listed([f"the {name}" for name in rules.names(places)])
    said = f"To reach {names}: {count} step{'' if count == 1 else 's'}, {written(takedown.minutes, '.1f')} minutes."
    return " ".join(filter(None, (said, not_proven(takedown))))


def not_proven(takedown: Takedown) -> str:
    """That a quicker way in is not ruled out, and what it might save, rounded up; empty where this is the quickest.

    >>> not_proven(Takedown((), 16.3, (), 2.61))
    'Not proven the quickest: the rules leave too many choices. Another way in might save up to 2.7 minutes.'
    """
    if takedown.proven:
        return ""
    saved = f"{written(ceil(takedown.gap_min * 10) / 10, '.1f')} minutes"
    return f"Not proven the quickest: the rules leave too many choices. Another way in might save up to {saved}."


def _listed(words: list[str]) -> str:
    """
    >>> _listed(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))
