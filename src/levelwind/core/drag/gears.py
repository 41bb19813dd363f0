"""Spur gears: their size, and what a tooth bears in bending.

Source: J. E. Shigley, Mechanical Engineering Design, chapter 14. Lewis: valid for full-depth teeth, load at the tip,
one pair in contact.
"""

from levelwind.core.errors import InputError


def pitch_diameter_m(teeth: int, module_m: float) -> float:
    """d = z m.

    >>> pitch_diameter_m(40, 0.5e-3)
    0.02
    """
    return teeth * module_m


def tooth_strength_N(stress_Pa: float, face_m: float, module_m: float, form_factor: float) -> float:
    """Tangential force in N at which the root of one tooth bears ``stress_Pa``: Lewis, W = sigma b m Y.

    >>> tooth_strength_N(200e6, 5e-3, 0.5e-3, 0.32)
    160.0
    """
    if not (stress_Pa > 0 and face_m > 0 and module_m > 0 and 0 < form_factor < 1):
        raise InputError("tooth", (stress_Pa, face_m, module_m, form_factor), "stress, face, module over 0, Y under 1")
    return stress_Pa * face_m * module_m * form_factor
