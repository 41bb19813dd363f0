"""An uncertain number with its interval, and the units the bench reads and writes.

Inside Levelwind everything is SI. This module holds the only conversion factors in the house.
"""

from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

from levelwind.core.errors import InputError

STANDARD_GRAVITY = 9.80665
"""m/s², exact by definition: The International System of Units, 9th edition, 2019 (3rd CGPM, 1901)."""

POUND = 0.45359237
"""kg, exact by definition: international yard and pound agreement, 1959."""

INCH = 0.0254
"""m, exact by definition: international yard and pound agreement, 1959."""

NEWTONS_PER = {
    "N": 1.0,
    "kN": 1000.0,
    "daN": 10.0,
    "cN": 0.01,
    "mN": 0.001,
    "gf": STANDARD_GRAVITY / 1000,
    "kgf": STANDARD_GRAVITY,
    "lbf": POUND * STANDARD_GRAVITY,
    "ozf": POUND * STANDARD_GRAVITY / 16,
}
"""Newtons in one unit of force. A scale that reads kg, g, lb or oz reads kgf, gf, lbf or ozf."""

SCALE_UNITS = {"N": "newtons", "kgf": "kilograms", "lbf": "pounds", "ozf": "ounces", "gf": "grams"}
"""What a hanging scale of a workshop may read in, the likeliest first, and as a person calls it. Common practice, no
source."""

FORCE_UNITS = {
    "kn": "kN", "n": "N", "newton": "N", "newtons": "N", "dan": "daN", "cn": "cN", "mn": "mN", "kgf": "kgf",
    "kg": "kgf", "kp": "kgf", "kilogram": "kgf", "kilograms": "kgf", "kilogramm": "kgf", "kilogramme": "kgf",
    "kilogrammes": "kgf", "kilo": "kgf", "kilos": "kgf", "g": "gf", "gf": "gf", "gram": "gf", "grams": "gf",
    "gramm": "gf", "gramme": "gf", "grammes": "gf", "lb": "lbf", "lbs": "lbf", "lbf": "lbf", "pound": "lbf",
    "pounds": "lbf", "oz": "ozf", "ozf": "ozf", "ounce": "ozf", "ounces": "ozf", "кг": "kgf", "кгс": "kgf",
    "г": "gf", "гс": "gf", "н": "N",
}  # fmt: skip
"""How a unit of force is written, in every language we know a scale to speak, in small letters; kg is kgf."""

FIGURES = dict.fromkeys(NEWTONS_PER, 3) | {"rev/s": 4, "rev/s²": 3, "per s": 3, "per rev": 3, "%": 3}
"""The most figures a number is shown with: what measured it bears no more, and that is no part of its interval. A force
three, by a hanging scale's own calibration (common practice, no source); a speed four, by a phone's clock, which is out
by some parts in a hundred thousand (from memory); losses and shares three, as no spool keeps closer to the law (a
judgement)."""

METRES_PER = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": INCH, "ft": 12 * INCH, "yd": 36 * INCH}
"""Metres in one unit of length."""


def convert(value: float, factors: dict[str, float], unit: str) -> float:
    """The value in SI.

    >>> convert(14.0, NEWTONS_PER, "lbf")
    62.275
    """
    if unit not in factors:
        raise InputError("unit", repr(unit), "one of " + ", ".join(factors))
    return value * factors[unit]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with the interval that holds the truth nine times in ten, unless its maker says otherwise.

    ``value``, ``low`` and ``high`` share one unit, which the name of the field that holds them carries.

    >>> Quantity(12.0, 10.0, 15.0).as_dict()
    {'value': 12.0, 'low': 10.0, 'high': 15.0}
    """

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not all(isfinite(x) for x in (self.value, self.low, self.high)):
            raise InputError("quantity", (self.value, self.low, self.high), "three finite numbers")
        if not self.low <= self.value <= self.high:
            raise InputError("interval", (self.low, self.high), f"one that holds the value {self.value}")

    @classmethod
    def exact(cls, value: float) -> "Quantity":
        """A number known without doubt, such as a count or a definition."""
        return cls(value, value, value)

    def scaled(self, factor: float) -> "Quantity":
        """In another unit, or per something; a negative factor turns the interval round.

        >>> Quantity(2.0, 1.0, 4.0).scaled(-1.0)
        Quantity(value=-2.0, low=-4.0, high=-1.0)
        """
        ends = sorted((self.low * factor, self.high * factor))
        return Quantity(self.value * factor, ends[0], ends[1])

    def as_dict(self) -> dict[str, float]:
        return {"value": self.value, "low": self.low, "high": self.high}


@dataclass(frozen=True, slots=True)
class Shown:
    """A quantity rounded for the eye; the interval apart, so that a page can set it in a column of its own."""

    value: str
    """With its unit."""
    interval: str
    """Without brackets; empty for a number known without doubt."""

    @property
    def words(self) -> str:
        return f"{self.value} ({self.interval})" if self.interval else self.value


def shown(quantity: Quantity, unit: str) -> Shown:
    """The number as it stands on a page: no more figures than the interval supports, and the interval.

    The width of the interval is given two figures where it begins with a 1 or a 2, else one. A unit of ``FIGURES`` has
    no more figures than stand there, its interval then rounded outwards.

    >>> shown(Quantity(61.37, 58.02, 64.9), "N")
    Shown(value='61 N', interval='58 to 65')
    >>> shown(Quantity.exact(3.0), "turns")
    Shown(value='3 turns', interval='')
    """
    width = quantity.high - quantity.low
    if width == 0:
        return Shown(f"{quantity.value:g} {unit}".strip(), "")
    decimals = max(0, -floor(log10(width / 3)))
    low, high = quantity.low, quantity.high
    most = _most_decimals(quantity, FIGURES[unit]) if unit in FIGURES else decimals
    if decimals > most:
        decimals, step = most, 10.0**-most
        low, high = step * floor(low / step + 1e-9), step * ceil(high / step - 1e-9)
    ends = " to ".join(f"{end:z.{decimals}f}" for end in (low, high))
    return Shown(f"{quantity.value:z.{decimals}f} {unit}".strip(), ends)


def in_words(quantity: Quantity, unit: str) -> str:
    """Value and interval in one, rounded as ``shown``.

    >>> in_words(Quantity(1.384, 1.362, 1.411), "")
    '1.38 (1.36 to 1.41)'
    >>> in_words(Quantity(8.4361, 8.4223, 8.4498), "lbf")
    '8.44 lbf (8.42 to 8.45)'
    >>> in_words(Quantity(19.7364, 19.7360, 19.7370), "rev/s")
    '19.74 rev/s (19.73 to 19.74)'
    """
    return shown(quantity, unit).words


def _most_decimals(quantity: Quantity, figures: int) -> int:
    """As many as leave the value, or the end furthest from nothing where it is nothing, so many figures."""
    size = abs(quantity.value) or max(abs(quantity.low), abs(quantity.high))
    return max(0, figures - 1 - floor(log10(size)))
