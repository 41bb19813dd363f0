"""Sentences that carry their quantities until they are shown, each force then in the unit of the one who reads.

A note is known by its key. Its words are for people: nothing reads meaning out of them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, log10
from typing import Any, Union

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import NEWTONS_PER, Quantity, Shown, shown

AS_WRITTEN = "as_written"
"""The key of a sentence that has only its words: one that an earlier version kept, or a library said."""
FEWEST_FIGURES, MOST_FIGURES = 2, 3
"""Of a plain force turned into another unit: as many as it had, within these. Three is what a hanging scale bears."""

Carried = Union["Amount", "Note", str, int]
"""What may stand in a note: a quantity, a note within it, a name or a count."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity in an SI unit, to be shown with as many ``decimals`` or ``figures`` as are given.

    With neither, its interval says how many, and is shown too. Forces have the unit "N"; no unit is a bare number.
    """

    of: Quantity
    unit: str = ""
    decimals: int | None = None
    figures: int | None = None

    def shown(self, force_unit: str = "N") -> Shown:
        """With forces in ``force_unit``, all else in its own unit.

        >>> force = newtons(41.0, decimals=1)
        >>> force.shown().value, force.shown("lbf").value, newtons(1814.23, figures=3).shown("lbf").value
        ('41.0 N', '9.22 lbf', '408 lbf')
        >>> Amount(Quantity(61.37, 58.02, 64.9), "N").shown("kgf")
        Shown(value='6.3 kgf', interval='5.9 to 6.6')
        """
        if force_unit not in NEWTONS_PER:
            raise InputError("unit", repr(force_unit), "one of " + ", ".join(NEWTONS_PER))
        turned = self.unit == "N" and force_unit != "N"
        unit = force_unit if turned else self.unit
        of = self.of.scaled(1 / NEWTONS_PER[unit]) if turned else self.of
        by_interval = self.decimals is None and self.figures is None
        if by_interval and (of.low < of.high or not turned):
            return shown(of, unit)
        number = _plain(of.value, self._own_figures) if turned else f"{of.value:{self._form}}"
        return Shown(f"{number} {unit}".strip(), "")

    def __str__(self) -> str:
        """In its own unit, as a refusal on the command line says it."""
        return self.shown().words

    @property
    def _form(self) -> str:
        return f".{self.figures}g" if self.decimals is None else f".{self.decimals}f"

    @property
    def _own_figures(self) -> int:
        if self.decimals is None:
            return self.figures or MOST_FIGURES
        return self.decimals + 1 + (floor(log10(abs(self.of.value))) if self.of.value else 0)

    def as_dict(self) -> dict[str, Any]:
        rounding = {"decimals": self.decimals, "figures": self.figures}
        kept = {key: value for key, value in rounding.items() if value is not None}
        return {**self.of.as_dict(), "unit": self.unit, **kept}

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Amount":
        of = Quantity(stored["value"], stored["low"], stored["high"])
        return cls(of, stored["unit"], stored.get("decimals"), stored.get("figures"))


def _plain(value: float, figures: int) -> str:
    """With so many figures, held to the fewest and the most, and never as a power of ten.

    >>> _plain(9.996, 3), _plain(0.0271, 1), _plain(1814.2, 5)
    ('10.0', '0.027', '1814')
    """
    figures = min(max(figures, FEWEST_FIGURES), MOST_FIGURES)
    rounded = float(f"{value:.{figures - 1}e}")
    decimals = max(0, figures - 1 - floor(log10(abs(rounded)))) if rounded else 0
    return f"{value:.{decimals}f}"


def newtons(value: float, *, decimals: int | None = None, figures: int | None = None) -> Amount:
    """A force without an interval, in N."""
    return Amount(Quantity.exact(value), "N", decimals, figures)


def plain(value: float, unit: str = "", *, decimals: int | None = None, figures: int | None = None) -> Amount:
    """A number without an interval in a unit that stays as it is."""
    return Amount(Quantity.exact(value), unit, decimals, figures)


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence with the quantities it speaks of: ``template`` names them in braces, ``carried`` holds them.

    >>> limit = Note.of("limit", "the scale reached its limit of {most}", most=newtons(490.3, figures=4))
    >>> limit.words(), limit.words("kgf")
    ('the scale reached its limit of 490.3 N', 'the scale reached its limit of 50.0 kgf')
    """

    key: str
    """By which tests and logic know it; it stays when the words are put better."""
    template: str
    carried: tuple[tuple[str, Carried], ...] = ()

    @classmethod
    def of(cls, key: str, template: str, /, **carried: Carried) -> "Note":
        return cls(key, template, tuple(carried.items()))

    @classmethod
    def as_written(cls, words: str) -> "Note":
        """A sentence that has only its words: it is shown as it stands."""
        return cls.of(AS_WRITTEN, "{words}", words=words)

    @classmethod
    def from_error(cls, error: LevelwindError) -> "Note":
        """What was refused and why, with the quantities the refusal was raised with."""
        if isinstance(error, InputError):
            parts = {name: _carried(getattr(error, name)) for name in ("what", "was", "allowed")}
            return cls.of("refused", "{what} was {was}; allowed is {allowed}", **parts)
        said = error.args[0] if error.args else ""
        return said if isinstance(said, Note) else cls.as_written(str(error))

    def words(self, force_unit: str = "N") -> str:
        """The sentence, with every force in ``force_unit``."""
        return self.template.format(**{name: _words(each, force_unit) for name, each in self.carried})

    def __str__(self) -> str:
        """In newtons: for the command line, JSON and the log."""
        return self.words()

    def after(self, lead: str) -> "Note":
        """The same note said of something.

        >>> str(Note.of("hand", "timed by hand").after("as found"))
        'as found: timed by hand'
        """
        return Note.of(self.key, "{lead}: {note}", lead=lead, note=self)

    def as_dict(self) -> dict[str, Any]:
        """As it is kept with a result."""
        carried = {name: each.as_dict() if isinstance(each, Amount | Note) else each for name, each in self.carried}
        return {"key": self.key, "template": self.template, "carried": carried}

    @classmethod
    def from_stored(cls, stored: str | Mapping[str, Any]) -> "Note":
        """Back from ``as_dict``; a string, as earlier versions kept it, is shown as it stands."""
        if isinstance(stored, str):
            return cls.as_written(stored)
        carried = {name: _from_stored(each) for name, each in stored["carried"].items()}
        return cls.of(stored["key"], stored["template"], **carried)


def notes_from(stored: list[str | Mapping[str, Any]]) -> tuple[Note, ...]:
    """A result's notes, from where they are kept."""
    return tuple(map(Note.from_stored, stored))


def _words(carried: Carried, force_unit: str) -> str:
    if isinstance(carried, Amount):
        return carried.shown(force_unit).words
    return carried.words(force_unit) if isinstance(carried, Note) else str(carried)


def _carried(part: object) -> Carried:
    return part if isinstance(part, Amount | Note | int) else str(part)


def _from_stored(each: Any) -> Carried:
    if not isinstance(each, Mapping):
        return str(each) if isinstance(each, str) else int(each)
    return Note.from_stored(each) if "template" in each else Amount.from_dict(each)
