"""The old-parts label: for the bag in which replaced parts go back to their owner."""

from dataclasses import dataclass
from datetime import date

from levelwind.core.errors import InputError
from levelwind.documents import press
from levelwind.documents.letterhead import JobHead, Shop, head

BACK_TO_OWNER = "Replaced parts go back to the owner."
"""Common practice of the trade, no source. Some places make it law for motor repair (16 CCR 3355, California)."""

ASBESTOS = (
    "Old friction material: may hold asbestos. Keep the bag shut. Do not brush it dry, do not blow it off. "
    "Wet it, wipe it, bag it; the local rules decide how it is thrown away."
)
"""29 CFR 1910.1001 App. F: treat unknown old friction washers as suspect, no dry brushing, no air line."""


MOST_ROWS = 20
"""What two columns of the label hold at a size that can be read."""


@dataclass(frozen=True, slots=True)
class OldPart:
    """A part taken out: its name or place, how many, and what was wrong with it."""

    name: str
    quantity: int = 1
    why: str = ""

    def __post_init__(self) -> None:
        if self.quantity < 1:
            raise InputError("count of an old part", self.quantity, "1 or more")


@dataclass(frozen=True, slots=True)
class OldPartsLabel:
    """A label of 100 by 62 mm. ``may_hold_asbestos`` prints the caution for old friction material."""

    shop: Shop
    job: JobHead
    bagged: date
    parts: tuple[OldPart, ...]
    may_hold_asbestos: bool = False


def render(label: OldPartsLabel) -> bytes:
    return press.pdf(layout(label))


def layout(label: OldPartsLabel) -> press.Forme:
    data = {
        **head("Old parts", label.shop, label.job, label.bagged),
        "parts": _on_the_label(label.parts),
        "back": BACK_TO_OWNER,
        "asbestos": ASBESTOS if label.may_hold_asbestos else None,
    }
    return press.Forme("old_parts", data, label.bagged)


def _on_the_label(parts: tuple[OldPart, ...]) -> list[dict[str, str]]:
    if len(parts) <= MOST_ROWS:
        return listed(parts)
    left_out = len(parts) - MOST_ROWS + 1
    return [
        *listed(parts[: MOST_ROWS - 1]),
        {"name": f"and {left_out} more, on the proof sheet", "count": "", "why": ""},
    ]


def listed(parts: tuple[OldPart, ...]) -> list[dict[str, str]]:
    """The rows as they stand on a sheet; a count of one goes without saying."""
    return [
        {"name": part.name, "count": f"{part.quantity} ×" if part.quantity != 1 else "", "why": part.why}
        for part in parts
    ]
