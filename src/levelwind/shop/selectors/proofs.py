"""What the drag was computed to do, beside what was measured, and the setting to give the owner."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.line import STRIKE_SHARES
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.shop.models import DragPlan, Job
from levelwind.shop.selectors.readings import Readings


@dataclass(frozen=True, slots=True)
class ComputedFill:
    """Line tension the plan gives at one fill of the spool, from run in to new, in the unit asked for."""

    fill: str
    tension: Quantity
    line_radius_mm: float


@dataclass(frozen=True, slots=True)
class DragProof:
    """``fills`` at the clamp force planned; ``strike`` is the setting for the line at a full spool."""

    plan: DragPlan
    unit: str
    clamp_N: Quantity
    fills: tuple[ComputedFill, ...]
    measured: Quantity | None
    strike: tuple[float, float] | None

    @property
    def words(self) -> str:
        """Whether the drag pulls as it was computed to, as far as the intervals can tell."""
        if self.measured is None or not self.fills:
            return ""
        full = self.fills[0].tension
        if self.measured.low > full.high:
            return (
                "It pulls harder than computed for that clamp force: it was set tighter, or the coefficient is higher."
            )
        if self.measured.high < full.low:
            return "It pulls less than computed for that clamp force: it was set lighter, or the coefficient is lower."
        return "What was measured and what was computed agree as far as their intervals tell."


def drag_proof(job: Job, readings: Readings, unit: str = "N") -> DragProof | None:
    """The newest drag plan against the pull as left; None while no stack was chosen."""
    plan = job.drag_plans.last()
    if plan is None or not plan.computed:
        return None
    per = 1 / NEWTONS_PER[unit]
    fills = tuple(
        ComputedFill(row["fill"], _from_run_in_to_new(row).scaled(per), row["radius_mm"])
        for row in plan.computed["tension"]
    )
    measured = next((pair.left for pair in readings.pairs if pair.name == "Running drag"), None)
    strength = job.line_strength_N
    low, high = STRIKE_SHARES
    strike = (strength * low * per, strength * high * per) if strength else None
    return DragProof(plan, unit, Quantity(**plan.computed["clamp_N"]), fills, measured, strike)


def _from_run_in_to_new(row: Mapping[str, Any]) -> Quantity:
    """The middle of uniform wear and uniform pressure, and all that either leaves open."""
    new, run_in = Quantity(**row["new_N"]), Quantity(**row["run_in_N"])
    return Quantity((new.value + run_in.value) / 2, min(new.low, run_in.low), max(new.high, run_in.high))
