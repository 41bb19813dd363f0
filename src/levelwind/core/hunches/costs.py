"""What goes in beside the net: the shop's money."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from levelwind.core.errors import InputError
from levelwind.core.hunches.model import Fault, Finding, Look, Net

NOTICED = 0.2
"""A judgement: of the faults nobody complained of, one in five brings the reel back."""


@dataclass(frozen=True, slots=True)
class Costs:
    """The shop's money: a minute of work, a reel that comes back, and where known what a fault's mend really costs.

    ``noticed`` is the chance that a fault the owner did not complain of brings the reel back all the same. ``mend``
    overrides the family's rough figure for a fault (parts and work together). ``is_open``: the reel is apart already,
    so that nothing is paid for opening it. ``ways_in`` are the takedown's minutes to each look as the reel stands.
    """

    minute: float
    comeback: float
    noticed: float = NOTICED
    mend: Mapping[str, float] = field(default_factory=dict)
    is_open: bool = False
    ways_in: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for what, money in {"price of a minute": self.minute, "cost of a comeback": self.comeback, **self.mend}.items():
            if not 0 <= money < float("inf"):
                raise InputError(what, money, "0 or more")
        if not 0 <= self.noticed <= 1:
            raise InputError("chance that a fault is noticed", self.noticed, "0 to 1")

    def to_mend(self, fault: Fault) -> float:
        """Parts and minutes, on a reel that is open that far."""
        return self.mend.get(fault.key, fault.parts.value + fault.minutes * self.minute)

    def of_leaving(self, fault: Fault, complaints: Sequence[Finding]) -> float:
        """What leaving a fault that is there costs: a comeback and the mend after all, if the owner meets it.

        He does when it brings his complaint up again (its link to what he said), or when it is noticed anyway. Where
        nothing was complained of, the whole reel was given in hand, and every fault counts in full.
        """
        unmet = 1 - self.noticed if complaints else 0.0
        for complaint in complaints:
            unmet *= 1 - complaint.links.get(fault.key, 0.0)
        return (self.comeback + self.to_mend(fault)) * (1 - unmet)

    def minutes_for(self, net: Net, look: Look) -> float:
        """The look's own minutes, and the way in: the takedown's, or that of opening a reel that is still whole."""
        opening = net.opening_minutes if look.needs_open and not self.is_open else 0.0
        return look.minutes + self.ways_in.get(look.key, opening)
