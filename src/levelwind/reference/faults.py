"""What goes wrong with a family of reels, read from its hunches.toml into a net.

A new family is a new folder with a hunches.toml: no code. The file holds `family`, `name`, `opening_minutes` and three
lists: `[[fault]]`, `[[look]]` each with its `[[look.finding]]`, and `[[said]]` for the owner's words.
"""

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from levelwind.core.errors import InputError
from levelwind.core.hunches import Fault, Finding, Look, Net
from levelwind.core.quantities import Quantity

LARGEST = 500_000
"""Bytes of one file; the largest of our own is a twentieth of it."""

NET_KEYS = frozenset({"family", "name", "opening_minutes", "fault", "look", "said"})
FAULT_KEYS = frozenset({"key", "name", "prior", "mend", "minutes", "parts", "places", "renew_unseen", "note", "source"})
LOOK_KEYS = frozenset({"key", "do", "minutes", "needs_open", "tool", "caution", "finding"})
FINDING_KEYS = frozenset({"key", "name", "leak", "links", "source"})
SAID_KEYS = FINDING_KEYS | {"says"}


def families_with_hunches() -> tuple[str, ...]:
    """Keys of the families whose faults are known.

    >>> "star_drag" in families_with_hunches()
    True
    """
    return tuple(sorted(folder.name for folder in _families().iterdir() if (folder / "hunches.toml").is_file()))


@cache
def load_net(family: str) -> Net:
    """The net of one family.

    >>> load_net("star_drag").name
    'star drag'
    """
    if family not in families_with_hunches():
        raise InputError("family", repr(family), "one of " + ", ".join(families_with_hunches()))
    return read_net((_families() / family / "hunches.toml").read_bytes())


def read_net(content: bytes) -> Net:
    """A net from the bytes of a hunches.toml. Hostile until read: size, form, names and types are checked."""
    if len(content) > LARGEST:
        raise InputError("size of the file", f"{len(content)} bytes", f"up to {LARGEST} bytes")
    try:
        table = tomllib.loads(content.decode())
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise InputError("file", f"not TOML ({error})", "a hunches file in TOML, in UTF-8") from error
    _only(table, NET_KEYS, "the file")
    looks = _rows(table, "look")
    return Net(
        tuple(_fault(row) for row in _rows(table, "fault")),
        tuple(_look(row) for row in looks),
        tuple(_findings(looks)) + tuple(_said(row) for row in _rows(table, "said")),
        _text(table, "family", "the file"),
        _text(table, "name", "the file"),
        _number(table, "opening_minutes", "the file"),
    )


def _families() -> Traversable:
    return files("levelwind.reference") / "families"


def _fault(row: Mapping[str, Any]) -> Fault:
    where = _named(row, FAULT_KEYS)
    return Fault(
        row["key"],
        _text(row, "name", where),
        _number(row, "prior", where),
        _text(row, "mend", where),
        _number(row, "minutes", where),
        _price(row, where),
        _words(row, "places", where),
        _flag(row, "renew_unseen", where),
        _text(row, "note", where, ""),
        _text(row, "source", where),
    )


def _look(row: Mapping[str, Any]) -> Look:
    where = _named(row, LOOK_KEYS)
    return Look(
        row["key"],
        _text(row, "do", where),
        _number(row, "minutes", where),
        _flag(row, "needs_open", where),
        _text(row, "tool", where, ""),
        _text(row, "caution", where, ""),
    )


def _findings(looks: Iterable[Mapping[str, Any]]) -> Iterable[Finding]:
    for look in looks:
        for row in _rows(look, "finding"):
            where = _named(row, FINDING_KEYS)
            yield Finding(*_finding(row, where), look=look["key"], source=_text(row, "source", where))


def _said(row: Mapping[str, Any]) -> Finding:
    where = _named(row, SAID_KEYS)
    return Finding(*_finding(row, where), says=_words(row, "says", where), source=_text(row, "source", where))


def _finding(row: Mapping[str, Any], where: str) -> tuple[str, str, float, dict[str, float]]:
    links = row.get("links")
    if not isinstance(links, dict):
        raise InputError(f"links of {where}", repr(links), "a table of fault = chance")
    chances = {fault: _number(links, fault, f"links of {where}") for fault in links}
    return row["key"], _text(row, "name", where), _number(row, "leak", where), chances


def _rows(table: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
    rows = table.get(name, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"list of {name}", type(rows).__name__, f"rows that begin with [[{name}]]")
    return rows


def _named(row: Mapping[str, Any], allowed: frozenset[str]) -> str:
    """The row's key, once it is known that the row has one and nothing that it should not have."""
    key = _text(row, "key", "a row")
    if not key.isidentifier():
        raise InputError("key", repr(key), "a word of letters, digits and _")
    _only(row, allowed, key)
    return key


def _only(row: Mapping[str, Any], allowed: frozenset[str], where: str) -> None:
    for name in row.keys() - allowed:
        raise InputError(f"entry of {where}", repr(name), "one of " + ", ".join(sorted(allowed)))


def _text(row: Mapping[str, Any], name: str, where: str, default: str | None = None) -> str:
    value = row.get(name, default)
    if not isinstance(value, str) or (not value and default is None):
        raise InputError(f"{name} of {where}", repr(value), "a text")
    return value


def _number(row: Mapping[str, Any], name: str, where: str) -> float:
    value = row.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(f"{name} of {where}", repr(value), "a number")
    return float(value)


def _flag(row: Mapping[str, Any], name: str, where: str) -> bool:
    value = row.get(name, False)
    if not isinstance(value, bool):
        raise InputError(f"{name} of {where}", repr(value), "true or false")
    return value


def _words(row: Mapping[str, Any], name: str, where: str) -> tuple[str, ...]:
    value = row.get(name, [])
    if not isinstance(value, list) or not all(isinstance(word, str) and word for word in value):
        raise InputError(f"{name} of {where}", repr(value), "a list of texts")
    return tuple(value)


def _price(row: Mapping[str, Any], where: str) -> Quantity:
    price = row.get("parts")
    if not isinstance(price, dict) or price.keys() != {"low", "likely", "high"}:
        raise InputError(f"parts of {where}", repr(price), "{ low = , likely = , high = }")
    low, likely, high = (_number(price, name, f"parts of {where}") for name in ("low", "likely", "high"))
    return Quantity(likely, low, high)
