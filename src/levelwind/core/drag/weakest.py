"""What gives first behind the drag, and how far an uprated drag may be set. Advice, not a guarantee.

Each part is given as the torque at its own shaft at which it starts to yield, as an interval from its material's; only
parts whose dimensions are given are judged. Sources: W. Lewis by way of J. E. Shigley, Mechanical Engineering Design,
chapter 14 (teeth); sections 3-11 and 3-12 (bending, torsion) and the distortion energy theory, shear yield 0.577 of
tensile (section 5-5).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.gears import pitch_diameter_m, tooth_strength_N
from levelwind.core.errors import InputError
from levelwind.core.notes import Amount, Note, newtons
from levelwind.core.quantities import Quantity

SHEAR_SHARE = 0.577
"""Yield in shear over yield in tension, 1/√3: the distortion energy theory, Shigley, section 5-5."""
MARGIN = 2.0
"""How far under first yield a drag is advised to stay, for shocks, wear and corners that raise stress: our choice."""

ADVICE = Note.of(
    "advice",
    "Computed from dimensions and usual strengths: advice, not a guarantee. Old castings and worn or cracked parts "
    "bear less.",
)


@dataclass(frozen=True, slots=True)
class Link:
    """A part and the torque in N m at its own shaft at which it starts to yield.

    ``per_spool`` is the torque it bears for one at the spool: 1 on the spool's side, the gear ratio on the handle's.
    """

    name: str
    yields_at_Nm: Quantity
    per_spool: float
    formula: str
    source: str

    def at_spool_Nm(self) -> Quantity:
        """Torque at the spool that makes it yield."""
        return self.yields_at_Nm.scaled(1 / self.per_spool)


@dataclass(frozen=True, slots=True)
class Weakest:
    """Links from the weakest on, the torque at the spool advised not to pass, and all in words."""

    links: tuple[Link, ...]
    most_spool_Nm: float
    sentences: tuple[Note, ...]

    @property
    def first(self) -> Link:
        return self.links[0]


def gear_teeth(
    name: str,
    teeth: int,
    module_m: float,
    face_m: float,
    form_factors: tuple[float, float],
    yield_Pa: tuple[float, float],
    per_spool: float,
) -> Link:
    """Bending of a gear's teeth, T = sigma b m Y d / 2, by both editions of the table of Y.

    A reel's gears turn slowly enough under drag to be judged at rest. Helical teeth: give the normal module.

    >>> link = gear_teeth("main gear", 48, 0.5e-3, 4e-3, (0.405, 0.406), (200e6, 400e6), 4.0)
    >>> link.yields_at_Nm.low
    1.944
    """
    radius = pitch_diameter_m(teeth, module_m) / 2
    low, high = sorted(form_factors)
    ends = tuple(
        tooth_strength_N(stress, face_m, module_m, y) * radius
        for stress, y in zip(sorted(yield_Pa), (low, high), strict=True)
    )
    numbers = (
        f"{yield_Pa[0] / 1e6:.0f} to {yield_Pa[1] / 1e6:.0f} MPa × {1000 * face_m:.4g} mm × {1000 * module_m:.4g} mm "
        f"× Y {low:.3f} to {high:.3f} × {1000 * radius:.4g} mm"
    )
    return _link(name, ends, per_spool, "T = σ b m Y d/2: " + numbers, "Lewis, both editions of the table")


def in_shear(name: str, area_m2: float, radius_m: float, yield_Pa: tuple[float, float], per_spool: float) -> Link:
    """A ratchet tooth, dog or pin sheared off at a radius: T = 0.577 sigma A r.

    >>> in_shear("dog pin", 3.14e-6, 0.012, (250e6, 600e6), 4.0).yields_at_Nm.low
    5.435
    """
    _positive(name, area_m2=area_m2, radius_m=radius_m)
    ends = tuple(SHEAR_SHARE * stress * area_m2 * radius_m for stress in yield_Pa)
    numbers = f"0.577 × {yield_Pa[0] / 1e6:.0f} to {yield_Pa[1] / 1e6:.0f} MPa × {1e6 * area_m2:.4g} mm²"
    return _link(name, ends, per_spool, f"T = 0.577 σ A r: {numbers} × {1000 * radius_m:.4g} mm", "shear")


def tube_in_torsion(
    name: str, outer_diameter_m: float, inner_diameter_m: float, yield_Pa: tuple[float, float], per_spool: float
) -> Link:
    """A sleeve or shaft twisted: T = 0.577 sigma pi (D^4 - d^4) / (16 D).

    Give the root of its thread or the size across its flats as the outer diameter.

    >>> tube_in_torsion("gear sleeve", 8e-3, 5e-3, (250e6, 600e6), 4.0).yields_at_Nm.low
    12.29
    """
    _positive(name, outer_diameter_m=outer_diameter_m)
    if not 0 <= inner_diameter_m < outer_diameter_m:
        raise InputError(
            f"bore of {name}", f"{1000 * inner_diameter_m:g} mm", f"0 to under {1000 * outer_diameter_m:g} mm"
        )
    modulus = np.pi * (outer_diameter_m**4 - inner_diameter_m**4) / (16 * outer_diameter_m)
    ends = tuple(SHEAR_SHARE * stress * float(modulus) for stress in yield_Pa)
    numbers = f"D {1000 * outer_diameter_m:.4g} mm, d {1000 * inner_diameter_m:.4g} mm"
    return _link(name, ends, per_spool, f"T = 0.577 σ π (D⁴ - d⁴)/(16 D): {numbers}", "torsion of a tube")


def arm_in_bending(
    name: str, width_m: float, thickness_m: float, hole_m: float, yield_Pa: tuple[float, float], per_spool: float
) -> Link:
    """A handle arm bent in its own plane at its hub: T = sigma t (w^3 - h^3) / (6 w), h the hole for the sleeve.

    >>> arm_in_bending("handle arm", 14e-3, 2.5e-3, 7e-3, (200e6, 500e6), 4.0).yields_at_Nm.low
    14.29
    """
    _positive(name, width_m=width_m, thickness_m=thickness_m)
    if not 0 <= hole_m < width_m:
        raise InputError(f"hole of {name}", f"{1000 * hole_m:g} mm", f"0 to under {1000 * width_m:g} mm")
    modulus = thickness_m * (width_m**3 - hole_m**3) / (6 * width_m)
    ends = tuple(stress * modulus for stress in yield_Pa)
    numbers = f"w {1000 * width_m:.4g} mm, t {1000 * thickness_m:.4g} mm, h {1000 * hole_m:.4g} mm"
    return _link(name, ends, per_spool, f"T = σ t (w³ - h³)/(6 w): {numbers}", "bending")


def weakest(
    links: Sequence[Link], tension_per_Nm: tuple[float, float], drag_spool_Nm: Quantity | None = None
) -> Weakest:
    """Order the links, and say at what line tension the first gives.

    ``tension_per_Nm`` is the tension at the line for one N m at the spool, with the spool full and near empty; the part
    sees the torque whatever the fill. ``drag_spool_Nm`` is what the drag now does at the spool.

    >>> pin = in_shear("dog pin", 3.14e-6, 0.012, (250e6, 600e6), 4.0)
    >>> weakest([pin], (40.0, 80.0)).sentences[0].words()
    'First to give: dog pin, at 2.1 N m (1.4 to 3.3) at the spool, 54 to 109 N at the line from full to near empty.'
    """
    if not links:
        raise InputError("parts to judge", "none", "dimensions of at least one gear, dog, sleeve or arm")
    ordered = tuple(sorted(links, key=lambda link: link.at_spool_Nm().low))
    most = ordered[0].at_spool_Nm().low / MARGIN
    first = ordered[0].at_spool_Nm()
    full, bare = (first.low * per for per in tension_per_Nm)
    name = ordered[0].name
    said = [
        Note.of(
            "first_to_give",
            "First to give: {part}, at {torque} at the spool, {full} to {bare} at the line from full to near empty.",
            part=name,
            torque=Amount(first, "N m"),
            full=Amount(Quantity.exact(full), "N", decimals=0, unit_follows=True),
            bare=newtons(bare, decimals=0),
        ),
        Note.of(
            "most",
            "Set the drag to no more than {most} with the spool full: half of where {part} may start to yield.",
            most=newtons(most * tension_per_Nm[0], decimals=0),
            part=name,
        ),
    ]
    if drag_spool_Nm is not None and drag_spool_Nm.high > most:
        words = "As set, this drag may pass that: ease it, or renew the part in something stronger."
        said.append(Note.of("may_pass", words))
    return Weakest(ordered, most, (*said, ADVICE))


def _link(name: str, ends: Sequence[float], per_spool: float, formula: str, source: str) -> Link:
    if not per_spool > 0:
        raise InputError(f"torque of {name} for one at the spool", per_spool, "over 0")
    low, high = min(ends), max(ends)
    if not low > 0:
        raise InputError(f"strength of {name}", f"{low:g} N m", "over 0")
    return Link(name, Quantity(float(np.sqrt(low * high)), low, high), per_spool, formula, source)


def _positive(name: str, **measures: float) -> None:
    for what, value in measures.items():
        if not 0 < value < 1:
            raise InputError(f"{what} of {name}", value, "over 0 and under 1, in SI")
