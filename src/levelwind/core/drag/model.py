"""What goes into a drag: bodies in line under one clamp force, each turned by the gear, held by the sleeve, or loose.

The chain is listed from the end far from the clamp outwards: first the sleeve's flange and what lies under the gear,
then the gear, then the washers up to the cap under the star. In a drag without a gear (lever drag, fixed spool, fly)
"gear" stands for the side the fish turns and "sleeve" for the side that holds.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import Any, TypeVar

from levelwind.core.codec import as_shown
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

MOST_BODIES = 60
"""Bodies of a stack: several times those of the tallest drag, and few enough to compute at once. Our choice."""

LARGEST_MM = 300.0
"""mm, outer diameter of a body: beyond any reel's. Our choice."""

THINNEST_MM, THICKEST_MM = 0.001, 50.0
"""mm, thickness of a body, from a film of grease to beyond any gear: our choice."""


class Tie(StrEnum):
    """Which side turns a body."""

    GEAR = "gear"
    SLEEVE = "sleeve"
    FLOATING = "floating"


class Kind(StrEnum):
    """What a body is, in the trade's words."""

    FLANGE = "flange"
    GEAR = "gear"
    FRICTION = "friction"
    EARED = "eared"
    KEYED = "keyed"
    SPRING = "spring"
    SPACER = "spacer"
    CAP = "cap"


USUAL_TIE = {
    Kind.FLANGE: Tie.SLEEVE,
    Kind.GEAR: Tie.GEAR,
    Kind.FRICTION: Tie.FLOATING,
    Kind.EARED: Tie.GEAR,
    Kind.KEYED: Tie.SLEEVE,
    Kind.SPRING: Tie.FLOATING,
    Kind.SPACER: Tie.FLOATING,
    Kind.CAP: Tie.SLEEVE,
}
"""How a body is tied unless it says otherwise; a friction disc with ears or a key says otherwise."""

WORKING = frozenset({Kind.FRICTION, Kind.EARED, Kind.KEYED})
"""Kinds that are there to carry drag; the others hold, press or fill."""


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A friction coefficient with its 90 % interval and where it comes from.

    >>> Coefficient(Quantity(0.21, 0.15, 0.30), "handbook").mu.value
    0.21
    """

    mu: Quantity
    source: str
    caution: str = ""

    def __post_init__(self) -> None:
        if self.mu.low <= 0 or self.mu.high > 2:
            raise InputError(
                "friction coefficient", f"{written(self.mu.low)} to {written(self.mu.high)}", "over 0 and up to 2"
            )

    def shown(self) -> dict[str, object]:
        """As a file says it: the friction's own three numbers beside where they come from."""
        return {**as_shown(self.mu), "source": self.source, "caution": self.caution}


@dataclass(frozen=True, slots=True)
class Solid:
    """What a material weighs and how it takes and passes heat.

    >>> Solid("brass", 8500.0, 380.0, 115.0).heat_capacity_J_kgK
    380.0
    """

    name: str
    density_kg_m3: float
    heat_capacity_J_kgK: float
    conductivity_W_mK: float

    def __post_init__(self) -> None:
        for value in (self.density_kg_m3, self.heat_capacity_J_kgK, self.conductivity_W_mK):
            if not 0 < value < 1e5:
                raise InputError(f"properties of {self.name}", value, "over 0 and under 100000")


Lookup = Callable[[str, str, str], Coefficient]
"""Gives the coefficient of one material on another in a condition: (material, material, condition) to Coefficient."""


