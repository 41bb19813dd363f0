"""What a reel's proof rests on: the drag as computed beside as measured, the setting, and what is still to measure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.codec import from_stored
from levelwind.core.drag_system.wanted import between
from levelwind.core.errors import LevelwindError
from levelwind.core.line import NEAR_EMPTY, STRIKE_SHARES, STRIKE_WORDS
from levelwind.core.notes import Note
from levelwind.core.quantities import NEWTONS_PER, Quantity, with_decimals
from levelwind.core.spin.report import meaning
from levelwind.core.writing import written
from levelwind.shop.drag.selectors.plans import plan_stack
from levelwind.shop.drag.selectors.pulls import pull_made
from levelwind.shop.drag.selectors.reels import reel_of
from levelwind.shop.jobs.selectors.hunches import job_family
from levelwind.shop.jobs.selectors.lines import set_to
from levelwind.shop.models import DragPlan, Job, Reading, Work
from levelwind.shop.readings.selectors.limits import limits_of
from levelwind.shop.readings.selectors.others import Others
from levelwind.shop.readings.selectors.readings import AS, Pair, Readings
from levelwind.shop.readings.selectors.stored import questions_of, refusal_of

AS_PLANNED = "at the clamp force planned"
OF_A_SPOOL = {
    "full": "full spool",
    "half": "half of the line left",
    "near the arbor": f"{100 * NEAR_EMPTY:.0f} % of the line left",
}
"""The fills a pull may be said to be made at, in words."""

SETTLED_BY_A_PULL = frozenset({"table_alone", "beyond_its_kind"})
"""Notes of a computed drag that ask for a pull."""


@dataclass(frozen=True, slots=True)
class ComputedFill:
    """Line tension the plan gives at one fill of the spool, straight off the reel, from run in to new."""

    fill: str
    tension: Quantity
    line_radius_mm: float


@dataclass(frozen=True, slots=True)
class DragProof:
    """``fills`` at the clamp force planned; ``computed`` for the pull as left, made ``where``; all in ``unit``.

    ``past_guides`` is how many times more it is at the end of the rod; ``strike`` the setting at a full spool for
    ``set_to``, the line or a fly reel's tippet; ``notes`` what to know of the computed drag, without the wish for a
    pull where one was made.
    """

    plan: DragPlan
    unit: str
    clamp_N: Quantity
    fills: tuple[ComputedFill, ...]
    past_guides: float
    computed: Quantity | None
    where: str
    measured: Quantity | None
    strike: Quantity | None
    set_to: str
    notes: tuple[str, ...] = ()
    strike_words: str = STRIKE_WORDS

    @property
    def words(self) -> str:
        """Whether the drag pulls as it was computed to, as far as the intervals can tell."""
        if self.measured is None or self.computed is None:
            return ""
        if self.measured.low > self.computed.high:
            return (
                "It pulls harder than computed for that clamp force: it was set tighter, or the coefficient is higher."
            )
        if self.measured.high < self.computed.low:
            return "It pulls less than computed for that clamp force: it was set lighter, or the coefficient is lower."
        return "What was measured and what was computed agree as far as their intervals tell."

    @property
    def guides_words(self) -> str:
        """What the rod's guides add to all this, where they were counted."""
        if self.past_guides == 1:
            return ""
        return (
            "Straight off the reel, where a scale on the bench pulls; past the rod’s guides "
            f"{with_decimals(self.past_guides, 2)} times as much."
        )


def drag_proof(job: Job, readings: Readings, unit: str = "N") -> DragProof | None:
    """The newest drag plan against the pull as left; None while no stack was chosen."""
    plan = job.drag_plans.last()
    if plan is None or not plan.computed:
        return None
    per, guides = 1 / NEWTONS_PER[unit], plan.computed.get("past_rod_guides", 1.0)
    fills = tuple(
        ComputedFill(row["fill"], _from_run_in_to_new(row).scaled(per / guides), row["radius_mm"])
        for row in plan.computed["tension"]
    )
    pair = readings.pair("running")
    clamp = Quantity(**plan.computed["clamp_N"])
    computed, where = _as_pulled(job, plan, fills[0], clamp) if fills else (None, "")
    line = set_to(job)
    low, high = STRIKE_SHARES
    strike = between((low, high)).scaled(line.strength_N * per) if line.strength_N else None
    measured = pair.left if pair else None
    notes = from_stored(tuple[Note, ...], plan.computed.get("notes", ()))
    said = tuple(note.words(unit) for note in notes if not (measured and note.key in SETTLED_BY_A_PULL))
    return DragProof(plan, unit, clamp, fills, guides, computed, where, measured, strike, line.name, said)


