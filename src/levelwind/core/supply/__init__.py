"""The living: promise dates from simulated futures, what to keep and order, what a reel is worth."""

from levelwind.core.supply.model import Calendar, Coming, Found, Job, Shop, Spread, Wait
from levelwind.core.supply.promise import FUTURES, Futures, Reason, Sooner, futures, reason
from levelwind.core.supply.spreads import through
from levelwind.core.supply.turns import Turn, Turns, turns

__all__ = [
    "FUTURES",
    "Calendar",
    "Coming",
    "Found",
    "Futures",
    "Job",
    "Reason",
    "Shop",
    "Sooner",
    "Spread",
    "Turn",
    "Turns",
    "Wait",
    "futures",
    "reason",
    "through",
    "turns",
]
