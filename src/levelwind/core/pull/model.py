"""What a force log says about a drag."""

from dataclasses import dataclass, field

from levelwind.core.codec import UNSHOWN
from levelwind.core.notes import Note
from levelwind.core.quantities import Quantity

LAW = 2
"""Version of the law by which a log is read: raised whenever the same log comes to give other numbers. 1 took for a
wave what one law of the hand explains, and for the zero the lowest flat stretch."""


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull on the line, from take-up to let go. Times are those of the log; a typed pull has none."""

    start_s: float | None
    end_s: float | None
    breakaway_N: Quantity
    running_N: Quantity
    startup_ratio: Quantity
    wobble_N: Quantity | None = None
    """Half of peak to trough of the part that comes round once a turn."""
    wobble_period_s: float | None = None
    stick_slip: bool | None = False
    """None where the log cannot tell: too few cycles, or too few readings in one."""
    stick_slip_hz: float | None = None
    fade_percent: Quantity | None = None
    """How much of the running drag was lost from the start of the steady slip to its end; negative where it grew."""
    cautions: tuple[Note, ...] = ()
    breakaway_s: float | None = field(default=None, metadata=UNSHOWN)
    steady_s: tuple[float, float] | None = field(default=None, metadata=UNSHOWN)
    """Between which times the running drag was taken."""


@dataclass(frozen=True, slots=True)
class PullResult:
    """Every pull in a log, and what to bear in mind about all of them."""

    pulls: tuple[Pull, ...] = ()
    cautions: tuple[Note, ...] = ()
    unit_found: str = "N"
    """The unit the log was written in; everything here is in newtons."""
    sample_hz: float | None = None
    tare_N: float = 0.0
    """What the scale read with the line slack; already taken off every force here."""

    def shown(self) -> dict[str, object]:
        """The one JSON shape of a pull: `levelwind pull --json` and a reading's download."""
        return {
            "kind": "pull",
            "status": "ok",
            "unit_found": self.unit_found,
            "sample_hz": self.sample_hz,
            "cautions": self.cautions,
            "pulls": self.pulls,
        }
