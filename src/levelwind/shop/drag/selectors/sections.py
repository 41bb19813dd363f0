"""What else can be told of a stack: against turns of the star, through a run, what gives first, how high it stands."""

from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from levelwind.core.drag.draws import independent_product
from levelwind.core.drag.height import HeightCheck, Thickness, check_height
from levelwind.core.drag.model import WORKING, Stack
from levelwind.core.drag.weakest import Weakest, weakest
from levelwind.core.errors import LevelwindError, NotDeterminedError
from levelwind.shop.drag.selectors.drags import SEED, Reckoning
from levelwind.shop.drag.selectors.runs import RunSection, run_section
from levelwind.shop.drag.selectors.turns import TurnsSection, turns_section

NAMES = ("turns", "run", "strength", "height")


@dataclass(frozen=True, slots=True)
class Sections:
    """What each section tells, None where something is missing for it; ``lacks`` says what, by the section's name."""

    turns: TurnsSection | None
    run: RunSection | None
    strength: Weakest | None
    height: HeightCheck | None
    lacks: Mapping[str, str]


def sections(reckoning: Reckoning, old: Stack, wanted: Container[str] = NAMES) -> Sections:
    """The sections wanted, as far as what is known allows; ``old`` is the stack whose height the star is used to."""
    makers: dict[str, Callable[[], object]] = {
        "turns": lambda: turns_section(reckoning),
        "run": lambda: run_section(reckoning),
        "strength": lambda: strength_section(reckoning),
        "height": lambda: height_section(reckoning, old),
    }
    told: dict[str, Any] = dict.fromkeys(NAMES)
    lacks: dict[str, str] = {}
    for name, make in makers.items():
        try:
            told[name] = make() if name in wanted else None
        except LevelwindError as refusal:
            lacks[name] = str(refusal)
    return Sections(**told, lacks=lacks)


def strength_section(reckoning: Reckoning) -> Weakest:
    """Raises NotDeterminedError while no part behind the drag is measured."""
    line = reckoning.line
    if line is None:
        raise NotDeterminedError("The spool's sizes are not in the pattern book.")
    links = reckoning.setup.links(reckoning.reel.drive.handle_per_spool())
    if not links:
        raise NotDeterminedError("Measure the main gear, the dog, the gear sleeve or the handle arm: any one will do.")
    full, bare = (line.guides * 1000 / fill.radius_mm for fill in (line.fills[0], line.fills[-1]))
    return weakest(links, (full, bare), independent_product(reckoning.torque.run_in_Nm, reckoning.spool_per_drag))


def height_section(reckoning: Reckoning, old: Stack) -> HeightCheck:
    """The new washers and plates against the old ones, within what the star takes up."""
    setup = reckoning.setup
    lower, higher = setup.number("lower_mm"), setup.number("higher_mm")
    if lower is None or higher is None:
        raise NotDeterminedError("Say how much lower and how much higher a stack the star or knob can take up.")
    off = (setup.number("off_mm") or 0.0) / 1000
    before, after = _pieces(old, off), _pieces(reckoning.stack, off)
    rng = np.random.default_rng(SEED)
    return check_height(before, after, lower / 1000, higher / 1000, setup.shims(), rng, draws=4000)


def _pieces(stack: Stack, off_m: float) -> Sequence[Thickness]:
    return [
        Thickness(body.name, body.thickness_m, min(off_m, body.thickness_m / 2))
        for body in stack.bodies
        if body.kind in WORKING
    ]
