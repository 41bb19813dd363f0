"""The cautions that stand before the work that can hurt, each with where it comes from."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources

from levelwind.core.errors import InputError


@dataclass(frozen=True, slots=True)
class Caution:
    """A headline and one or two sentences for a card, with the basis and the source of what they say."""

    key: str
    headline: str
    text: str
    basis: str
    source: str


@cache
def cautions() -> dict[str, Caution]:
    """Every caution by its key, in the order of the table.

    >>> cautions()["springs"].headline
    'Eye protection on, hand cupped, before you start'
    """
    table = resources.files("levelwind.reference").joinpath("tables/cautions.csv").read_text(encoding="utf-8")
    return {row["key"]: Caution(**row) for row in csv.DictReader(table.splitlines())}


def named(keys: Iterable[str]) -> tuple[Caution, ...]:
    """The cautions with these keys, in that order. Raises InputError for a key that is not in the table."""
    known = cautions()
    keys = tuple(keys)
    for key in keys:
        if key not in known:
            raise InputError("caution", repr(key), "one of " + ", ".join(known))
    return tuple(known[key] for key in keys)
