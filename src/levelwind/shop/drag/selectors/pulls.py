"""What a pull says of the friction of the washers that lay in the reel when it was made."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from django.utils import timezone

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.infer import LEAST_TO_TELL, Inferred, weighed
from levelwind.core.drag.model import Coefficient, Kind, Stack
from levelwind.core.drag.rings import Floats
from levelwind.core.drag_system.clamping import clamp_force
from levelwind.core.drag_system.friction import lining_likelihood, priors, torque_pulled
from levelwind.core.drag_system.model import SEED, LoadedSpool, Pull
from levelwind.core.drag_system.report import clamp_words
from levelwind.core.errors import InputError, LevelwindError, NotDeterminedError
from levelwind.core.line import radius_at_length_m
from levelwind.core.pull.report import average
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written
from levelwind.reference.materials import coefficient, drag_tables
from levelwind.shop.drag.selectors.drags import NO_SPOOL, clamp_is_usual, clamp_of, loaded_spool
from levelwind.shop.drag.selectors.friction import is_own, kept_coefficient, parts_laid, with_kept
from levelwind.shop.drag.selectors.plans import found_parts, plan_found, plan_stack
from levelwind.shop.drag.selectors.reels import Reel, reel_of
from levelwind.shop.drag.selectors.setup import FILLS, Setup
from levelwind.shop.models import DragPlan, Job, Part, Reading
from levelwind.shop.readings.selectors.readings import MOMENTS, gave_a_number
from levelwind.shop.readings.selectors.stored import pull_result

MAY_BE = 0.2
"""How likely a condition has to be to be named as one that may be (our choice)."""


@dataclass(frozen=True, slots=True)
class ReadPull:
    """A pull that counts, with what it gave; None for what it did not."""

    reading: Reading
    breakaway_N: Quantity | None
    running_N: Quantity | None


@dataclass(frozen=True, slots=True)
class Read:
    """A pull, and the stack that lay in the reel when it was made: its bodies, and the part each of them is.

    ``known`` says whether that stack was laid out as found or as left, or only stands in for it.
    """

    moment: str
    running_N: Quantity
    stack: Stack
    parts: tuple[Part | None, ...] = ()
    known: bool = True
    reading: Reading | None = None


@dataclass(frozen=True, slots=True)
class PullMade:
    """How a pull was made: the spool, the line left on it and the radius it left at, and what squeezed the drag."""

    spool: LoadedSpool
    left_m: float
    radius_m: float
    clamp_N: Quantity
    clamp_from: str

    @property
    def radius_mm(self) -> float:
        return 1000 * self.radius_m


@dataclass(frozen=True, slots=True)
class Pulled:
    """What a pull says: the torque it means, the material it was taken to be of, the friction, what was known before.

    ``here`` takes the faces to be as the stack says, and is what is computed with and remembered; ``any_condition``
    weighs them all. ``sharpened`` says that what was known before was kept for these very parts.
    ``parts`` are the shop's own among the washers read, ``done`` those whose figure this pull is in already.
    """

    read: Read
    torque_Nm: Quantity
    made: PullMade
    material: str
    materials: tuple[str, ...]
    places: tuple[int, ...]
    here: Inferred
    any_condition: Inferred
    before: Coefficient
    sharpened: bool
    parts: tuple[Part, ...]
    done: tuple[Part, ...]

    @property
    def fits_another(self) -> str:
        """The condition the pull fits clearly better than the one said; empty where it does not tell."""
        best = self.any_condition.fits
        tells = self.any_condition.by_condition[best] >= LEAST_TO_TELL
        return best if tells and best != self.read.stack.condition else ""


Pulls = Mapping[str, ReadPull]
"""The newest pull that counts, by its moment."""


def pulls_of(job: Job) -> Pulls:
    """In one query."""
    newest = {row.moment: row for row in job.readings.filter(kind="pull") if gave_a_number(row)}
    return {moment: _pull(newest[moment]) for moment in MOMENTS if moment in newest}


def _pull(reading: Reading) -> ReadPull:
    return ReadPull(reading, _average(reading, "breakaway_N"), _average(reading, "running_N"))


def _average(reading: Reading, field: str) -> Quantity | None:
    try:
        return average(pull_result(reading), field)
    except LevelwindError:
        return None


def pull_read(plan: DragPlan | None, moment: str, stack: Stack, setup: Setup, pulls: Pulls) -> Read:
    """The pull of a moment with the stack it was made with: as found the stack found, as left the one laid in by then.

    Where the stack as found was never laid out, the one on the bench stands in for it, and no part is known to have
    lain there. Raises NotDeterminedError without a pull.
    """
    pull = pulls.get(moment)
    if pull is None or pull.running_N is None:
        raise NotDeterminedError(f"There is no pull as {moment} yet.")
    if moment == "left":
        stack, setup = _laid_in(plan, pull.reading) or (stack, setup)
    old = plan_found(plan) if moment == "found" else None
    keys = found_parts(plan) if moment == "found" else setup.parts
    shown = old or stack
    known = moment == "left" or old is not None
    laid = parts_laid(keys) if len(keys) == len(shown.bodies) else {}
    parts = tuple(laid.get(key) for key in keys) if laid else (None,) * len(shown.bodies)
    return Read(moment, pull.running_N, with_kept(shown, keys, laid), parts, known, pull.reading)


def _laid_in(plan: DragPlan | None, reading: Reading) -> tuple[Stack, Setup] | None:
    """What was planned on the day of the pull or last before it; None where that is the plan that counts now."""
    if plan is None:
        return None
    then = plan.job.drag_plans.filter(at__date__lte=timezone.localdate(reading.at)).last()
    return None if then is None or then == plan else plan_stack(then)


def pull_of(job: Job, plan: DragPlan, moment: str) -> Pulled:
    """The same from what is kept for the job alone."""
    if moment not in MOMENTS:
        raise InputError("pull", repr(moment[:20]), ", ".join(MOMENTS))
    stack, setup = plan_stack(plan)
    return friction_from_pull(pull_read(plan, moment, stack, setup, pulls_of(job)), setup, reel_of(job))


def friction_from_pull(read: Read, setup: Setup, reel: Reel) -> Pulled:
    """The friction of one lining of the stack read, the commonest unless another was said.

    Figures typed or kept for that lining are laid aside: the reading is to say them. What was kept for these parts is
    what was known before, else the tables are; a pull is never read on top of itself.
    """
    made = pull_made(read.moment, setup, reel)
    materials = _linings(read.stack)
    material = setup.said.get(f"{read.moment}_unknown", "")
    material = material if material in materials else materials[0]
    places = tuple(
        n for n, body in enumerate(read.stack.bodies) if body.kind is Kind.FRICTION and body.material == material
    )
    bare, condition = _laid_bare(read.stack, material), read.stack.condition
    torque = torque_pulled(Pull(read.running_N, made.left_m, material, made.spool.roller), made.spool, reel.drive)
    known = _kept(read, places)
    published = priors(bare, find_contacts(bare, coefficient), material, drag_tables())
    before = known or published[condition]

    likely = _likelihood(bare, material, torque, made.clamp_N)

    def inferred(known: Mapping[str, Coefficient]) -> Inferred:
        return weighed(likely, known, made.clamp_N)

    any_condition = inferred({**published, condition: before})
    own = _own(read, places)
    return Pulled(
        read=read,
        torque_Nm=torque,
        made=made,
        material=material,
        materials=materials,
        places=places,
        here=_as_said(inferred, condition, before, any_condition),
        any_condition=any_condition,
        before=before,
        sharpened=known is not None,
        parts=own,
        done=tuple(part for part in own if read.reading and is_in(read.reading, part, condition)),
    )


@lru_cache(maxsize=64)
def _likelihood(bare: Stack, material: str, torque_Nm: Quantity, clamp_N: Quantity) -> Floats:
    """Kept between two looks at a page: a pull says the same while another washer of the new stack is moved."""
    contacts = find_contacts(bare, coefficient)
    return lining_likelihood(bare, contacts, material, torque_Nm, clamp_N, np.random.default_rng(SEED))


def _as_said(
    inferred: Callable[[Mapping[str, Coefficient]], Inferred], condition: str, before: Coefficient, weighed: Inferred
) -> Inferred:
    """The friction with the faces as the stack says; where they cannot be so, which they could be."""
    try:
        return inferred({condition: before})
    except NotDeterminedError as refusal:
        others = [name for name, share in weighed.by_condition.items() if share >= MAY_BE and name != condition]
        if not others:
            raise
        raise NotDeterminedError(
            f"No friction known {condition} gives this reading; faces that are {' or '.join(others)} may: if they "
            "were, say so of that stack."
        ) from refusal


def pull_made(moment: str, setup: Setup, reel: Reel) -> PullMade:
    """As far as it was said; else off a full spool, at today's clamp force."""
    spool = loaded_spool(setup, reel)
    if spool is None:
        raise NotDeterminedError(NO_SPOOL)
    length, out = spool.filled.length_m, setup.number(f"{moment}_out_m")
    if out is not None and not reel.line_known:
        raise NotDeterminedError("Metres out say nothing until the line's diameter is known: enter how full it was.")
    if out is not None and out > length:
        raise InputError(f"line out at the pull as {moment}", f"{written(out)} m", f"up to the {length:.0f} m there")
    left = FILLS[setup.said.get(f"{moment}_fill", "full")] * length if out is None else length - out
    clamp = clamp_of(setup, reel, moment)
    force = clamp_force(clamp, np.random.default_rng(SEED))
    words = clamp_words(clamp, usual=clamp_is_usual(setup, reel) and not setup.said_of_clamp(moment))
    return PullMade(spool, left, float(radius_at_length_m(spool.filled, left)), force, words)


