"""Spreads, days and money as they stand in the files of promise, order and worth."""

from datetime import date, datetime

from levelwind.core.errors import InputError
from levelwind.core.supply import Spread
from levelwind.reference.toml_rows import TomlTable


def spread_of(row: TomlTable, key: str) -> Spread:
    """One number, or a table of low, likely and high; refused by the row and key it stands in."""
    if not isinstance(row.values.get(key), dict):
        value = row.number(key)
        return _checked(row, key, value, value, value)
    ends = row.row(key)
    spread = _checked(row, key, *(ends.number(end) for end in ("low", "likely", "high")))
    ends.done()
    return spread


def spread_if(row: TomlTable, key: str) -> Spread | None:
    return spread_of(row, key) if key in row.values else None


def _checked(row: TomlTable, key: str, low: float, likely: float, high: float) -> Spread:
    try:
        return Spread(low, likely, high)
    except InputError as error:
        raise InputError(f"{row.where}: {key}", error.was, error.allowed) from None


def day_of(row: TomlTable, key: str) -> date:
    value = row.values.get(key)
    row.read.add(key)
    if not isinstance(value, date) or isinstance(value, datetime):
        raise InputError(f"{row.where}: {key}", "absent" if value is None else repr(value), "a day such as 2026-03-14")
    return value


def day_if(row: TomlTable, key: str) -> date | None:
    row.read.add(key)
    return day_of(row, key) if key in row.values else None
