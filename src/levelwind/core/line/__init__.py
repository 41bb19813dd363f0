"""The line on the spool: how far out it lies, what the drag makes of it, what it can stand.

Torque comes in as a plain number at the spool, in N m.
"""

from levelwind.core.line.fill import NEAR_EMPTY, FillCurve, fill_curve, filled_to_the_rim, left_at_strength_m
from levelwind.core.line.model import CLOSEST_PACKING, PACKING, SQUARE_PACKING, Filled, Line, Spool
from levelwind.core.line.radius import (
    capacity_m,
    radius_at_length_m,
    radius_at_volume_m,
)
from levelwind.core.line.report import LineReport, LineRow, line_report
from levelwind.core.line.run import run_steps
from levelwind.core.line.setting import STRIKE_SHARES, STRIKE_WORDS, Setting, setting
from levelwind.core.line.tension import capstan, guides_factor, retrieve_per_turn_m, spool_torque_Nm, tension_N

__all__ = [
    "CLOSEST_PACKING",
    "NEAR_EMPTY",
    "PACKING",
    "SQUARE_PACKING",
    "STRIKE_SHARES",
    "STRIKE_WORDS",
    "FillCurve",
    "Filled",
    "Line",
    "LineReport",
    "LineRow",
    "Setting",
    "Spool",
    "capacity_m",
    "capstan",
    "fill_curve",
    "filled_to_the_rim",
    "guides_factor",
    "left_at_strength_m",
    "line_report",
    "radius_at_length_m",
    "radius_at_volume_m",
    "retrieve_per_turn_m",
    "run_steps",
    "setting",
    "spool_torque_Nm",
    "tension_N",
]
