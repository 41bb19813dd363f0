"""What goes in and what comes out: a kind of piece and its dimensions, the table of a kind, measurements, an answer."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

import numpy as np
import numpy.typing as npt

from levelwind.core.errors import InputError

NONE_SHARE = 0.04
"""How often a piece on a reel is of no standard in the tables: a maker's own size. Our choice; no count is known."""

Floats = npt.NDArray[np.float64]
Span = tuple[float, float]
"""The least and the most a piece is made with, mm."""

SURE = 1.6448536269514722
"""Standard deviations on either side that hold nine in ten of a normal law."""

GAUGE_MM = 0.02
"""What a caliper may be off, nine times in ten, where nothing is said: a step of a common one (common practice, no
source)."""


def refuse_unsure(sure: float) -> None:
    """Raises InputError where it is no probability."""
    if not 0 <= sure <= 1:
        raise InputError("how sure", sure, "from 0 to 1")


@dataclass(frozen=True, slots=True)
class Dimension:
    """One thing to measure on a piece of a kind.

    ``wear_mm`` is the mean of what a worn piece has lost: below nothing it shrinks with wear, above it grows.
    ``own_mm`` and ``own_share`` are standard deviations that piece and hand add to the gauge's: in mm, and of the size.
    ``jaws`` says how many times the gauge's error it bears: inner jaws are worse. ``over`` is how many of them are best
    measured at once.
    """

    key: str
    name: str
    least_mm: float
    most_mm: float
    wear_mm: float = 0.0
    own_mm: float = 0.005
    own_share: float = 0.0
    jaws: float = 1.0
    over: int = 1

    def __post_init__(self) -> None:
        if not 0 < self.least_mm < self.most_mm:
            raise InputError(self.name, (self.least_mm, self.most_mm), "a range above nothing")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of piece: what can be measured on it, and how often such a piece is worn though nobody says so.

    ``orders`` are pairs of dimensions of which the first must be the smaller.
    """

    key: str
    name: str
    dimensions: tuple[Dimension, ...]
    orders: tuple[tuple[str, str], ...] = ()
    handed: bool = False
    none_share: float = NONE_SHARE
    """How often such a piece is none of the table's, before anything is measured."""

    def dimension(self, key: str) -> Dimension:
        """Raises InputError with the dimensions there are."""
        for each in self.dimensions:
            if each.key == key:
                return each
        raise InputError("measurement", repr(key), "one of " + ", ".join(each.key for each in self.dimensions))


@dataclass(frozen=True, slots=True)
class Form:
    """One way a size is made, such as with shields: from where to where each dimension may lie, in the kind's order."""

    name: str
    limits: tuple[Span, ...]
    share: float = 1.0
    """How common this form is beside the other ones of its size."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A standard thing with its designation. ``common`` is how often it is met on reels beside others; 1 is usual."""

    name: str
    standard: str
    forms: tuple[Form, ...]
    common: float
    basis: str
    """Where its limits are from: read, computed, or from memory."""
    source: str


class Table:
    """All candidates of a kind, with their limits as arrays: one column a form."""

    def __init__(self, kind: Kind, candidates: tuple[Candidate, ...]) -> None:
        forms = [(n, form) for n, candidate in enumerate(candidates) for form in candidate.forms]
        if any(len(form.limits) != len(kind.dimensions) for _, form in forms):
            raise InputError("limits of a form", "not as many as dimensions", f"{len(kind.dimensions)} of them")
        self.kind, self.candidates = kind, candidates
        self.forms = tuple(form for _, form in forms)
        limits = np.array([form.limits for _, form in forms], dtype=np.float64)
        self.low: Floats = np.ascontiguousarray(limits[:, :, 0].T)
        self.high: Floats = np.ascontiguousarray(limits[:, :, 1].T)
        if not (np.all(np.isfinite(limits)) and np.all(self.low > 0) and np.all(self.low <= self.high)):
            raise InputError("limits of a form", "not a span above nothing", "finite, the lower end first")
        self.of = np.array([n for n, _ in forms], dtype=np.intp)
        self.first = np.searchsorted(self.of, np.arange(len(candidates)))
        shares = np.array([form.share for _, form in forms], dtype=np.float64)
        self.share: Floats = shares / np.add.reduceat(shares, self.first)[self.of]
        self.common: Floats = np.array([candidate.common for candidate in candidates], dtype=np.float64)

    def row(self, key: str) -> int:
        """Which row of ``low`` and ``high`` holds a dimension."""
        return self.kind.dimensions.index(self.kind.dimension(key))


@dataclass(frozen=True, slots=True)
class Measurement:
    """A length in mm with the step it was read to; ``typed`` and ``unit`` are as the person gave it."""

    value_mm: float
    step_mm: float = 0.0
    """The last figure it was read to; 0 where that says nothing."""
    typed: str = ""
    unit: str = "mm"
    over: int = 0
    """How many threads were measured at once; 0 where nobody said."""

    def __post_init__(self) -> None:
        if not (isfinite(self.value_mm) and self.value_mm > 0):
            raise InputError("measurement", self.typed or self.value_mm, "more than 0")

    def error_mm(self, dimension: Dimension, gauge_mm: float | None = None) -> float:
        """Standard deviation of the reading: gauge, step, and what piece and hand add.

        What is measured over several at once has the gauge's error, and its own, that many times smaller.

        >>> diameter = Dimension("diameter", "diameter", 0.5, 30.0)
        >>> Measurement(2.81).error_mm(diameter)
        0.0131
        """
        gauge = dimension.jaws * (GAUGE_MM if gauge_mm is None else gauge_mm) / SURE
        step = self.step_mm / 12**0.5 if gauge_mm is None else 0.0
        many = max(1, self.over)
        own_share = 0.0 if self.over > 1 else dimension.own_share * self.value_mm
        return float(np.hypot(np.hypot(gauge, np.hypot(step, dimension.own_mm)) / many, own_share))


Measured = Mapping[str, Measurement]


@dataclass(frozen=True, slots=True)
class Found:
    """A candidate with its probability. ``forms`` are those the measurements allow, the likeliest first."""

    candidate: Candidate
    probability: float
    forms: tuple[tuple[Form, float], ...]


@dataclass(frozen=True, slots=True)
class Next:
    """What to measure next, how well, and which of the leaders it tells apart."""

    dimension: Dimension
    over: int
    accuracy_mm: float
    """Off by no more than this, it tells."""
    finer: bool
    """It was measured already; it is to be measured better."""
    tells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """Ranked candidates, and how likely it is none of them: together 1, with ``rest`` for those not listed."""

    kind: Kind
    measured: Measured
    found: tuple[Found, ...]
    none_probability: float
    next: Next | None
    alike: tuple[str, ...]
    """Leaders that a caliper does not tell from the first one."""
    hand: str | None = None

    @property
    def is_none(self) -> bool:
        """None of these is the likeliest answer of all."""
        return not self.found or self.none_probability > self.found[0].probability
