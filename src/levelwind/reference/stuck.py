"""When it will not come apart: procedures, what each material bears, and grades of corrosion, read from stuck.toml."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from math import cos, pi, sin, sqrt

from levelwind.core.errors import InputError
from levelwind.core.figures import Axis, Band, Figure, Line, Marker
from levelwind.core.quantities import Quantity
from levelwind.reference.cautions import Caution, named
from levelwind.reference.families import KINDS
from levelwind.reference.toml_rows import TomlTable, read_toml

ASK_FROM_MINUTES = 15.0
"""Minutes from which a procedure costs enough to ask the owner first. Our choice: a quarter of an hour's work."""
ASK_FROM_BREAKING = 0.2
"""Odds, at their high end, from which a procedure risks enough to ask. Our choice: one in five."""
FACE_MM = 10.0
"""Side of the face that the scale draws, mm. Our choice: about a thumbnail, which is what the eye compares with."""
FACES_IN_A_ROW = 3
"""Faces of the scale side by side: on a phone each is then about 13 mm wide; our choice."""
CORNERS = 24
"""Points round a drawn pit; more are not seen."""


@dataclass(frozen=True, slots=True)
class Means:
    """What a stuck piece is freed with, and its cautions."""

    key: str
    name: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Material:
    """What a reel may be made of: the means it never bears, those to be careful with, and why."""

    key: str
    name: str
    never: tuple[str, ...]
    careful: tuple[str, ...]
    why: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Grade:
    """Corrosion by its looks: ``share`` in % of the face, so many pits a side; work takes so many ``times`` as long."""

    key: str
    name: str
    looks: str
    share: float
    pits_a_side: int
    times: float


@dataclass(frozen=True, slots=True)
class Procedure:
    """What to do when a piece will not come. ``minutes``, odds that it ``breaks`` and ``parts`` in whole currency units
    if it does, each likely with a low and a high end: judgements, no source."""

    key: str
    name: str
    kinds: tuple[str, ...]
    say: str
    means: tuple[str, ...]
    tools: tuple[str, ...]
    cautions: tuple[str, ...]
    do: tuple[str, ...]
    risks: str
    minutes: Quantity
    breaks: Quantity
    parts: Quantity
    graded: bool

    @property
    def asks(self) -> bool:
        """Whether it risks or costs enough that the owner is asked before."""
        return self.minutes.value > ASK_FROM_MINUTES or self.breaks.high >= ASK_FROM_BREAKING


@dataclass(frozen=True, slots=True)
class Leave:
    """What an owner may forbid, and the kinds of piece it touches; all of them where none is named."""

    key: str
    name: str
    kinds: tuple[str, ...]
    say: str

    def touches(self, kinds: Iterable[str]) -> bool:
        return not self.kinds or any(kind in self.kinds for kind in kinds)


@dataclass(frozen=True, slots=True)
class Stuck:
    """The whole file, each row by its key, in the order of the file."""

    means: Mapping[str, Means]
    materials: Mapping[str, Material]
    grades: Mapping[str, Grade]
    procedures: Mapping[str, Procedure]
    leaves: Mapping[str, Leave]

    def procedure(self, key: str) -> Procedure:
        """Raises InputError for a key that is no procedure."""
        if key not in self.procedures:
            raise InputError("what is stuck", repr(key[:40]), "one of " + ", ".join(self.procedures))
        return self.procedures[key]

    def for_kinds(self, kinds: Iterable[str]) -> tuple[Procedure, ...]:
        """The procedures for pieces of these kinds first, then the others.

        >>> stuck().for_kinds(["screw"])[0].key
        'seized_screw'
        """
        kinds = set(kinds)
        return tuple(sorted(self.procedures.values(), key=lambda one: not kinds & set(one.kinds)))

    def cautions(self, procedure: Procedure, materials: Iterable[str]) -> tuple[Caution, ...]:
        """Every caution of the procedure, of what it uses, and of what the piece is made of; each once."""
        keys = [*procedure.cautions]
        keys += [key for means in procedure.means for key in self.means[means].cautions]
        keys += [key for material in materials for key in self.materials[material].cautions]
        return named(dict.fromkeys(keys))


@cache
def stuck() -> Stuck:
    """What the book knows of stuck pieces.

    >>> stuck().materials["celluloid"].never
    ('spirit', 'alcohol', 'acetone', 'heat', 'acid')
    """
    return read_stuck(resources.files("levelwind.reference").joinpath("stuck.toml").read_text(encoding="utf-8"))


def read_stuck(text: str) -> Stuck:
    """The file's rows, checked. Raises InputError that names file, row and what is allowed."""
    file = read_toml("stuck.toml", text)
    means = {row.text("key"): _means(row) for row in file.rows("means")}
    read = Stuck(
        means=means,
        materials={row.text("key"): _material(row, means) for row in file.rows("material")},
        grades={row.text("key"): _grade(row) for row in file.rows("grade")},
        procedures={row.text("key"): _procedure(row, means) for row in file.rows("procedure")},
        leaves={row.text("key"): _leave(row) for row in file.rows("leave")},
    )
    file.done()
    return read


def _means(row: TomlTable) -> Means:
    made = Means(row.text("key"), row.text("name"), _cautions(row))
    row.done()
    return made


