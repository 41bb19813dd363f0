"""The TOML files of a family, laid over those of the family it is written as: ``like = "other_family"``.

A family that differs from another in a few things says only these. In each of its files ``[drop]`` takes rows of the
other family's file out, ``[change.step.KEY]`` says a row's values anew, and a row of its own is added, at the end or
``before`` or ``behind`` a row that is there; a changed row that says so moves there. A list of a row is said whole, or
as ``{add = [...], behind = "...", drop = [...], order = [...]}``. What was dropped is forgotten where it was only
spoken of: nothing waits for it or is mistaken for it, it needs no oil, and what can only go wrong with it goes wrong no
more. A step that still frees it is refused. See docs/how-to/add-a-family.md.
"""

from collections.abc import Iterable, Mapping
from importlib.resources.abc import Traversable
from typing import Any

from levelwind.core.errors import InputError
from levelwind.reference.toml_rows import read_toml

FILES = ("family.toml", "places.toml", "takedown.toml", "lubrication.toml", "drag.toml", "hunches.toml")
ROWS = ("assembly", "place", "step", "finish", "point", "fault", "look", "said")
"""Headings of a file's tables that are one row each, known by their ``key``, a lubrication point by its ``point``."""
ROWS_OF_A_ROW = ("gate", "finding")
"""Headings of the rows that a row holds."""

SPEAK_OF_PLACES = (
    ("places.toml", "place", "look_alikes"),
    ("takedown.toml", "step", "after"),
    ("takedown.toml", "step", "after_any"),
)
"""Lists of rows that only speak of places, by file and heading: what is dropped is forgotten there."""
LIST_CHANGES = frozenset({"add", "behind", "drop", "order"})
"""How a list of a row is changed without being said whole."""

Values = dict[str, Any]


def family_files(folder: Traversable, among: Traversable, line: tuple[str, ...] = ()) -> dict[str, Values]:
    """What a family's files say, by file, with those of the family it is like beneath.

    ``among`` holds the folders of all families; ``line`` the families that led here. Raises InputError that names the
    file, the key and what is allowed.
    """
    own = {name: _read(folder, name) for name in FILES}
    like = own["family.toml"].pop("like", None)
    if like is None:
        return own
    where, line = f"{folder.name}/family.toml: like", (*line, folder.name)
    if like in line:
        raise InputError(where, " is like ".join((*line, str(like))), "a family that is not written as this one")
    known = sorted(entry.name for entry in among.iterdir() if entry.joinpath("family.toml").is_file())
    if like not in known:
        raise InputError(where, repr(like), "one of " + ", ".join(known))
    base = family_files(among.joinpath(like), among, line)
    return files_laid_over(folder.name, base, own)


def written_like(folder: Traversable) -> str | None:
    """The key of the family that this one is written as like; None where it stands by itself."""
    like = _read(folder, "family.toml").get("like")
    return None if like is None else str(like)


def laid_over(base: Mapping[str, Any], own: Mapping[str, Any], where: str, headings: tuple[str, ...] = ROWS) -> Values:
    """One table with another's changes laid over it. ``where`` names the changes for the refusals; neither is touched.

    Rows are dropped, changed and added by key; any other value of ``own`` takes the place of the one beneath.

    >>> base = {"name": "old", "place": [{"key": "lid"}, {"key": "arm", "count": 1}]}
    >>> own = {"drop": {"place": ["lid"]}, "change": {"place": {"arm": {"count": 2}}}, "place": [{"key": "pin"}]}
    >>> laid_over(base, own, "x")
    {'name': 'old', 'place': [{'key': 'arm', 'count': 2}, {'key': 'pin'}]}
    """
    plain = {key: value for key, value in own.items() if key not in (*headings, "drop", "change")}
    laid = {**base, **plain}
    drops, changes = _of_rows(own, "drop", where, headings), _of_rows(own, "change", where, headings)
    for heading in headings:
        if heading in own or heading in drops or heading in changes:
            kept = _dropped(_rows(base, heading, where), drops.get(heading, []), f"{where}: drop.{heading}")
            kept = _changed(kept, changes.get(heading, {}), f"{where}: change.{heading}")
            laid[heading] = _added(kept, _rows(own, heading, where), f"{where}, {heading}")
    return laid


