"""A dead reel described in TOML; every refusal names the table and the key."""

from pathlib import Path

from levelwind.cli.supply_rows import money_of, money_spread, places_of, spread_of
from levelwind.cli.text_file import text_of
from levelwind.core.supply.worth import NOTHING, DeadReel, Mending, Piece, Unopened
from levelwind.reference.toml_rows import TomlTable, read_toml


def read(path: Path) -> tuple[DeadReel, int]:
    """The reel the file describes, and how many decimals its money has."""
    file = read_toml(path.name, text_of(path, "file", "a TOML file that describes a dead reel"))
    places = places_of(file)
    reel = DeadReel(
        minute=money_of(file, "minute", places),
        pieces=tuple(_piece(row, places) for row in file.rows("part")),
        opening=spread_of(file, "open_minutes") if "open_minutes" in file.values else NOTHING,
        mending=_mending(file.row("mended"), places) if "mended" in file.values else None,
        shut=_unopened(file.row("shut"), places) if "shut" in file.values else Unopened(),
    )
    file.read.update(("open_minutes", "mended", "shut"))
    file.done()
    return reel, places


def _piece(row: TomlTable, places: int) -> Piece:
    name = row.text("name")
    row.where = f"{row.where.rpartition(', ')[0]}, part {name}"
    piece = Piece(
        name=name,
        price=money_spread(row, "price", places),
        minutes=spread_of(row, "minutes"),
        good=_chance(row, "good"),
        sells=_chance(row, "sells"),
    )
    row.done()
    return piece


def _mending(row: TomlTable, places: int) -> Mending:
    mending = Mending(
        minutes=spread_of(row, "minutes"),
        price=money_spread(row, "price", places),
        parts=money_spread(row, "parts", places) if "parts" in row.values else NOTHING,
        comes_right=_chance(row, "comes_right"),
        sells=_chance(row, "sells"),
    )
    row.read.add("parts")
    row.done()
    return mending


def _unopened(row: TomlTable, places: int) -> Unopened:
    shut = Unopened(
        price=money_spread(row, "price", places),
        minutes=spread_of(row, "minutes") if "minutes" in row.values else NOTHING,
        sells=_chance(row, "sells"),
    )
    row.read.add("minutes")
    row.done()
    return shut


def _chance(row: TomlTable, key: str) -> float:
    """1 where nothing is said."""
    row.read.add(key)
    return row.number(key) if key in row.values else 1.0
