"""What was measured on a sheet in words, as plain data, and as what the recogniser asks for."""

from dataclasses import dataclass
from typing import Any

from levelwind.core.codec import as_shown
from levelwind.core.fits.seen import SheetSeen
from levelwind.core.fits.sheet_sizes import Measured, Said, SaidOfPiece, Size
from levelwind.core.writing import written

LOOKS = {
    "round": "round",
    "eared": "round, with ears",
    "with flats": "round, with two flats",
    "six-sided": "six-sided",
    "four-sided": "four-sided",
    "toothed": "a gear",
    "threaded": "a screw, lying",
    "long": "long",
    "of another shape": "of another shape",
    "not told": "not told",
}
"""What a piece looks like, as the page says it."""

FINE = ("thread pitch",)
"""Sizes that are told to a thousandth of a millimetre."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One question for the recogniser: the kind of piece, its fields as typed, and how far off they may be."""

    piece: str
    words: str
    fields: dict[str, str]


@dataclass(frozen=True, slots=True)
class Words:
    """A size in words, and how sure it is."""

    told: str
    between: str

    def __str__(self) -> str:
        return f"{self.told} ({self.between})"


def words_of(size: Size) -> Words:
    """A size with its interval.

    >>> from levelwind.core.quantities import Quantity
    >>> str(words_of(Size("outer diameter", Quantity(28.471, 28.39, 28.56))))
    'outer diameter 28.47 mm (28.39 to 28.56)'
    >>> str(words_of(Size("ears", Quantity.exact(4), True, 0.97)))
    'ears: 4 (97 % sure)'
    """
    if size.is_count:
        return Words(f"{size.what}: {size.value.value:.0f}", f"{100 * size.sure:.0f} % sure")
    places = 3 if size.what in FINE else 2
    value, low, high = (written(each, f".{places}f") for each in (size.value.value, size.value.low, size.value.high))
    return Words(f"{size.what} {value} mm", f"{low} to {high}")


def asked_of(piece: Measured, said: SaidOfPiece) -> tuple[Asked, ...]:
    """What the recogniser can be asked of a piece, the likeliest kind first; its gauge is the sheet's own interval."""
    outer, inner = piece.size("outer diameter"), piece.size("inner diameter")
    diameter, pitch = piece.size("thread diameter"), piece.size("thread pitch")
    thick = {} if said.height_mm is None else {"thickness": written(said.height_mm)}
    if diameter and pitch:
        fields = {
            "diameter": written(diameter.value, ".2f"),
            "pitch": written(pitch.value, ".3f"),
            "gauge": _gauge(diameter),
        }
        return (Asked("thread", "Which screw is it?", fields),)
    if inner and not outer:
        return (
            Asked(
                "thread",
                "Which nut is it?",
                {"diameter": written(inner.value, ".2f"), "inside": "on", "gauge": _gauge(inner)},
            ),
        )
    if not (outer and inner):
        return ()
    both, gauge = {"od": written(outer.value, ".2f"), "id": written(inner.value, ".2f")}, {"gauge": _gauge(outer)}
    if said.round_edge:
        section = {"id": both["id"], "section": written((outer.value - inner.value) / 2, ".2f")}
        return (Asked("oring", "Which O-ring is it?", section | gauge),)
    width = {"width": thick["thickness"]} if thick else {}
    bearing = {"bore": both["id"], "od": both["od"]} | width | gauge
    asked = [Asked("washer", "Which washer of the shelf is it?", both | thick | gauge)]
    if piece.looks == "round":
        asked.append(Asked("bearing", "Which bearing is it?", bearing))
        asked.append(Asked("spring", "Which disc spring is it?", both | gauge))
    return tuple(asked)


def as_dict(seen: SheetSeen, said: Said, found: tuple[Measured, ...]) -> dict[str, Any]:
    """What ``levelwind fits sheet --json`` prints."""
    return {
        "kind": "sheet",
        "status": "ok" if found else "none",
        "paper": seen.paper,
        "tilt_deg": round(seen.tilt_deg, 1),
        "lens_height_mm": round(seen.eye.height_mm, 1),
        "lines_mm": {"across": said.across_mm, "down": said.down_mm},
        "pieces": [
            {
                "number": piece.number,
                "looks": piece.looks,
                "counts": {size.what: int(size.value.value) for size in piece.sizes if size.is_count},
                "counts_sure": {size.what: size.sure for size in piece.sizes if size.is_count},
                "sizes_mm": {size.what: _rounded(as_shown(size.value)) for size in piece.sizes if not size.is_count},
                "cautions": list(piece.cautions),
            }
            for piece in found
        ],
    }


def as_text(found: tuple[Measured, ...]) -> list[str]:
    """The same for a person."""
    lines = []
    for piece in found:
        lines.append(f"{piece.number}. {LOOKS[piece.looks]}: {'; '.join(str(words_of(size)) for size in piece.sizes)}")
        lines += [f"   Caution: {each}" for each in piece.cautions]
    return lines or ["No piece lies on the sheet."]


def _gauge(size: Any) -> str:
    return written(max(0.01, (size.high - size.low) / 2), ".2f")


def _rounded(shown: dict[str, float]) -> dict[str, float]:
    return {key: round(value, 4) for key, value in shown.items()}