def files_laid_over(who: str, base: Mapping[str, Values], own: Mapping[str, Values]) -> dict[str, Values]:
    """These files of a family with those of ``who`` laid over them; a file that says nothing may be lacking."""
    laid = {name: laid_over(table, own.get(name, {}), f"{who}/{name}") for name, table in base.items()}
    gone = row_keys(base["places.toml"], "place") - row_keys(laid["places.toml"], "place")
    for name, heading, told in SPEAK_OF_PLACES:
        if heading in laid[name]:
            laid[name][heading] = [_without(row, told, gone) for row in laid[name][heading]]
    oil = laid["lubrication.toml"]
    if "point" in oil:
        oil["point"] = [row for row in oil["point"] if row.get("place") not in gone]
    if "hunches.toml" in laid:
        laid["hunches.toml"] = _hunches_without(laid["hunches.toml"], gone, row_keys(base["hunches.toml"], "fault"))
    return laid


def _hunches_without(net: Values, gone: frozenset[str], faults: frozenset[str]) -> Values:
    """A fault of no place that is there, a finding no fault brings about, and a look that shows nothing, are left out.

    ``faults`` are those of the family beneath.
    """
    kept = _without(net, "opening", gone)
    if "fault" in net:
        kept["fault"] = _that_keep("places", net["fault"], gone)
    gone_faults = faults - row_keys(kept, "fault")
    if "look" in net:
        looks = [
            {**look, "finding": _that_keep("links", look["finding"], gone_faults)} if look.get("finding") else look
            for look in _that_keep("reach", net["look"], gone)
        ]
        kept["look"] = [look for look in looks if look.get("finding") != []]
    if "said" in net:
        kept["said"] = _that_keep("links", net["said"], gone_faults)
    return kept


def _read(folder: Traversable, name: str) -> Values:
    file = folder.joinpath(name)
    return read_toml(f"{folder.name}/{name}", file.read_text(encoding="utf-8")).values if file.is_file() else {}


def row_keys(table: Mapping[str, Any], heading: str) -> frozenset[str]:
    """The keys of a table's rows of this heading."""
    return frozenset(_key(row) for row in table.get(heading, []))


def _key(row: Values) -> str:
    return str(row.get("key", row.get("point", "")))


def _of_rows(own: Mapping[str, Any], word: str, where: str, headings: tuple[str, ...]) -> Values:
    """The table [drop] or [change], which speaks of rows alone."""
    table = own.get(word, {})
    strange = sorted(set(table) - set(headings)) if isinstance(table, dict) else [repr(table)]
    if strange:
        raise InputError(f"{where}: {word}", ", ".join(strange), "a table of " + ", ".join(headings))
    return dict(table)


