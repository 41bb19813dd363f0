"""Where the words on a figure find room beside its shapes, without touching one another."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.figures import Figure, Marker

LETTER_PX, LINE_PX, SHAPE_PX = 7.8, 19.0, 10.0
"""How wide a letter and how high a line of words of about 15 px is, and how far a shape reaches. Our choice."""

BESIDE_PX = 10.0
ABOVE_PX, UNDER_PX = -10.0, 22.0
"""From its place to the foot of its words: over a shape, under a level."""

NEAR_THE_RIGHT = 0.62
"""From this part of the width on words stand to the left of their shape. Our choice."""

Size = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Place:
    """Where words stand from what they belong to; ``room`` names the smallest room that has it, or "none"."""

    side: str
    dx: float
    dy: float
    room: str


def placed(figure: Figure, rooms: Mapping[str, Size]) -> tuple[Place, ...]:
    """For each marker, the first served first. ``rooms``: width and height of the area in px, the smallest first."""
    fitting = {name: _fitting(figure, size) for name, size in rooms.items()}
    places = []
    for number, marker in enumerate(figure.markers):
        side, dx, dy = _stand(figure, marker)
        places.append(Place(side, dx, dy, next((name for name, fit in fitting.items() if number in fit), "none")))
    return tuple(places)


def _stand(figure: Figure, marker: Marker) -> tuple[str, float, float]:
    """The words of a level stand under it from where it begins; all others over their shape, to its right or left."""
    if marker.kind == "level":
        return "start", BESIDE_PX, UNDER_PX
    if figure.x.share(marker.x) > NEAR_THE_RIGHT:
        return "end", -BESIDE_PX, ABOVE_PX
    return "start", BESIDE_PX, ABOVE_PX


def _fitting(figure: Figure, size: Size) -> set[int]:
    """Numbers of the markers whose words fit in an area of this size."""
    wide, high = size
    at = [(wide * figure.x.share(each.x), high * (1 - figure.y.share(each.y))) for each in figure.markers]
    shapes = [(x - SHAPE_PX, x + SHAPE_PX, y) for x, y in at]
    taken: list[tuple[float, float, float]] = []
    fit = set()
    for number, ((x, y), marker) in enumerate(zip(at, figure.markers, strict=True)):
        side, _, dy = _stand(figure, marker)
        long = LETTER_PX * len(f"{marker.named} {marker.label}") + 12
        left = x - long if side == "end" else x
        end = wide if marker.until is None else wide * figure.x.share(marker.until)
        others = [shape for n, shape in enumerate(shapes) if n != number and figure.markers[n].kind != "level"]
        free = all(left > b or left + long < a or abs(y + dy - h) > LINE_PX for a, b, h in (*others, *taken))
        if marker.label and left >= 0 and left + long <= end and free:
            taken.append((left, left + long, y + dy))
            fit.add(number)
    return fit
