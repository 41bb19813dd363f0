"""Rows of a TOML file read with their types checked, so that every refusal names file, row and what is allowed."""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from levelwind.core.errors import InputError

LARGEST = 10**15
"""No count, length, force or price of a reel comes near it; far beyond it a whole number is no longer a float."""

DEEPEST = 40
"""Tables within tables that one key may name. Our choice: a file of ours has three. Reading one of thousands takes
minutes and gigabytes."""
_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_TOO_DEEP = re.compile(rf"(?<![\w-])(?:{_PART}[ \t]*+\.[ \t]*+){{{DEEPEST}}}")


@dataclass(slots=True)
class TomlTable:
    """One table of a TOML file. ``where`` says which, for the person who has to mend it."""

    where: str
    values: dict[str, Any]
    read: set[str] = field(default_factory=set)

    def text(self, key: str, default: str | None = None, allowed: Iterable[str] | None = None) -> str:
        value = self._take(key, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise InputError(f"{self.where}: {key}", repr(value), "some text")
        if allowed is not None and value not in allowed:
            raise InputError(f"{self.where}: {key}", repr(value), "one of " + ", ".join(allowed))
        return value

    def texts(self, key: str, allowed: Iterable[str] | None = None) -> tuple[str, ...]:
        value = self._take(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise InputError(f"{self.where}: {key}", repr(value), "a list of texts")
        for item in value:
            if allowed is not None and item not in allowed:
                raise InputError(f"{self.where}: {key}", repr(item), "one of " + ", ".join(allowed))
        return tuple(value)

    def number(self, key: str) -> float:
        return self._number(key, self._take(key, None))

    def numbers(self, key: str) -> tuple[float, ...]:
        """A list of numbers, each checked as one alone is."""
        values = self._take(key, None)
        if not isinstance(values, list):
            raise InputError(f"{self.where}: {key}", repr(values), "a list of numbers")
        return tuple(self._number(key, value) for value in values)

    def count(self, key: str, default: int = 1) -> int:
        value = self._take(key, default)
        if isinstance(value, bool) or not isinstance(value, int) or value < 1:
            raise InputError(f"{self.where}: {key}", repr(value), "a whole number, 1 or more")
        return value

    def yes(self, key: str) -> bool:
        value = self._take(key, False)
        if not isinstance(value, bool):
            raise InputError(f"{self.where}: {key}", repr(value), "true or false")
        return value

    def row(self, key: str) -> "TomlTable":
        value = self._take(key, {})
        if not isinstance(value, dict):
            raise InputError(f"{self.where}: {key}", repr(value), "a table")
        return TomlTable(f"{self.where}, {key}", value)

    def rows(self, key: str) -> list["TomlTable"]:
        """The tables under [[key]], each named by its own key where it has one, else by its number."""
        value = self._take(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise InputError(f"{self.where}: {key}", repr(value), f"tables headed [[{key}]]")
        return [
            TomlTable(f"{self.where}, {key} {item.get('key', number)}", item) for number, item in enumerate(value, 1)
        ]

    def alternatives(self, key: str) -> tuple[frozenset[str], ...]:
        value = self._take(key, [])
        lists = isinstance(value, list) and all(isinstance(item, list) for item in value)
        if not lists or not all(isinstance(text, str) for item in value for text in item):
            raise InputError(f"{self.where}: {key}", repr(value), "a list of lists of place keys")
        return tuple(frozenset(item) for item in value)

    def done(self) -> None:
        """Refuse what nobody asked for: a misspelt key would otherwise be a rule that silently does not hold."""
        strange = sorted(set(self.values) - self.read)
        if strange:
            raise InputError(f"{self.where}", ", ".join(strange), "one of " + ", ".join(sorted(self.read)))

    def _number(self, key: str, value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            raise InputError(f"{self.where}: {key}", repr(value), "a number")
        return float(value)

    def _take(self, key: str, default: Any) -> Any:
        self.read.add(key)
        if key not in self.values and default is None:
            raise InputError(f"{self.where}: {key}", "absent", "a value")
        return self.values.get(key, default)


def read_toml(name: str, text: str) -> TomlTable:
    """The whole file as one row. Raises InputError with the line when it is not TOML."""
    if deep := _TOO_DEEP.search(text):
        line = text.count("\n", 0, deep.start()) + 1
        raise InputError(f"{name}, line {line}", f"a key of more than {DEEPEST} parts", "one of two or three")
    try:
        values = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        why = "nested too deep" if isinstance(error, RecursionError) else error
        raise InputError(name, f"not readable as TOML: {why}", "a TOML file") from error
    _refuse_vast(name, values)
    return TomlTable(name, values)


def _refuse_vast(name: str, values: dict[str, Any]) -> None:
    """A whole number of hundreds of digits is good TOML, and neither a float nor fit to print."""
    waiting: list[tuple[str, Any]] = list(values.items())
    while waiting:
        key, value = waiting.pop()
        if isinstance(value, int) and abs(value) > LARGEST:
            raise InputError(f"{name}: {key}", "a whole number of more than 15 digits", f"up to {LARGEST:.0e}")
        if isinstance(value, dict):
            waiting += value.items()
        if isinstance(value, list):
            waiting += ((key, part) for part in value)
