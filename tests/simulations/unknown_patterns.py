"""Made-up pattern books, and reels that are in them, nearly in them, or not at all.

As with the families, none of it knows the program's law: sizes come in series, makers put one reel out under two names,
another size of a known model comes in, plates are worn and read wrongly, a caliper is put to the wrong edge.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from levelwind.core.naming import SIZES, Kind, Sign
from tests.simulations.unknown_reels import COMES_IN, YEARS, Dice, Seen, _answered, _of_family, _old_repair, _pick

Answered = Callable[[Dice, Seen], Seen]
"""How a person answers for what is so."""
SOUNDS = ("ka", "lor", "ven", "tis", "mar", "eld", "bro", "un", "sey", "dan", "wick", "ost", "ril", "pen", "hu", "gram")
MODELS = (
    "Tern",
    "Gannet",
    "Harbour",
    "Salmon",
    "Fjord",
    "Pilot",
    "Skerry",
    "Comet",
    "Bream",
    "Marlow",
    "Otter",
    "Vixen",
)
ELSEWHERE = ("PATENT APPLIED FOR", "FOREIGN", "MADE BY HAND", "1948", "H. TOFT")


@dataclass(frozen=True, slots=True)
class Made:
    """One kind of reel as its maker made it, in the book or not."""

    family: str
    maker: str
    model: str
    size: str
    years: tuple[int, int]
    sizes_mm: dict[str, float]
    knob_changed: int | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """A reel on the bench: the key of what it is, and what can be read, measured and seen of it."""

    key: str
    answered: Seen
    marks: str
    sizes_mm: dict[str, float]
    taken: frozenset[str] = field(default_factory=frozenset)


def a_make(dice: Dice) -> Made:
    family = str(dice.choice(list(COMES_IN), p=np.array(list(COMES_IN.values())) / sum(COMES_IN.values())))
    first, last = YEARS[family]
    start = int(dice.integers(first, last - 5))
    end = min(start + int(dice.integers(6, 30)), last)
    maker = "".join(dice.choice(SOUNDS, 2)).capitalize()
    number = int(dice.choice([10, 20, 30, 40, 50, 60]))
    changed = int(dice.integers(start, end)) if dice.random() < 0.4 else None
    return Made(family, maker, str(dice.choice(MODELS)), str(number), (start, end), _sizes(dice, number), changed)


def _sizes(dice: Dice, number: int) -> dict[str, float]:
    """Sizes of a series: all grow with its number, in whole or half millimetres."""
    grown = 0.7 + number / 60
    raw = {"spool_width_mm": 32 * grown, "spool_flange_mm": 52 * grown}
    raw |= {"plate_mm": 62 * grown, "foot_mm": 58 * grown**0.5}
    return {key: round(mm * dice.normal(1, 0.12) * 2) / 2 for key, mm in raw.items()}


def a_book(dice: Dice, count: int = 24) -> list[Made]:
    return [a_make(dice) for _ in range(count)]


def as_kind(made: Made, key: str) -> Kind:
    """What a shop would have written down of it: spool sizes always, plate and foot of every other one."""
    known = tuple(size.key for size in SIZES)[: 4 if int(key) % 2 else 2]
    changed = made.knob_changed
    signs = (Sign("knob", "old", None, changed), Sign("knob", "plastic", changed + 1, None)) if changed else ()
    return Kind(
        key=key,
        family=made.family,
        weight=1.0,
        in_book=True,
        marks=(made.maker, f"{made.model} {made.size}"),
        sizes_mm={each: made.sizes_mm[each] for each in known},
        signs=signs,
        year_from=made.years[0],
        year_to=made.years[1],
    )


def a_found_reel(dice: Dice, book: list[Made], answered: Answered = _answered) -> Found:
    """A reel that is in the book, nearly in it or not at all, as somebody answers for it."""
    place = int(dice.integers(len(book)))
    like, other = book[place], a_make(dice)
    which = _pick(dice, in_book=4, other_size=1, other_name=0.7, strange=4)
    if which == "in_book":
        return _found(dice, like, str(place), answered)
    if which == "other_size":
        number = int(dice.choice([number for number in (15, 25, 35, 45, 70) if str(number) != like.size]))
        made = Made(like.family, like.maker, like.model, str(number), like.years, _sizes(dice, number))
        return _found(dice, made, like.family, answered)
    if which == "other_name":
        return _found(
            dice, Made(like.family, other.maker, other.model, "", like.years, like.sizes_mm), like.family, answered
        )
    return _found(dice, other, other.family, answered)


def _found(dice: Dice, made: Made, key: str, answered: Answered) -> Found:
    year, seen = _of_family(dice, made.family)
    year = int(dice.integers(made.years[0], made.years[1] + 1))
    if made.knob_changed:
        seen = seen | {"knob": "old" if year <= made.knob_changed else "plastic"}
    seen = _old_repair(dice, seen, year)
    return Found(key, answered(dice, seen), _marks(dice, made), _measured(dice, made))


def _marks(dice: Dice, made: Made) -> str:
    lines = [made.maker.upper()] if dice.random() < 0.6 else []
    lines += [f"{made.model} {made.size}".upper()] if dice.random() < 0.5 else []
    lines += [str(dice.choice(ELSEWHERE))] if dice.random() < 0.25 else []
    worn = dice.uniform(0, 0.35)
    return "\n".join("".join(_read(dice, letter, worn) for letter in line) for line in lines)


def _read(dice: Dice, letter: str, worn: float) -> str:
    chance = dice.random()
    if letter == " " or chance > worn:
        return letter
    return "?" if chance > 0.25 * worn else str(dice.choice(list("AEOILTRNSC")))


def _measured(dice: Dice, made: Made) -> dict[str, float]:
    """A steady hand, now and then a slip, and once in fifteen at the wrong edge."""
    sizes = {}
    for key, mm in made.sizes_mm.items():
        if dice.random() < 0.7:
            off = dice.uniform(1.5, 6) if dice.random() < 1 / 15 else 0.22 * dice.standard_t(4)
            sizes[key] = round(mm + off, 1)
    return sizes
