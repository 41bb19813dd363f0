"""How the page that knows pieces by their sizes is told of one."""

from collections.abc import Iterable, Mapping
from urllib.parse import urlencode

from levelwind.shop.parts.selectors.sizes import KNOWN_BY


def sizes_query(measure: Iterable[str], measured_mm: Mapping[str, float]) -> str:
    """The kind of piece that is measured so, and what was measured already; nothing of one that is of no such kind.

    >>> sizes_query(["inner diameter", "outer diameter", "width"], {"width": 4.0})
    'piece=bearing&width=4'
    >>> sizes_query(["thread diameter", "length"], {}), sizes_query(["wire diameter"], {})
    ('piece=thread', '')
    """
    for kind, names in KNOWN_BY.items():
        if names.keys() <= set(measure) or (kind == "thread" and "thread diameter" in measure):
            known = {field: f"{measured_mm[name]:g}" for name, field in names.items() if measured_mm.get(name)}
            return urlencode({"piece": kind, **known})
    return ""
