"""What the shop's pulls said of the friction of its own parts, kept by condition, and used wherever the part lies."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from levelwind.core.drag.model import Body, Coefficient, Kind, Stack
from levelwind.core.quantities import Quantity
from levelwind.reference.materials import ASBESTOS, CONDITIONS, UNKNOWN
from levelwind.shop.models import Part

TYPED_HERE = "typed in for this stack"
"""Source of a friction that a person typed on the page: it stands before what is kept."""


@dataclass(frozen=True, slots=True)
class KeptFriction:
    """One figure kept for a part: for which condition, from how many pulls, the last one on which job and day."""

    condition: str
    coefficient: Coefficient
    pulls: int
    job: str
    on: date | None


def kept_rows(part: Part) -> tuple[KeptFriction, ...]:
    """Every figure kept for a part as it is made now, condition by condition."""
    kept = ((condition, kept_coefficient(part, condition)) for condition in CONDITIONS)
    return tuple(_row(condition, found, part.friction[condition]) for condition, found in kept if found)


def _row(condition: str, found: Coefficient, entry: Mapping[str, Any]) -> KeptFriction:
    on = date.fromisoformat(entry["on"]) if entry.get("on") else None
    return KeptFriction(condition, found, len(entry.get("readings", ())) or 1, entry.get("job", ""), on)


def kept_coefficient(part: Part, condition: str) -> Coefficient | None:
    """What is kept for the part in this condition and no other; None too where its material was changed since."""
    entry = part.friction.get(condition)
    if not entry or entry.get("material", part.material) != part.material:
        return None
    mu = Quantity(entry["value"], entry["low"], entry["high"])
    return Coefficient(mu, entry["source"], ASBESTOS if part.material == UNKNOWN else "")


def parts_laid(keys: Sequence[str]) -> dict[str, Part]:
    """The parts that lie in a stack, by the keys its setup has for its bodies; in one query."""
    wanted = {key for key in keys if key.isdecimal() and len(key) < 12}
    laid = Part.objects.select_related("merged_into").in_bulk([int(key) for key in wanted]) if wanted else {}
    return {str(pk): part.merged_into or part for pk, part in laid.items()}


def with_kept(stack: Stack, keys: Sequence[str], laid: Mapping[str, Part]) -> Stack:
    """The stack with the figures kept for the parts in it, where none was typed for the stack itself."""
    if not laid:
        return stack
    parts = [laid.get(key) for key in keys]
    bodies = (_with(body, part, stack.condition) for body, part in zip(stack.bodies, parts, strict=True))
    return replace(stack, bodies=tuple(bodies))


def _with(body: Body, part: Part | None, condition: str) -> Body:
    if part is None or body.coefficient is not None or not is_own(body, part):
        return body
    return replace(body, coefficient=kept_coefficient(part, condition))


def is_own(body: Body, part: Part) -> bool:
    """Whether a body is that part as it came: a friction washer whose material nobody has typed over."""
    return body.kind is Kind.FRICTION and body.material == part.material
