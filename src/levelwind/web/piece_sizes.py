"""How the page that knows pieces by their sizes is told of one."""

from collections.abc import Collection, Mapping
from urllib.parse import urlencode

from levelwind.core.writing import written
from levelwind.shop.parts.selectors.sizes import KNOWN_BY, PIECE_OF


def sizes_query(kind: str, measure: Collection[str], measured_mm: Mapping[str, float]) -> str:
    """The kind of piece that is looked for in a place of this kind, and what was measured already.

    Nothing for a kind that is not known by its sizes, or of which no such size is measured.

    >>> sizes_query("bearing", ["inner diameter", "outer diameter", "width"], {"width": 4.0})
    'piece=bearing&width=4'
    >>> sizes_query("screw", ["thread diameter", "length"], {}), sizes_query("spring", ["wire diameter"], {})
    ('piece=thread', '')
    >>> sizes_query("nut", ["inner diameter", "thread pitch"], {"inner diameter": 2.5})
    'piece=thread&inside=on&diameter=2.5'
    """
    piece = PIECE_OF.get(kind, "")
    names = KNOWN_BY.get(piece, {})
    if names.keys().isdisjoint(measure):
        return ""
    known = {field: written(measured_mm[name]) for name, field in names.items() if measured_mm.get(name)}
    asked = {"piece": "thread", "inside": "on"} if piece == "nut" else {"piece": piece}
    return urlencode({**asked, **known})