def _rows(table: Mapping[str, Any], heading: str, where: str) -> list[Values]:
    rows = table.get(heading, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{where}: {heading}", repr(rows), f"tables headed [[{heading}]]")
    return rows


def _refuse_unknown(what: str, keys: Iterable[str], rows: list[Values]) -> None:
    known = [_key(row) for row in rows]
    unknown = [str(key) for key in keys if key not in known]
    if unknown:
        raise InputError(what, ", ".join(unknown), "one of " + ", ".join(known))


def _dropped(rows: list[Values], keys: list[str], what: str) -> list[Values]:
    if not isinstance(keys, list):
        raise InputError(what, repr(keys), "a list of keys")
    _refuse_unknown(what, keys, rows)
    return [row for row in rows if _key(row) not in keys]


def _changed(rows: list[Values], changes: Mapping[str, Any], what: str) -> list[Values]:
    if not isinstance(changes, dict) or not all(isinstance(change, dict) for change in changes.values()):
        raise InputError(what, repr(changes), f"tables headed [{what.rpartition(' ')[2]}.KEY]")
    _refuse_unknown(what, changes, rows)
    laid = [
        _changed_row(row, changes[_key(row)], f"{what}.{_key(row)}") if _key(row) in changes else row for row in rows
    ]
    for key, change in changes.items():
        if "before" in change or "behind" in change:
            moved = next(row for row in laid if _key(row) == key)
            laid.remove(moved)
            laid.insert(_spot(change, laid, f"{what}.{key}"), moved)
    return laid


def _changed_row(row: Values, change: Values, where: str) -> Values:
    """A row's values said anew: what it holds as a table (links, parts) key by key, a list too where it says so."""
    plain = {key: value for key, value in change.items() if key not in ("before", "behind")}
    for key, value in plain.items():
        if key in ("drop", "change") or not isinstance(value, dict):
            continue
        if isinstance(row.get(key), dict):
            plain[key] = {**row[key], **value}
        elif set(value) <= LIST_CHANGES:
            plain[key] = changed_list(row.get(key, []), value, f"{where}.{key}")
    return laid_over(row, plain, where, ROWS_OF_A_ROW)


def changed_list(old: list[Any], change: Values, what: str) -> list[Any]:
    """The list with what is added behind one of it, or at its end, and without what is dropped.

    What ``order`` names changes places among itself; the rest stays where it is, so that what is learnt later counts.

    >>> changed_list(["pin", "cap", "ring"], {"add": ["shim"], "behind": "pin", "order": ["cap", "pin"]}, "frees")
    ['cap', 'shim', 'pin', 'ring']
    """
    add, drop, order = (change.get(word, []) for word in ("add", "drop", "order"))
    if not all(isinstance(value, list) for value in (old, add, drop, order)):
        raise InputError(what, repr(change), "lists under add, drop and order")
    kept = [item for item in old if item not in drop]
    new = [item for item in add if item not in kept]
    spot = kept.index(change["behind"]) + 1 if change.get("behind") in kept else len(kept)
    return _in_order([*kept[:spot], *new, *kept[spot:]], order)


def _in_order(items: list[Any], order: list[Any]) -> list[Any]:
    named = [item for item in dict.fromkeys(order) if item in items]
    following = iter(named)
    return [next(following) if item in named else item for item in items]


def _added(rows: list[Values], new: list[Values], where: str) -> list[Values]:
    laid = list(rows)
    for row in new:
        plain = {key: value for key, value in row.items() if key not in ("before", "behind")}
        known = [_key(there) for there in laid]
        if _key(row) in known:
            raise InputError(f"{where} {_key(row)}", "there already", f"a new key, or [change.{where.split()[-1]}]")
        laid.insert(_spot(row, laid, f"{where} {_key(row)}"), plain)
    return laid


def _spot(row: Values, rows: list[Values], what: str) -> int:
    for word, step in (("before", 0), ("behind", 1)):
        if word in row:
            _refuse_unknown(f"{what}: {word}", [row[word]], rows)
            return [_key(there) for there in rows].index(row[word]) + step
    return len(rows)


def _that_keep(name: str, rows: list[Values], gone: frozenset[str]) -> list[Values]:
    """The rows without what is gone, and without those that are left with nothing of what they had."""
    kept = [_without(row, name, gone) for row in rows]
    return [left for row, left in zip(rows, kept, strict=True) if left.get(name) or not row.get(name)]


def _without(row: Values, name: str, gone: frozenset[str]) -> Values:
    """The row, its list or table of this name without what is gone."""
    value = row.get(name)
    if isinstance(value, dict):
        return {**row, name: {key: part for key, part in value.items() if key not in gone}}
    if isinstance(value, list):
        kept = [[key for key in part if key not in gone] if isinstance(part, list) else part for part in value]
        return {**row, name: [key for key in kept if isinstance(key, list) or key not in gone]}
    return dict(row)
