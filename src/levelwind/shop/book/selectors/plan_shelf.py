"""Parts of a list beside those in the book: the same number is the same part."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Exists, OuterRef

from levelwind.core.errors import LevelwindError
from levelwind.reference.families import KINDS
from levelwind.shop.book.selectors.lines import Line
from levelwind.shop.models import Part, StockEntry
from levelwind.shop.parts.selectors.sizes import sizes_read
from levelwind.shop.parts.selectors.standins import SHEET

TEXTS = ("kind", "maker", "material", "spot", "supplier", "note")
KEPT = ("pack", "last_buy_years", "a_reel", "cut_off")
FILLABLE = (*TEXTS, "sizes_mm", "days_to_come", "cost_minor", "price_minor", "keep_at_least", *KEPT)
COUNTS = ("new", "used")
BY_WORDS = {kind.replace("_", " "): kind for kind in (*KINDS, SHEET)}


def plan_shelf(lines: Iterable[Line], known: str) -> None:
    """Say of each line whether it is new, and make its row."""
    there = parts_known()
    made: dict[str, Line] = {}
    for line in lines:
        part = _part(line)
        if part is None:
            continue
        number = part.number.casefold()
        row, earlier = there.get(number), made.get(number)
        if row is None and earlier is None:
            line.made, made[number] = part, line
            continue
        line.known, line.earlier, line.by = row["pk"] if row else None, earlier, "number"
        if known == "fill" and row:
            line.fills = {name: line.values[name] for name in FILLABLE if line.values.get(name) and not row[name]}
            counted = {name: line.values[name] for name in COUNTS if line.values.get(name)}
            line.fills |= counted if not row["counted"] else {}
            row.update(line.fills, counted=row["counted"] or bool(counted))
        elif known == "fill" and earlier:
            _fill_earlier(line, earlier)


def _fill_earlier(line: Line, earlier: Line) -> None:
    for name in (*FILLABLE, *COUNTS):
        if line.values.get(name) and not earlier.values.get(name):
            earlier.values[name] = line.fills[name] = line.values[name]
            if name not in COUNTS:
                setattr(earlier.made, name, line.values[name])


def parts_known() -> dict[str, dict[str, Any]]:
    """By its number in small letters, or another's that is the same: key, what may be filled in, whether counted."""
    counted = Exists(StockEntry.objects.filter(part=OuterRef("pk")))
    listed = Part.objects.annotate(counted=counted).values(
        "pk", "number", "name", "counted", "merged_into_id", *FILLABLE
    )
    rows = {row["pk"]: row for row in listed}
    return {row["number"].casefold(): rows[row["merged_into_id"] or pk] for pk, row in rows.items()}


def _part(line: Line) -> Part | None:
    """The row of a line, None where it is refused; a kind that the book does not know is kept as a note."""
    values = line.values
    kind, note = kind_of(values.get("kind", ""))
    if note:
        values["note"] = "\n".join(filter(None, (values.get("note"), note)))
    values["kind"] = kind
    if values.get("sizes"):
        try:
            values["sizes_mm"] = sizes_read(values["sizes"].replace(";", "\n"))
        except LevelwindError as refusal:
            line.why.append(str(refusal))
    values.pop("sizes", None)
    said = {name: values[name] for name in ("number", "name", *FILLABLE) if values.get(name)}
    part = Part(**said)
    return part if not line.why and line.checked(part, said) else None


def kind_of(text: str) -> tuple[str, str]:
    """A kind of part as the book calls it; or, for one that it does not know, a note that says it.

    >>> kind_of("Keyed washer"), kind_of("Drag bits")
    (('keyed_washer', ''), ('', 'Kind: Drag bits'))
    """
    words = " ".join(text.replace("_", " ").casefold().split())
    if not words:
        return "", ""
    found = BY_WORDS.get(words, BY_WORDS.get(words.removesuffix("s"), ""))
    return found, "" if found else f"Kind: {text}"
