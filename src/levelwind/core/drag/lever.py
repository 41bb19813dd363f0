"""Clamp force from a lever that turns a cam against springs."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.rings import Floats, Numbers
from levelwind.core.drag.springs import HAND_STEP_DEG, SpringPack, pack_force_N
from levelwind.core.errors import InputError
from levelwind.core.writing import written


@dataclass(frozen=True, slots=True)
class Cam:
    """Axial lift against lever angle, as measured: points joined by straight lines.

    ``gap_m`` is the free way before the springs touch; the preset knob moves it.
    """

    angles_deg: tuple[float, ...]
    lifts_m: tuple[float, ...]
    gap_m: float = 0.0

    def __post_init__(self) -> None:
        if not 2 <= len(self.angles_deg) == len(self.lifts_m):
            raise InputError(
                "points of the cam", (len(self.angles_deg), len(self.lifts_m)), "as many lifts as angles, 2 or more"
            )
        if np.any(np.diff(self.angles_deg) <= 0) or np.any(np.diff(self.lifts_m) < 0):
            raise InputError("points of the cam", self.lifts_m, "angles that rise and lifts that do not fall")
        if not all(np.isfinite(self.angles_deg)) or not all(np.isfinite(self.lifts_m)) or not np.isfinite(self.gap_m):
            raise InputError("points of the cam", self.lifts_m, "finite numbers")


@dataclass(frozen=True, slots=True)
class Lever:
    """A lever at ``angle_deg``, its cam pressing disc springs."""

    cam: Cam
    springs: SpringPack
    angle_deg: float


def lift_m(cam: Cam, angle_deg: Numbers) -> Floats:
    """Lift in m at a lever angle, any shape, within the cam's points.

    >>> lift_m(Cam((0.0, 90.0), (0.0, 1.2e-3)), 45.0)
    np.float64(0.0006)
    """
    angle = np.asarray(angle_deg, float)
    first, last = cam.angles_deg[0], cam.angles_deg[-1]
    if not (np.all(angle >= first) and np.all(angle <= last)):
        raise InputError(
            "angle of the lever",
            f"{written(np.max(angle))} degrees",
            f"from {written(first)} to {written(last)} degrees",
        )
    return np.asarray(np.interp(angle, cam.angles_deg, cam.lifts_m))[()]


def force_at_lever_N(cam: Cam, pack: SpringPack, angle_deg: Numbers) -> Floats:
    """Clamp force in N: the springs pressed by what the lift leaves after the gap.

    >>> from levelwind.core.drag.springs import DiscSpring
    >>> pack = SpringPack(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3), series=4)
    >>> force_at_lever_N(Cam((0.0, 90.0), (0.0, 1.2e-3), gap_m=0.6e-3), pack, [30.0, 90.0])
    array([  0. , 209.6])
    """
    return pack_force_N(pack, np.maximum(lift_m(cam, angle_deg) - cam.gap_m, 0.0))


def finest_lever_step_N(cam: Cam, pack: SpringPack, angle_deg: float, hand_step_deg: float = HAND_STEP_DEG) -> float:
    """Change of clamp force in N for the smallest move a hand can set, about ``angle_deg``, within the cam.

    >>> from levelwind.core.drag.springs import DiscSpring
    >>> pack = SpringPack(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3), series=4)
    >>> finest_lever_step_N(Cam((0.0, 90.0), (0.0, 0.8e-3)), pack, 45.0)
    14.48
    """
    low, high = (
        float(np.clip(angle_deg + part * hand_step_deg, cam.angles_deg[0], cam.angles_deg[-1])) for part in (-0.5, 0.5)
    )
    ends = force_at_lever_N(cam, pack, np.array([low, high]))
    return float((ends[1] - ends[0]) * hand_step_deg / (high - low))
