"""What is wrong with this reel: exact probabilities of faults that can occur together, and what to look at next."""

from levelwind.core.hunches.compute.choices import Costs, NextLook, UnseenOrLook, next_looks, unseen_or_look
from levelwind.core.hunches.compute.complaint import Pointed, pointed_to
from levelwind.core.hunches.compute.posterior import Hunch, Hunches, Moved, chance_seen, pairs, posterior
from levelwind.core.hunches.model import Counted, Fault, Finding, Look, Net, Reading

__all__ = [
    "Costs",
    "Counted",
    "Fault",
    "Finding",
    "Hunch",
    "Hunches",
    "Look",
    "Moved",
    "Net",
    "NextLook",
    "Pointed",
    "Reading",
    "UnseenOrLook",
    "chance_seen",
    "next_looks",
    "pairs",
    "pointed_to",
    "posterior",
    "unseen_or_look",
]
