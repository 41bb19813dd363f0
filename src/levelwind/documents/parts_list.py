"""The parts list of a pattern: every place by what the hand works on together, with its number and how many."""

from dataclasses import dataclass
from datetime import date

from levelwind.documents import press
from levelwind.documents.letterhead import JobHead, Shop, head
from levelwind.documents.picture import Picture


@dataclass(frozen=True, slots=True)
class ListedPlace:
    """One place: its name, the maker's number, how many sit there, what it can be mistaken for, its number on
    the exploded pictures.
    """

    name: str
    number: str = ""
    count: int = 1
    renew: str = ""
    on_picture: str = ""
    alike: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PartsList:
    """The places of a pattern, assembly by assembly; nothing of an owner stands on it."""

    shop: Shop
    pattern: JobHead
    dated: date
    assemblies: tuple[tuple[str, tuple[ListedPlace, ...]], ...]
    note: str = ""
    pictures: tuple[Picture, ...] = ()


def render(sheet: PartsList) -> bytes:
    return press.pdf(layout(sheet))


def layout(sheet: PartsList) -> press.Forme:
    data = {
        **head("Parts list", sheet.shop, sheet.pattern, sheet.dated),
        "note": sheet.note,
        "pictures": [{"picture": shown, "caption": shown.caption} for shown in sheet.pictures],
        "assemblies": [{"name": name, "places": [_row(place) for place in rows]} for name, rows in sheet.assemblies],
    }
    return press.Forme("parts_list", data, sheet.dated)


def _row(place: ListedPlace) -> dict[str, str]:
    return {
        "name": place.name,
        "number": place.number,
        "count": f"{place.count}",
        "renew": place.renew,
        "on_picture": place.on_picture,
        "alike": ", ".join(place.alike),
    }
