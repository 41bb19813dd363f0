"""Parts lists and fits beside the book: of which pattern, place and part a row speaks, and what is said already."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from levelwind.reference.families import families, family
from levelwind.shop.book.selectors.lines import Line
from levelwind.shop.book.selectors.plan_shelf import kind_of
from levelwind.shop.models import Fit, Part, Pattern, PatternPlace
from levelwind.shop.patterns.selectors.layouts import pattern_places

SAYS = ("said_by", "sure", "note", "serves")
FILLABLE = ("said_by", "note")
MOST_NAMED = 8


@dataclass(slots=True)
class Reel:
    """A pattern, in the book or new, and what each of its places goes by."""

    pattern: Pattern
    places: dict[str, str]
    """By key and by name, both in small letters; nothing where two places have one name."""
    numbers: dict[str, str] = field(default_factory=dict)
    needs: set[str] = field(default_factory=set)
    """Places of a new pattern that most of its family lack, and this one has."""
    line: Line | None = None
    """The row that a new one came by."""


@dataclass(slots=True)
class Says:
    """What a row makes: a fit, the maker's number of a place, or both; and the part and pattern that are new by it."""

    reel: Reel
    place: str
    part: Part | None = None
    new_part: bool = False
    fit: Fit | None = None
    number: str = ""


class FitsKnown:
    """The pattern book as far as the list speaks of it."""

    def __init__(self) -> None:
        self.reels: dict[tuple[str, ...], Reel] = {}
        self.parts: dict[str, Part] = {}
        listed = Part.objects.values_list("number", "merged_into", "pk")
        self.keys = {number.casefold(): into or pk for number, into, pk in listed}
        self.fits: dict[tuple[Any, ...], tuple[int | None, Line | None]] = {}
        self.read: set[int] = set()

    def reel(self, line: Line) -> Reel | None:
        values = line.values
        named = tuple(" ".join(str(values.get(key, "")).split()) for key in ("maker", "model", "size"))
        key = tuple(word.casefold() for word in named)
        if key not in self.reels:
            maker, model, size = named
            found = Pattern.objects.filter(maker__iexact=maker, model__iexact=model, size__iexact=size).first()
            while found and found.merged_into:
                found = found.merged_into
            made = _of_the_book(found) if found else _new(line, maker, model, size)
            if made is None:
                return None
            self.reels[key] = made
        return self.reels[key]

    def part(self, number: str) -> Part | None:
        """Of this number, in the book or in an earlier row."""
        word = number.casefold()
        if word not in self.parts and word in self.keys:
            self.parts[word] = Part(pk=self.keys[word], number=number)
        return self.parts.get(word)

    def said(self, reel: Reel) -> dict[tuple[Any, ...], tuple[int | None, Line | None]]:
        """Fits by part number, pattern, place and ground; those of a pattern are read when it is first spoken of."""
        if reel.pattern.pk and reel.pattern.pk not in self.read:
            self.read.add(reel.pattern.pk)
            for fit in Fit.objects.filter(pattern=reel.pattern):
                self.fits[fit.part_id, id(reel), fit.place, fit.basis] = (fit.pk, None)
        return self.fits


def _of_the_book(pattern: Pattern) -> Reel:
    numbers = PatternPlace.objects.filter(pattern=pattern).exclude(part_number="")
    places = _named([(place.key, place.name) for place in pattern_places(pattern)])
    return Reel(pattern, places, dict(numbers.values_list("key", "part_number")))


def _new(line: Line, maker: str, model: str, size: str) -> Reel | None:
    said = str(line.values.get("family", "")).strip()
    key = family_said(said)
    name = " ".join(filter(None, (maker, model, size)))
    if key is None:
        allowed = ", ".join(family(one).name for one in families())
        was = f"“{said[:40]}” is no family" if said else "say how it is built"
        line.why.append(f"the {name} is not in the pattern book: {was}; allowed is {allowed}")
        return None
    pattern = Pattern(maker=maker, model=model, size=size, family=key)
    if not line.checked(pattern, ("maker", "model", "size", "family")):
        return None
    kin = family(key)
    return Reel(pattern, _named([(place.key, place.name) for place in kin.places]), line=line)


