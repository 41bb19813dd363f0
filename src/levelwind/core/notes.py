"""Sentences that carry their quantities until they are shown, each force then in the unit of the one who reads.

A note is known by its key. Its words are for people: nothing reads meaning out of them.
"""

from dataclasses import dataclass
from math import floor, isfinite, log10

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import NEWTONS_PER, Quantity, Shown, shown, to_figures, with_decimals, with_figures
from levelwind.core.writing import written

AS_WRITTEN = "as_written"
"""The key of a sentence that has only its words: one that an earlier version kept, or a library said."""
FEWEST_FIGURES, MOST_FIGURES = 2, 3
"""Of a plain force turned into another unit: as many as it had, within these. Three is what a hanging scale bears."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity in an SI unit, to be shown with as many ``decimals`` or ``figures`` as are given.

    With neither, its interval says how many, and is shown too. Forces have the unit "N"; no unit is a bare number.
    ``unit_follows`` leaves the unit to another that stands behind it, as in "26 to 45 N".
    """

    of: Quantity
    unit: str = ""
    decimals: int | None = None
    figures: int | None = None
    unit_follows: bool = False

    def shown(self, force_unit: str = "N") -> Shown:
        """With forces in ``force_unit``, all else in its own unit.

        >>> force = newtons(41.0, decimals=1)
        >>> force.shown().value, force.shown("lbf").value, newtons(1814.23, figures=3).shown("lbf").value
        ('41.0 N', '9.22 lbf', '408 lbf')
        >>> Amount(Quantity(61.37, 58.02, 64.9), "N").shown("kgf")
        Shown(value='6.3 kgf', interval='5.9 to 6.7')
        """
        if force_unit not in NEWTONS_PER:
            raise InputError("unit", repr(force_unit), "one of " + ", ".join(NEWTONS_PER))
        turned = self.unit == "N" and force_unit != "N"
        unit = force_unit if turned else self.unit
        of = self.of.scaled(1 / NEWTONS_PER[unit]) if turned else self.of
        by_interval = self.decimals is None and self.figures is None
        if by_interval and (of.low < of.high or not turned):
            return shown(of, unit)
        number = _plain(of.value, _figures(self._own)) if turned else self._own
        return Shown(number if self.unit_follows else f"{number} {unit}".strip(), "")

    def __str__(self) -> str:
        """In its own unit, as a refusal on the command line says it."""
        return self.shown().words

    @property
    def _own(self) -> str:
        """The bare number in its own unit."""
        if self.decimals is not None:
            return with_decimals(self.of.value, self.decimals)
        return with_figures(self.of.value, self.figures or 6)


def _figures(number: str) -> int:
    """
    >>> _figures("41.0"), _figures("0.7"), _figures("-12")
    (3, 1, 2)
    """
    return len("".join(filter(str.isdecimal, number)).lstrip("0"))


def _plain(value: float, figures: int) -> str:
    """With so many figures, held to the fewest and the most, and never as a power of ten.

    >>> _plain(9.996, 3), _plain(0.0271, 1), _plain(1814.2, 5)
    ('10.0', '0.027', '1814')
    """
    figures = min(max(figures, FEWEST_FIGURES), MOST_FIGURES)
    rounded = to_figures(value, figures)
    decimals = max(0, figures - 1 - floor(log10(abs(rounded)))) if rounded else 0
    return with_decimals(value, decimals)


Carried = Amount | str | int
"""What a note carries: a quantity, a name or a count."""


def newtons(value: float, *, decimals: int | None = None, figures: int | None = None) -> Amount:
    """A force without an interval, in N."""
    return Amount(Quantity.exact(value), "N", decimals, figures)


def entered(value_N: float, *, figures: int = 6) -> Carried:
    """A force as it came, for a refusal: it may be no number at all.

    >>> str(entered(9.80665)), entered(float("inf"))
    ('9.80665 N', 'inf N')
    """
    return newtons(value_N, figures=figures) if isfinite(value_N) else f"{written(value_N)} N"


def plain(value: float, unit: str = "", *, decimals: int | None = None, figures: int | None = None) -> Amount:
    """A number without an interval in a unit that stays as it is."""
    return Amount(Quantity.exact(value), unit, decimals, figures)


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence with the quantities it speaks of: ``template`` names them in braces, ``carried`` holds them.

    Braces stand in a template for nothing else.

    >>> limit = Note.of("limit", "the scale reached its limit of {most}", most=newtons(490.3, figures=4))
    >>> limit.words(), limit.words("kgf")
    ('the scale reached its limit of 490.3 N', 'the scale reached its limit of 50.0 kgf')
    """

    key: str
    """By which tests and logic know it; it stays when the words are put better."""
    template: str
    carried: tuple[tuple[str, Carried], ...] = ()

    @classmethod
    def of(cls, key: str, template: str, /, **carried: "Carried | Note") -> "Note":
        """A note in another brings its own template and quantities in.

        >>> why = Note.of("short", "it lasted {time}", time=plain(0.5, "s"))
        >>> str(Note.of("left_out", "the tug at {time} is left out: {why}", time=plain(7.0, "s"), why=why))
        'the tug at 7 s is left out: it lasted 0.5 s'
        """
        parts: list[tuple[str, Carried]] = []
        for name, each in carried.items():
            if isinstance(each, Note):
                within = {inner: f"{{{name}_{inner}}}" for inner, _ in each.carried}
                template = template.replace(f"{{{name}}}", each.template.format(**within))
                parts += [(f"{name}_{inner}", part) for inner, part in each.carried]
            else:
                parts.append((name, each))
        return cls(key, template, tuple(parts))

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

    def after(self, lead: str) -> "Note":
        """The same note said of something.

        >>> str(Note.of("by_hand", "timed by hand").after("as found"))
        'as found: timed by hand'
        """
        return Note.of(self.key, "{lead}: {note}", lead=lead, note=self)

    def words(self, force_unit: str = "N") -> str:
        """The sentence, with every force in ``force_unit``."""
        shown = {
            name: each.shown(force_unit).words if isinstance(each, Amount) else each for name, each in self.carried
        }
        return self.template.format(**shown)

    def shown(self) -> str:
        """In newtons: as JSON and the command line say it."""
        return self.words()

    __str__ = shown


def _carried(part: object) -> "Carried | Note":
    return part if isinstance(part, Amount | Note) else str(part)


@dataclass(frozen=True, slots=True)
class Question:
    """What a recording cannot tell and the person can, with the answers most likely first."""

    about: str
    """Which argument the answer is for: "unit", "marks" (a turn) or "slowed" (how many times slower than life)."""
    words: Note
    answers: tuple[int | float | str, ...]
