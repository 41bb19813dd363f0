"""Limits of wear and replacements of a list beside those in the book."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from levelwind.core.errors import InputError
from levelwind.core.fits.wear import Limit
from levelwind.reference.families import family
from levelwind.shop.book.selectors.lines import Line
from levelwind.shop.book.selectors.plan_fits import FitsKnown, Reel, place_of
from levelwind.shop.models import PlaceLimit, Replacement
from levelwind.shop.patterns.selectors.layouts import pattern_places

SIZES = ("new_mm", "least_mm", "most_mm")
SAYS = ("said_by", "sure", "note")


@dataclass(frozen=True, slots=True)
class Wear:
    """A limit, and the pattern it is of, which may be new."""

    reel: Reel
    limit: PlaceLimit


def plan_limits(lines: Iterable[Line], known: str) -> dict[int, Wear]:
    """Say of each line whether it is new; what each makes, by its row."""
    book = _Limits()
    found = {line.row: book.settle(line, known) for line in lines if not line.why}
    return {row: wear for row, wear in found.items() if wear}


class _Limits:
    """The limits of the patterns that the list speaks of, read when one is first spoken of."""

    def __init__(self) -> None:
        self.reels = FitsKnown()
        self.measures: dict[int, Mapping[str, Sequence[str]]] = {}
        self.said: dict[tuple[int, str, str], PlaceLimit | Line] = {}

    def settle(self, line: Line, known: str) -> Wear | None:
        reel = self.reels.reel(line)
        place = place_of(line, reel) if reel else ""
        if reel is None or not place:
            return None
        if id(reel) not in self.measures:
            self._read(reel)
        dimension = " ".join(str(line.values["dimension"]).casefold().split())
        asked = self.measures[id(reel)].get(place, ())
        if dimension not in asked:
            line.why.append(f"size was “{dimension[:40]}”; allowed is {', '.join(asked) or 'none for this piece'}")
            return None
        return self._beside(line, reel, (id(reel), place, dimension), known)

    def _read(self, reel: Reel) -> None:
        pattern = reel.pattern
        places = pattern_places(pattern) if pattern.pk else family(pattern.family).places
        self.measures[id(reel)] = {place.key: place.measure for place in places}
        rows = PlaceLimit.objects.filter(pattern=pattern) if pattern.pk else ()
        self.said |= {(id(reel), row.place, row.dimension): row for row in rows}

    def _beside(self, line: Line, reel: Reel, key: tuple[int, str, str], known: str) -> Wear | None:
        there = self.said.get(key)
        if there is None:
            sizes = {name: line.values.get(name) for name in SIZES}
            limit = PlaceLimit(place=key[1], dimension=key[2], **sizes)
            limit.source = line.values.get("source", limit.source)
            if not (_rises(line, limit) and line.checked(limit, (*SIZES, "source"))):
                return None
            self.said[key] = line
            return Wear(reel, limit)
        line.by = "pattern, place and size"
        if isinstance(there, Line):
            line.earlier = there
            return None
        line.known = there.pk
        if known == "fill":
            fills = _blank_in(there, line, SIZES)
            line.fills = fills if _rises(line, there) else {}
        return None


def _rises(line: Line, row: PlaceLimit) -> bool:
    try:
        Limit(row.dimension, row.new_mm, row.least_mm, row.most_mm, row.source)
    except InputError as refusal:
        line.why.append(f"{refusal.what} was {refusal.was}; allowed is {refusal.allowed}")
        return False
    return True


def plan_replacements(lines: Iterable[Line], known: str) -> None:
    """Say of each line whether it is new, and make its row: both parts are on the shelf already."""
    parts = FitsKnown().keys
    said = {(row.part_id, row.instead_of_id): row for row in Replacement.objects.all()}
    new: dict[tuple[int, int], Line] = {}
    for line in lines:
        pair = _pair(line, parts) if not line.why else None
        if pair is None:
            continue
        if pair in said or pair in new:
            line.by = "both parts"
            line.known, line.earlier = (said[pair].pk, None) if pair in said else (None, new[pair])
            if known == "fill" and pair in said:
                line.fills = _blank_in(said[pair], line, ("said_by", "note"))
            continue
        values = {name: line.values[name] for name in SAYS if name in line.values}
        row = Replacement(part_id=pair[0], instead_of_id=pair[1], **values)
        if line.checked(row, values):
            line.made, new[pair] = row, line


def _blank_in(row: PlaceLimit | Replacement, line: Line, names: Iterable[str]) -> dict[str, object]:
    """What a line says of fields that are blank in a row of the book; the row has it from now on."""
    fills = {name: line.values[name] for name in names if line.values.get(name) and not getattr(row, name)}
    for name, value in fills.items():
        setattr(row, name, value)
    return fills


def _pair(line: Line, parts: Mapping[str, int]) -> tuple[int, int] | None:
    found = []
    for name in ("number", "instead_of"):
        number = str(line.values[name]).strip()
        pk = parts.get(number.casefold())
        if pk is None:
            line.why.append(f"there is no part “{number[:40]}” on the shelf: bring it in first, with none lying there")
        else:
            found.append(pk)
    if len(found) < 2:
        return None
    if found[0] == found[1]:
        line.why.append("a part cannot replace itself")
        return None
    return found[0], found[1]
