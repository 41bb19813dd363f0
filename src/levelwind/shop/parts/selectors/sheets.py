"""Pictures of the measuring sheet, read back."""

from dataclasses import dataclass

from levelwind.core.codec import from_stored
from levelwind.core.errors import LevelwindError
from levelwind.core.fits.seen import SheetSeen
from levelwind.core.fits.sheet_sizes import Measured, Said, SaidOfPiece, measure
from levelwind.shop.models import Job, SheetPicture

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
