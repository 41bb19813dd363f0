"""The tray and its pieces, as Apart and Together draw them."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.writing import written
from levelwind.shop.models import Piece
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern
from levelwind.shop.takedown.selectors.pieces import TO_RENEW, Work
from levelwind.shop.takedown.services.pieces import piece_write_down
from levelwind.web.forms import saved_meanwhile
from levelwind.web.pages import spoken

RENEW_WHY = {
    "whenever open": "Renewed while the reel is open, even if it looks sound: it costs less than opening the reel "
    "again (common practice, no source)."
}
STATES = [choice for choice in Piece.STATES if choice[0]]


@dataclass(frozen=True, slots=True)
class Size:
    """One dimension to measure, as typed or as the book holds it."""

    dimension: str
    unit: str
    text: str
    was: str
    refusal: str = ""


@dataclass(frozen=True, slots=True)
class PieceCard:
    """A piece with everything the bench can say of it. ``typed`` values stand where they were refused."""

    piece: Piece
    place: PlaceInPattern | None
    state: str
    note: str
    sizes: tuple[Size, ...]
    by_limits: tuple[str, ...]
    alike: tuple[str, ...]
    renew: str
    new: Piece | None
    off: bool
    refusals: Mapping[str, str]

    @property
    def where(self) -> str:
        """Where it is, in words; a missing piece is nowhere, and said to be."""
        if self.piece.state == "missing":
            return "missing"
        return f"in cell {self.piece.cell}" if self.piece.cell else self.piece.get_where_display()

    @property
    def shape(self) -> str:
        """The kind of thing it is, which a small drawing shows."""
        return self.place.kind if self.place else "part"

    @property
    def said_more(self) -> bool:
        return bool(self.note or self.refusals or any(size.text for size in self.sizes))

    @property
    def to_renew(self) -> bool:
        return self.new is None and self.piece.state in TO_RENEW


@dataclass(frozen=True, slots=True)
class TrayCell:
    """One cell: what lies in it, and what will when the step that fills it is done."""

    number: int
    lying: tuple[PieceCard, ...]
    coming: tuple[PlaceInPattern, ...]
    just_filled: bool


def size_text(value: float | None) -> str:
    """A size as it is typed.

    >>> size_text(8.0), size_text(4.02), size_text(None)
    ('8', '4.02', '')
    """
    return "" if value is None else written(value, ".6g")


def piece_card(
    work: Work, piece: Piece, typed: Mapping[str, str] | None = None, refusals: Mapping[str, str] | None = None
) -> PieceCard:
    place = work.places.get(piece.place)
    typed = typed or {}
    return PieceCard(
        piece=piece,
        place=place,
        state=typed.get("state", piece.state),
        note=typed.get("note", piece.note),
        sizes=_sizes(piece, place, typed, refusals or {}),
        by_limits=work.worn(piece)[1],
        alike=work.layout.rules.names(place.look_alikes) if place else (),
        renew=RENEW_WHY.get(place.renew, "") if place and piece.replaces_id is None else "",
        new=work.successor(piece),
        off=piece.place in work.off,
        refusals=refusals or {},
    )


def _sizes(
    piece: Piece, place: PlaceInPattern | None, typed: Mapping[str, str], refusals: Mapping[str, str]
) -> tuple[Size, ...]:
    if place is None:
        return ()
    return tuple(
        Size(
            dimension=dimension,
            unit="" if dimension == "tooth count" else "mm",
            text=typed.get(dimension, was),
            was=was,
            refusal=refusals.get(dimension, ""),
        )
        for dimension in place.measure
        for was in [size_text(piece.measured_mm.get(dimension))]
    )


def tray_cells(work: Work, just_off: Collection[str] = ()) -> tuple[TrayCell, ...]:
    """Every cell of the plan and every cell something lies in, by number."""
    lying: dict[int, list[PieceCard]] = {}
    for piece in work.pieces:
        if piece.cell is not None:
            lying.setdefault(piece.cell, []).append(piece_card(work, piece))
    coming: dict[int, list[PlaceInPattern]] = {}
    for place, cell in work.cells.items():
        if place in work.places and place not in work.opened:
            coming.setdefault(cell, []).append(work.places[place])
    numbers = range(1, max([*lying, *coming, *work.cells.values()], default=0) + 1)
    return tuple(
        TrayCell(
            number=number,
            lying=tuple(lying.get(number, ())),
            coming=tuple(coming.get(number, ())),
            just_filled=any(card.piece.place in just_off for card in lying.get(number, ())),
        )
        for number in numbers
    )


def piece_save(work: Work, piece: Piece, data: Mapping[str, str], by: str) -> dict[str, str]:
    """Write what was changed in a piece's form, field by field; the refusals of what could not be."""
    place = work.places.get(piece.place)
    refusals = {}
    for name in ("state", "note", *(place.measure if place else ())):
        was, now = _plain(data.get(f"was-{name}", "")), _plain(data.get(name, ""))
        if name in data and was != now:
            refusals[name] = _save_field(piece, name, was, now, by)
    return {name: refusal for name, refusal in refusals.items() if refusal}


def _save_field(piece: Piece, name: str, was: str, now: str, by: str) -> str:
    try:
        saved = piece_write_down(piece=piece, field=name, was=_read(name, was), now=_read(name, now), by=by)
    except LevelwindError as refusal:
        return spoken(refusal)
    if not saved.clashes:
        return ""
    theirs = saved.clashes[name]
    shown = size_text(theirs) if isinstance(theirs, float | int) else theirs or "nothing"
    return f"{name}: {saved_meanwhile(f'“{shown}”')}"


def _plain(text: str) -> str:
    return text.replace("\r\n", "\n").strip()


def _read(name: str, text: str) -> Any:
    """A field as it is stored. A size is a plain number; a comma is read as its point."""
    if name in ("state", "note"):
        return text
    if not text:
        return None
    try:
        return float(typed_number(text.lower().removesuffix("mm")))
    except InputError as refusal:
        raise InputError(name, f"“{text[:40]}”", f"a number: {refusal.allowed}") from None