@dataclass(frozen=True, slots=True)
class Body:
    """One washer, plate, spring or wall of the chain: a ring with a thickness.

    ``coefficient`` belongs to both faces of a friction washer; without it the coefficient is looked up by material.
    ``bonded`` means stuck to the body before it, so that nothing slips between them. ``key_radius_m`` is where its
    ears or keys bear; it matters only when the loss of clamp force along them is asked for.
    """

    name: str
    kind: Kind
    tie: Tie
    outer_radius_m: float
    inner_radius_m: float
    thickness_m: float
    material: str = ""
    coefficient: Coefficient | None = None
    bonded: bool = False
    key_radius_m: float | None = None

    def __post_init__(self) -> None:
        outer, inner, thickness = (
            1000 * x for x in (2 * self.outer_radius_m, 2 * self.inner_radius_m, self.thickness_m)
        )
        if not 0 < outer <= LARGEST_MM:
            raise InputError(
                f"outer diameter of {self.name}", f"{written(outer)} mm", f"over 0 and up to {written(LARGEST_MM)} mm"
            )
        if not 0 <= inner < outer:
            raise InputError(
                f"inner diameter of {self.name}",
                f"{written(inner)} mm",
                f"from 0 to less than the outer diameter of {written(outer)} mm",
            )
        if not THINNEST_MM <= thickness <= THICKEST_MM:
            allowed = f"from {written(THINNEST_MM)} to {written(THICKEST_MM)} mm"
            raise InputError(f"thickness of {self.name}", f"{written(thickness)} mm", allowed)
        if self.key_radius_m is not None and not 0 < 2000 * self.key_radius_m <= LARGEST_MM:
            raise InputError(
                f"key diameter of {self.name}",
                f"{written(2000 * self.key_radius_m)} mm",
                f"over 0 and up to {written(LARGEST_MM)} mm",
            )

    def as_dict(self) -> dict[str, Any]:
        """Plain data in millimetres, as :func:`stack_from_dict` reads it."""
        plain: dict[str, Any] = {
            "name": self.name,
            "kind": self.kind.value,
            "tie": self.tie.value,
            "outer_diameter_mm": _tidy(2000 * self.outer_radius_m),
            "inner_diameter_mm": _tidy(2000 * self.inner_radius_m),
            "thickness_mm": _tidy(1000 * self.thickness_m),
            "material": self.material,
        }
        if self.coefficient is not None:
            plain["friction"] = as_shown(self.coefficient)
        if self.bonded:
            plain["bonded"] = True
        if self.key_radius_m is not None:
            plain["key_diameter_mm"] = _tidy(2000 * self.key_radius_m)
        return plain


@dataclass(frozen=True, slots=True)
class Stack:
    """Bodies in line under one clamp force, the far end first.

    ``key_friction`` is the coefficient along keys and ears that eats clamp force on its way down; 0 leaves it out.
    """

    bodies: tuple[Body, ...]
    condition: str = "dry"
    key_friction: float = 0.0

    def __post_init__(self) -> None:
        if not 2 <= len(self.bodies) <= MOST_BODIES:
            raise InputError("number of bodies in the stack", len(self.bodies), f"2 to {MOST_BODIES}")
        if not 0 <= self.key_friction <= 1:
            raise InputError("friction along keys and ears", self.key_friction, "from 0 to 1")
        ties = {body.tie for body in self.bodies}
        if not {Tie.GEAR, Tie.SLEEVE} <= ties:
            missing = "turned by the gear" if Tie.GEAR not in ties else "held by the sleeve"
            raise InputError("stack", f"without any body {missing}", "at least one of each, or no surface can slip")
        for below, above in pairwise(self.bodies):
            if min(below.outer_radius_m, above.outer_radius_m) <= max(below.inner_radius_m, above.inner_radius_m):
                raise InputError(f"{above.name} on {below.name}", "rings that do not touch", "rings that overlap")

    def as_dict(self) -> dict[str, Any]:
        """Plain data for a JSON field or a TOML file."""
        return {
            "condition": self.condition,
            "key_friction": self.key_friction,
            "bodies": [body.as_dict() for body in self.bodies],
        }

    def in_order(self, order: tuple[int, ...]) -> "Stack":
        """The same bodies in another order."""
        return replace(self, bodies=tuple(self.bodies[i] for i in order))


def stack_from_dict(data: object) -> Stack:
    """A stack from plain data (TOML or JSON), lengths in millimetres; what :meth:`Stack.as_dict` writes.

    >>> washer = {"outer_diameter_mm": 20, "inner_diameter_mm": 8, "thickness_mm": 1}
    >>> stack = stack_from_dict({"bodies": [
    ...     {"name": "gear", "kind": "gear", **washer},
    ...     {"name": "washer", "kind": "friction", "friction": {"value": 0.2, "low": 0.15, "high": 0.3}, **washer},
    ...     {"name": "key washer", "kind": "keyed", **washer}]})
    >>> [body.tie.value for body in stack.bodies]
    ['gear', 'floating', 'sleeve']
    """
    plain = _table(data, "stack", {"condition", "key_friction", "bodies"})
    bodies = plain.get("bodies")
    if not isinstance(bodies, list | tuple) or len(bodies) > MOST_BODIES:
        was = "missing" if bodies is None else type(bodies).__name__
        raise InputError("bodies of the stack", was, f"a list of 2 to {MOST_BODIES} bodies")
    return Stack(
        tuple(_body(body, place) for place, body in enumerate(bodies, 1)),
        _text(plain, "condition", "stack", "dry"),
        _number(plain, "key_friction", "stack", 0.0),
    )


