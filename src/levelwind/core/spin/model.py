"""What a recording says about a spool running down."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.errors import NotDeterminedError
from levelwind.core.quantities import Quantity

SOURCES = ("video", "sound", "table", "stopwatch")


@dataclass(frozen=True, slots=True)
class Losses:
    """The three terms of d(rev/s)/dt = −(dry + oil·n + air·n²)."""

    dry_rev_s2: Quantity
    oil_per_s: Quantity
    air_per_rev: Quantity

    def as_dict(self) -> dict[str, dict[str, float]]:
        return {
            "dry_rev_s2": self.dry_rev_s2.as_dict(),
            "oil_per_s": self.oil_per_s.as_dict(),
            "air_per_rev": self.air_per_rev.as_dict(),
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Losses":
        return cls(*(Quantity(**stored[name]) for name in ("dry_rev_s2", "oil_per_s", "air_per_rev")))


@dataclass(frozen=True, slots=True)
class Shares:
    """Which part of the energy lost while it was watched went into dry friction, oil and air; parts of one."""

    dry: Quantity
    oil: Quantity
    air: Quantity

    @property
    def parts(self) -> tuple[Quantity, Quantity, Quantity]:
        return self.dry, self.oil, self.air

    def as_dict(self) -> dict[str, dict[str, float]]:
        return {"dry": self.dry.as_dict(), "oil": self.oil.as_dict(), "air": self.air.as_dict()}

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Shares":
        return cls(*(Quantity(**stored[name]) for name in ("dry", "oil", "air")))


@dataclass(frozen=True, slots=True)
class Spin:
    """One run down, from the first moment it could be followed to rest or to the end of the recording.

    Times are those of the recording. A spin timed by hand has only its time.
    """

    start_s: float | None
    end_s: float | None
    initial_rev_s: Quantity | None
    spin_time_s: Quantity | None
    """From ``start_s`` to rest; None where the stop was not seen and cannot be told from what was."""
    speed: tuple[tuple[float, float], ...] = ()
    """Pairs of time in s and speed in rev/s."""
    losses: Losses | None = None
    energy_share: Shares | None = None
    cautions: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, object]:
        return {
            "start_s": self.start_s,
            "end_s": self.end_s,
            "initial_rev_s": self.initial_rev_s.as_dict() if self.initial_rev_s else None,
            "spin_time_s": self.spin_time_s.as_dict() if self.spin_time_s else None,
            "speed": {"t_s": [t for t, _ in self.speed], "rev_s": [f for _, f in self.speed]},
            "losses": self.losses.as_dict() if self.losses else None,
            "energy_share": self.energy_share.as_dict() if self.energy_share else None,
            "cautions": list(self.cautions),
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Spin":
        initial, time, losses, shares = (
            stored[name] for name in ("initial_rev_s", "spin_time_s", "losses", "energy_share")
        )
        return cls(
            stored["start_s"],
            stored["end_s"],
            Quantity(**initial) if initial else None,
            Quantity(**time) if time else None,
            tuple(zip(stored["speed"]["t_s"], stored["speed"]["rev_s"], strict=True)),
            Losses.from_dict(losses) if losses else None,
            Shares.from_dict(shares) if shares else None,
            tuple(stored["cautions"]),
        )


@dataclass(frozen=True, slots=True)
class Question:
    """What the recording cannot tell and the person can, with the answers most likely first."""

    about: str
    """Which argument the answer is for: "marks" (how many a turn) or "slowed" (how many times slower than life)."""
    words: str
    answers: tuple[float, ...]

    def as_dict(self) -> dict[str, object]:
        return {"about": self.about, "words": self.words, "answers": list(self.answers)}


@dataclass(frozen=True, slots=True)
class SpinResult:
    """Every spin in a recording, what to bear in mind about all of them, and what to ask."""

    spins: tuple[Spin, ...]
    cautions: tuple[str, ...] = ()
    source: str = "table"
    questions: tuple[Question, ...] = ()

    @property
    def spin_time_s(self) -> Quantity:
        """Of the longest spin whose time is known. Raises NotDeterminedError where none is."""
        times = [spin.spin_time_s for spin in self.spins if spin.spin_time_s]
        if not times:
            raise NotDeterminedError("this recording does not tell how long the spool would have run")
        return max(times, key=lambda time: time.value)

    def as_dict(self) -> dict[str, object]:
        """The one JSON shape of a spin: `levelwind spin --json`, stored readings, and the pages.

        "questions" is there only where there is something to ask, "spin_time_s" beside "spins" only for a stop-watch.
        """
        shape: dict[str, object] = {
            "kind": "spin",
            "status": "ok",
            "source": self.source,
            "cautions": list(self.cautions),
            "spins": [spin.as_dict() for spin in self.spins],
        }
        if self.questions:
            shape["questions"] = [question.as_dict() for question in self.questions]
        if self.source == "stopwatch":
            shape["spin_time_s"] = self.spin_time_s.as_dict()
        return shape

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "SpinResult":
        """Back from ``as_dict``, as a stored reading is; a stop-watch's earlier shape had no "spins"."""
        spins = tuple(Spin.from_dict(spin) for spin in stored.get("spins", ()))
        if not spins and "spin_time_s" in stored:
            spins = (Spin(None, None, None, Quantity(**stored["spin_time_s"])),)
        questions = tuple(
            Question(each["about"], each["words"], tuple(each["answers"])) for each in stored.get("questions", ())
        )
        return cls(spins, tuple(stored["cautions"]), stored["source"], questions)