def _linings(stack: Stack) -> tuple[str, ...]:
    """Materials of the friction washers, the commonest first."""
    linings = [body.material for body in stack.bodies if body.kind is Kind.FRICTION]
    if not linings:
        raise NotDeterminedError("There is no friction washer in this stack.")
    return tuple(sorted(dict.fromkeys(linings), key=lambda material: -linings.count(material)))


def _laid_bare(stack: Stack, material: str) -> Stack:
    bodies = (replace(body, coefficient=None) if body.material == material else body for body in stack.bodies)
    return replace(stack, bodies=tuple(bodies))


def _own(read: Read, places: Sequence[int]) -> tuple[Part, ...]:
    """The shop's own parts among the washers read, each once."""
    laid = ((read.stack.bodies[place], read.parts[place]) for place in places if read.parts)
    return tuple({part.pk: part for body, part in laid if part and is_own(body, part)}.values())


def _kept(read: Read, places: Sequence[int]) -> Coefficient | None:
    """What is kept for all the washers read alike; None where it is not one figure, or holds this very pull."""
    condition, own = read.stack.condition, _own(read, places)
    whole = bool(own) and all(read.parts[place] in own for place in places)
    figures = {kept_coefficient(part, condition) for part in own}
    if not whole or len(figures) != 1 or (read.reading and any(is_in(read.reading, part, condition) for part in own)):
        return None
    found = figures.pop()
    return None if found is None else replace(found, source=_entry(own[0], condition).get("before", found.source))


def is_in(reading: Reading, part: Part, condition: str) -> bool:
    """Whether the figure kept for a part rests on this reading, or on one it was put right from."""
    rests_on = set(_entry(part, condition).get("readings", ()))
    earlier: Reading | None = reading
    while earlier is not None and rests_on:
        if earlier.pk in rests_on:
            return True
        earlier = earlier.corrects
    return False


def _entry(part: Part, condition: str) -> Mapping[str, Any]:
    kept: Mapping[str, Any] = part.friction.get(condition, {})
    return kept
