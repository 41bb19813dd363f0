"""Least work to reach a part, the order of the way in, the gates of the way back, and no piece lost."""

from levelwind.core.takedown.clock import OwnMinutes, Tick, longest_work_min, own_minutes, times_taken
from levelwind.core.takedown.compute import full, natural_order, reach, rebuild
from levelwind.core.takedown.goes import can_be_heeded, goes, goes_back
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
    "OwnMinutes",
    "Piece",
    "Place",
    "Rebuild",
    "Refit",
    "Rules",
    "State",
    "Step",
    "Takedown",
    "Tick",
    "Whereabouts",
    "can_be_heeded",
    "full",
    "goes",
    "goes_back",
    "longest_work_min",
    "natural_order",
    "open_questions",
    "own_minutes",
    "reach",
    "rebuild",
    "refuse_unreachable",
    "times_taken",
    "tray_cells",
    "unaccounted",
]
