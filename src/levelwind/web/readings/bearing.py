"""Which bearing ticks: what was heard of it, the form that asks for its insides, and a drawing of them to scale."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import cos, sin, tau
from typing import Any

from levelwind.core.quantities import whole
from levelwind.core.spin.options import INSIDES
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.stored import bearing_heard

PITCH_R = 50.0
"""Radius of the pitch circle in the drawing's own units."""
LIKELY = 0.5
"""A part is drawn as the one that ticks where that is likelier than not."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A bearing seen along its axis: balls on the pitch circle between two rings; ``ticks`` names a part, or none."""

    balls: tuple[tuple[float, float], ...]
    ball_r: float
    inner_r: float
    outer_r: float
    ticks: str


@dataclass(frozen=True, slots=True)
class PartHeard:
    """One part of a bearing, and the chance that it ticks."""

    name: str
    chance: float
    strikes_a_turn: float

    @property
    def bar(self) -> int:
        return whole(100 * self.chance)


@dataclass(frozen=True, slots=True)
class Heard:
    """What was heard of a bearing, the likeliest part first."""

    words: str
    parts: tuple[PartHeard, ...]
    cautions: tuple[str, ...]
    drawing: Drawing | None


def heard_in(reading: Reading) -> Heard | None:
    stored = bearing_heard(reading)
    if stored is None:
        return None
    parts = tuple(PartHeard(each.part, each.chance, each.strikes_a_turn) for each in stored.parts)
    ticks = parts[0].name if parts and parts[0].chance >= LIKELY else ""
    given = reading.analysis.get("given", {}).get("bearing")
    drawing = drawn(given, ticks) if given and parts else None
    return Heard(str(stored.words), parts, tuple(map(str, stored.cautions)), drawing)


def drawn(insides: Mapping[str, float], ticks: str) -> Drawing:
    """To scale.

    >>> drawing = drawn({"balls": 4, "ball_mm": 2.0, "pitch_mm": 10.0}, "cage")
    >>> drawing.ball_r, drawing.balls[0], drawing.inner_r
    (10.0, (50.0, 0.0), 40.0)
    """
    count, r = int(insides["balls"]), PITCH_R * insides["ball_mm"] / insides["pitch_mm"]
    angles = [tau * n / count for n in range(count)]
    balls = tuple((round(PITCH_R * cos(a), 2), round(PITCH_R * sin(a), 2)) for a in angles)
    return Drawing(balls, round(r, 2), round(PITCH_R - r, 2), round(PITCH_R + r, 2), ticks)


def insides_asked(reading: Reading, typed: Mapping[str, Any]) -> Mapping[str, Any]:
    """What stands in the form: as typed and refused, as said, as given, else as the pattern has it."""
    given = reading.analysis.get("given", {})
    said, pattern = reading.options.get("bearing") or given.get("bearing") or {}, reading.job.pattern
    known = {name: getattr(pattern, f"bearing_{name}", None) for name in INSIDES} if pattern else {}
    return {name: typed.get(name, said.get(name, known.get(name))) for name in INSIDES}
