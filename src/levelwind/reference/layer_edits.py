"""What a person does to a pattern's or a build's places and steps, as changes of its layer. Nothing is checked here.

Each takes what lies under the layer and the layer as it is, and gives a new one; `Under.checked` judges it.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from levelwind.core.errors import InputError
from levelwind.reference.families import Family, caution_owed
from levelwind.reference.family_files import Values
from levelwind.reference.layer_changes import own_key, own_row, place_freed, row_added, row_back, row_gone, row_said
from levelwind.reference.layers import Layer, Under

PLACE_WORDS = ("name", "group", "kind", "count", "hazard", "renew", "clean", "measure")
STEP_WORDS = ("do", "tool", "minutes", "after", "after_any", "cautions", "photo", "back")


def place_said(under: Under, layer: Layer, key: str, values: Mapping[str, Any]) -> Values:
    """A place of this key said otherwise; ``look_alikes`` are told on both sides."""
    plain = {name: value for name, value in values.items() if name in PLACE_WORDS}
    changed = row_said(layer, "places", key, plain, _beneath(under, layer, "places", key))
    return _alike(under, changed, key, values["look_alikes"]) if "look_alikes" in values else changed


def place_added(under: Under, layer: Layer, place: Values, step: str, behind: str = "") -> Values:
    """One more place, which comes off in a step that is there, behind another of it."""
    return place_freed(layer, place, own_row(layer, "takedown", step) or _row(under, layer, "takedown", step), behind)


def place_twice(under: Under, layer: Layer, key: str, own: str, name: str) -> Values:
    """Another of the same, behind it in the step that frees it; the two are look-alikes."""
    place = {word: value for word, value in _row(under, layer, "places", key).items() if word != "look_alikes"}
    steps = under.values(layer)["takedown.toml"]["step"]
    step = next(row["key"] for row in steps if key in row["frees"])
    twin = {**place, "key": own, "name": name, "behind": key}
    changed = place_added(under, layer, twin, step, behind=key)
    alike = [*_row(under, layer, "places", key).get("look_alikes", []), key]
    return _alike(under, changed, own, alike)


def step_added(layer: Layer, step: Values, place: Values | None = None) -> Values:
    """A step of its own, and with it the place it frees."""
    return row_added(row_added(layer, "places", place) if place else layer, "takedown", step)


def step_said(under: Under, layer: Layer, key: str, values: Mapping[str, Any]) -> Values:
    """A step said otherwise. A place it comes to free is freed by no other; a step left with none goes.

    Places it freed already keep their order among themselves, whichever way they are given.
    """
    changed, step = layer, own_row(layer, "takedown", key) or _row(under, layer, "takedown", key)
    if "frees" in values:
        kept = [place for place in step["frees"] if place in values["frees"]]
        changed = freed_here(under, layer, key, [*kept, *(p for p in values["frees"] if p not in kept)])
    plain = {name: value for name, value in values.items() if name in STEP_WORDS}
    if _ways(plain) == _ways(step):
        plain.pop("after_any", None)
    return row_said(changed, "takedown", key, plain, _beneath(under, changed, "takedown", key))


def step_moved(layer: Layer, key: str, before: str) -> Values:
    """The step ahead of another in the order of a practised hand."""
    own = own_row(layer, "takedown", key)
    if own is not None:
        plain = {name: value for name, value in own.items() if name not in ("before", "behind")}
        return row_added(row_gone(layer, "takedown", key), "takedown", {**plain, "before": before})
    return row_said(layer, "takedown", key, {"before": before})


def step_back(under: Under, layer: Layer, key: str) -> Values:
    """With a step that was taken out. What it frees comes off there again, and in no other step."""
    back = row_back(layer, "takedown", key)
    frees = next((row["frees"] for row in under.values(back)["takedown.toml"]["step"] if row["key"] == key), None)
    return back if frees is None else freed_here(under, back, key, frees)


def steps_out(under: Under, layer: Layer) -> list[Values]:
    """The steps beneath that the layer took out."""
    gone = layer.get("takedown", {}).get("drop", {}).get("step", [])
    return [row for row in under.values({})["takedown.toml"]["step"] if row["key"] in gone]


def piece_moved(under: Under, layer: Layer, step: str, place: str, ahead: bool) -> Values:
    """A place one earlier or later among what comes off in a step; the first and the last stay where they are."""
    frees = list(_row(under, layer, "takedown", step)["frees"])
    if place not in frees:
        raise InputError("place", repr(place[:60]), "one that comes off in this step: " + ", ".join(frees))
    spot = frees.index(place)
    frees.insert(max(0, spot - 1) if ahead else spot + 1, frees.pop(spot))
    return row_said(layer, "takedown", step, {"frees": frees}, _beneath(under, layer, "takedown", step))


def gate_added(layer: Layer, step: str, gate: Values) -> Values:
    """One more question of the rebuild at this step."""
    changed = row_said(layer, "takedown", step, {})
    row = _said_of(changed, step)
    row["gate"] = [*row.get("gate", []), gate]
    return changed


def gate_gone(layer: Layer, step: str, key: str) -> Values:
    """The step without this question."""
    changed = row_said(layer, "takedown", step, {})
    row = _said_of(changed, step)
    own = [gate for gate in row.get("gate", []) if gate["key"] != key]
    if len(own) == len(row.get("gate", [])) and own_row(changed, "takedown", step) is None:
        row["drop"] = {"gate": [*row.get("drop", {}).get("gate", []), key]}
    else:
        row["gate"] = own
    return changed


def gate_key(ask: str, kin: Family) -> str:
    """A key for a question that nobody took yet."""
    return own_key(ask, {gate.key for step in kin.rules.steps for gate in step.gates})


def remarks(kin: Family) -> tuple[str, ...]:
    """What a takedown can be done with, and should not be left with: a sentence each."""
    told = [f"“{step.do}” names no tool." for step in kin.rules.steps if not step.tool]
    alike = {place.key for place in kin.places if place.look_alikes}
    for step in kin.rules.steps:
        if not alike & set(step.frees):
            asks = [gate.ask for gate in step.gates if gate.key.endswith("_told_apart")]
            told += [f"“{ask}” cannot be met: nothing here looks like what comes off in its step." for ask in asks]
    return tuple(told)


def unwarned(under: Under, layer: Layer) -> tuple[str, ...]:
    """Every step that frees a spring, a clip, a sharp edge or an old friction washer without its caution."""
    values = under.values(layer)
    owed = {
        row["key"]: (row["name"], caution_owed(row.get("hazard", "none"), row["kind"]))
        for row in values["places.toml"]["place"]
    }
    told = []
    for step in values["takedown.toml"]["step"]:
        lacking = [owed[key] for key in step["frees"] if key in owed]
        told += [
            f"“{step['do']}” frees the {name} without the caution on {caution.replace('_', ' ')} ahead of it."
            for name, caution in lacking
            if caution and caution not in step.get("cautions", [])
        ]
    return tuple(told)


def _row(under: Under, layer: Layer, file: str, key: str) -> Values:
    rows = under.values(layer)[f"{file}.toml"]["place" if file == "places" else "step"]
    return next(row for row in rows if row["key"] == key)


def _beneath(under: Under, layer: Layer, file: str, key: str) -> Values | None:
    """The row as the family has it; None for a row of the layer's own."""
    return None if own_row(layer, file, key) is not None else _row(under, {}, file, key)


