"""The drag laid out before it is fitted: the washers from the shelf in the pattern's stack, clamped for the line."""

from typing import Any

from levelwind.core.drag.model import Stack, stack_from_dict
from levelwind.demo.case import Case
from levelwind.reference.families import family
from levelwind.shop.drag.selectors.drags import drag_computed
from levelwind.shop.drag.selectors.plans import plan_stack, standard_stack
from levelwind.shop.drag.selectors.reels import reel_of
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.drag.services import drag_plan_save
from levelwind.shop.models import DragPlan, Job, Part

AS_FOUND = {"glazed": "glazed", "dry leather": "oiled"}
"""In what condition the faces of such a drag were found; greased as usual for any other."""

BEHIND = {
    "gear_teeth": 48.0,
    "gear_module_mm": 0.6,
    "gear_face_mm": 4.0,
    "dog_mm2": 7.5,
    "dog_radius_mm": 12.0,
    "sleeve_outer_mm": 8.3,
    "sleeve_bore_mm": 5.0,
}
"""What stands behind the drag of a middling star drag reel, measured on none: for stays that are shown in full."""

SIZES = {"outer diameter": "outer_diameter_mm", "inner diameter": "inner_diameter_mm", "thickness": "thickness_mm"}


def plan_drag(case: Case) -> None:
    """The stack with its new washers, clamped so that a full spool gives the setting for the line on the reel.

    A lever stays at its strike.
    """
    job, stay = case.job, case.stay
    assert job.pattern is not None
    old, reel = standard_stack(job.pattern, job.build), reel_of(job)
    parts = _new_parts(case)
    stack = _with_new(old, parts)
    light = drag_computed(stack=stack, setup=Setup(numbers={"clamp_N": 100.0}), reel=reel)
    clamp = round(100.0 * case.kind.set_to * case.kind.line.strength_N / light.result.fills[0].run_in_N.value)
    squeezed = {} if reel.family.lever else {"clamp_N": float(clamp)}
    behind = BEHIND if stay.shown and case.kind.family == "star_drag" else {}
    setup = Setup(
        numbers={**squeezed, **behind},
        materials={"gear_of": "brass"} if behind else {},
        parts=tuple(str(part.pk) if part else "" for part in parts),
    )
    found, keys = _as_it_came(job) or (old, ())
    drag_plan_save(
        job=job,
        drag=drag_computed(stack=stack, setup=setup, reel=reel),
        found={**found.as_dict(), "condition": AS_FOUND.get(case.what.found, old.condition)},
        found_parts=keys,
    )


def _as_it_came(job: Job) -> tuple[Stack, tuple[str, ...]] | None:
    """The stack and its parts as this shop laid them into the reel when it was here before; None the first time."""
    before = DragPlan.objects.filter(job__serial=job.serial, job__pattern=job.pattern).exclude(job=job).last()
    if before is None or not job.serial:
        return None
    stack, setup = plan_stack(before)
    return stack, setup.parts


def _new_parts(case: Case) -> list[Part | None]:
    """For each body of the stack the part that was taken from the shelf for its place."""
    new = {piece.place: piece.part for piece in case.job.pieces.filter(replaces__isnull=False).select_related("part")}
    return [new.get(place) for place in family(case.kind.family).drag_places]


def _with_new(stack: Stack, parts: list[Part | None]) -> Stack:
    plain = stack.as_dict()
    bodies = [_renewed(body, part) if part else body for body, part in zip(plain["bodies"], parts, strict=True)]
    return stack_from_dict({**plain, "bodies": bodies})


def _renewed(body: dict[str, Any], part: Part) -> dict[str, Any]:
    """The body at the part's size and of its material, with the friction that the tables have for that."""
    sizes = {SIZES[what]: size for what, size in part.sizes_mm.items() if what in SIZES}
    kept = {key: value for key, value in body.items() if key != "friction"}
    return {**kept, **sizes, "material": part.material or body["material"]}