def _as_pulled(job: Job, plan: DragPlan, full: ComputedFill, planned_N: Quantity) -> tuple[Quantity, str]:
    """The tension computed for fill and clamp force of the pull as left, as far as they were said; and which."""
    try:
        setup = plan_stack(plan)[1]
        made = pull_made("left", setup, reel_of(job))
    except LevelwindError:
        return full.tension, f"full spool, {AS_PLANNED}"
    said, out = setup.said_of_clamp("left"), setup.number("left_out_m")
    fill = OF_A_SPOOL[setup.said.get("left_fill", "full")] if out is None else f"{written(out)} m of line out"
    times = made.clamp_N.value / planned_N.value * full.line_radius_mm / (1000 * made.radius_m)
    return full.tension.scaled(times), f"{fill}, {'at the clamp force said of this pull' if said else AS_PLANNED}"


def _from_run_in_to_new(row: Mapping[str, Any]) -> Quantity:
    """The middle of uniform wear and uniform pressure, and all that either leaves open."""
    new, run_in = Quantity(**row["new_N"]), Quantity(**row["run_in_N"])
    return Quantity((new.value + run_in.value) / 2, min(new.low, run_in.low), max(new.high, run_in.high))


def proof_verdict(readings: Readings, drag: DragProof | None, others: Others) -> tuple[str, ...]:
    """What the work did and what slows the spool now, then what it is held against, a sentence each."""
    outside = (_outside(pair) for pair in readings.pairs if pair.outside)
    placed = (f"{among.what.name}: {among.words[0].lower()}{among.words[1:]}" for among in others.reported)
    drag_words = (drag.words,) if drag and drag.words else ()
    meant = (f"{words}." for words in filter(None, (spool_now(readings),)))
    return (*(in_a_sentence(words) for words in readings.verdicts), *meant, *drag_words, *outside, *placed)


def _outside(pair: Pair) -> str:
    """Said to be as found where it was not measured since: by then it may have been put right."""
    when = "" if pair.left else " as found"
    return f"{pair.name}{when}: {pair.outside[0].lower()}{pair.outside[1:]}"


def spool_now(readings: Readings, *, for_owner: bool = False) -> str:
    """What slows the spool, as left where a recording tells it, else as found; nothing where none does.

    What to look for is for the bench; the owner's sheet says what was measured.
    """
    if not readings.apart:
        return ""
    moment, spin = list(readings.apart.items())[-1]
    means = meaning(spin)
    return f"{AS[moment].capitalize()}, {means.says if for_owner else means.words}"


def in_a_sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}." if words else ""


@dataclass(frozen=True, slots=True)
class Due:
    """Something the proof still lacks, in words, and the reading whose page says more."""

    words: str
    reading: Reading | None = None


def still_to_measure(job: Job, readings: Readings, unit: str) -> tuple[Due, ...]:
    """Files not yet read, those that gave no number or ask something, and readings as left that are due."""
    due = (Due(words) for words in _due(job, readings))
    return (*_unread(readings), *_refused(readings, unit), *_asked(readings, unit), *due)


def _unread(readings: Readings) -> Iterator[Due]:
    for row in readings.unread:
        how = {
            Work.WAITING.value: "waits to be read",
            Work.UNDER_WAY.value: f"is being read: {row.part_done:.0%} done".replace("%", " %"),
            Work.STOPPED.value: "was stopped: read it after all, or strike it out",
        }
        yield Due(f"{_named(row)} {how[row.work]}.", row)


def _refused(readings: Readings, unit: str) -> Iterator[Due]:
    """Files that gave no number, where nothing else of their kind and moment did."""
    for row in readings.every:
        if row.refused and not row.struck_out and (row.kind, row.moment) not in readings.latest:
            why = refusal_of(row).words(unit)
            yield Due(f"{_named(row)} gave no number: {why}{'' if why[-1] in '.?!' else '.'}", row)


def _asked(readings: Readings, unit: str) -> Iterator[Due]:
    for row in readings.latest.values():
        for question in questions_of(row):
            yield Due(f"{_named(row)} asks: {question.words.words(unit)}", row)


def _named(row: Reading) -> str:
    name = f", {row.file_name}," if row.file_name else ""
    return f"The {row.name} {AS[row.moment]}{name}"


def _due(job: Job, readings: Readings) -> Iterator[str]:
    """A pull and a spin of a free spool; what was measured as found; what the pattern has a limit for."""
    limits = limits_of(job.pattern)
    kin = job_family(job)
    spins = kin is not None and kin.free_spool
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
