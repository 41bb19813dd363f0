"""Invented readings from simulated physics: force logs of a drag pulled by hand, and spools running down.

Nothing here was measured on a reel. Whoever shows these numbers marks them as invented.
"""

from levelwind.demo.simulation.conditions import PRESETS, DragCondition, Hand, Rig, Scale
from levelwind.demo.simulation.draws import Bench, draw_bench
from levelwind.demo.simulation.logs import SimulatedLog, simulate_log
from levelwind.demo.simulation.spins import SimulatedSpin, Spool, simulate_spin, spin_time, spool_that_turns

__all__ = [
    "PRESETS",
    "Bench",
    "DragCondition",
    "Hand",
    "Rig",
    "Scale",
    "SimulatedLog",
    "SimulatedSpin",
    "Spool",
    "draw_bench",
    "simulate_log",
    "simulate_spin",
    "spin_time",
    "spool_that_turns",
]
