"""An uncertain number with its interval, and the units the bench reads and writes.

Inside Levelwind everything is SI. This module holds the only conversion factors in the house.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Context, Decimal
from math import floor, isfinite, log10

from levelwind.core.errors import InputError
from levelwind.core.writing import written

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

    >>> Quantity(12.0, 10.0, 15.0).high
    15.0
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


FEWEST_STEPS, MOST_WIDER = 5, 0.15
"""Steps of the last figure that an interval is shown with, at the fewest, and by how much of itself rounding its ends
outwards may widen it. Our choice: less would hide what is known, more show what is not."""


def shown(quantity: Quantity, unit: str) -> Shown:
    """The number as it stands on a page, on paper and in the terminal: no more figures than its interval supports.

    Value and ends are multiples of one power of ten, on either side of the point: the largest that keeps to
    ``FEWEST_STEPS`` and ``MOST_WIDER``. A unit of ``FIGURES`` has no more figures than stand there. The ends are
    rounded outwards, so that what is shown holds all that was meant; the value to the nearest, a half away from
    nothing.

    >>> shown(Quantity(61.37, 58.02, 64.9), "N")
    Shown(value='61 N', interval='58 to 65')
    >>> shown(Quantity(14.5, 12.5, 16.5), "lbf"), shown(Quantity(1496.0, 1293.0, 1707.0), "N")
    (Shown(value='14.5 lbf', interval='12.5 to 16.5'), Shown(value='1500 N', interval='1290 to 1710'))
    >>> shown(Quantity.exact(3.0), "turns")
    Shown(value='3 turns', interval='')
    """
    if quantity.low == quantity.high:
        return Shown(f"{written(quantity.value)} {unit}".strip(), "")
    place = _shown_place(quantity, unit)
    return _shown_at(quantity, _rounded(quantity.value, place, ROUND_HALF_UP), place, unit)


LONE_FIGURES = 3
"""Figures of a worked number that has no interval to go by: our choice."""


def value_in_words(quantity: Quantity, unit: str = "") -> str:
    """The value alone: with the figures it has beside its interval, else with ``LONE_FIGURES``.

    >>> value_in_words(Quantity(61.37, 58.02, 64.9), "N"), value_in_words(Quantity.exact(1293.4), "N")
    ('61 N', '1290 N')
    >>> value_in_words(Quantity.exact(0.64), "N m"), value_in_words(Quantity.exact(0.0))
    ('0.64 N m', '0')
    """
    if quantity.low < quantity.high:
        return shown(quantity, unit).value
    return f"{with_figures(quantity.value, LONE_FIGURES)} {unit}".strip()


def shown_parts(
    parts: Sequence[Quantity], unit: str = "%", whole: float = 100.0, *, beside: Sequence[Quantity] = ()
) -> tuple[Shown, ...]:
    """Parts of a whole, all to the place of the least sure one, so that what is shown adds up to the whole.

    Each is rounded down and the steps left over go to the largest remainders. Ends are rounded outwards as in
    ``shown``. The parts of another moment that stand ``beside`` them have a say in the place: both read alike.

    >>> thirds = [Quantity(100 / 3, 31.0, 36.0)] * 3
    >>> [each.words for each in shown_parts(thirds)]
    ['34 % (31 to 36)', '33 % (31 to 36)', '33 % (31 to 36)']
    >>> sure = [Quantity(65.6, 65.1, 66.0), Quantity(34.4, 34.0, 34.9)]
    >>> [[each.value for each in shown_parts(sure, beside=other)] for other in ((), thirds)]
    [['65.6 %', '34.4 %'], ['66 %', '34 %']]
    """
    place = max((_shown_place(each, unit) for each in (*parts, *beside) if each.low < each.high), default=0)
    step, total = Decimal(1).scaleb(place), sum(each.value for each in parts)
    exact = [Decimal(f"{each.value * whole / (total or 1.0):.15g}") for each in parts]
    values = [_rounded(float(each), place, ROUND_FLOOR) for each in exact]
    left = int((_rounded(whole, place, ROUND_HALF_UP) - sum(values)) / step)
    for i in sorted(range(len(parts)), key=lambda i: values[i] - exact[i])[:left]:
        values[i] += step
    return tuple(_shown_at(each, value, place, unit) for each, value in zip(parts, values, strict=True))


def _shown_place(quantity: Quantity, unit: str) -> int:
    place = _place_for(quantity)
    if unit not in FIGURES:
        return place
    size = abs(quantity.value) or max(abs(quantity.low), abs(quantity.high))
    return max(place, floor(log10(size)) - FIGURES[unit] + 1)


def _shown_at(quantity: Quantity, value: Decimal, place: int, unit: str) -> Shown:
    low, high = _outwards(quantity, place)
    ends = f"{written(min(low, value), 'f')} to {written(max(high, value), 'f')}"
    return Shown(f"{written(value, 'f')} {unit}".strip(), ends)


def _place_for(quantity: Quantity) -> int:
    """The power of ten that value and ends are shown as multiples of."""
    width = quantity.high - quantity.low
    place = floor(log10(width / FEWEST_STEPS))
    low, high = _outwards(quantity, place)
    return place if float(high - low) <= (1 + MOST_WIDER) * width else place - 1


def _outwards(quantity: Quantity, place: int) -> tuple[Decimal, Decimal]:
    return _rounded(quantity.low, place, ROUND_FLOOR), _rounded(quantity.high, place, ROUND_CEILING)


AMPLE = Context(prec=700)
"""Figures enough for the largest and the smallest number a float holds (1e308, 1e-324)."""


def _rounded(number: float, place: int, rounding: str) -> Decimal:
    """A multiple of ten to the power ``place``.

    What a float adds or lacks in its last digits is no reason to round an end outwards: 15 figures are looked at.

    >>> [f"{_rounded(*case):f}" for case in ((0.1 + 0.2, -1, ROUND_CEILING), (1293.0, 2, ROUND_FLOOR))]
    ['0.3', '1200']
    """
    rounded = Decimal(f"{number:.15g}").quantize(Decimal(1).scaleb(place), rounding, AMPLE)
    return (rounded or abs(rounded)).quantize(Decimal(1).scaleb(min(0, place)), context=AMPLE)  # no "-0", no "1.2E+3"


def whole(number: float) -> int:
    """To the nearest whole number, a half away from nothing.

    >>> whole(2.5), whole(14.5), whole(-0.5), whole(2.4999)
    (3, 15, -1, 2)
    """
    return int(_rounded(number, 0, ROUND_HALF_UP))


def nearest(amount: Decimal) -> int:
    """To the nearest whole unit, a half away from nothing: exactly, for money, which is never a float.

    >>> nearest(Decimal("2.5")), nearest(Decimal("-2.5")), nearest(Decimal("2.4999999999999999999"))
    (3, -3, 2)
    """
    return int(amount.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def with_decimals(number: float, decimals: int = 0) -> str:
    """So many figures after the point, a half away from nothing.

    >>> with_decimals(14.5), with_decimals(2.675, 2), with_decimals(-0.04, 1), with_decimals(1293.0)
    ('15', '2.68', '0.0', '1293')
    """
    return written(_rounded(number, -decimals, ROUND_HALF_UP), "f")


PLAIN = (1e-9, 1e12)
"""What is smaller or larger than anything on a bench is told as a power of ten. Our choice."""


def with_figures(number: float, figures: int) -> str:
    """So many figures at the most, a half away from nothing; a power of ten only outside ``PLAIN``.

    >>> with_figures(1814.23, 3), with_figures(0.0271, 2), with_figures(9.996, 3), with_figures(12.25, 3)
    ('1810', '0.027', '10', '12.3')
    >>> with_figures(3e40, 2)
    '3e+40'
    """
    if number and not PLAIN[0] <= abs(number) < PLAIN[1]:
        return written(number, f".{figures}g")
    told = f"{_to_figures(number, figures):f}"
    return written(told.rstrip("0").rstrip(".") if "." in told else told, "")


def to_figures(number: float, figures: int) -> float:
    """The number that ``with_figures`` writes.

    >>> to_figures(1814.23, 3), to_figures(9.996, 3)
    (1810.0, 10.0)
    """
    return float(_to_figures(number, figures))


def _to_figures(number: float, figures: int) -> Decimal:
    return _rounded(number, floor(log10(abs(number))) - figures + 1 if number else 0, ROUND_HALF_UP)


def in_words(quantity: Quantity, unit: str) -> str:
    """Value and interval in one, rounded as ``shown``.

    >>> in_words(Quantity(1.384, 1.362, 1.411), "")
    '1.384 (1.362 to 1.411)'
    >>> in_words(Quantity(8.4361, 8.4223, 8.4498), "lbf")
    '8.44 lbf (8.42 to 8.45)'
    >>> in_words(Quantity(19.7364, 19.7360, 19.7370), "rev/s")
    '19.74 rev/s (19.73 to 19.74)'
    """
    return shown(quantity, unit).words


def percent(chance: float) -> str:
    """A probability as it stands on a page; one that is not certain is never shown as certain.

    >>> percent(0.613), percent(0.625), percent(0.004), percent(0.9983), percent(0.0)
    ('61 %', '63 %', 'under 1 %', 'over 99 %', '0 %')
    """
    if 0 < chance < 0.01:
        return "under 1 %"
    if 0.99 < chance < 1:
        return "over 99 %"
    return f"{whole(100 * chance)} %"
