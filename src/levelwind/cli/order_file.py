"""A shelf described in TOML; every refusal names the table and the key."""

from pathlib import Path

from levelwind.cli.supply_rows import money_if, money_of, places_of, spread_of
from levelwind.cli.text_file import text_of
from levelwind.core.errors import InputError
from levelwind.core.supply.stock import LastBuy, Offer, Part, Shelf, Supplier
from levelwind.reference.toml_rows import TomlTable, read_toml


def read(path: Path) -> tuple[Shelf, int]:
    """The shelf the file describes, and how many decimals its money has."""
    file = read_toml(path.name, text_of(path, "file", "a TOML file of suppliers and parts"))
    places = places_of(file)
    shelf = Shelf(
        suppliers=tuple(_supplier(row, places) for row in file.rows("supplier")),
        parts=tuple(_part(row, places) for row in file.rows("part")),
        next_days=file.count("next_days", 7),
        cover_days=file.count("cover_days", 30),
        holding_a_year=file.number("holding_percent_a_year") / 100,
        waiting=money_of(file, "waiting_a_day", places),
    )
    file.done()
    return shelf, places


def _supplier(row: TomlTable, places: int) -> Supplier:
    supplier = Supplier(
        key=row.text("key"),
        days=spread_of(row, "days"),
        name=row.text("name", ""),
        postage=money_of(row, "postage", places),
        minimum=money_if(row, "minimum", places) or 0,
        free_from=money_if(row, "free_from", places),
    )
    row.done()
    return supplier


def _part(row: TomlTable, places: int) -> Part:
    waiting = money_if(row, "waiting_a_day", places)
    part = Part(
        key=row.text("key"),
        offers=_offers(row, places),
        used=_counts(row, "used"),
        name=row.text("name", ""),
        stock=_count(row, "stock"),
        on_order=_count(row, "on_order"),
        needed=_count(row, "needed"),
        maybe=row.numbers("maybe") if "maybe" in row.values else (),
        waiting=None if waiting is None else float(waiting),
        last_buy=_last_buy(row, places),
        sold_for=money_if(row, "price", places),
    )
    row.read.add("maybe")
    row.done()
    return part


def _offers(row: TomlTable, places: int) -> tuple[Offer, ...]:
    """One supplier beside the part, or a table for each."""
    rows = row.rows("offer") or [row]
    offers = tuple(Offer(each.text("supplier"), money_of(each, "cost", places), each.count("pack")) for each in rows)
    for each in rows:
        if each is not row:
            each.done()
    return offers


def _last_buy(row: TomlTable, places: int) -> LastBuy | None:
    row.read.update(("last_buy_years", "missing_cost"))
    if "last_buy_years" not in row.values:
        return None
    return LastBuy(row.number("last_buy_years"), money_of(row, "missing_cost", places))


def _count(row: TomlTable, key: str) -> int:
    row.read.add(key)
    return _counted(row, key, row.values.get(key, 0))


def _counts(row: TomlTable, key: str) -> tuple[int, ...]:
    row.read.add(key)
    values = row.values.get(key, [])
    if not isinstance(values, list):
        raise InputError(f"{row.where}: {key}", repr(values), "a list of whole numbers, a month each, the oldest first")
    return tuple(_counted(row, key, value) for value in values)


def _counted(row: TomlTable, key: str, value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise InputError(f"{row.where}: {key}", repr(value), "a whole number, 0 or more")
    return value
