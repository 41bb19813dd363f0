"""What is wrong, or could be better, with what a pattern says: looked at before it is kept, and while it is typed."""

from dataclasses import dataclass

from levelwind.core.errors import LevelwindError
from levelwind.reference.layer_edits import remarks, unwarned
from levelwind.reference.layers import Layer, refuse_misshapen
from levelwind.shop.models import Build, Pattern
from levelwind.shop.patterns.selectors.layouts import pattern_family, under

LEVEL_WIND = "level_wind"
"""The assembly that many reels of a family lack as a whole."""


@dataclass(frozen=True, slots=True)
class Findings:
    """Sentences: ``refusals`` stand in the way of keeping it, ``remarks`` do not."""

    refusals: tuple[str, ...]
    remarks: tuple[str, ...]


def findings(one: Pattern | Build, says: Layer) -> Findings:
    """What would be found if the pattern, or the build of one, said this."""
    who, beneath = f"the {one}", under(one)
    try:
        refuse_misshapen(says, who)
        lacking = unwarned(beneath, says)
        return Findings(lacking, ()) if lacking else Findings((), remarks(beneath.checked(says, who)))
    except LevelwindError as refusal:
        return Findings((str(refusal),), ())


def has_level_wind(pattern: Pattern) -> bool | None:
    """Whether any place of the level wind is there; None in a family that has no such assembly."""
    places = [place.key for place in pattern_family(pattern).places if place.group == LEVEL_WIND]
    if not places:
        return None
    return pattern.places.filter(key__in=places, absent=True).count() < len(places)
