"""Where the drag sits in each family of reel, and so what its torque is at the spool."""

from dataclasses import dataclass
from enum import StrEnum

from levelwind.core.codec import as_shown
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity


class Family(StrEnum):
    """Kinds of reel by where the drag sits."""

    STAR = "star drag"
    LOW_PROFILE = "low-profile casting"
    LEVER = "lever drag"
    FIXED_SPOOL_FRONT = "fixed spool, front drag"
    FIXED_SPOOL_REAR = "fixed spool, rear drag"
    FLY_DISC = "fly, disc drag"
    FLY_CLICK = "fly, click and pawl"


GEARED = frozenset({Family.STAR, Family.LOW_PROFILE})
"""Kinds whose drag sits in the main gear, with the gear mesh between it and the spool."""

UNGEARED = frozenset({Family.FLY_DISC, Family.FLY_CLICK})
"""Kinds whose handle turns the spool itself: there are no teeth to strip."""

BY_TIPPET = frozenset({Family.FLY_DISC, Family.FLY_CLICK})
"""Kinds whose drag is set to the tippet, which is weaker than the line and the backing behind it."""

MESH_EFFICIENCY = Quantity(0.97, 0.94, 0.99)
"""Share of the power that passes one greased gear mesh; handbook figures for open spur gears, from memory."""


@dataclass(frozen=True, slots=True)
class Drive:
    """What lies between the drag and the spool."""

    family: Family
    gear_ratio: float = 1.0
    mesh_efficiency: Quantity = MESH_EFFICIENCY

    def __post_init__(self) -> None:
        if not 1 <= self.gear_ratio <= 12:
            raise InputError("gear ratio", self.gear_ratio, "turns of the spool for one of the handle, 1 to 12")
        if not (self.mesh_efficiency.low > 0.5 and self.mesh_efficiency.high <= 1):
            raise InputError("mesh efficiency", as_shown(self.mesh_efficiency), "over 0.5 and up to 1")

    @property
    def geared(self) -> bool:
        return self.family in GEARED

    def spool_per_drag(self) -> Quantity:
        """Torque at the spool for one of the drag: 1 / (i eta) through gears, the fish turning them; else 1.

        The drag in the main gear sees the spool's torque i times over, less what the mesh takes, so the line is held
        by that much less than the drag's own torque.

        >>> Drive(Family.STAR, 4.0, Quantity(0.95, 0.94, 0.96)).spool_per_drag().value
        0.263
        >>> Drive(Family.LEVER, 3.5).spool_per_drag()
        Quantity(value=1.0, low=1.0, high=1.0)
        """
        if not self.geared:
            return Quantity.exact(1.0)
        eta = self.mesh_efficiency
        return Quantity(*(1 / (self.gear_ratio * share) for share in (eta.value, eta.high, eta.low)))

    def drag_per_spool(self) -> Quantity:
        """Torque at the drag for one at the spool: what a pull on the line says of the drag.

        >>> Drive(Family.STAR, 4.0, Quantity(0.95, 0.94, 0.96)).drag_per_spool().value
        3.8
        """
        per_drag = self.spool_per_drag()
        return Quantity(1 / per_drag.value, 1 / per_drag.high, 1 / per_drag.low)

    def mate_of(self, teeth: int, *, on_handle: bool) -> int:
        """Teeth of the pinion that a main gear drives, or of the main gear that drives a pinion, by the gear ratio.

        >>> Drive(Family.STAR, 4.0).mate_of(48, on_handle=True), Drive(Family.STAR, 4.0).mate_of(12, on_handle=False)
        (12, 48)
        """
        return max(1, round(teeth / self.gear_ratio if on_handle else teeth * self.gear_ratio))

    def handle_per_spool(self) -> float:
        """Torque on the handle's side of the gears for one at the spool, at the drag's limit.

        A drag in the main gear is turned by the fish: i eta. Any other limits the spool, and the hand cranks against
        it: i / eta.

        >>> Drive(Family.STAR, 4.0).handle_per_spool(), Drive(Family.LEVER, 4.0).handle_per_spool()
        (3.88, 4.12)
        """
        eta = self.mesh_efficiency.value
        return self.gear_ratio * eta if self.geared else self.gear_ratio / eta
