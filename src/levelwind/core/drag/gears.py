"""Cylindrical gears of 20 degree full-depth teeth: their size, how many pairs share the load, what a tooth bears.

Sources: J. E. Shigley, Mechanical Engineering Design, chapters 13 and 14 (size, contact ratio, Lewis); ISO 6336-3,
method C of its 1996 edition, for what sharing and helix do to the load of a tooth (the same factors stand in DIN 3990-3
and in textbooks after them, from memory; read in a public program after Pu, Mechanical Design, 10th edition).
"""

from dataclasses import dataclass
from math import asin, atan, cos, pi, radians, sin, sqrt, tan

from levelwind.core.errors import InputError
from levelwind.core.writing import written

PRESSURE_DEG = 20.0
"""Degrees, pressure angle in the normal section: the standard of ISO 53, and that of the table of Y."""

MOST_HELIX_DEG = 45.0
"""Degrees, past which parallel shafts are not driven so: our choice."""

SHARED_AT_MOST = 2.0
"""Contact ratio past which ISO 6336-3 method C gives no less load to a tooth."""

OVERLAP_COUNTS, HELIX_COUNTS_DEG = 1.0, 30.0
"""Overlap ratio and degrees of helix past which ISO 6336-3 relieves a tooth no further."""


@dataclass(frozen=True, slots=True)
class Teeth:
    """A gear's teeth and how many its mate has; helical ones by their normal module."""

    count: int
    mate: int
    module_m: float
    face_m: float
    helix_deg: float = 0.0

    def __post_init__(self) -> None:
        if not (self.count >= 1 and self.mate >= 1):
            raise InputError("number of teeth", min(self.count, self.mate), "1 or more, on gear and mate")
        if not (0 < self.module_m < 0.1 and 0 < self.face_m < 1):
            raise InputError("tooth", (self.module_m, self.face_m), "module and width over 0, in m")
        if not 0 <= self.helix_deg <= MOST_HELIX_DEG:
            raise InputError(
                "helix of the teeth", f"{written(self.helix_deg)}°", f"from 0 to {written(MOST_HELIX_DEG)}°"
            )

    @property
    def pitch_diameter_m(self) -> float:
        return pitch_diameter_m(self.count, self.module_m) / cos(radians(self.helix_deg))

    @property
    def virtual(self) -> float:
        """Teeth of the spur gear whose tooth bends like this one: z / cos³ β, for the table of Y.

        >>> Teeth(24, 77, 2e-3, 52e-3, 14.0).virtual
        26.27
        """
        return self.count / cos(radians(self.helix_deg)) ** 3


def pitch_diameter_m(teeth: int, module_m: float) -> float:
    """d = z m.

    >>> pitch_diameter_m(40, 0.5e-3)
    0.02
    """
    return teeth * module_m


def tooth_strength_N(stress_Pa: float, face_m: float, module_m: float, form_factor: float) -> float:
    """Tangential force in N that brings the root of one tooth to ``stress_Pa``: Lewis, W = sigma b m Y, at its tip.

    >>> tooth_strength_N(200e6, 5e-3, 0.5e-3, 0.32)
    160.0
    """
    if not (stress_Pa > 0 and face_m > 0 and module_m > 0 and 0 < form_factor < 1):
        raise InputError("tooth", (stress_Pa, face_m, module_m, form_factor), "stress, face, module over 0, Y under 1")
    return stress_Pa * face_m * module_m * form_factor


def contact_ratio(teeth: int, mate: int, helix_deg: float = 0.0, addendum: float = 1.0) -> float:
    """How many pairs of teeth touch on average, in the plane of rotation: path of contact over base pitch.

    The path ends where the tips do, or where a pinion of few teeth is undercut. ``addendum`` is in modules.
    Source: Shigley, section 13-7; Khurmi and Gupta, Theory of Machines, section 12.14.

    >>> contact_ratio(48, 12), contact_ratio(30, 80, addendum=10 / 12)
    (1.405, 1.475)
    """
    beta = radians(helix_deg)
    pressure = atan(tan(radians(PRESSURE_DEG)) / cos(beta))
    radii = tuple(count / (2 * cos(beta)) for count in (teeth, mate))

    def from_pitch_point(radius: float, others: float) -> float:
        tip, base = radius + addendum, radius * cos(pressure)
        return min(sqrt(tip**2 - base**2) - radius * sin(pressure), others * sin(pressure))

    path = from_pitch_point(*radii) + from_pitch_point(*reversed(radii))
    return path * cos(beta) / (pi * cos(pressure))


def overlap_ratio(teeth: Teeth) -> float:
    """How many teeth a helical face spans: b sin β / (π m).

    >>> overlap_ratio(Teeth(71, 11, 0.4e-3, 4.3e-3, 20.0))
    1.170
    """
    return teeth.face_m * sin(radians(teeth.helix_deg)) / (pi * teeth.module_m)


def share_of_load(teeth: Teeth) -> float:
    """Bending of the most loaded tooth over that of one tooth with the whole load on its tip: Yε Yβ, 1 at most.

    Yε = 0.25 + 0.75/ε, ε the contact ratio in the normal section: at the highest point where one pair carries alone the
    arm is shorter than at the tip. Yβ = 1 - εβ β/120°: a slanting line of contact is longer. For ε from 1 to 2.

    >>> share_of_load(Teeth(48, 12, 0.6e-3, 4.5e-3)), share_of_load(Teeth(71, 11, 0.4e-3, 4.3e-3, 20.0))
    (0.784, 0.630)
    """
    on_base = asin(sin(radians(teeth.helix_deg)) * cos(radians(PRESSURE_DEG)))
    pairs = contact_ratio(teeth.count, teeth.mate, teeth.helix_deg) / cos(on_base) ** 2
    by_pairs = 0.25 + 0.75 / min(max(pairs, 1.0), SHARED_AT_MOST)
    slant = min(overlap_ratio(teeth), OVERLAP_COUNTS) * min(teeth.helix_deg, HELIX_COUNTS_DEG) / 120
    return by_pairs * (1 - slant)
