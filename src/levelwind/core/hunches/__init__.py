"""What is wrong with this reel: exact probabilities of faults that can occur together, and what to look at next."""

from levelwind.core.hunches.compute.choices import NextLook, UnseenOrLook, next_looks, unseen_or_look
from levelwind.core.hunches.compute.complaint import Pointed, Understood, pointed_to, understand
from levelwind.core.hunches.compute.learning import ClosedJob, learn
from levelwind.core.hunches.compute.order_of_tries import Order, Try, order_of_tries
from levelwind.core.hunches.compute.posterior import Hunch, Hunches, Moved, chance_seen, pairs, posterior
from levelwind.core.hunches.compute.shared import shared
from levelwind.core.hunches.compute.ways_in import opened, ways_in
from levelwind.core.hunches.compute.ways_out import Stake, WayOut, ways_out
from levelwind.core.hunches.costs import Costs
from levelwind.core.hunches.model import Counted, Fault, Finding, Look, Net, Reading, Words
from levelwind.core.hunches.report import HunchRow, LookRow, hunch_rows, look_rows, reason

__all__ = [
    "ClosedJob",
    "Costs",
    "Counted",
    "Fault",
    "Finding",
    "Hunch",
    "HunchRow",
    "Hunches",
    "Look",
    "LookRow",
    "Moved",
    "Net",
    "NextLook",
    "Order",
    "Pointed",
    "Reading",
    "Stake",
    "Try",
    "Understood",
    "UnseenOrLook",
    "WayOut",
    "Words",
    "chance_seen",
    "hunch_rows",
    "learn",
    "look_rows",
    "next_looks",
    "opened",
    "order_of_tries",
    "pairs",
    "pointed_to",
    "posterior",
    "reason",
    "shared",
    "understand",
    "unseen_or_look",
    "ways_in",
    "ways_out",
]
