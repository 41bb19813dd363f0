"""The best washers on the shelf for a stack, and what a pull says of the friction of those in it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from levelwind.core.drag.draws import product
from levelwind.core.drag.infer import Inferred, infer_coefficient
from levelwind.core.drag.model import Body, Coefficient, Kind, Stack
from levelwind.core.drag.search import Candidate, Choice, Wanted, best_stacks
from levelwind.core.drag.touching import Surface, surfaces
from levelwind.core.errors import LevelwindError, NotDeterminedError
from levelwind.core.line.tension import spool_torque_Nm
from levelwind.core.quantities import Quantity
from levelwind.reference.materials import CONDITIONS, coefficient, known_materials
from levelwind.shop.models import Part
from levelwind.shop.selectors.drag_sections import strength_section
from levelwind.shop.selectors.drags import SEED, Reckoning
from levelwind.shop.selectors.shelf import washers

KIND_OF_PART = {
    "friction_washer": Kind.FRICTION,
    "eared_washer": Kind.EARED,
    "keyed_washer": Kind.KEYED,
    "spring_washer": Kind.SPRING,
}
"""Kinds of part on the shelf that can lie in a stack."""

SLACK_MM = 0.3
"""How much larger outside or smaller inside than the washer it replaces a washer may be: a judgement."""

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


def washers_at_hand() -> list[Part]:
    return washers(tuple(KIND_OF_PART))


def shelf_choices(reckoning: Reckoning, old: Stack, shelf: Sequence[Part]) -> tuple[ShelfChoice, ...]:
    """The five best fillings of the friction washers' places from the shelf, what lies there now among them.

    Judged by height within what the star takes up, by the drag wanted at the strike, and by what stands behind it.
    """
    setup, line = reckoning.setup, reckoning.line
    lower, higher = setup.number("lower_mm"), setup.number("higher_mm")
    if lower is None or higher is None:
        raise NotDeterminedError("Say first how much lower and higher a stack the star can take up.")
    if line is None or line.setting is None:
        raise NotDeterminedError("Say first how strong the line is, and measure the spool: the drag wanted follows.")
    open_places: dict[int, Sequence[Candidate]] = {
        place: found
        for place, body in enumerate(reckoning.stack.bodies)
        if body.kind is Kind.FRICTION and len(found := _candidates(body, shelf)) > 1
    }
    if not open_places:
        raise NotDeterminedError("No washer on the shelf has the sizes of those in this stack.")
    height = sum(body.thickness_m for body in old.bodies)
    wanted_Nm = _drag_torque_Nm(reckoning, sum(line.setting.strike_N) / 2)
    wanted = Wanted(
        height_m=(height - lower / 1000, height + higher / 1000 + 1e-6),
        clamp_N=reckoning.clamp_N.value,
        wanted_Nm=wanted_Nm,
        most_clamp_N=reckoning.clamp_N.high,
        most_Nm=_most_Nm(reckoning),
    )
    by_key = {str(part.pk): part for part in shelf}
    places = tuple(sorted(open_places))
    return tuple(
        ShelfChoice(choice, tuple(by_key.get(key) for key in choice.keys), places, choice.torque_Nm / wanted_Nm)
        for choice in _unlike(best_stacks(reckoning.stack, open_places, wanted, coefficient, keep=200))
    )


def _unlike(choices: Sequence[Choice]) -> list[Choice]:
    """The best of each set of washers: the same ones in other places do the same."""
    seen: dict[tuple[str, ...], Choice] = {}
    for choice in choices:
        seen.setdefault(tuple(sorted(choice.keys)), choice)
    return list(seen.values())[:BEST]


def _candidates(body: Body, shelf: Sequence[Part]) -> list[Candidate]:
    """The washer that lies there, and those of the shelf that would go in its room; new and second-hand together."""
    found = []
    for part in shelf:
        made = body_of(part, body)
        if made is not None and KIND_OF_PART[part.kind] is body.kind and _goes_in(made, body):
            found.append(Candidate(str(part.pk), made, int(vars(part)["here"])))
    return [Candidate(AS_IT_IS, body, 60), *found[:MOST_KINDS]]


def body_of(part: Part, like: Body) -> Body | None:
    """The body a part would be in the place of another; None while its sizes or its material are not known."""
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
            coefficient=None,
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


def _drag_torque_Nm(reckoning: Reckoning, tension_N: float) -> float:
    """The drag's torque behind a tension at the line, spool full."""
    line = reckoning.line
    assert line is not None
    at_spool = float(spool_torque_Nm(tension_N, line.fills[0].radius_mm / 1000, line.guides))
    return at_spool / reckoning.spool_per_drag.value


def _most_Nm(reckoning: Reckoning) -> float:
    """What the weakest part behind the drag bears with its margin; without any measured, nothing is held back."""
    try:
        return strength_section(reckoning).most_spool_Nm / reckoning.spool_per_drag.value
    except NotDeterminedError:
        return float("inf")


@dataclass(frozen=True, slots=True)
class Pulled:
    """What a pull says: the torque it means, the material it was taken to be of, the friction, what the tables had."""

    torque_Nm: Quantity
    material: str
    places: tuple[int, ...]
    found: Inferred
    table: Coefficient


def friction_from_pull(reckoning: Reckoning, running_N: Quantity) -> Pulled:
    """The friction of the commonest lining in the stack from a pull at a full spool, at the clamp force given.

    Its own figures typed for this stack are laid aside: the reading is to say them.
    """
    line = reckoning.line
    if line is None:
        raise NotDeterminedError("The spool's sizes are not in the pattern book.")
    linings = [body.material for body in reckoning.stack.bodies if body.kind is Kind.FRICTION]
    if not linings:
        raise NotDeterminedError("There is no friction washer in this stack.")
    material = max(set(linings), key=linings.count)
    bare = replace(
        reckoning.stack,
        bodies=tuple(
            replace(body, coefficient=None) if body.material == material else body for body in reckoning.stack.bodies
        ),
    )
    touching = surfaces(bare, coefficient)
    unknown = [s.index for s in touching if s.coefficient is not None and _of(material, bare, s)]
    if not unknown:
        raise NotDeterminedError(f"No face of {material} slips in this stack.")
    radius = line.fills[0].radius_mm / 1000
    at_spool = running_N.scaled(radius / line.guides)
    per = reckoning.spool_per_drag
    torque = product(at_spool, Quantity(1 / per.value, 1 / per.high, 1 / per.low))
    priors = {condition: coefficient(material, "steel", condition) for condition in CONDITIONS}
    rng = np.random.default_rng(SEED)
    found = infer_coefficient(bare, touching, unknown, torque, reckoning.clamp_N, priors, rng)
    places = tuple(n for n, body in enumerate(bare.bodies) if body.kind is Kind.FRICTION and body.material == material)
    return Pulled(torque, material, places, found, priors[reckoning.stack.condition])


def _of(material: str, stack: Stack, surface: Surface) -> bool:
    return material in (stack.bodies[surface.index].material, stack.bodies[surface.index + 1].material)
