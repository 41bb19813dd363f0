"""Changes of a layer: a row added, said otherwise or taken out again. Each gives a new layer; none is touched."""

import re
from collections.abc import Collection, Mapping
from copy import deepcopy
from typing import Any

from levelwind.reference.families import caution_owed
from levelwind.reference.family_files import Values, changed_list
from levelwind.reference.layers import OWN, Layer

HEADING = {"places": "place", "takedown": "step"}
NOT_SAID = {"count": 1, "hazard": "none", "tool": "", "photo": "", "back": "", "after_any": []}
"""What a row means that does not say it."""
LONGEST_SLUG = 40
"""Letters of a name that its key keeps, so that the key stays well within what the book keeps of one."""


def own_key(name: str, taken: Collection[str]) -> str:
    """A key that no family has and nobody took yet.

    >>> own_key("Sleeve pin, long", ()), own_key("shim", {"own_shim", "own_shim_2"})
    ('own_sleeve_pin_long', 'own_shim_3')
    """
    slug = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")[:LONGEST_SLUG].strip("_") or "piece"
    key, number = f"{OWN}{slug}", 2
    while key in taken:
        key, number = f"{OWN}{slug}_{number}", number + 1
    return key


def row_added(layer: Layer, file: str, row: Values) -> Values:
    """One row more; it may say ``before`` or ``behind`` which it stands."""
    changed = deepcopy(dict(layer))
    changed.setdefault(file, {}).setdefault(HEADING[file], []).append(row)
    return changed


def row_said(layer: Layer, file: str, key: str, values: Mapping[str, Any], beneath: Values | None = None) -> Values:
    """Values of a row said anew: in the layer's own row, or as changes to the row ``beneath``.

    A list of a row beneath is kept as what is added and dropped, so that what is learnt beneath later still counts;
    of what comes off in a step the order counts too.
    """
    changed = deepcopy(dict(layer))
    own = own_row(changed, file, key)
    if own is not None:
        own.update(values)
        return changed
    rows = changed.setdefault(file, {}).setdefault("change", {}).setdefault(HEADING[file], {})
    said = rows.setdefault(key, {})
    for name, value in values.items():
        old = (beneath or {}).get(name, NOT_SAID.get(name))
        told = value
        if isinstance(value, list) and name != "after_any":
            told = _list_change(old or [], value, in_order=name == "frees")
        said[name] = told
        if beneath is not None and told in (old, {}):
            del said[name]
    if not said:
        del rows[key]
    return changed


def row_gone(layer: Layer, file: str, key: str) -> Values:
    """Without the layer's own row, or with the row beneath dropped."""
    changed = deepcopy(dict(layer))
    table, heading = changed.setdefault(file, {}), HEADING[file]
    if own_row(changed, file, key) is not None:
        table[heading] = [row for row in table[heading] if row["key"] != key]
        return _not_spoken_of(changed, key) if file == "places" else changed
    table.get("change", {}).get(heading, {}).pop(key, None)
    dropped = table.setdefault("drop", {}).setdefault(heading, [])
    if key not in dropped:
        dropped.append(key)
    return changed


def row_back(layer: Layer, file: str, key: str) -> Values:
    """With a row beneath that the layer had dropped."""
    changed = deepcopy(dict(layer))
    dropped = changed.get(file, {}).get("drop", {}).get(HEADING[file], [])
    if key in dropped:
        dropped.remove(key)
    return changed


def place_freed(layer: Layer, place: Values, step: Values, behind: str = "") -> Values:
    """The layer with one more place, which comes off in a step that is there, its caution ahead of it."""
    told = row_added(layer, "places", place)
    owed = [key for key in (caution_owed(place.get("hazard", "none"), place["kind"]),) if key]
    own = own_row(told, "takedown", step["key"])
    if own is not None:
        own["frees"] = changed_list(own["frees"], {"add": [place["key"]], "behind": behind}, "frees")
        own["cautions"] = changed_list(own.get("cautions", []), {"add": owed}, "cautions")
        return told
    said = told.setdefault("takedown", {}).setdefault("change", {}).setdefault("step", {}).setdefault(step["key"], {})
    said["frees"] = _added_to(said.get("frees", {}), [place["key"]], behind)
    if set(owed) - set(step.get("cautions", [])):
        said["cautions"] = _added_to(said.get("cautions", {}), owed, "")
    return told


def own_row(layer: Layer, file: str, key: str) -> Values | None:
    """The row of this key that the layer itself adds."""
    return next((row for row in layer.get(file, {}).get(HEADING[file], []) if row.get("key") == key), None)


def _added_to(said: Any, keys: list[str], behind: str) -> Any:
    if isinstance(said, list):
        return changed_list(said, {"add": keys, "behind": behind}, "frees")
    more = {**said, "add": changed_list(said.get("add", []), {"add": keys, "behind": behind}, "add")}
    return {**more, "behind": behind} if behind and behind not in said.get("add", []) else more


def _list_change(old: list[str], new: list[str], in_order: bool) -> Values:
    add, drop = [key for key in new if key not in old], [key for key in old if key not in new]
    change = {**({"add": add} if add else {}), **({"drop": drop} if drop else {})}
    return {**change, "order": new} if in_order and changed_list(old, change, "frees") != new else change


def _not_spoken_of(layer: Values, place: str) -> Values:
    """The layer without a word of a place of its own that is gone; a step that freed nothing else goes with it."""
    rows = [*layer.get("places", {}).get("place", []), *layer.get("takedown", {}).get("step", [])]
    for file in HEADING:
        rows += layer.get(file, {}).get("change", {}).get(HEADING[file], {}).values()
    for row in rows:
        for name in ("frees", "after", "look_alikes"):
            if isinstance(row.get(name), list):
                row[name] = [key for key in row[name] if key != place]
            elif name in row:
                row[name]["add"] = [key for key in row[name].get("add", []) if key != place]
                row[name] = {word: value for word, value in row[name].items() if value and value != place}
        if "after_any" in row:
            row["after_any"] = [[key for key in way if key != place] for way in row["after_any"]]
    takedown = layer.get("takedown", {})
    if "step" in takedown:
        takedown["step"] = [step for step in takedown["step"] if step["frees"]]
    return layer
