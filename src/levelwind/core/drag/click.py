"""The click and pawl of a fly reel: a toothed wheel lifting a sprung pawl, with the ripple that gives.

Derived: a pawl lifted against its spring along a flank of slope dh/ds pushes back with F tan(atan(dh/ds) + atan mu) at
the wheel. Coming down it falls faster than it pushes, so the way down gives nothing back. Turned slowly.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.rings import Floats
from levelwind.core.errors import InputError
from levelwind.core.writing import written

PAWL_FRICTION = 0.12
"""Greased steel on brass: handbook figures run from 0.11 to 0.19 (static, with castor oil and grease)."""


@dataclass(frozen=True, slots=True)
class Click:
    """Wheel and pawl: tooth count, radius where the pawl bears, tooth height, share of the pitch that lifts.

    ``force_N`` is the spring on the pawl in the root, ``rate_N_m`` how it stiffens, ``pawls`` how many work together.
    """

    teeth: int
    radius_m: float
    height_m: float
    lifting_share: float
    force_N: float
    rate_N_m: float
    mu: float = PAWL_FRICTION
    pawls: int = 1

    def __post_init__(self) -> None:
        if not 4 <= self.teeth <= 200:
            raise InputError("teeth of the click wheel", self.teeth, "4 to 200")
        if not 0 < self.radius_m <= 0.1:
            raise InputError(
                "diameter of the click wheel", f"{written(2000 * self.radius_m)} mm", "over 0 and up to 200 mm"
            )
        if not 0 < self.height_m < self.radius_m / 2:
            raise InputError(
                "height of a tooth", f"{written(1000 * self.height_m)} mm", "over 0 and under half the radius"
            )
        if not 0.05 <= self.lifting_share <= 0.95:
            raise InputError("lifting share of the pitch", self.lifting_share, "0.05 to 0.95")
        if not (0 <= self.force_N <= 200 and 0 <= self.rate_N_m <= 1e5 and self.force_N + self.rate_N_m > 0):
            raise InputError("pawl spring", (self.force_N, self.rate_N_m), "a force up to 200 N and a rate, not both 0")
        if not 1 <= self.pawls <= 4:
            raise InputError("pawls", self.pawls, "1 to 4")
        if not 0 <= self.mu * self.slope < 1:
            raise InputError(
                "friction of the pawl", self.mu, f"from 0 to less than {written(1 / self.slope, '.2f')}, or it locks"
            )

    @property
    def slope(self) -> float:
        """Rise over run of the lifting flank."""
        return self.height_m / (self.lifting_share * 2 * np.pi * self.radius_m / self.teeth)


@dataclass(frozen=True, slots=True)
class Ripple:
    """Torque over one pitch by its corners, rad and N m, shape (4,); its mean, its peak, clicks in a turn."""

    angle_rad: Floats
    torque_Nm: Floats
    mean_Nm: float
    peak_Nm: float
    clicks_per_turn: int


def ripple(click: Click) -> Ripple:
    """Torque as one tooth passes, by its corners: straight up the flank while the pawl is lifted, then nothing.

    >>> turned = ripple(Click(30, 0.010, 0.8e-3, lifting_share=0.5, force_N=4.0, rate_N_m=2000.0))
    >>> turned.mean_Nm, turned.peak_Nm
    (0.02336, 0.05450)
    """
    arm = click.pawls * click.radius_m * float(np.tan(np.arctan(click.slope) + np.arctan(click.mu)))
    first, peak = click.force_N * arm, (click.force_N + click.rate_N_m * click.height_m) * arm
    angle = 2 * np.pi / click.teeth * np.array([0.0, click.lifting_share, click.lifting_share, 1.0])
    mean_force = click.force_N + click.rate_N_m * click.height_m / 2
    return Ripple(angle, np.array([first, peak, 0.0, 0.0]), mean_force * arm * click.lifting_share, peak, click.teeth)
