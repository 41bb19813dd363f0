"""The best washers on the shelf for a stack."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db.models import Q

from levelwind.core.drag.model import Body, Kind, Stack
from levelwind.core.drag.search import Candidate, Choice, best_stacks
from levelwind.core.drag_system.wanted import wanted_of
from levelwind.core.errors import LevelwindError, NotDeterminedError
from levelwind.reference.materials import coefficient, known_materials
from levelwind.shop.drag.selectors.drags import JobDrag
from levelwind.shop.drag.selectors.friction import is_own, kept_coefficient, parts_laid
from levelwind.shop.models import Part
from levelwind.shop.parts.selectors.shelf import washers

KIND_OF_PART = {
    "friction_washer": Kind.FRICTION,
    "eared_washer": Kind.EARED,
    "keyed_washer": Kind.KEYED,
    "spring_washer": Kind.SPRING,
}
"""Kinds of part on the shelf that can lie in a stack."""

SLACK_MM = 0.3
"""How much larger outside or smaller inside than the washer it replaces a washer may be: a judgement."""

HAIR_MM = 1e-6
"""What rounding may add."""

MOST_KINDS = 6
"""Kinds of washer tried in one place."""

AS_IT_IS = ""

BEST = 5
"""Choices shown."""


@dataclass(frozen=True, slots=True)
class ShelfChoice:
    """One stack that the shelf allows: the part for each open place (none: as it is), and what it does."""

    choice: Choice
    parts: tuple[Part | None, ...]
    places: tuple[int, ...]
    strike_share: float

    @property
    def fillings(self) -> tuple[tuple[int, Part | None], ...]:
        """Number of each body as the page counts them, from 1, and the part for it."""
        return tuple((place + 1, part) for place, part in zip(self.places, self.parts, strict=True))

    @property
    def keys(self) -> str:
        """How a page names it: place and part, pair by pair."""
        return "_".join(
            f"{place}.{part.pk if part else 0}" for place, part in zip(self.places, self.parts, strict=True)
        )


def washers_at_hand(laid: Iterable[str] = ()) -> list[Part]:
    """Washers to choose from, those that are ``laid`` in a stack among them, by its setup's keys."""
    also = [part.pk for part in parts_laid(tuple(laid)).values() if part.kind in KIND_OF_PART]
    return washers(KIND_OF_PART, also=also)


def linings_for(stack: Stack) -> list[Part]:
    """Friction washers on the shelf that go in the room of one in the stack."""
    rooms = {(body.outer_radius_m, body.inner_radius_m) for body in stack.bodies if body.kind is Kind.FRICTION}
    fit = Q()
    for outer_m, inner_m in rooms:
        outer, inner = 2000 * outer_m + SLACK_MM + HAIR_MM, 2000 * inner_m - SLACK_MM - HAIR_MM
        fit |= Q(**{"sizes_mm__outer diameter__lte": outer, "sizes_mm__inner diameter__gte": inner})
    return washers([kind for kind, made in KIND_OF_PART.items() if made is Kind.FRICTION], fit) if rooms else []


def shelf_choices(drag: JobDrag, old: Stack, shelf: Sequence[Part]) -> tuple[ShelfChoice, ...]:
    """The five best fillings of the friction washers' places from the shelf, what lies there now among them.

    Judged by height within what the star takes up, by the drag wanted at the strike, and by what stands behind it.
    """
    setup, result = drag.setup, drag.result
    lower, higher = setup.number("lower_mm"), setup.number("higher_mm")
    if lower is None or higher is None:
        raise NotDeterminedError("Enter first how much lower and higher a stack the star or knob can take up.")
    wanted = wanted_of(result, sum(body.thickness_m for body in old.bodies), lower / 1000, higher / 1000)
    stack, laid = _one_friction_a_part(result.system.stack, setup.parts)
    open_places: dict[int, Sequence[Candidate]] = {
        place: found
        for place, body in enumerate(stack.bodies)
        if body.kind is Kind.FRICTION and len(found := _candidates(body, stack.condition, shelf, laid)) > 1
    }
    if not open_places:
        raise NotDeterminedError("No washer on the shelf has the sizes of those in this stack.")
    by_key = {str(part.pk): part for part in shelf}
    places = tuple(sorted(open_places))
    return tuple(
        ShelfChoice(choice, tuple(by_key.get(key) for key in choice.keys), places, choice.torque_Nm / wanted.wanted_Nm)
        for choice in _unlike(best_stacks(stack, open_places, wanted, coefficient, keep=200), places, setup.parts)
    )


def _unlike(choices: Sequence[Choice], places: Sequence[int], laid: Sequence[str]) -> list[Choice]:
    """The best of each set of washers: the same in other places do the same, as does another of what lies there."""
    seen: dict[tuple[str, ...], Choice] = {}
    for choice in choices:
        lies = (_what_lies(choice.stack.bodies[place], laid[place] if laid else "") for place in places)
        washers = (key or there for key, there in zip(choice.keys, lies, strict=True))
        seen.setdefault(tuple(sorted(washers)), choice)
    return list(seen.values())[:BEST]


def _what_lies(body: Body, key: str) -> str:
    """The part that lies in a place, else its sizes and what it is made of."""
    return key or repr(replace(body, name=""))


def _one_friction_a_part(stack: Stack, keys: Sequence[str]) -> tuple[Stack, dict[str, Body]]:
    """The stack with one friction for each part wherever it lies, the first that is there; and each part's body."""
    laid: dict[str, Body] = {}
    for key, body in zip(keys, stack.bodies, strict=False):
        if key and (key not in laid or laid[key].coefficient is None):
            laid[key] = body
    bodies = (
        replace(body, coefficient=laid[key].coefficient) if key and body.material == laid[key].material else body
        for key, body in zip(keys or ("",) * len(stack.bodies), stack.bodies, strict=True)
    )
    return replace(stack, bodies=tuple(bodies)), laid


def _candidates(body: Body, condition: str, shelf: Sequence[Part], laid: Mapping[str, Body]) -> list[Candidate]:
    """The washer that lies there, and those of the shelf that would go in its room; new and second-hand together."""
    found = []
    for part in shelf:
        made, there = body_of(part, body, condition), laid.get(str(part.pk))
        if made is not None and there is not None and is_own(there, part):
            made = replace(made, coefficient=there.coefficient)
        if made is not None and KIND_OF_PART[part.kind] is body.kind and _goes_in(made, body):
            found.append(Candidate(str(part.pk), made, int(vars(part)["here"])))
    return [Candidate(AS_IT_IS, body, 60), *found[:MOST_KINDS]]


def body_of(part: Part, like: Body, condition: str) -> Body | None:
    """The body a part would be in the place of another, with the friction kept for it in this condition.

    None while its sizes or its material are not known.
    """
    sizes = [part.sizes_mm.get(name) for name in ("outer diameter", "inner diameter", "thickness")]
    if not all(sizes) or part.material not in known_materials():
        return None
    outer, inner, thickness = (float(size) for size in sizes if size)
    try:
        return replace(
            like,
            name=part.name,
            outer_radius_m=outer / 2000,
            inner_radius_m=inner / 2000,
            thickness_m=thickness / 1000,
            material=part.material,
            coefficient=kept_coefficient(part, condition),
        )
    except LevelwindError:
        return None


def _goes_in(made: Body, room: Body) -> bool:
    slack = SLACK_MM / 2000
    return (
        made.outer_radius_m <= room.outer_radius_m + slack
        and room.inner_radius_m - slack <= made.inner_radius_m < room.outer_radius_m
        and made.outer_radius_m > room.inner_radius_m
    )
