"""What the invented patterns are known by: texts on plate and foot, two more sizes, and what changed in which years."""

from dataclasses import dataclass
from typing import Any

from levelwind.shop.editing import fields_save
from levelwind.shop.models import Pattern
from levelwind.shop.naming.services import sign_add


@dataclass(frozen=True, slots=True)
class KnownBy:
    """``signs`` are what `sign_add` takes: words or an answer to a look, with the years."""

    marks: str
    plate_mm: float
    foot_mm: float
    signs: tuple[dict[str, Any], ...] = ()


KNOWN = {
    "S35": KnownBy(
        "SKELLABY REEL WORKS",
        78.0,
        66.0,
        (
            {"look": "knob", "answer": "old", "year_to": 1961},
            {"look": "knob", "answer": "plastic", "year_from": 1962},
            {"text": "a coil spring behind the dog", "year_from": 1968},
        ),
    ),
    "S45": KnownBy("SKELLABY REEL WORKS", 92.0, 74.0, ({"look": "knob", "answer": "old", "year_to": 1961},)),
    "O5": KnownBy("OXENBY\nPAT. NO. 4471", 88.0, 70.0, ({"text": "a riveted name plate", "year_to": 1949},)),
    "K1": KnownBy("KESSANDRY PRECISION", 58.0, 62.0, ({"look": "pick_up", "answer": "half", "year_to": 1959},)),
    "O3": KnownBy("OXENBY", 89.0, 64.0, ({"look": "metal", "answer": "brass"},)),
    "V4P": KnownBy("GLIDE", 114.0, 68.0, ({"look": "metal", "answer": "cast"},)),
}
"""By the code of the pattern; those of the shop's oldest reels, which come in without a name."""


def signs_write(patterns: dict[str, Pattern]) -> None:
    for code, known in KNOWN.items():
        pattern = patterns[code]
        facts = {"marks": known.marks, "plate_mm": known.plate_mm, "foot_mm": known.foot_mm}
        fields_save(instance=pattern, was={name: getattr(pattern, name) for name in facts}, now=facts)
        for sign in known.signs:
            sign_add(pattern=pattern, **sign)
