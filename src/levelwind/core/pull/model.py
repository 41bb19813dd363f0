"""What a force log says about a drag."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.quantities import Quantity


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
    stick_slip: bool = False
    stick_slip_hz: float | None = None
    fade_percent: Quantity | None = None
    """How much of the running drag was lost from the start of the steady slip to its end; negative where it grew."""
    cautions: tuple[str, ...] = ()
    breakaway_s: float | None = None
    steady_s: tuple[float, float] | None = None
    """Between which times the running drag was taken."""

    def as_dict(self) -> dict[str, object]:
        return {
            "start_s": self.start_s,
            "end_s": self.end_s,
            "breakaway_N": self.breakaway_N.as_dict(),
            "running_N": self.running_N.as_dict(),
            "startup_ratio": self.startup_ratio.as_dict(),
            "wobble_N": self.wobble_N.as_dict() if self.wobble_N else None,
            "wobble_period_s": self.wobble_period_s,
            "stick_slip": self.stick_slip,
            "stick_slip_hz": self.stick_slip_hz,
            "fade_percent": self.fade_percent.as_dict() if self.fade_percent else None,
            "cautions": list(self.cautions),
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Pull":
        """Back from ``as_dict``; where the breakaway and the steady slip lay in the log is not kept there."""
        return cls(
            stored["start_s"],
            stored["end_s"],
            Quantity(**stored["breakaway_N"]),
            Quantity(**stored["running_N"]),
            Quantity(**stored["startup_ratio"]),
            Quantity(**stored["wobble_N"]) if stored["wobble_N"] else None,
            stored["wobble_period_s"],
            stored["stick_slip"],
            stored["stick_slip_hz"],
            Quantity(**stored["fade_percent"]) if stored["fade_percent"] else None,
            tuple(stored["cautions"]),
        )


@dataclass(frozen=True, slots=True)
class PullResult:
    """Every pull in a log, and what to bear in mind about all of them."""

    pulls: tuple[Pull, ...]
    cautions: tuple[str, ...] = ()
    unit_found: str = "N"
    """The unit the log was written in; everything here is in newtons."""
    sample_hz: float | None = None
    tare_N: float = 0.0
    """What the scale read with the line slack; already taken off every force here."""

    def as_dict(self) -> dict[str, object]:
        """The one JSON shape of a pull: `levelwind pull --json`, stored readings, and the pages."""
        return {
            "kind": "pull",
            "status": "ok",
            "unit_found": self.unit_found,
            "sample_hz": self.sample_hz,
            "cautions": list(self.cautions),
            "pulls": [pull.as_dict() for pull in self.pulls],
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "PullResult":
        """Back from ``as_dict``, as a stored reading is."""
        pulls = tuple(Pull.from_dict(pull) for pull in stored["pulls"])
        return cls(pulls, tuple(stored["cautions"]), stored["unit_found"], stored["sample_hz"])
