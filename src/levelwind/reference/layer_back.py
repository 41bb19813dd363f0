"""Places and steps of a layer's own that went out of it: kept beside it, so that they come back as they were."""

from collections.abc import Sequence

from levelwind.core.errors import InputError
from levelwind.reference.family_files import Values
from levelwind.reference.layer_changes import HEADING, own_row, place_freed, row_added
from levelwind.reference.layer_edits import freed_here, place_said, step_back, steps_out
from levelwind.reference.layers import Layer, Under

LaidBy = Sequence[Values]
"""Rows that went out, the oldest first: the ``file`` and the ``row``; of a place the ``step`` it came off in, and
behind which other place."""


def laid_by(under: Under, kept: LaidBy, before: Layer, after: Layer) -> list[Values]:
    """What is kept once a change is made: with what it took out, without what it brought back."""
    left = [one for one in kept if own_row(after, one["file"], one["row"]["key"]) is None]
    steps = under.values(before)["takedown.toml"]["step"]
    for file, heading in HEADING.items():
        for row in before.get(file, {}).get(heading, []):
            if own_row(after, file, row["key"]) is None:
                left.append({"file": file, "row": row, **(_came_off(steps, row["key"]) if file == "places" else {})})
    return left


def own_back(under: Under, layer: Layer, kept: LaidBy, file: str, key: str) -> Values:
    """The layer with a row of its own that went out, and with the step or the places that it cannot be without.

    Raises InputError where it never went out, or what it hung on is gone for good.
    """
    one = _kept(kept, file, key)
    if one is None:
        raise InputError("what comes back", repr(key[:60]), "a place or a step that was taken out")
    return _place_back(under, layer, kept, one) if file == "places" else _step_back(under, layer, kept, one["row"])


def _kept(kept: LaidBy, file: str, key: str) -> Values | None:
    return next((one for one in reversed(kept) if one["file"] == file and one["row"]["key"] == key), None)


def _came_off(steps: Sequence[Values], place: str) -> dict[str, str]:
    step = next((row for row in steps if place in row["frees"]), None)
    if step is None:
        return {"step": "", "behind": ""}
    spot = step["frees"].index(place)
    return {"step": step["key"], "behind": step["frees"][spot - 1] if spot else ""}


def _place_back(under: Under, layer: Layer, kept: LaidBy, one: Values) -> Values:
    row, key = one["row"], one["step"]
    step = _step(under, layer, key)
    if step is None and any(out["key"] == key for out in steps_out(under, layer)):
        layer = step_back(under, layer, key)
        step = _step(under, layer, key)
    if step is None:
        own = _kept(kept, "takedown", key)
        if own is None:
            raise InputError("step", repr(key), f"one of this reel: the step in which {row['name']} came off is gone")
        return _step_back(under, layer, kept, {**own["row"], "frees": [row["key"]]})
    behind = one["behind"] if one["behind"] in step["frees"] else ""
    return _alike_again(under, place_freed(layer, _anchored(under, layer, "places", row), step, behind), row)


def _step_back(under: Under, layer: Layer, kept: LaidBy, row: Values) -> Values:
    changed: Values = dict(layer)
    places = []
    for key in row["frees"]:
        own = _kept(kept, "places", key)
        if own is not None and key not in _keys(under, changed, "places"):
            changed = row_added(changed, "places", _anchored(under, changed, "places", own["row"]))
            places.append(own["row"])
    there = _keys(under, changed, "places") | {place["key"] for place in places}
    frees = [key for key in row["frees"] if key in there]
    if not frees:
        raise InputError("step", repr(row["do"][:60]), "one whose pieces are in this reel: bring them back first")
    bare = _anchored(under, layer, "takedown", row)
    bare |= {"after": [key for key in bare.get("after", []) if key in there]}
    changed = freed_here(under, row_added(changed, "takedown", {**bare, "frees": []}), row["key"], frees)
    for place in places:
        changed = _alike_again(under, changed, place)
    return changed


def _alike_again(under: Under, layer: Layer, row: Values) -> Values:
    """What the place can be mistaken for, told on both sides, as far as it is there."""
    alike = [key for key in row.get("look_alikes", []) if key in _keys(under, layer, "places")]
    return place_said(under, layer, row["key"], {"look_alikes": alike}) if "look_alikes" in row else dict(layer)


def _anchored(under: Under, layer: Layer, file: str, row: Values) -> Values:
    known = _keys(under, layer, file)
    return {name: value for name, value in row.items() if name not in ("before", "behind") or value in known}


def _keys(under: Under, layer: Layer, file: str) -> set[str]:
    return {row["key"] for row in under.values(layer)[f"{file}.toml"][HEADING[file]]}


def _step(under: Under, layer: Layer, key: str) -> Values | None:
    return next((row for row in under.values(layer)["takedown.toml"]["step"] if row["key"] == key), None)
