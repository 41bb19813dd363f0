"""Where a job's stack comes from: the plan kept last, else the pattern's standard drag, else its family's."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.model import Stack, stack_from_dict
from levelwind.core.drag.section import Section, section
from levelwind.core.drag.torque import idle_bodies, slipping_contacts
from levelwind.core.errors import LevelwindError
from levelwind.reference.builds import shipped_builds
from levelwind.reference.families import family
from levelwind.reference.materials import coefficient, known_materials
from levelwind.shop.drag.selectors.setup import Setup, setup_from_dict
from levelwind.shop.models import Build, DragPlan, Job, Pattern

PARTS = "parts"
"""Beside the bodies of a stack as found: the part that each of them is."""


@dataclass(frozen=True, slots=True)
class StandardDrag:
    """A pattern's standard stack, drawn; ``refusal`` says why it could not be. ``geared``: it sits in the main gear."""

    stack: Stack | None
    section: Section | None
    own: bool
    geared: bool
    refusal: str = ""


def plan_latest(job: Job) -> DragPlan | None:
    """The plan that counts."""
    return job.drag_plans.last()


def plan_stack(plan: DragPlan) -> tuple[Stack, Setup]:
    stack = stack_from_dict(plan.stack)
    return stack, setup_from_dict(plan.setup, len(stack.bodies))


def plan_found(plan: DragPlan | None) -> Stack | None:
    """The stack as found; None where nobody laid it out."""
    if not plan or not plan.found:
        return None
    return stack_from_dict({key: value for key, value in plan.found.items() if key != PARTS})


def found_parts(plan: DragPlan | None) -> tuple[str, ...]:
    """The part each body of the stack as found was said to be, by its key; empty where nobody said."""
    return tuple(str(key) for key in plan.found.get(PARTS, ())) if plan else ()


def standard_stack(pattern: Pattern, build: Build | None = None) -> Stack:
    """The standard stack: the build's, the pattern's, else that of the family, or of the build it ships.

    Friction of what ships comes from the tables. Raises LevelwindError in a family that has no stack.
    """
    plain = family(pattern.family).drag
    for one in (build, pattern):
        if one is not None and one.drag:
            return stack_from_dict(one.drag)
        shipped = _shipped(pattern.family, one.built_as) if one is not None else None
        if shipped:
            plain = shipped
            break
    if not plain["bodies"]:
        raise LevelwindError("Only a click and pawl holds this spool: there is no stack to lay out.")
    return stack_from_dict({**plain, "bodies": [_by_material(body) for body in plain["bodies"]]})


def _shipped(family_key: str, built_as: Sequence[str]) -> dict[str, Any] | None:
    """The first stack that comes with what a reel is built as; None where that is its family's."""
    known = shipped_builds(family_key)
    return next((known[key].stack for key in built_as if key in known and known[key].stack), None)


def _by_material(body: Mapping[str, Any]) -> dict[str, Any]:
    """Without the family's own figure where the tables have the material, so that its condition can be changed."""
    known = body.get("material") in known_materials()
    return {key: value for key, value in body.items() if not (known and key == "friction")}


def standard_drag(pattern: Pattern) -> StandardDrag:
    """The stack with its section, for which no clamp force need be known."""
    own, geared = bool(pattern.drag), family(pattern.family).is_geared
    try:
        stack = standard_stack(pattern)
        slipping = slipping_contacts(stack, find_contacts(stack, coefficient))
        return StandardDrag(stack, section(stack, slipping, idle_bodies(stack)), own, geared)
    except LevelwindError as refusal:
        return StandardDrag(None, None, own, geared, str(refusal))


def stack_now(job: Job) -> tuple[Stack, Setup]:
    """The stack of a job as it is planned, else as its pattern has it. Raises LevelwindError where there is none."""
    plan = plan_latest(job)
    if plan is not None:
        return plan_stack(plan)
    if job.pattern is None:
        raise LevelwindError("Choose its pattern first: its drag is laid out from there.")
    return standard_stack(job.pattern, job.build), Setup()