_RING_KEYS = {"outer_diameter_mm", "inner_diameter_mm", "thickness_mm", "key_diameter_mm"}
_BODY_KEYS = _RING_KEYS | {"name", "kind", "tie", "material", "friction", "bonded"}


def _body(data: object, place: int) -> Body:
    plain = _table(data, f"body {place}", _BODY_KEYS)
    name = _text(plain, "name", f"body {place}", "") or f"body {place}"
    kind = _choice(Kind, plain.get("kind"), f"kind of {name}")
    bonded = plain.get("bonded", False)
    if not isinstance(bonded, bool):
        raise InputError(f"bonded of {name}", _shown(bonded), "true or false")
    return Body(
        name=name,
        kind=kind,
        tie=_choice(Tie, plain.get("tie", USUAL_TIE[kind].value), f"tie of {name}"),
        outer_radius_m=_number(plain, "outer_diameter_mm", name) / 2000,
        inner_radius_m=_number(plain, "inner_diameter_mm", name) / 2000,
        thickness_m=_number(plain, "thickness_mm", name) / 1000,
        material=_text(plain, "material", name, ""),
        coefficient=_friction(plain.get("friction"), name),
        bonded=bonded,
        key_radius_m=_number(plain, "key_diameter_mm", name) / 2000 if "key_diameter_mm" in plain else None,
    )


def _friction(data: object, name: str) -> Coefficient | None:
    """A number alone is taken as known; a table carries its interval."""
    if data is None:
        return None
    if isinstance(data, int | float):
        data = {"value": data}
    plain = _table(data, f"friction of {name}", {"value", "low", "high", "source", "caution"})
    value = _number(plain, "value", f"friction of {name}")
    low, high = (_number(plain, key, f"friction of {name}", value) for key in ("low", "high"))
    if not 0 < low <= value <= high <= 2:
        said = written(value) if low == value == high else f"{written(value)}, {written(low)} to {written(high)}"
        raise InputError(f"friction of {name}", said, "over 0 and up to 2, a value between its least and its most")
    source, caution = (_text(plain, key, f"friction of {name}", "") for key in ("source", "caution"))
    return Coefficient(Quantity(value, low, high), source or "as given", caution)


def _table(data: object, where: str, allowed: set[str]) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise InputError(where, type(data).__name__, "a table of " + ", ".join(sorted(allowed)))
    unknown = sorted(str(key)[:40] for key in data if key not in allowed)
    if unknown:
        raise InputError(f"entry in {where}", repr(unknown[0]), ", ".join(sorted(allowed)))
    return data


def _number(plain: Mapping[str, Any], key: str, where: str, default: float | None = None) -> float:
    value = plain.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        raise InputError(f"{key} of {where}", _shown(value), "a number")
    return float(value)


def _text(plain: Mapping[str, Any], key: str, where: str, default: str) -> str:
    value = plain.get(key, default)
    if not isinstance(value, str) or len(value) > 400:
        raise InputError(f"{key} of {where}", _shown(value), "a text of up to 400 letters")
    return value


_Choice = TypeVar("_Choice", bound=StrEnum)


def _choice(names: type[_Choice], value: object, what: str) -> _Choice:
    if value not in [name.value for name in names]:
        raise InputError(what, _shown(value), ", ".join(name.value for name in names))
    return names(value)


def _shown(value: object) -> str:
    """A value from outside, short enough for one line."""
    if value is None:
        return "missing"
    if isinstance(value, int) and abs(value) >= 1e9:
        return "too large"
    return repr(value)[:40]


def _tidy(millimetres: float) -> float:
    """Without the dust that the trip through metres leaves."""
    return round(millimetres, 9)
