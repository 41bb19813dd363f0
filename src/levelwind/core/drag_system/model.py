"""What goes into a drag system: the stack and what squeezes it, the line it holds, and what is asked of it besides."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.drag.clamp import THREAD_FRICTION, Thread
from levelwind.core.drag.families import BY_TIPPET, Drive
from levelwind.core.drag.heat import Lump
from levelwind.core.drag.height import Thickness
from levelwind.core.drag.lever import Lever
from levelwind.core.drag.model import Lookup, Solid, Stack
from levelwind.core.drag.springs import Springs
from levelwind.core.drag.weakest import Link
from levelwind.core.line import PACKING, Filled
from levelwind.core.quantities import Quantity

DRAWS = 10_000
"""Draws behind the intervals of clamp force, line tension and height: their ends then move by less than they are shown
with. Our choice."""

SEED = 20
"""Of the dice every drag is computed with: a number moves only when something given has moved it. Our choice."""


@dataclass(frozen=True, slots=True)
class GivenForce:
    """A clamp force that was said or weighed, in N."""

    force_N: Quantity


@dataclass(frozen=True, slots=True)
class HandTorque:
    """A hand's torque on star, knob or nut; what it turns on rubs at the thread and at the collar."""

    torque_Nm: Quantity
    thread: Thread
    mu: Quantity = THREAD_FRICTION
    collar_mu: Quantity = THREAD_FRICTION


@dataclass(frozen=True, slots=True)
class Screw:
    """A star or knob so many turns past where it touches the springs; None while nobody said how many."""

    springs: Springs
    lead_m: float
    turns: float | None = None


@dataclass(frozen=True, slots=True)
class KnobSpring:
    """A knob that goes down on its spring as far as it will: rate in N/m, travel in m."""

    rate_N_m: Quantity
    travel_m: Quantity


Hand = HandTorque | KnobSpring | Lever
"""What a hand moves to clamp a drag."""
Clamp = GivenForce | HandTorque | Screw | Lever | KnobSpring


@dataclass(frozen=True, slots=True)
class LoadedSpool:
    """Line on the spool, and how many times its tension grows past the reel's own roller and past the rod's guides.

    ``known`` is False where nobody knows the line's diameter: then the radius at a share of the line still holds, but
    metres say nothing.
    """

    filled: Filled
    roller: float = 1.0
    guides: float = 1.0
    packing: Quantity = PACKING
    known: bool = True

    @property
    def past(self) -> float:
        """How many times the tension grows past roller and guides together."""
        return self.roller * self.guides


@dataclass(frozen=True, slots=True)
class Run:
    """Line drawn off the full spool, and the parts beside the stack that take up its heat."""

    speed_m_s: float
    length_m: float
    lumps: tuple[Lump, ...] = ()

    @property
    def takes_up(self) -> tuple[str, ...]:
        """Names of the parts beside the stack that take up heat; with none of them it is the worst case."""
        return tuple(lump.name for lump in self.lumps)


@dataclass(frozen=True, slots=True)
class Room:
    """The pieces whose height the star is used to, and how much lower or higher a stack it takes up, in m.

    ``off_m`` is how far each new washer may be off, at most half of itself; ``shims`` are those at hand.
    """

    old: tuple[Thickness, ...]
    lower_m: float
    higher_m: float
    off_m: float = 0.0
    shims: tuple[Thickness, ...] = ()


@dataclass(frozen=True, slots=True)
class Pull:
    """A running drag read with ``left_m`` of line on the spool, and the lining whose friction it tells of.

    ``past`` is how many times the tension grew between the spool and the scale.
    """

    tension_N: Quantity
    left_m: float
    material: str
    past: float = 1.0


@dataclass(frozen=True, slots=True)
class DragSystem:
    """One drag as it is to be computed. What is None, or empty, is not asked for or not known.

    ``against`` is what a hand sets, to draw the drag against; ``pull``, ``run`` and ``links`` need the spool.
    ``usual`` says that nobody measured the clamp: it is what such a reel usually has. ``old`` is the stack the new one
    takes the place of. ``tippet_N`` is the strength of a fly reel's tippet; ``hand`` is what a hand can make of the
    clamp, whatever it was said to be.
    """

    stack: Stack
    drive: Drive
    clamp: Clamp
    spool: LoadedSpool | None = None
    against: Screw | Lever | None = None
    pull: Pull | None = None
    run: Run | None = None
    links: tuple[Link, ...] = ()
    room: Room | None = None
    old: Stack | None = None
    usual: bool = False
    tippet_N: float | None = None
    hand: Hand | None = None

    @property
    def set_to_N(self) -> float | None:
        """Strength in N of what the drag is set to: of a fly reel the tippet, else the line; None where not known."""
        if self.drive.family in BY_TIPPET:
            return self.tippet_N
        return self.spool.filled.line.strength_N if self.spool else None


@dataclass(frozen=True, slots=True)
class Tables:
    """Published figures a drag is computed with: friction by pair and condition, heat, and what a lining stands.

    ``stands_C`` and ``stands_MPa`` are by lining, where a table gives them.
    """

    friction: Lookup
    conditions: tuple[str, ...]
    solids: Mapping[str, Solid]
    stands_C: Mapping[str, float]
    stands_MPa: Mapping[str, float]
