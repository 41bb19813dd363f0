"""What gives first behind the drag, and with what chance the drag passes it. Advice, not a guarantee.

Each part is given as the torque at its own shaft at which it bends or shears for good: its weakest section yields right
through. That is strength at one overload, not life: a hand's drag loads a tooth some thousands of times in years, and a
ductile metal sheds the peaks of stress at corners first (docs/decisions/gear-strength.md). The value is the middle of
what the metal bears, the interval its range; only parts whose dimensions are given are judged. Sources: W. Lewis by way
of J. E. Shigley, Mechanical Engineering Design, chapter 14, and ISO 6336-3 (teeth); Shigley, sections 3-11 and 3-12
(bending, torsion), and 5-5 (distortion energy, shear yield 0.577 of tensile); Roark's Formulas for Stress and Strain,
chapter on bending beyond the elastic limit (sections that yield right through), from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.draws import chance_over
from levelwind.core.drag.gears import Teeth, share_of_load, tooth_strength_N
from levelwind.core.errors import InputError
from levelwind.core.notes import Amount, Note
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

SHEAR_SHARE = 0.577
"""Yield in shear over yield in tension, 1/√3: the distortion energy theory, Shigley, section 5-5."""
RIGHT_THROUGH = 1.5
"""Moment at which a rectangle yields right through over that at which its edge begins to: b h²/4 over b h²/6. The root
of a tooth is a rectangle. Roark, from memory; checked by integration."""

LEAST_CHANCE = 0.01
"""Chances nearer to 0 or 1 than this are told as under or over it: usual strengths bear no more. Our choice."""

ADVICE = Note.of(
    "advice",
    "Computed from dimensions and usual strengths: advice, not a guarantee. Old castings and worn or cracked parts "
    "bear less.",
)
TO_MEASURE = Note.of(
    "measure_teeth",
    "No limit is named until the main gear's teeth are known: say how many, their module, their width and their metal.",
)


@dataclass(frozen=True, slots=True)
class Link:
    """A part and the torque in N m at its own shaft at which it gives.

    ``per_spool`` is the torque it bears for one at the spool: 1 on the spool's side, the gear ratio on the handle's.
    """

    name: str
    gives_at_Nm: Quantity
    per_spool: float
    formula: str
    source: str
    of_teeth: bool = False

    def at_spool_Nm(self) -> Quantity:
        """Torque at the spool at which it gives."""
        return self.gives_at_Nm.scaled(1 / self.per_spool)


@dataclass(frozen=True, slots=True)
class Weakest:
    """Links from the weakest on, the chance that the drag passes each, and all in words.

    ``chances`` is empty while no drag was given. ``limit_spool_Nm`` is where the first gives, as torque at the spool;
    None until the size and metal of gear teeth are known, which are what a stronger drag strips first.
    """

    links: tuple[Link, ...]
    chances: tuple[float, ...]
    limit_spool_Nm: Quantity | None
    sentences: tuple[Note, ...]

    @property
    def first(self) -> Link:
        return self.links[0]


def gear_teeth(
    name: str, teeth: Teeth, form_factors: tuple[float, float], yield_Pa: tuple[float, float], per_spool: float
) -> Link:
    """Bending of a gear's teeth, T = 1.5 sigma b m Y / (Yε Yβ) d / 2, by both editions of the table of Y.

    ``form_factors`` are Y of ``teeth.virtual`` teeth. A reel's gears turn slowly enough under drag to be judged at
    rest.

    >>> link = gear_teeth("main gear", Teeth(48, 12, 0.5e-3, 4e-3), (0.405, 0.406), (200e6, 400e6), 4.0)
    >>> link.gives_at_Nm.low
    3.721
    """
    radius, share = teeth.pitch_diameter_m / 2, share_of_load(teeth)
    low, high = sorted(form_factors)
    ends = tuple(
        RIGHT_THROUGH * tooth_strength_N(stress, teeth.face_m, teeth.module_m, y) / share * radius
        for stress, y in zip(sorted(yield_Pa), (low, high), strict=True)
    )
    numbers = (
        f"{written(RIGHT_THROUGH)} × {yield_Pa[0] / 1e6:.0f} to {yield_Pa[1] / 1e6:.0f} MPa × "
        f"{written(1000 * teeth.face_m, '.4g')} mm × "
        f"{written(1000 * teeth.module_m, '.4g')} mm × Y {written(low, '.3f')} to "
        f"{written(high, '.3f')} / {written(share, '.3f')} × {written(1000 * radius, '.4g')} mm"
    )
    source = f"Lewis, both editions of the table; load shared as ISO 6336-3 has it, against {teeth.mate} teeth"
    return _link(
        name, ends, per_spool, f"T = {written(RIGHT_THROUGH)} σ b m Y/(Yε Yβ) d/2: {numbers}", source, of_teeth=True
    )


def in_shear(name: str, area_m2: float, radius_m: float, yield_Pa: tuple[float, float], per_spool: float) -> Link:
    """A ratchet tooth, dog or pin sheared off at a radius: T = 0.577 sigma A r.

    >>> in_shear("dog pin", 3.14e-6, 0.012, (250e6, 600e6), 4.0).gives_at_Nm.low
    5.435
    """
    _positive(name, area_m2=area_m2, radius_m=radius_m)
    ends = tuple(SHEAR_SHARE * stress * area_m2 * radius_m for stress in yield_Pa)
    shear = f"{written(SHEAR_SHARE)} × {yield_Pa[0] / 1e6:.0f} to {yield_Pa[1] / 1e6:.0f} MPa"
    numbers = f"{shear} × {written(1e6 * area_m2, '.4g')} mm²"
    return _link(
        name,
        ends,
        per_spool,
        f"T = {written(SHEAR_SHARE)} σ A r: {numbers} × {written(1000 * radius_m, '.4g')} mm",
        "shear",
    )


def tube_in_torsion(
    name: str, outer_diameter_m: float, inner_diameter_m: float, yield_Pa: tuple[float, float], per_spool: float
) -> Link:
    """A sleeve or shaft twisted until it yields right through: T = 0.577 sigma pi (D^3 - d^3) / 12.

    Give the root of its thread or the size across its flats as the outer diameter.

    >>> tube_in_torsion("gear sleeve", 8e-3, 5e-3, (250e6, 600e6), 4.0).gives_at_Nm.low
    14.61
    """
    _positive(name, outer_diameter_m=outer_diameter_m)
    if not 0 <= inner_diameter_m < outer_diameter_m:
        raise InputError(
            f"bore of {name}",
            f"{written(1000 * inner_diameter_m)} mm",
            f"0 to under {written(1000 * outer_diameter_m)} mm",
        )
    modulus = float(np.pi * (outer_diameter_m**3 - inner_diameter_m**3) / 12)
    ends = tuple(SHEAR_SHARE * stress * modulus for stress in yield_Pa)
    numbers = f"D {written(1000 * outer_diameter_m, '.4g')} mm, d {written(1000 * inner_diameter_m, '.4g')} mm"
    return _link(name, ends, per_spool, f"T = {written(SHEAR_SHARE)} σ π (D³ - d³)/12: {numbers}", "torsion of a tube")


def arm_in_bending(
    name: str, width_m: float, thickness_m: float, hole_m: float, yield_Pa: tuple[float, float], per_spool: float
) -> Link:
    """A handle arm bent in its own plane at its hub: T = sigma t (w^2 - h^2) / 4, h the hole for the sleeve.

    >>> arm_in_bending("handle arm", 14e-3, 2.5e-3, 7e-3, (200e6, 500e6), 4.0).gives_at_Nm.low
    18.38
    """
    _positive(name, width_m=width_m, thickness_m=thickness_m)
    if not 0 <= hole_m < width_m:
        raise InputError(f"hole of {name}", f"{written(1000 * hole_m)} mm", f"0 to under {written(1000 * width_m)} mm")
    modulus = thickness_m * (width_m**2 - hole_m**2) / 4
    ends = tuple(stress * modulus for stress in yield_Pa)
    w, t, h = (written(1000 * each, ".4g") for each in (width_m, thickness_m, hole_m))
    numbers = f"w {w} mm, t {t} mm, h {h} mm"
    return _link(name, ends, per_spool, f"T = σ t (w² - h²)/4: {numbers}", "bending")


def weakest(
    links: Sequence[Link], tension_per_Nm: tuple[float, float], drag_spool_Nm: Quantity | None = None
) -> Weakest:
    """Order the links by the middle of what they bear, and say at what line tension the first gives.

    ``tension_per_Nm`` is the tension at the line for one N m at the spool, with the spool full and near empty; the part
    sees the torque whatever the fill. ``drag_spool_Nm`` is what the drag now does at the spool.

    >>> teeth = gear_teeth("main gear teeth", Teeth(48, 12, 0.5e-3, 4e-3), (0.405, 0.406), (200e6, 400e6), 4.0)
    >>> weakest([teeth], (40.0, 80.0)).limit_spool_Nm
    Quantity(value=1.317, low=0.930, high=1.865)
    """
    if not links:
        raise InputError("parts to judge", "none", "dimensions of at least one gear, dog, sleeve or arm")
    ordered = tuple(sorted(links, key=lambda link: link.at_spool_Nm().value))
    chances = () if drag_spool_Nm is None else tuple(chance_over(drag_spool_Nm, each.at_spool_Nm()) for each in ordered)
    limit = ordered[0].at_spool_Nm() if any(link.of_teeth for link in ordered) else None
    return Weakest(ordered, chances, limit, (*_said(ordered, chances, limit, tension_per_Nm), ADVICE))


def _said(
    ordered: Sequence[Link], chances: Sequence[float], limit: Quantity | None, tension_per_Nm: tuple[float, float]
) -> tuple[Note, ...]:
    """Where the first gives, which end is meant, and with what chance the drag gets there; no newtons without teeth."""
    name, torque = ordered[0].name, ordered[0].at_spool_Nm()
    if limit is None:
        words = "Of what is measured, {part} gives first, at {torque} at the spool."
        return Note.of("first_measured", words, part=name, torque=Amount(torque, "N m")), TO_MEASURE
    full, bare = (Amount(torque.scaled(per), "N") for per in tension_per_Nm)
    first = Note.of(
        "first_to_give",
        "First to give: {part}, at {torque} at the spool: {full} at the line with the spool full, {bare} near empty.",
        part=name,
        torque=Amount(torque, "N m"),
        full=full,
        bare=bare,
    )
    ends = Note.of(
        "which_end", "That is the middle of what its metal bears; at the low end one such part in twenty gives."
    )
    if not chances:
        return first, ends
    words = "The chance that the drag passes it, as set, is {chance}."
    return first, ends, Note.of("chance_passed", words, chance=chance_words(chances[0]))


def chance_words(chance: float) -> str:
    """A chance as it is told.

    >>> chance_words(0.0004), chance_words(0.0832), chance_words(0.9992)
    ('under 1 %', '8 %', 'over 99 %')
    """
    edge = "under " if chance < LEAST_CHANCE else "over " if chance > 1 - LEAST_CHANCE else ""
    return f"{edge}{100 * min(max(chance, LEAST_CHANCE), 1 - LEAST_CHANCE):.0f} %"


def _link(
    name: str, ends: Sequence[float], per_spool: float, formula: str, source: str, *, of_teeth: bool = False
) -> Link:
    if not per_spool > 0:
        raise InputError(f"torque of {name} for one at the spool", per_spool, "over 0")
    low, high = min(ends), max(ends)
    if not low > 0:
        raise InputError(f"strength of {name}", f"{written(low)} N m", "over 0")
    return Link(name, Quantity(float(np.sqrt(low * high)), low, high), per_spool, formula, source, of_teeth)


def _positive(name: str, **measures: float) -> None:
    for what, value in measures.items():
        if not 0 < value < 1:
            raise InputError(f"{what} of {name}", value, "over 0 and under 1, in SI")