def family_said(text: str) -> str | None:
    """A family by its key or its name; None for what is none.

    >>> family_said("Star drag"), family_said("wind mill")
    ('star_drag', None)
    """
    word = " ".join(text.replace("_", " ").casefold().split())
    keys = {key.replace("_", " "): key for key in families()} | {family(key).name.casefold(): key for key in families()}
    return keys.get(word)


def _named(places: Sequence[tuple[str, str]]) -> dict[str, str]:
    found: dict[str, str] = {}
    for key, name in places:
        word = name.casefold()
        found[word] = "" if word in found else key
    return found | {key.casefold(): key for key, _ in places}


def plan_fits(lines: Iterable[Line], known: str) -> dict[int, Says]:
    """Say of each line whether it is new; what each makes, by its row."""
    book, says = FitsKnown(), {}
    for line in lines:
        found = _says(line, book) if not line.why else None
        if found and not line.why:
            says[line.row] = found
            _settle(line, found, book, known)
    return says


def _says(line: Line, book: FitsKnown) -> Says | None:
    values = line.values
    number, own = str(values.get("number", "")).strip(), str(values.get("place_number", "")).strip()
    if not number and not own:
        line.why.append("neither the part that serves nor the maker’s number for the place stands there")
        return None
    reel = book.reel(line)
    if reel is None:
        return None
    place = place_of(line, reel)
    if not place:
        return None
    found = Says(reel, place, number=own)
    if own and reel.numbers.get(place, own) != own:
        line.why.append(f"the book has another number for this place of the {reel.pattern}: {reel.numbers[place]}")
    if number:
        _with_part(line, found, number, book)
    return found


def place_of(line: Line, reel: Reel) -> str:
    """The key of the place that a row names; empty, with a reason in the line, where the reel has none such."""
    word = " ".join(str(line.values["place"]).casefold().split())
    key = reel.places.get(word, reel.places.get(word.replace(" ", "_"), None))
    if key:
        return key
    near = [name for name in reel.places if word.split()[0][:4] in name and "_" not in name][:MOST_NAMED]
    like = f"; near it are {', '.join(near)}" if near else ""
    many = "more than one place" if key == "" else "no place"
    line.why.append(f"the {reel.pattern} has {many} called “{str(line.values['place'])[:60]}”{like}")
    return ""


def _with_part(line: Line, found: Says, number: str, book: FitsKnown) -> None:
    values = line.values
    basis = basis_said(str(values.get("basis", "")))
    if basis is None:
        line.why.append(f"ground was “{values['basis']}”; allowed is {', '.join(words for _, words in Fit.BASIS)}")
        return
    found.part = book.part(number)
    if found.part is None:
        kind, note = kind_of(str(values.get("kind", "")))
        name = values.get("name") or values["place"]
        found.part = Part(number=number, name=name, kind=kind, note=note)
        found.new_part = True
        if not line.checked(found.part, ("number", "name", "note")):
            return
    found.fit = Fit(place=found.place, basis=basis, **{name: values[name] for name in SAYS if name in values})
    line.checked(found.fit, SAYS)


def basis_said(text: str) -> str | None:
    """
    >>> basis_said(""), basis_said("Same number"), basis_said("a dream")
    ('declared', 'number', None)
    """
    word = text.casefold().strip()
    return {"": "declared"}.get(word) or next((key for key, words in Fit.BASIS if word in (key, words)), None)


def _settle(line: Line, found: Says, book: FitsKnown, known: str) -> None:
    """New, or said already; what is new is known to the rows after it."""
    said, reel = book.said(found.reel), found.reel
    key = (
        (found.part.pk or found.part.number.casefold(), id(reel), found.place, found.fit.basis)
        if found.part and found.fit
        else None
    )
    there = said.get(key) if key else None
    new_number = bool(found.number) and found.place not in reel.numbers
    if there or not (key or new_number):
        line.known, line.earlier = there or (reel.pattern.pk, reel.line)
        line.by = "part, place and ground" if there else "number of the place"
        if there and line.known and known == "fill":
            line.fills = {name: line.values[name] for name in FILLABLE if line.values.get(name)}
        found.fit = None
    if there and new_number:
        line.known, line.earlier, line.by = None, None, ""
    if key and not there:
        said[key] = (None, line)
    if found.part and found.new_part:
        book.parts.setdefault(found.part.number.casefold(), found.part)
    if found.number:
        reel.numbers.setdefault(found.place, found.number)
        found.number = found.number if new_number else ""
    if not reel.pattern.pk:
        reel.needs.add(found.place)
