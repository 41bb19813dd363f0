"""One number as found against as left: how much it changed, and whether that is more than chance."""

from dataclasses import dataclass, replace
from math import erf, hypot, sqrt

from levelwind.core.fitting import NINETY
from levelwind.core.notes import Note
from levelwind.core.quantities import NEWTONS_PER, Quantity, Shown, shown

REAL = 0.995
"""Chance from which a difference is called real. A 90 % interval without zero would be 0.95; but a proof sheet shows
eight differences, and half of all unchanged reels would be told of one. Set on made pairs, so that nine whole sheets of
ten or more tell of none: docs/physics/compare.md."""


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
    key: str = ""
    """By which logic knows it, and JSON calls it: the name is for people."""
    as_parts: tuple[Shown, Shown] | None = None
    """Both numbers as shown, where they are parts of a whole, so that those of one moment add up to it."""

    @property
    def real(self) -> bool:
        """Whether it is more than chance, also as one of the many differences of a sheet.

        >>> change("spin time", "s", Quantity(12.0, 11.8, 12.2), Quantity(12.4, 12.2, 12.6)).real
        False
        """
        return self.chance_real > REAL

    def shown(self) -> dict[str, object]:
        """As JSON has it: in the figure's own unit, left less found."""
        return {"found": self.found, "left": self.left, "change": self.difference, "real": self.real}

    @property
    def ends(self) -> str:
        """From which number to which, each as it stands alone.

        >>> change("share of air", "%", Quantity(60.0, 57.0, 63.0), Quantity(39.0, 37.0, 41.0)).ends
        'share of air 60 to 39.0 %'
        """
        found, left = self.as_parts or (shown(self.found, self.unit), shown(self.left, self.unit))
        return f"{self.name} {found.value.removesuffix(self._unit)} to {left.value}"

    @property
    def by(self) -> str:
        """By how much, and whether that is more than chance.

        >>> change("share of air", "%", Quantity(60.0, 57.0, 63.0), Quantity(39.0, 37.0, 41.0)).by
        'down by 21 points (17 to 25), real'
        >>> change("share of oil", "%", Quantity(14.2, 8.0, 20.0), Quantity(14.1, 9.0, 19.0)).by
        'no change (-8 to 8 points)'
        """
        if self.reads_the_same:
            between = shown(self.difference, self.unit).interval
            return f"no change ({between}{self._of_it})" if between else "no change"
        way = "down" if self.difference.value < 0 else "up"
        size = shown(self.difference if way == "up" else self.difference.scaled(-1.0), self.unit)
        interval = f" ({size.interval})" if size.interval else ""
        number = size.value.removesuffix(self._unit)
        unit = " point" if self.unit == "%" and number == "1" else self._of_it
        return f"{way} by {number}{unit}{interval}, {self._surely}"

    @property
    def reads_the_same(self) -> bool:
        """Whether the difference, to as many figures as it is worth, is nothing."""
        return not set("123456789") & set(shown(self.difference, self.unit).value.removesuffix(self._unit))

    def words(self, force_unit: str = "N") -> str:
        """
        >>> change("start-up ratio", "", Quantity(1.62, 1.58, 1.66), Quantity(1.14, 1.12, 1.16)).words()
        'start-up ratio 1.62 to 1.14: down by 0.48 (0.43 to 0.53), real'
        >>> change("running drag", "N", Quantity(18.0, 17.5, 18.5), Quantity(22.0, 21.5, 22.5)).words("lbf")
        'running drag 4.0 to 4.9 lbf: up by 0.9 lbf (0.7 to 1.1), real'
        """
        shown = self.in_unit(force_unit)
        return f"{shown.ends}: {shown.by}"

    def scaled(self, unit: str, factor: float) -> "Change":
        """In another unit, as real as it was."""
        found, left, difference = (each.scaled(factor) for each in (self.found, self.left, self.difference))
        return replace(self, unit=unit, found=found, left=left, difference=difference, as_parts=None)

    def in_unit(self, force_unit: str) -> "Change":
        """A force in another unit; all else as it is."""
        if self.unit != "N" or force_unit == "N":
            return self
        return self.scaled(force_unit, 1 / NEWTONS_PER[force_unit])

    @property
    def _unit(self) -> str:
        return f" {self.unit}" if self.unit else ""

    @property
    def _of_it(self) -> str:
        """The unit of the difference."""
        return " points" if self.unit == "%" else self._unit

    @property
    def _surely(self) -> str:
        return "real" if self.real else "too small to tell from chance"


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

    def change(self, key: str) -> Change | None:
        """None where one of the readings does not tell it."""
        return next((each for each in self.changes if each.key == key), None)

    def words(self, force_unit: str = "N") -> str:
        reported = [each.words(force_unit) for each in self.reported]
        return "; ".join(reported + [each.words(force_unit) for each in self.so])

    @property
    def cautions(self) -> tuple[Note, ...]:
        return self.borne + self.compared


def change(
    name: str,
    unit: str,
    found: Quantity,
    left: Quantity,
    *,
    key: str = "",
    repeats: float = 0.0,
) -> Change:
    """The difference of two numbers with independent errors, and how likely its direction is real.

    ``repeats`` is how far two readings of one unchanged reel lie apart, nine times in ten, beyond what the interval of
    either holds. With errors taken as normal, the chance is the normal distribution's share below the difference over
    its standard deviation; a half means a coin toss.
    """
    value = left.value - found.value
    down = hypot(left.value - left.low, found.high - found.value, repeats)
    up = hypot(left.high - left.value, found.value - found.low, repeats)
    against = (up if value < 0 else down) / NINETY
    chance = 0.5 * (1 + erf(abs(value) / against / sqrt(2))) if against > 0 else float(value != 0) or 0.5
    difference = Quantity(value, value - down, value + up)
    return Change(name, unit, found, left, difference, chance, key)
