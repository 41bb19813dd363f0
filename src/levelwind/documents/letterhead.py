"""What every sheet says at its head: whose shop, whose reel, which tag, what day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from levelwind.core.errors import InputError
from levelwind.core.writing import day_in_words
from levelwind.documents.letters import shortened
from levelwind.documents.money import Currency

Paper = Literal["a4", "us-letter"]

LONGEST_NAME = 120
LONGEST_NUMBER = 60
MOST_LINES = 8
"""What a cell of the title block holds: letters of a name or a line, letters of a number, lines of an address."""


@dataclass(frozen=True, slots=True)
class Shop:
    """The letterhead: name, where it is, how to reach it, its money and its paper."""

    name: str
    currency: Currency
    address: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""
    tax_id: str = ""
    paper: Paper = "a4"

    def __post_init__(self) -> None:
        if self.paper not in ("a4", "us-letter"):
            raise InputError("paper", repr(self.paper), "a4 or us-letter")


@dataclass(frozen=True, slots=True)
class JobHead:
    """Which job a sheet belongs to. ``invented`` marks demonstration data on the paper itself."""

    tag: str
    owner: str
    reel: str
    serial: str = ""
    owner_address: tuple[str, ...] = ()
    invented: bool = False


def pattern_head(pattern: str, invented: bool) -> JobHead:
    """The head of a sheet of the pattern book: no tag and no owner stands on it."""
    return JobHead(tag="", owner="", reel=pattern, invented=invented)


def _line(text: str, longest: int = LONGEST_NAME) -> str:
    return shortened(" ".join(text.split()), longest)


def _cell(lines: Iterable[str]) -> list[str]:
    return [_line(line) for line in lines][:MOST_LINES]


def head(sheet: str, shop: Shop, job: JobHead, day: date) -> dict[str, object]:
    """The part of a layout's data that fills the title block."""
    return {
        "sheet": sheet,
        "date": day_in_words(day),
        "paper": shop.paper,
        "shop": {
            "name": _line(shop.name),
            "address": _cell(shop.address),
            "contact": _cell(line for line in (shop.phone, shop.email) if line),
            "tax_id": _line(shop.tax_id, LONGEST_NUMBER),
        },
        "tag": _line(job.tag, LONGEST_NUMBER),
        "owner": _line(job.owner),
        "owner_address": _cell(job.owner_address),
        "reel": _line(job.reel),
        "serial": _line(job.serial, LONGEST_NUMBER),
        "invented": job.invented,
    }
