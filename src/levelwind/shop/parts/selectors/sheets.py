"""Pictures of the measuring sheet, read back."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.codec import from_stored
from levelwind.core.errors import LevelwindError
from levelwind.core.fits.seen import SheetSeen
from levelwind.core.fits.sheet_sizes import Measured, Said, SaidOfPiece, measure
from levelwind.reference.families import DIMENSIONS
from levelwind.shop.models import Job, Part, SheetPicture

NEWEST = 12
"""Pictures in the list: our choice."""


@dataclass(frozen=True, slots=True)
class SheetMeasured:
    """A picture with what is measured on it; ``refusal`` says why nothing is."""

    picture: SheetPicture
    seen: SheetSeen
    said: Said
    pieces: tuple[Measured, ...]
    refusal: str = ""

    def piece(self, number: int) -> Measured:
        """Raises LevelwindError where there is none of that number."""
        for each in self.pieces:
            if each.number == number:
                return each
        raise LevelwindError(f"There is no piece {number} on this sheet any more: load the page again.")

    def said_of(self, number: int) -> SaidOfPiece:
        return self.said.pieces.get(number, SaidOfPiece())


@dataclass(frozen=True, slots=True)
class SizeChange:
    """A size of a part as it stands there, None for not at all, and as it is measured, mm."""

    what: str
    before: float | None
    after: float

    @property
    def replaces(self) -> bool:
        return self.before is not None and self.before != self.after


@dataclass(frozen=True, slots=True)
class Written:
    """What was written at a part from one piece, as far as it still stands there."""

    part: Part
    changes: tuple[SizeChange, ...]


def sheet_list(job: Job | None = None) -> list[SheetPicture]:
    """The newest pictures, of one job or of all."""
    pictures = SheetPicture.objects.select_related("job").defer("seen")
    return list((pictures.filter(job=job) if job else pictures)[:NEWEST])


def sheet_find(pk: int) -> SheetPicture | None:
    return SheetPicture.objects.select_related("job").filter(pk=pk).first()


def sheet_measured(picture: SheetPicture) -> SheetMeasured:
    """Measured anew from what was seen and what has been said since."""
    seen = from_stored(SheetSeen, picture.seen, "what the sheet's picture shows")
    said = said_of(picture)
    try:
        return SheetMeasured(picture, seen, said, measure(seen, said))
    except LevelwindError as refusal:
        return SheetMeasured(picture, seen, said, (), str(refusal))


def said_of(picture: SheetPicture) -> Said:
    """JSON keys are words: the pieces' numbers are read back from them."""
    plain = dict(picture.said)
    pieces = {int(number): from_stored(SaidOfPiece, row) for number, row in plain.get("pieces", {}).items()}
    return Said(plain.get("across_mm"), plain.get("down_mm"), pieces)


def sizes_of(sheet: SheetMeasured, number: int) -> Mapping[str, float]:
    """A piece's sizes in the shelf's words, mm to a hundredth (a pitch to a thousandth), its thickness among them; no
    count that is in doubt."""
    piece, thick = sheet.piece(number), sheet.said_of(number).height_mm
    found = {
        size.what: round(size.value.value, 3 if size.what == "thread pitch" else 2)
        for size in piece.sizes
        if size.what in DIMENSIONS and not size.doubted
    }
    return {**found, "thickness": thick} if thick is not None else found


def changes_at(part: Part, sizes: Mapping[str, float]) -> tuple[SizeChange, ...]:
    """What writing these sizes at a part would change."""
    changes = (SizeChange(what, part.sizes_mm.get(what), size) for what, size in sizes.items())
    return tuple(each for each in changes if each.before != each.after)


def written_of(picture: SheetPicture) -> dict[int, Written]:
    """By the piece's number: where its sizes were written and still stand."""
    rows = {int(number): row for number, row in picture.said.get("written", {}).items()}
    parts = Part.objects.in_bulk({row["part"] for row in rows.values()})
    found = {}
    for number, row in rows.items():
        if part := parts.get(row["part"]):
            changes = tuple(SizeChange(what, row["before"].get(what), after) for what, after in row["after"].items())
            still = tuple(each for each in changes if part.sizes_mm.get(each.what) == each.after)
            if still:
                found[number] = Written(part, still)
    return found
