"""A layer made by taking a reel apart for the first time: the pieces as they came out are its places, in that order.

Nothing of the family's own takedown is left: what was not met is not there, and each step comes after the one before.
A piece that the family has too keeps the family's key, so that its hunches, its oil and its fits still speak of it.
"""

from collections.abc import Iterable
from difflib import SequenceMatcher, get_close_matches
from typing import Any

from levelwind.reference.families import Family, FamilyPlace, caution_owed
from levelwind.reference.family_files import Values
from levelwind.reference.layers import Layer

CLOSE = 0.85
"""How alike a typed name and a family's must be, of 1, to mean one place: "drag knobs" is "drag knob"; our choice."""


def place_meant(kin: Family, name: str, taken: Iterable[str]) -> FamilyPlace | None:
    """The family's place that a name means, by its name or the words of its key, where it was not met yet.

    >>> from levelwind.reference.families import family
    >>> place_meant(family("star_drag"), "Main gears", ()).key, place_meant(family("star_drag"), "star spring", ()).key
    ('main_gear', 'star_springs')
    """
    left = [place for place in kin.places if place.key not in set(taken)]
    names = {place.key.replace("_", " "): place for place in left} | {place.name.lower(): place for place in left}
    close = get_close_matches(" ".join(name.lower().split()), names, 1, CLOSE)
    return names[close[0]] if close else None


def same_name(one: str, other: str) -> bool:
    """Whether two names mean the same piece, an ending or a slip apart.

    >>> same_name("Bridge screws", "bridge  screw"), same_name("bridge screw", "bridge spring")
    (True, False)
    """
    first, second = (" ".join(name.lower().split()) for name in (one, other))
    return SequenceMatcher(None, first, second).ratio() >= CLOSE


def steps_of(says: Layer) -> list[Values]:
    """The steps recorded so far, the first first."""
    return [dict(step) for step in says.get("takedown", {}).get("step", [])]


def own_places_of(says: Layer) -> list[Values]:
    """The places recorded so far that the family does not have."""
    return [dict(place) for place in says.get("places", {}).get("place", [])]


def counts_of(says: Layer) -> dict[str, int]:
    """How many there are of places that the family has, where that is another number."""
    changes = says.get("places", {}).get("change", {}).get("place", {})
    return {key: change["count"] for key, change in changes.items() if "count" in change}


def layer_of(kin: Family, steps: Iterable[Values], own: Iterable[Values], counts: dict[str, int]) -> dict[str, Any]:
    """What a pattern says whose reel came apart in these steps; nothing, where there is none yet.

    ``own`` are places that the family lacks; those that no step frees are left out.
    """
    steps = list(steps)
    met = {key for step in steps for key in step["frees"]}
    if not met:
        return {}
    own = [place for place in own if place["key"] in met]
    kinds = {place.key: (place.hazard, place.kind) for place in kin.places}
    kinds |= {place["key"]: (place.get("hazard", "none"), place["kind"]) for place in own}
    before: list[str] = []
    rows = []
    for step in steps:
        owed = {caution_owed(*kinds[key]) for key in step["frees"]} - {""}
        rows.append({**step, "after": before, "cautions": sorted(owed)})
        before = list(step["frees"])
    return {
        "places": {
            "drop": {"place": [place.key for place in kin.places if place.key not in met]},
            "change": {"place": {key: {"count": count} for key, count in counts.items() if key in met}},
            "place": own,
        },
        "takedown": {"drop": {"step": [step.key for step in kin.rules.steps]}, "step": rows},
    }
