"""What a reading's row holds, as core's own types: the one place that knows its keys and those of older versions."""

from collections.abc import Mapping
from typing import Any, TypeVar

from levelwind.core.codec import from_stored
from levelwind.core.pull import PullResult
from levelwind.core.quantities import Quantity
from levelwind.core.spin import SpinResult
from levelwind.core.spin.bearing import BearingHeard
from levelwind.shop.models import Reading

GAUGED = {"end_float": "end_float_mm", "turn": "torque_Nm"}
"""Under which key a kind that is only typed keeps its number."""

T = TypeVar("T")


def pull_result(reading: Reading) -> PullResult:
    """Of one that gave a number; of one that was refused, without pulls."""
    return _read(PullResult, reading, reading.analysis)


def spin_result(reading: Reading) -> SpinResult:
    """Of one that gave a number; of one that was refused, without spins."""
    return _read(SpinResult, reading, _with_spins(reading.analysis))


def _with_spins(stored: Mapping[str, Any]) -> Mapping[str, Any]:
    """A stop-watch's first shape had a time and no spins."""
    if "spin_time_s" not in stored or stored.get("spins"):
        return stored
    return {**stored, "spins": [{"spin_time_s": stored["spin_time_s"]}]}


def gauged(reading: Reading) -> Quantity:
    """End float in mm, handle torque in N m."""
    return _read(Quantity, reading, reading.analysis[GAUGED[reading.kind]])


def bearing_heard(reading: Reading) -> BearingHeard | None:
    """What was heard of the spool's bearing, where a sound was listened to for one."""
    stored = reading.analysis.get("bearing")
    return _read(BearingHeard, reading, stored) if stored else None


def _read(kind: type[T], reading: Reading, stored: object) -> T:
    return from_stored(kind, stored, f"what the book holds of the {reading}")
