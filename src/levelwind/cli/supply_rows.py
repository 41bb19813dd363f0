"""Spreads, days and money as they stand in the files of promise, order and worth."""

from datetime import date, datetime
from decimal import Decimal, InvalidOperation

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
    row.read.add(key)
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


MOST_PLACES = 3
"""Decimals of a currency; some have none, a few have three."""
MOST_MONEY = 10**9
"""Units of a currency that one price may have. Our choice."""


def places_of(file: TomlTable) -> int:
    """Decimals of the file's money, 2 where it does not say."""
    value = file.values.get("places", 2)
    file.read.add("places")
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MOST_PLACES:
        raise InputError(f"{file.where}: places", repr(value), f"a whole number from 0 to {MOST_PLACES}")
    return value


def money_of(row: TomlTable, key: str, places: int) -> int:
    """In minor units, exactly: "2.40" or 2.40 of two places is 240; never rounded, but refused."""
    value = row.values.get(key)
    row.read.add(key)
    allowed = f'money such as "{Decimal(240).scaleb(-places)}", 0 or more, with up to {places} decimals'
    if value is None or isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"{row.where}: {key}", "absent" if value is None else repr(value), allowed)
    try:
        minor = Decimal(str(value)).scaleb(places)
    except InvalidOperation:
        raise InputError(f"{row.where}: {key}", repr(value), allowed) from None
    if not minor.is_finite() or minor != int(minor) or not 0 <= minor <= MOST_MONEY * 10**places:
        raise InputError(f"{row.where}: {key}", repr(value), allowed)
    return int(minor)


def money_if(row: TomlTable, key: str, places: int) -> int | None:
    row.read.add(key)
    return money_of(row, key, places) if key in row.values else None


def money_spread(row: TomlTable, key: str, places: int) -> Spread:
    """One price, or a table of low, likely and high; in minor units."""
    if not isinstance(row.values.get(key), dict):
        value = float(money_of(row, key, places))
        return Spread(value, value, value)
    ends = row.row(key)
    spread = _checked(row, key, *(float(money_of(ends, end, places)) for end in ("low", "likely", "high")))
    ends.done()
    return spread
