"""One number as found against as left: how much it changed, and whether that is more than chance."""

from dataclasses import dataclass
from math import erf, floor, hypot, log10, sqrt

from levelwind.core.fitting import NINETY
from levelwind.core.notes import Note
from levelwind.core.quantities import NEWTONS_PER, Quantity


@dataclass(frozen=True, slots=True)
class Change:
    """One number as found against as left; ``difference`` is left less found."""

    name: str
    unit: str
    found: Quantity
    left: Quantity
    difference: Quantity
    chance_real: float
    """Probability that it truly changed in the direction shown."""
    decimals: int

    @property
    def ends(self) -> str:
        """From which number to which.

        >>> change("share of air", "%", Quantity(60.0, 57.0, 63.0), Quantity(39.0, 37.0, 41.0)).ends
        'share of air 60.0 to 39.0 %'
        """
        return f"{self.name} {self._written(self.found.value)} to {self._written(self.left.value)}{self._unit}"

    @property
    def by(self) -> str:
        """By how much, and whether that is more than chance.

        >>> change("share of air", "%", Quantity(60.0, 57.0, 63.0), Quantity(39.0, 37.0, 41.0)).by
        'down by 21.0 points (17.4 to 24.6), real'
        """
        way = "down" if self.difference.value < 0 else "up"
        size = self.difference if way == "up" else self.difference.scaled(-1.0)
        by, low, high = (self._written(value) for value in (size.value, size.low, size.high))
        return f"{way} by {by}{' points' if self.unit == '%' else self._unit} ({low} to {high}), {self._surely}"

    @property
    def reads_the_same(self) -> bool:
        """Whether both are written alike, to as many decimals as the difference is worth."""
        return self._written(self.found.value) == self._written(self.left.value)

    def words(self, force_unit: str = "N") -> str:
        """
        >>> change("start-up ratio", "", Quantity(1.62, 1.58, 1.66), Quantity(1.14, 1.12, 1.16)).words()
        'start-up ratio 1.62 to 1.14: down by 0.48 (0.44 to 0.52), real'
        >>> change("running drag", "N", Quantity(18.0, 17.5, 18.5), Quantity(22.0, 21.5, 22.5)).words("lbf")
        'running drag 4.0 to 4.9 lbf: up by 0.9 lbf (0.7 to 1.1), real'
        """
        shown = self._in(force_unit)
        return f"{shown.ends}: {shown.by}"

    def _in(self, force_unit: str) -> "Change":
        if self.unit != "N" or force_unit == "N":
            return self
        per = 1 / NEWTONS_PER[force_unit]
        return change(self.name, force_unit, self.found.scaled(per), self.left.scaled(per))

    def _written(self, value: float) -> str:
        return f"{value:z.{self.decimals}f}"

    @property
    def _unit(self) -> str:
        return f" {self.unit}" if self.unit else ""

    @property
    def _surely(self) -> str:
        if self.chance_real > 0.99:
            return "real"
        if self.chance_real > 0.8:
            return f"{100 * self.chance_real:.0f} % likely to be real"
        return "too small to tell from chance"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the work did, in words, with what it rests on."""

    changes: tuple[Change, ...]
    reported: tuple[Change, ...]
    """Those of them that the words tell."""
    so: tuple[Note, ...]
    """What they come to."""
    borne: tuple[Note, ...]
    """The cautions that either reading brought along."""
    compared: tuple[Note, ...] = ()
    """Those of the comparison itself."""

    def words(self, force_unit: str = "N") -> str:
        reported = [each.words(force_unit) for each in self.reported]
        return "; ".join(reported + [each.words(force_unit) for each in self.so])

    @property
    def cautions(self) -> tuple[Note, ...]:
        return self.borne + self.compared


def change(name: str, unit: str, found: Quantity, left: Quantity, *, decimals: int | None = None) -> Change:
    """The difference of two numbers with independent errors, and how likely its direction is real.

    With errors taken as normal, the chance is the normal distribution's share below the difference over its standard
    deviation; a half means a coin toss. Without ``decimals`` the interval says how many are written.
    """
    value = left.value - found.value
    down = hypot(left.value - left.low, found.high - found.value)
    up = hypot(left.high - left.value, found.value - found.low)
    against = (up if value < 0 else down) / NINETY
    chance = 0.5 * (1 + erf(abs(value) / against / sqrt(2))) if against > 0 else float(value != 0) or 0.5
    difference = Quantity(value, value - down, value + up)
    if decimals is None:
        decimals = max(_decimals(difference), 1 if unit else 2)
    return Change(name, unit, found, left, difference, chance, decimals)


def _decimals(size: Quantity) -> int:
    """As many as its interval supports, and one more where an end that is not nothing would read as nothing."""
    width = size.high - size.low
    decimals = max(0, -floor(log10(width))) if width > 0 else 2
    nearest = min(abs(size.low), abs(size.high))
    while decimals < 3 and size.low * size.high > 0 and round(nearest, decimals) == 0:
        decimals += 1
    return decimals