def _ways(step: Mapping[str, Any]) -> set[frozenset[str]]:
    return {frozenset(way) for way in step.get("after_any", [])}


def _said_of(layer: Values, step: str) -> Values:
    own = own_row(layer, "takedown", step)
    if own is not None:
        return own
    rows: Values = layer.setdefault("takedown", {}).setdefault("change", {}).setdefault("step", {})
    said: Values = rows.setdefault(step, {})
    return said


def _alike(under: Under, layer: Layer, key: str, wanted: Sequence[str]) -> Values:
    changed: Values = dict(layer)
    for row in under.values(layer)["places.toml"]["place"]:
        old = row.get("look_alikes", [])
        if row["key"] == key:
            new = list(wanted)
        elif row["key"] in wanted:
            new = old if key in old else [*old, key]
        else:
            new = [other for other in old if other != key]
        if new != old:
            beneath = _beneath(under, changed, "places", row["key"])
            changed = row_said(changed, "places", row["key"], {"look_alikes": new}, beneath)
    return changed


def freed_here(under: Under, layer: Layer, key: str, frees: Sequence[str]) -> Values:
    """The places come off in this step and in no other; a step left with none goes."""
    changed: Values = dict(layer)
    for row in under.values(layer)["takedown.toml"]["step"]:
        new = [place for place in row["frees"] if place not in frees]
        if row["key"] == key or new == row["frees"]:
            continue
        if new:
            beneath = _beneath(under, changed, "takedown", row["key"])
            changed = row_said(changed, "takedown", row["key"], {"frees": new}, beneath)
        else:
            changed = row_gone(changed, "takedown", row["key"])
    return row_said(changed, "takedown", key, {"frees": list(frees)}, _beneath(under, changed, "takedown", key))
