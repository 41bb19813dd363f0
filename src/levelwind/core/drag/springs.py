"""Clamp force from disc springs pressed a given way, in parallel and in series.

Source: DIN 2092 (EN 16984), the formula of Almen and Laszlo. Valid for discs without ground ends, from free to flat.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.rings import Floats, Numbers
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

SPRING_STEEL_PA = 206e9
"""Pa, Young's modulus of spring steel, as DIN 2093's tables take it."""

POISSON = 0.3
"""Poisson's number of spring steel, as DIN 2093's tables take it."""

COIL_RATE_SPREAD = 0.1
"""How far the rate of a coil spring may be off, as a share: our choice."""


@dataclass(frozen=True, slots=True)
class DiscSpring:
    """One disc: outer and inner diameter, thickness, free cone height h0 = l0 - t, all in m."""

    outer_diameter_m: float
    inner_diameter_m: float
    thickness_m: float
    cone_height_m: float

    def __post_init__(self) -> None:
        outer, inner = 1000 * self.outer_diameter_m, 1000 * self.inner_diameter_m
        thickness, height = 1000 * self.thickness_m, 1000 * self.cone_height_m
        if not 0 < inner < outer <= 250:
            raise InputError(
                "inner diameter of the spring",
                f"{written(inner)} mm",
                f"over 0 and under the outer, {written(outer)} mm (most 250)",
            )
        if not 0.05 <= thickness <= 15:
            raise InputError("thickness of the spring", f"{written(thickness)} mm", "from 0.05 to 15 mm")
        if not 0.02 <= height <= 15:
            raise InputError("cone height of the spring", f"{written(height)} mm", "from 0.02 to 15 mm")


@dataclass(frozen=True, slots=True)
class SpringPack:
    """``series`` sets one after the other, each of ``parallel`` discs nested the same way round.

    DIN 2092 friction: ``edge_friction`` wR at the rims and ``face_friction`` wM between nested discs raise the force
    while it is being screwed down.
    """

    spring: DiscSpring
    parallel: int = 1
    series: int = 1
    edge_friction: float = 0.0
    face_friction: float = 0.0

    def __post_init__(self) -> None:
        for what, count in (("discs in parallel", self.parallel), ("sets in series", self.series)):
            if not 1 <= count <= 30:
                raise InputError(what, count, "1 to 30")
        if not (self.edge_friction >= 0 and self.face_friction >= 0 and self.friction_share < 0.5):
            raise InputError(
                "friction of the springs", (self.edge_friction, self.face_friction), "0 or more, together under 0.5"
            )

    @property
    def friction_share(self) -> float:
        return self.face_friction * (self.parallel - 1) + self.edge_friction

    @property
    def travel_m(self) -> float:
        """How far the whole pack goes from free to flat."""
        return self.series * self.spring.cone_height_m


@dataclass(frozen=True, slots=True)
class CoilSpring:
    """A straight coil spring by its rate."""

    rate_N_m: float

    def __post_init__(self) -> None:
        if not 0 < self.rate_N_m <= 1e7:
            raise InputError(
                "rate of the coil spring", f"{written(self.rate_N_m / 1000)} N/mm", "over 0 and up to 10000 N/mm"
            )


Springs = SpringPack | CoilSpring


def k1(diameter_ratio: float) -> float:
    """DIN 2092 factor K1 = (1/pi) ((d-1)/d)^2 / ((d+1)/(d-1) - 2/ln d), d = De / Di > 1.

    >>> k1(2.0)
    0.6943332
    """
    d = diameter_ratio
    return float(((d - 1) / d) ** 2 / ((d + 1) / (d - 1) - 2 / np.log(d)) / np.pi)


def disc_force_N(spring: DiscSpring, pressed_m: Numbers) -> Floats:
    """Force in N of one disc pressed ``pressed_m`` from free, any shape, from 0 to flat.

    F = 4E/(1-nu^2) t^4/(K1 De^2) (s/t) ((h0/t - s/t)(h0/t - s/2t) + 1).

    >>> disc_force_N(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3), 0.15e-3)
    np.float64(209.6)
    """
    pressed = np.asarray(pressed_m, float)
    if np.any(pressed < 0) or np.any(pressed > spring.cone_height_m * (1 + 1e-9)):
        flat = f"from 0 to {written(1000 * spring.cone_height_m)} mm, where the spring is flat"
        raise InputError("deflection of a disc spring", f"{written(1000 * np.max(pressed))} mm", flat)
    t, s, h = spring.thickness_m, pressed / spring.thickness_m, spring.cone_height_m / spring.thickness_m
    stiffness = 4 * SPRING_STEEL_PA / (1 - POISSON**2) * t**4
    across = k1(spring.outer_diameter_m / spring.inner_diameter_m) * spring.outer_diameter_m**2
    return np.asarray(stiffness / across * s * ((h - s) * (h - s / 2) + 1))[()]


def pack_force_N(pack: SpringPack, pressed_m: Numbers) -> Floats:
    """Force in N of the pack pressed ``pressed_m`` in all: parallel discs add force, series sets share the way.

    >>> pair = SpringPack(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3), parallel=2, series=3)
    >>> pack_force_N(pair, 3 * 0.15e-3)
    np.float64(419.2)
    """
    each = disc_force_N(pack.spring, np.asarray(pressed_m) / pack.series)
    return np.asarray(pack.parallel * each / (1 - pack.friction_share))[()]


def pack_force(pack: SpringPack, pressed_m: float) -> Quantity:
    """Force in N of the pack with what the standard lets a disc's load differ, read as its 90 % interval.

    Source: DIN EN 16983, load at 0.75 h0, for thicknesses under 1.25, to 3.0 and to 6 mm; read on a web page.

    >>> pack_force(SpringPack(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3)), 0.15e-3).high
    262.0
    """
    force = float(pack_force_N(pack, pressed_m))
    thickness_mm = 1000 * pack.spring.thickness_m
    less, more = (0.075, 0.25) if thickness_mm < 1.25 else (0.075, 0.15) if thickness_mm <= 3 else (0.05, 0.10)
    return Quantity(force, force * (1 - less), force * (1 + more))


def spring_force(springs: Springs, pressed_m: float) -> Quantity:
    """Force in N of the springs pressed ``pressed_m``; a coil spring is taken as straight, F = c s.

    >>> spring_force(CoilSpring(30e3), 2e-3)
    Quantity(value=60.0, low=54.0, high=66.0)
    """
    if isinstance(springs, SpringPack):
        return pack_force(springs, pressed_m)
    force = springs.rate_N_m * pressed_m
    return Quantity(force, (1 - COIL_RATE_SPREAD) * force, (1 + COIL_RATE_SPREAD) * force)


def force_against_turns_N(pack: SpringPack, turns: Numbers, lead_m: float) -> Floats:
    """Force in N after so many turns from where the springs just touch.

    >>> force_against_turns_N(SpringPack(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3), series=4), [0.25, 0.5, 0.75], 0.8e-3)
    array([ 78.26795025, 147.08071187, 209.59001442])
    """
    return pack_force_N(pack, np.asarray(turns, float) * lead_m)


def turns_to_flat(pack: SpringPack, lead_m: float) -> float:
    """Turns from first touch to flat, where the next bit of a turn is without a spring.

    >>> turns_to_flat(SpringPack(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3), series=4), 0.8e-3)
    1.0
    """
    if not lead_m > 0:
        raise InputError("lead of the thread", f"{written(1000 * lead_m)} mm", "over 0")
    return pack.travel_m / lead_m


HAND_STEP_DEG = 5.0
"""The smallest turn a hand sets by feel on a star or knob: common practice, no source."""


PAST_THE_HUMP = "The springs are past their hump here: pressed further they push less, so tightening gives less drag."
"""Told where the force of disc springs falls as they are pressed, as it may with a cone over 1.41 of the thickness: DIN
2092's own formula."""


def finest_step_N(pack: SpringPack, turns: float, lead_m: float, hand_step_deg: float = HAND_STEP_DEG) -> float:
    """Change of clamp force in N for the smallest turn a hand can set, at ``turns``, by central difference.

    Below 0 where the springs are past their hump.

    >>> finest_step_N(SpringPack(DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3), series=4), 0.5, 0.8e-3)
    3.619
    """
    half = min(hand_step_deg / 720, turns, turns_to_flat(pack, lead_m) - turns)
    if half <= 0:
        raise InputError(
            "turns of the star",
            turns,
            f"over 0 and under {written(turns_to_flat(pack, lead_m), '.3g')}, where the springs are flat",
        )
    ends = force_against_turns_N(pack, np.array([turns - half, turns + half]), lead_m)
    return float((ends[1] - ends[0]) * hand_step_deg / 360 / (2 * half))
