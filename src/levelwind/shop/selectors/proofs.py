"""What a reel's proof rests on: the drag as computed beside as measured, the setting, and what is still to measure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.line import STRIKE_SHARES
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.shop.models import DragPlan, Job, Reading, Work
from levelwind.shop.selectors.limits import limits_of
from levelwind.shop.selectors.others import Others
from levelwind.shop.selectors.readings import AS, Readings

STANDING_SPOOL = ("fixed_spool", "closed_face")
"""Families whose spool stands still while line leaves it: there is no free spool to spin."""


@dataclass(frozen=True, slots=True)
class ComputedFill:
    """Line tension the plan gives at one fill of the spool, from run in to new, in the unit asked for."""

    fill: str
    tension: Quantity
    line_radius_mm: float


@dataclass(frozen=True, slots=True)
class DragProof:
    """``fills`` at the clamp force planned; ``strike`` is the setting for the line at a full spool."""

    plan: DragPlan
    unit: str
    clamp_N: Quantity
    fills: tuple[ComputedFill, ...]
    measured: Quantity | None
    strike: tuple[float, float] | None

    @property
    def words(self) -> str:
        """Whether the drag pulls as it was computed to, as far as the intervals can tell."""
        if self.measured is None or not self.fills:
            return ""
        full = self.fills[0].tension
        if self.measured.low > full.high:
            return (
                "It pulls harder than computed for that clamp force: it was set tighter, or the coefficient is higher."
            )
        if self.measured.high < full.low:
            return "It pulls less than computed for that clamp force: it was set lighter, or the coefficient is lower."
        return "What was measured and what was computed agree as far as their intervals tell."


def drag_proof(job: Job, readings: Readings, unit: str = "N") -> DragProof | None:
    """The newest drag plan against the pull as left; None while no stack was chosen."""
    plan = job.drag_plans.last()
    if plan is None or not plan.computed:
        return None
    per = 1 / NEWTONS_PER[unit]
    fills = tuple(
        ComputedFill(row["fill"], _from_run_in_to_new(row).scaled(per), row["radius_mm"])
        for row in plan.computed["tension"]
    )
    pair = readings.pair("Running drag")
    measured = pair.left if pair else None
    strength = job.line_strength_N
    low, high = STRIKE_SHARES
    strike = (strength * low * per, strength * high * per) if strength else None
    return DragProof(plan, unit, Quantity(**plan.computed["clamp_N"]), fills, measured, strike)


def _from_run_in_to_new(row: Mapping[str, Any]) -> Quantity:
    """The middle of uniform wear and uniform pressure, and all that either leaves open."""
    new, run_in = Quantity(**row["new_N"]), Quantity(**row["run_in_N"])
    return Quantity((new.value + run_in.value) / 2, min(new.low, run_in.low), max(new.high, run_in.high))


def proof_verdict(readings: Readings, drag: DragProof | None, others: Others) -> tuple[str, ...]:
    """What the work did and what slows the spool now, then what it is held against, a sentence each."""
    outside = (f"{pair.name}: {pair.outside[0].lower()}{pair.outside[1:]}" for pair in readings.pairs if pair.outside)
    placed = (f"{among.what.name}: {among.words[0].lower()}{among.words[1:]}" for among in others.told)
    drag_words = (drag.words,) if drag and drag.words else ()
    meant = (f"{words}." for words in filter(None, (spool_now(readings),)))
    return (*(in_a_sentence(words) for words in readings.verdicts), *meant, *drag_words, *outside, *placed)


def spool_now(readings: Readings) -> str:
    """What slows the spool, as left where a recording tells it, else as found; nothing where none does."""
    last = readings.shares[-1:]
    return f"{last[0].moment.capitalize()}, {last[0].meaning}" if last else ""


def in_a_sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}." if words else ""


@dataclass(frozen=True, slots=True)
class Due:
    """Something the proof still lacks, in words, and the reading whose page says more."""

    words: str
    reading: Reading | None = None


def still_to_measure(job: Job, readings: Readings) -> tuple[Due, ...]:
    """Files not yet read, those that gave no number or ask something, and readings as left that are due."""
    due = (Due(words) for words in _due(job, readings))
    return (*_unread(readings), *_refused(readings), *_asked(readings), *due)


def _unread(readings: Readings) -> Iterator[Due]:
    for row in readings.unread:
        how = {
            Work.WAITING.value: "waits to be read",
            Work.UNDER_WAY.value: f"is being read: {row.part_done:.0%} done".replace("%", " %"),
            Work.STOPPED.value: "was stopped: read it after all, or strike it out",
        }
        yield Due(f"{_named(row)} {how[row.work]}.", row)


def _refused(readings: Readings) -> Iterator[Due]:
    """Files that gave no number, where nothing else of their kind and moment did."""
    for row in readings.every:
        if row.refused and not row.struck_out and (row.kind, row.moment) not in readings.latest:
            stop = "" if row.refused[-1] in ".?!" else "."
            yield Due(f"{_named(row)} gave no number: {row.refused}{stop}", row)


def _asked(readings: Readings) -> Iterator[Due]:
    for row in readings.latest.values():
        for question in row.analysis.get("questions", ()):
            yield Due(f"{_named(row)} asks: {question['words']}", row)


def _named(row: Reading) -> str:
    name = f", {row.file_name}," if row.file_name else ""
    return f"The {row.get_kind_display()} {AS[row.moment]}{name}"


def _due(job: Job, readings: Readings) -> Iterator[str]:
    """A pull and a spin of a free spool; what was measured as found; what the pattern has a limit for."""
    limits = limits_of(job.pattern)
    spins = job.pattern is None or job.pattern.family not in STANDING_SPOOL
    begun = {(row.kind, row.moment) for row in readings.unread}
    for kind, name in {**dict(Reading.KINDS), "turn": "handle torque"}.items():
        if (kind, "left") in readings.latest or (kind, "left") in begun:
            continue
        if (kind, "found") in readings.latest:
            yield f"The {name} as left: it was measured as found."
        elif kind in limits:
            yield f"The {name} as left: the pattern allows {limits[kind].words}."
        elif kind == "pull" or (kind == "spin" and spins):
            yield f"The {name} as left."
