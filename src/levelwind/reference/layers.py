"""What a pattern, a build of it, or one reel says otherwise than the family beneath it.

A layer is a table by file ("places", "takedown", "lubrication"), each with the rows it drops, changes and adds, in the
words in which a family is written as another one: one law for a family over a family, a pattern over a family, a build
over a pattern and one reel over its build. A layer is kept in the book for years, while what is beneath it may change:
it holds as far as what it speaks of is there (`laid_out`). What is newly said is held to every word (`Under.checked`).
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from levelwind.core.errors import InputError
from levelwind.reference.families import Family, family, family_laid_out, family_values
from levelwind.reference.family_files import Values, changed_list, files_laid_over, row_keys

Layer = Mapping[str, Any]

HEADINGS = {"places": ("place",), "takedown": ("step", "finish"), "lubrication": ("point",)}
"""The files of a layer, and the rows each may hold."""
FILES = tuple(f"{name}.toml" for name in HEADINGS)
LISTS_OF_PLACES = ("frees", "after", "look_alikes")
OWN = "own_"
"""How the key of a row begins that no family has: a family that learns more later never meets it."""


def laid_out(key: str, layers: Iterable[Layer]) -> Family:
    """The family with these layers over it, the first lowest.

    Raises InputError where what is left of them cannot be taken apart.
    """
    return _laid_out(key, tuple(json.dumps(layer, sort_keys=True) for layer in layers if layer))


@dataclass(frozen=True, slots=True)
class Under:
    """What a layer lies on: a family by its key, and the layers between, the first lowest."""

    family: str
    layers: tuple[Layer, ...] = ()

    def values(self, layer: Layer) -> dict[str, Values]:
        """What the files say with the layer on top, as far as it goes."""
        return values_beneath(self.family, [*self.layers, layer])

    def laid_out(self, layer: Layer) -> Family:
        """The same as a family, as far as the layer goes."""
        return laid_out(self.family, [*self.layers, layer])

    def checked(self, layer: Layer, who: str) -> Family:
        """The same with every word of the layer held to. ``who`` says it, for the refusals."""
        beneath = values_beneath(self.family, self.layers)
        whole = _with_their_steps(beneath, _by_file(layer))
        return family_laid_out(family(self.family), who, files_laid_over(who, beneath, whole))


def values_beneath(key: str, layers: Iterable[Layer]) -> dict[str, Values]:
    """What the files say with these layers laid over them."""
    whole = family_values(key)
    values = {file: whole[file] for file in FILES}
    for layer in layers:
        own = _with_their_steps(values, _as_far_as_it_goes(values, _by_file(layer)))
        values = files_laid_over("this reel", values, own)
    return values


@lru_cache(maxsize=1024)
def _laid_out(key: str, layers: tuple[str, ...]) -> Family:
    if not layers:
        return family(key)
    return family_laid_out(family(key), "this reel", values_beneath(key, [json.loads(layer) for layer in layers]))


def _by_file(layer: Layer) -> dict[str, Values]:
    return {f"{name}.toml": dict(table) for name, table in layer.items()}


def _as_far_as_it_goes(beneath: Mapping[str, Values], own: Mapping[str, Values]) -> dict[str, Values]:
    """The layer without what it says of rows and places that are not there, or adds though they are."""
    places = row_keys(beneath["places.toml"], "place") | row_keys(own.get("places.toml", {}), "place")
    places -= set(own.get("places.toml", {}).get("drop", {}).get("place", ()))
    kept: dict[str, Values] = {}
    for name, headings in HEADINGS.items():
        file = f"{name}.toml"
        if file in own:
            kept[file] = _table_that_holds(own[file], beneath[file], headings, places)
    return kept


def _table_that_holds(own: Values, beneath: Values, headings: Iterable[str], places: frozenset[str]) -> Values:
    kept: Values = {}
    drop, change = own.get("drop", {}), own.get("change", {})
    for heading in headings:
        there = row_keys(beneath, heading)
        new = [row for row in own.get(heading, []) if row.get("key", row.get("point")) not in there]
        known = there.union(row.get("key", row.get("point")) for row in new)
        rows = [_row_that_holds(row, known, places) for row in new]
        kept[heading] = [row for row in rows if row.get("frees") != [] and row.get("place", "") in {"", *places}]
        kept.setdefault("drop", {})[heading] = [key for key in drop.get(heading, []) if key in there]
        kept.setdefault("change", {})[heading] = {
            key: _row_that_holds(values, known, places)
            for key, values in change.get(heading, {}).items()
            if key in there and key not in drop.get(heading, [])
        }
    return kept


def _row_that_holds(row: Values, known: frozenset[str], places: frozenset[str]) -> Values:
    held = {key: value for key, value in row.items() if key not in ("before", "behind") or value in known}
    for name in LISTS_OF_PLACES:
        if isinstance(row.get(name), list):
            held[name] = [key for key in row[name] if key in places]
        elif name in row:
            held[name] = {**row[name], "add": [key for key in row[name].get("add", []) if key in places]}
    if "after_any" in row:
        held["after_any"] = [[key for key in way if key in places] for way in row["after_any"]]
    return held


def _with_their_steps(beneath: Mapping[str, Values], own: dict[str, Values]) -> dict[str, Values]:
    """The layer with what follows from the places it drops: no step frees them, and one that freed no more goes."""
    gone = frozenset(own.get("places.toml", {}).get("drop", {}).get("place", ()))
    if not gone:
        return own
    said = own.get("takedown.toml", {})
    drop, change = dict(said.get("drop", {})), dict(said.get("change", {}))
    dropped, changes = list(drop.get("step", [])), dict(change.get("step", {}))
    for step in beneath["takedown.toml"].get("step", []):
        key, change_of = step["key"], dict(changes.get(step["key"], {}))
        if key in dropped or not gone & set(step["frees"]):
            continue
        left = [place for place in _frees(step, change_of) if place not in gone]
        if left:
            changes[key] = {**change_of, "frees": left}
        else:
            dropped.append(key)
            changes.pop(key, None)
    takedown = {**said, "drop": {**drop, "step": dropped}, "change": {**change, "step": changes}}
    return {**own, "takedown.toml": takedown}


def _frees(step: Values, change: Values) -> list[str]:
    frees = change.get("frees", {})
    return changed_list(step["frees"], frees, "frees") if isinstance(frees, dict) else list(frees)


def refuse_misshapen(layer: object, who: str) -> None:
    """Raises InputError for a layer from outside that is not made of tables, texts, numbers and lists of texts."""
    if not isinstance(layer, dict) or not all(isinstance(table, dict) for table in layer.values()):
        raise InputError(who, repr(layer)[:60], "tables of places, takedown and lubrication")
    strange = sorted(set(layer) - set(HEADINGS))
    if strange:
        raise InputError(who, ", ".join(strange)[:60], "tables of " + ", ".join(HEADINGS))
    rows = {heading for headings in HEADINGS.values() for heading in headings} | {"gate"}
    waiting: list[tuple[str, Any, int]] = [(name, table, 0) for name, table in layer.items()]
    while waiting:
        name, value, depth = waiting.pop()
        _refuse_value(name, value, depth, who, rows)
        if isinstance(value, dict):
            waiting += (("drop" if name == "drop" else key, part, depth + 1) for key, part in value.items())
        elif isinstance(value, list):
            waiting += ((name, part, depth + 1) for part in value if isinstance(part, dict))


DEEPEST = 9
"""Tables within tables of a layer: a changed gate of a changed step is the deepest that means something."""
LONGEST_TEXT = 600
"""Letters of one text of a layer. Our choice: several times the longest sentence of a family."""
LONGEST_KEY = 60
"""Letters of a row's key: what the book keeps of a place or step."""
LONGEST_NAME = 120
"""Letters of a place's name: what the book keeps of a piece's."""


def _refuse_value(name: str, value: object, depth: int, who: str, rows: set[str]) -> None:
    what = f"{who}: {name}"[:160]
    if depth > DEEPEST:
        raise InputError(what, "a table within tables", f"no more than {DEEPEST} of them")
    if isinstance(value, str):
        longest = {"key": LONGEST_KEY, "point": LONGEST_NAME, "name": LONGEST_NAME}.get(name, LONGEST_TEXT)
        if len(value) > longest:
            raise InputError(what, f"{len(value)} letters", f"up to {longest}")
    if isinstance(value, list) and not _is_plain(value) and not (name in rows and _are(value, dict)):
        raise InputError(what, repr(value)[:60], "a list of texts")
    if name == "key" and not (isinstance(value, str) and value.isascii() and value.replace("_", "a").isalnum()):
        raise InputError(what, repr(value)[:60], "letters, digits and _")


def _is_plain(values: list[Any]) -> bool:
    return _are(values, str) or all(isinstance(value, list) and _are(value, str) for value in values)


def _are(values: list[Any], kind: type) -> bool:
    return all(isinstance(value, kind) for value in values)
