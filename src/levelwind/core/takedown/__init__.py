"""Least work to reach a part, the order of the way in, the gates of the way back, and no piece lost."""

from levelwind.core.takedown.compute import full, natural_order, reach, rebuild
from levelwind.core.takedown.least_work import refuse_unreachable
from levelwind.core.takedown.model import (
    Gate,
    Piece,
    Place,
    Rebuild,
    Refit,
    Rules,
    State,
    Step,
    Takedown,
    Whereabouts,
)
from levelwind.core.takedown.whereabouts import open_questions, tray_cells, unaccounted

__all__ = [
    "Gate",
    "Piece",
    "Place",
    "Rebuild",
    "Refit",
    "Rules",
    "State",
    "Step",
    "Takedown",
    "Whereabouts",
    "full",
    "natural_order",
    "open_questions",
    "reach",
    "rebuild",
    "refuse_unreachable",
    "tray_cells",
    "unaccounted",
]
