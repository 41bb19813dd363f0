"""Spur gears: sizes, forces on a tooth, what a tooth bears in bending, how teeth overlap.

Source: J. E. Shigley, Mechanical Engineering Design, chapters 13 and 14; R. S. Khurmi and J. K. Gupta, Assumption of
Machines, chapter 12. Lewis: valid for full-depth teeth, load at the tip, one pair in contact.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.errors import InputError


@dataclass(frozen=True, slots=True)
class ToothForces:
    """On one mesh, in N: along the turn, apart, and square to the flank."""

    tangential_N: float
    radial_N: float
    normal_N: float


@dataclass(frozen=True, slots=True)
class Mesh:
    """A pinion and a gear: teeth, module, pressure angle, and addendum where it is not one module (worn or stub)."""

    pinion_teeth: int
    gear_teeth: int
    module_m: float
    pressure_angle_deg: float = 20.0
    addendum_m: float | None = None

    def __post_init__(self) -> None:
        for what, teeth in (("teeth of the pinion", self.pinion_teeth), ("teeth of the gear", self.gear_teeth)):
            if not 4 <= teeth <= 500:
                raise InputError(what, teeth, "4 to 500")
        if not 0 < self.module_m <= 0.05:
            raise InputError("module", f"{1000 * self.module_m:g} mm", "over 0 and up to 50 mm")
        if not 10 <= self.pressure_angle_deg <= 30:
            raise InputError("pressure angle", f"{self.pressure_angle_deg:g} degrees", "10 to 30 degrees")
        if not 0 < self.addendum <= 2 * self.module_m:
            raise InputError("addendum", f"{1000 * self.addendum:g} mm", "over 0 and up to two modules")

    @property
    def addendum(self) -> float:
        """Height of the tooth over the pitch circle in m."""
        return self.module_m if self.addendum_m is None else self.addendum_m


def pitch_diameter_m(teeth: int, module_m: float) -> float:
    """d = z m.

    >>> pitch_diameter_m(40, 0.5e-3)
    0.02
    """
    return teeth * module_m


def circular_pitch_m(module_m: float) -> float:
    """p = pi m.

    >>> circular_pitch_m(0.5e-3)
    0.0015708
    """
    return float(np.pi * module_m)


def centre_distance_m(mesh: Mesh) -> float:
    """C = m (z1 + z2) / 2.

    >>> centre_distance_m(Mesh(12, 48, 0.5e-3))
    0.015
    """
    return mesh.module_m * (mesh.pinion_teeth + mesh.gear_teeth) / 2


def tooth_forces(torque_Nm: float, pitch_diameter_m: float, pressure_angle_deg: float = 20.0) -> ToothForces:
    """Ft = 2 T / d, Fr = Ft tan phi, Fn = Ft / cos phi.

    >>> tooth_forces(1.0, 0.02).tangential_N
    100.0
    """
    tangential = 2 * torque_Nm / pitch_diameter_m
    angle = np.radians(pressure_angle_deg)
    return ToothForces(tangential, float(tangential * np.tan(angle)), float(tangential / np.cos(angle)))


def tooth_strength_N(stress_Pa: float, face_m: float, module_m: float, form_factor: float) -> float:
    """Tangential force in N at which the root of one tooth bears ``stress_Pa``: Lewis, W = sigma b m Y.

    >>> tooth_strength_N(200e6, 5e-3, 0.5e-3, 0.32)
    160.0
    """
    if not (stress_Pa > 0 and face_m > 0 and module_m > 0 and 0 < form_factor < 1):
        raise InputError("tooth", (stress_Pa, face_m, module_m, form_factor), "stress, face, module over 0, Y under 1")
    return stress_Pa * face_m * module_m * form_factor


def velocity_factor(speed_m_s: float, constant_m_s: float = 6.1) -> float:
    """Barth's Kv = (c + v) / c, by which a running tooth bears less.

    c is 3 m/s (600 ft/min) for teeth as cast and commercial ones, 6.1 m/s (1200 ft/min) for cut ones.

    >>> velocity_factor(3.1919, 6.096)
    1.5236
    """
    return (constant_m_s + speed_m_s) / constant_m_s


def path_of_contact_m(mesh: Mesh) -> tuple[float, float]:
    """Path of approach and of recess in m along the line of action, the pinion driving.

    >>> sum(path_of_contact_m(Mesh(30, 80, 12e-3, 20.0, 10e-3)))
    0.05226
    """
    angle = np.radians(mesh.pressure_angle_deg)

    def beyond(teeth: int) -> float:
        pitch = mesh.module_m * teeth / 2
        return float(np.sqrt((pitch + mesh.addendum) ** 2 - (pitch * np.cos(angle)) ** 2) - pitch * np.sin(angle))

    return beyond(mesh.gear_teeth), beyond(mesh.pinion_teeth)


def contact_ratio(mesh: Mesh) -> float:
    """Pairs of teeth in contact on average: path of contact over base pitch. Under 1 the teeth let go in between.

    >>> contact_ratio(Mesh(30, 80, 12e-3, 20.0, 10e-3))
    1.475
    """
    base_pitch = circular_pitch_m(mesh.module_m) * np.cos(np.radians(mesh.pressure_angle_deg))
    return float(sum(path_of_contact_m(mesh)) / base_pitch)


def sliding_speed_m_s(mesh: Mesh, pitch_speed_m_s: float) -> float:
    """Greatest speed in m/s at which the flanks rub: (w1 + w2) times the longer path.

    >>> sliding_speed_m_s(Mesh(20, 40, 5e-3), 1.2)
    0.4553
    """
    turning = 2 * pitch_speed_m_s / mesh.module_m * (1 / mesh.pinion_teeth + 1 / mesh.gear_teeth)
    return float(turning * max(path_of_contact_m(mesh)))
