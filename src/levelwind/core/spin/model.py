"""What a recording says about a spool running down."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from levelwind.core.codec import UNSHOWN
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.notes import Note, Question
from levelwind.core.quantities import Quantity, Shown, shown_parts
from levelwind.core.spin.law_draws import LawDraws

LOSS_NAMES = ("dry friction", "oil", "air")
"""The three losses as a person calls them, in the order of ``Losses`` and ``Shares``."""
LOSS_UNITS = ("rev/s²", "per s", "per rev")
"""Units of their coefficients."""

LAW = 2
"""Version of the law by which a recording is read: raised whenever the same recording comes to give other numbers.
1 had oil that goes with the speed itself, and kept no laws to compare by."""


@dataclass(frozen=True, slots=True)
class Losses:
    """The three terms of dn/dt = −(dry + oil·n·(n/n₀)^(power − 1) + air·n²), n in rev/s, n₀ the spin's first speed."""

    dry_rev_s2: Quantity
    oil_per_s: Quantity
    air_per_rev: Quantity
    oil_power: Quantity | None = None
    """The power of the speed that the oil's drag goes with, 0.5 to 1; None where an older version took it for 1."""

    def shown(self) -> dict[str, Quantity]:
        """Without a power where none was worked out."""
        losses = {"dry_rev_s2": self.dry_rev_s2, "oil_per_s": self.oil_per_s, "air_per_rev": self.air_per_rev}
        return losses | ({"oil_power": self.oil_power} if self.oil_power else {})

    @property
    def parts(self) -> tuple[Quantity, Quantity, Quantity]:
        return self.dry_rev_s2, self.oil_per_s, self.air_per_rev


@dataclass(frozen=True, slots=True)
class Shares:
    """Which part of the energy lost while it was watched went into dry friction, oil and air; parts of one."""

    dry: Quantity
    oil: Quantity
    air: Quantity

    @property
    def parts(self) -> tuple[Quantity, Quantity, Quantity]:
        return self.dry, self.oil, self.air

    @property
    def told(self) -> tuple[Shown, Shown, Shown]:
        """In percent, as a person reads them: they add up to 100."""
        return self.told_beside(None)

    def told_beside(self, other: "Shares | None") -> tuple[Shown, Shown, Shown]:
        """The same, to the place of the least sure of both moments' where those of the ``other`` stand beside them."""
        beside = [part.scaled(100.0) for part in other.parts] if other else []
        dry, oil, air = shown_parts([part.scaled(100.0) for part in self.parts], beside=beside)
        return dry, oil, air

    @property
    def percents(self) -> dict[str, Quantity]:
        """By ``LOSS_NAMES``, in percent."""
        return {name: part.scaled(100.0) for name, part in zip(LOSS_NAMES, self.parts, strict=True)}


@dataclass(frozen=True, slots=True)
class SpeedCurve:
    """Speed over time: a sequence of points (s, rev/s), kept as two columns.

    >>> SpeedCurve((0.0, 0.5), (20.0, 18.5))[-1]
    (0.5, 18.5)
    """

    t_s: tuple[float, ...] = ()
    rev_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if len(self.t_s) != len(self.rev_s):
            raise InputError("a speed curve", f"{len(self.t_s)} times, {len(self.rev_s)} speeds", "one speed a time")

    def __len__(self) -> int:
        return len(self.t_s)

    def __getitem__(self, place: int) -> tuple[float, float]:
        return self.t_s[place], self.rev_s[place]

    def __iter__(self) -> Iterator[tuple[float, float]]:
        return zip(self.t_s, self.rev_s, strict=True)


@dataclass(frozen=True, slots=True)
class Spin:
    """One run down, from the first moment it could be followed to rest or to the end of the recording.

    Times are those of the recording. A spin timed by hand has only its time.
    """

    start_s: float | None = None
    end_s: float | None = None
    initial_rev_s: Quantity | None = None
    spin_time_s: Quantity | None = None
    """From ``start_s`` to rest; None where the stop was not seen and cannot be told from what was."""
    speed: SpeedCurve = SpeedCurve()
    losses: Losses | None = None
    energy_share: Shares | None = None
    cautions: tuple[Note, ...] = ()
    draws: LawDraws | None = field(default=None, metadata=UNSHOWN)
    """The laws behind the intervals, where losses are told; None too where an older version read the recording."""


@dataclass(frozen=True, slots=True)
class SpinResult:
    """Every spin in a recording, what to bear in mind about all of them, and what to ask."""

    spins: tuple[Spin, ...] = ()
    cautions: tuple[Note, ...] = ()
    source: str = "table"
    """video, sound, table or stopwatch."""
    questions: tuple[Question, ...] = ()

    @property
    def longest(self) -> Spin:
        """The spin that stands for the recording: the longest of those whose spin time is known, else the one that was
        followed longest. Raises NotDeterminedError where nothing spun.

        >>> known, longer = Spin(0.0, 5.0, spin_time_s=Quantity(5.3, 5.2, 5.4)), Spin(6.0, 14.0)
        >>> SpinResult((longer, known)).longest == known
        True
        """
        if not self.spins:
            raise NotDeterminedError("no spin in this recording")
        known = [spin for spin in self.spins if spin.spin_time_s]
        return max(known or self.spins, key=_seconds)

    @property
    def spin_time_s(self) -> Quantity:
        """Of the ``longest`` spin. Raises NotDeterminedError where no spin's time is known."""
        time = self.longest.spin_time_s
        if not time:
            raise NotDeterminedError("this recording does not tell how long the spool would have run")
        return time

    def shown(self) -> dict[str, object]:
        """The one JSON shape of a spin: `levelwind spin --json` and a reading's download.

        "questions" is there only where there is something to ask, "spin_time_s" beside "spins" only for a stop-watch.
        """
        shape: dict[str, object] = {
            "kind": "spin",
            "status": "ok",
            "source": self.source,
            "cautions": self.cautions,
            "spins": self.spins,
        }
        if self.questions:
            shape["questions"] = self.questions
        if self.source == "stopwatch":
            shape["spin_time_s"] = self.spin_time_s
        return shape


def _seconds(spin: Spin) -> float:
    return spin.spin_time_s.value if spin.spin_time_s else (spin.end_s or 0.0) - (spin.start_s or 0.0)
