"""What is wrong, or could be better, with what a pattern says: looked at before it is kept, and while it is typed."""

from dataclasses import dataclass

from levelwind.core.errors import LevelwindError
from levelwind.reference.layer_edits import remarks, unwarned
from levelwind.reference.layers import Layer, checked, refuse_misshapen
from levelwind.shop.models import Pattern
from levelwind.shop.patterns.selectors.layouts import pattern_family

LEVEL_WIND = "level_wind"
"""The assembly that many reels of a family lack as a whole."""


@dataclass(frozen=True, slots=True)
class Findings:
    """Sentences: ``refusals`` stand in the way of keeping it, ``remarks`` do not."""

    refusals: tuple[str, ...]
    remarks: tuple[str, ...]


def pattern_findings(pattern: Pattern, says: Layer) -> Findings:
    """What would be found if the pattern said this."""
    who = f"the {pattern}"
    try:
        refuse_misshapen(says, who)
        lacking = unwarned(pattern.family, says)
        return Findings(lacking, ()) if lacking else Findings((), remarks(checked(pattern.family, [], says, who)))
    except LevelwindError as refusal:
        return Findings((str(refusal),), ())


def has_level_wind(pattern: Pattern) -> bool | None:
    """Whether any place of the level wind is there; None in a family that has no such assembly."""
    places = [place.key for place in pattern_family(pattern).places if place.group == LEVEL_WIND]
    if not places:
        return None
    return pattern.places.filter(key__in=places, absent=True).count() < len(places)
