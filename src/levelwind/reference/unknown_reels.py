"""The looks at a reel that nobody knows, and how often each family shows each answer, from unknown_reels.toml."""

from collections.abc import Mapping
from functools import cache
from importlib import resources

from levelwind.core.errors import InputError
from levelwind.core.naming import Answer, Look
from levelwind.reference.families import families, like_of
from levelwind.reference.toml_rows import TomlTable, read_toml

FILE = "unknown_reels.toml"


@cache
def looks_at_unknown() -> tuple[Look, ...]:
    """Every look with a row of odds for every family there is.

    >>> looks_at_unknown()[0].ask
    'What does the spool do when you wind?'
    """
    return _read()[1]


@cache
def commonness() -> Mapping[str, float]:
    """How often each family comes in, of all reels of unknown name, before the shop's own are counted: adds up to 1."""
    return _read()[0]


def _read() -> tuple[Mapping[str, float], tuple[Look, ...]]:
    return read_looks(resources.files("levelwind.reference").joinpath(FILE).read_text(encoding="utf-8"), families())


def read_looks(text: str, known: tuple[str, ...]) -> tuple[Mapping[str, float], tuple[Look, ...]]:
    """Commonness and looks from a file's text. Raises InputError that names the row and what is allowed."""
    file = read_toml(FILE, text)
    common = file.row("common")
    share = {family: common.number(family) for family in known}
    common.done()
    whole = sum(share.values())
    looks = tuple(_look(row, known) for row in file.rows("look"))
    file.done()
    return {family: each / whole for family, each in share.items()}, looks


def _look(row: TomlTable, known: tuple[str, ...]) -> Look:
    keys, names = row.texts("answers"), row.texts("names")
    if len(keys) != len(names):
        raise InputError(f"{row.where}: names", len(names), f"as many as answers, {len(keys)}")
    answers = tuple(Answer(key, name) for key, name in zip(keys, names, strict=True))
    odds = row.row("odds")
    rows = {family: odds.numbers(family) for family in odds.values}
    strange = sorted(set(rows) - set(known))
    if strange:
        raise InputError(odds.where, ", ".join(strange), "families: " + ", ".join(known))
    made = Look(
        key=row.text("key"),
        ask=row.text("ask"),
        minutes=row.number("minutes"),
        answers=answers,
        odds={family: tuple(each / 100 for each in _row_of(family, rows, odds.where)) for family in known},
        do=row.text("do"),
    )
    row.done()
    return made


def _row_of(family: str, rows: Mapping[str, tuple[float, ...]], where: str) -> tuple[float, ...]:
    """The family's own row, or that of the family it is written as like."""
    kin: str | None = family
    while kin is not None:
        if kin in rows:
            return rows[kin]
        kin = like_of(kin)
    raise InputError(where, f"without {family}", "a row for each family that is not like another")