def _material(row: TomlTable, means: Mapping[str, Means]) -> Material:
    never, careful = row.texts("never", allowed=means), row.texts("careful", allowed=means)
    made = Material(row.text("key"), row.text("name"), never, careful, row.text("why"), _cautions(row))
    row.done()
    return made


def _grade(row: TomlTable) -> Grade:
    side = int(row.number("pits_a_side"))
    made = Grade(row.text("key"), row.text("name"), row.text("looks"), row.number("share"), side, row.number("times"))
    row.done()
    # Pits in a grid do not touch as long as each fits its cell.
    if not 0 <= made.share < 25 * pi or (made.share > 0) != (side > 0):
        raise InputError(f"{row.where}: share", made.share, "up to 78 %, with pits where it is over 0")
    return made


def _procedure(row: TomlTable, means: Mapping[str, Means]) -> Procedure:
    made = Procedure(
        key=row.text("key"),
        name=row.text("name"),
        kinds=row.texts("kinds", allowed=(*KINDS, "foot")),
        say=row.text("say"),
        means=row.texts("means", allowed=means),
        tools=row.texts("tools"),
        cautions=_cautions(row),
        do=row.texts("do"),
        risks=row.text("risks"),
        minutes=_likely(row, "minutes"),
        breaks=_likely(row, "breaks"),
        parts=_likely(row, "parts"),
        graded=row.yes("graded"),
    )
    row.done()
    if made.breaks.high > 1:
        raise InputError(f"{row.where}: breaks", made.breaks.high, "odds up to 1")
    return made


def _leave(row: TomlTable) -> Leave:
    made = Leave(row.text("key"), row.text("name"), row.texts("kinds", allowed=KINDS), row.text("say"))
    row.done()
    return made


def _cautions(row: TomlTable) -> tuple[str, ...]:
    keys = row.texts("cautions")
    named(keys)
    return keys


def _likely(row: TomlTable, key: str) -> Quantity:
    ends = row.row(key)
    low, likely, high = (ends.number(end) for end in ("low", "likely", "high"))
    ends.done()
    if not 0 <= low <= likely <= high:
        raise InputError(
            f"{row.where}: {key}", f"{low:g}, {likely:g}, {high:g}", "low, likely and high in order, from 0"
        )
    return Quantity(likely, low, high)


def pits(grade: Grade) -> tuple[tuple[float, float, float], ...]:
    """The drawn pits of a grade as (x, y, radius), mm, on a face of 10 mm by 10 mm: equal, in a shaken grid, none
    touching another, so that they cover exactly the grade's share: r = √(share · 10² / (100 · n · π)).

    >>> [round(value, 2) for value in pits(stuck().grades["eaten"])[0]]
    [1.29, 1.22, 1.09]
    """
    side, count = grade.pits_a_side, grade.pits_a_side**2
    if not count:
        return ()
    cell, radius = FACE_MM / side, sqrt(grade.share / 100.0 * FACE_MM**2 / (count * pi))
    room = cell / 2 - radius
    return tuple(
        (cell * (n % side + 0.5) + room * _shake(n, 0.618), cell * (n // side + 0.5) + room * _shake(n, 0.414), radius)
        for n in range(count)
    )


def _shake(number: int, step: float) -> float:
    """From -1 to 1, never the same, always the same way: the parts of a step that no whole number fills."""
    return 2.0 * ((number + 1) * step % 1.0) - 1.0


def scale_of_corrosion(grades: Iterable[Grade]) -> Figure:
    """The grades in rows, each a face of 10 mm by 10 mm with its pits, to scale on axes in mm."""
    grades = tuple(grades)
    rows = -(-len(grades) // FACES_IN_A_ROW)
    frames, bands, names = [], [], []
    for number, grade in enumerate(grades):
        left = number % FACES_IN_A_ROW * 1.2 * FACE_MM
        foot = (rows - 1 - number // FACES_IN_A_ROW) * 1.5 * FACE_MM
        right, top = left + FACE_MM, foot + FACE_MM
        frames.append(Line("read", [(left, foot), (left, top), (right, top), (right, foot)]))
        frames.append(Line("read", [(left, foot), (right, foot)]))
        names.append(Marker("grade", left + FACE_MM / 2, top, grade.looks, label=str(number)))
        bands += [_disc(left + x, foot + y, radius) for x, y, radius in pits(grade)]
    says = "Corrosion by its looks: " + "; ".join(f"{grade.name}, {grade.share:g} % of the face" for grade in grades)
    across = Axis("mm", 0.0, (1.2 * min(FACES_IN_A_ROW, len(grades)) - 0.2) * FACE_MM)
    up = Axis("mm", 0.0, (1.5 * rows - 0.5) * FACE_MM)
    return Figure(says, across, up, tuple(frames), tuple(bands), markers=tuple(names), to_scale=True)


def _disc(x: float, y: float, radius: float) -> Band:
    turns = [pi * (1 - n / CORNERS) for n in range(CORNERS + 1)]
    low = [(x + radius * cos(turn), y - radius * sin(turn)) for turn in turns]
    high = [(x + radius * cos(turn), y + radius * sin(turn)) for turn in turns]
    return Band("pit", low, high)
