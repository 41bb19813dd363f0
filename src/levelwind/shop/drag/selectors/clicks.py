"""The click and pawl of a spool: how the pull rises and falls as its teeth pass."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.click import ripple
from levelwind.core.drag.click_report import click_row, click_sentence
from levelwind.core.drag.report import Worked
from levelwind.core.drag.rings import Floats
from levelwind.core.errors import NotDeterminedError
from levelwind.core.line import radius_at_length_m
from levelwind.shop.drag.selectors.drags import Reel, filled_of, roller_of
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.models import Pattern

TEETH = 3
"""Teeth drawn: enough to see that it comes again."""


@dataclass(frozen=True, slots=True)
class ClickSection:
    """Torque at the spool over a few teeth, by its corners, in words, and how its mean was worked out.

    ``per_torque`` is line tension for one N m with the spool full and near empty; None while the spool is not measured.
    """

    turned_deg: Floats
    torque_Nm: Floats
    mean_Nm: float
    peak_Nm: float
    sentence: str
    worked: Worked
    per_torque: tuple[float, float] | None


def clicks_alone(pattern: Pattern, reel: Reel) -> bool:
    """Whether nothing but the click holds the spool: there is no stack to lay out."""
    return not pattern.drag and not reel.family.drag["bodies"]


def click_section(reel: Reel, setup: Setup) -> ClickSection:
    """Raises NotDeterminedError for a family without a click."""
    click = reel.family.click
    if click is None:
        raise NotDeterminedError("Nothing clicks in this kind of reel.")
    turned = ripple(click)
    pitch = 360 / click.teeth
    starts = np.repeat(np.arange(TEETH) * pitch, len(turned.angle_rad))
    return ClickSection(
        turned_deg=starts + np.tile(np.degrees(turned.angle_rad), TEETH),
        torque_Nm=np.tile(turned.torque_Nm, TEETH),
        mean_Nm=turned.mean_Nm,
        peak_Nm=turned.peak_Nm,
        sentence=click_sentence(click, turned),
        worked=click_row(click, turned),
        per_torque=_per_torque(reel, setup),
    )


def _per_torque(reel: Reel, setup: Setup) -> tuple[float, float] | None:
    filled = filled_of(reel, setup)
    if filled is None:
        return None
    full, bare = (float(radius_at_length_m(filled, share * filled.length_m)) for share in (1.0, 0.1))
    return roller_of(setup) / full, roller_of(setup) / bare
