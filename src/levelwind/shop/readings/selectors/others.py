"""A reel as left beside the shop's other reels of its pattern."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from statistics import median, quantiles

from levelwind.core.changes import Change
from levelwind.core.pull.compare import figure_changed
from levelwind.core.quantities import Quantity, Shown, shown
from levelwind.core.spin.compare import by_hand_changed, timed
from levelwind.shop.jobs.selectors.lines import set_to
from levelwind.shop.models import Job, Reading
from levelwind.shop.readings.selectors.brief import brief_kept
from levelwind.shop.readings.selectors.readings import gauged_change

ENOUGH = 3
OF_THE_JOB = ("job__line_strength_N", "job__line_name", "job__tippet_strength_N", "job__pattern__family")
"""What is read of each reading's job."""

MOST_READINGS = 400
"""The newest so many readings of a pattern are compared with: more would say the same and take longer to read."""

MOST_OF_THEM = 0.75
"""Part of the recorded spins that the common speed must be told from at the least, of those that any speed is told
from: one slow flick then takes no speed from all the others. Our choice."""

Differ = Callable[[Quantity, Quantity], Change]
"""How two readings of a quantity are told apart: as they are where they are of one reel."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A quantity that is compared, in ``unit``, and what a smaller and a larger one is called."""

    key: str
    name: str
    unit: str
    smaller: str
    larger: str
    differ: Differ = field(repr=False)


SPIN = Compared("spin", "Spin time", "s", "shorter", "freer", partial(timed, "free spin"))
BY_HAND = Compared("by_hand", "Spin time by hand, of its own flick", "s", "shorter", "freer", by_hand_changed)
COMPARED = (
    Compared(
        "ratio", "Start-up ratio", "", "lets go more gently", "sticks more", partial(figure_changed, "startup_ratio")
    ),
    Compared(
        "share",
        "Running drag, of the line’s strength",
        "%",
        "set lighter",
        "set tighter",
        partial(figure_changed, "running_N"),
    ),
    Compared("turn", "Handle torque", "N m", "turns lighter", "turns heavier", partial(gauged_change, "turn")),
)


@dataclass(frozen=True, slots=True)
class AmongOthers:
    """Where one reel stands among others: their count, middle and the range of the middle 80 % of them.

    ``middle`` and the range are None while there are fewer than three others.
    """

    what: Compared
    this: Quantity | None
    count: int
    middle: float | None
    low: float | None
    high: float | None
    words: str

    @property
    def _told(self) -> Shown | None:
        if self.middle is None or self.low is None or self.high is None:
            return None
        return shown(Quantity(self.middle, self.low, self.high), self.what.unit)

    @property
    def middle_words(self) -> str:
        return self._told.value if self._told else ""

    @property
    def range_words(self) -> str:
        if not self._told:
            return ""
        return f"{self._told.interval} {self.what.unit}".strip() if self._told.interval else self._told.value


@dataclass(frozen=True, slots=True)
class Others:
    """The other reels of a pattern that this shop has measured as left. No rows where the pattern is not known."""

    standings: tuple[AmongOthers, ...]
    words: str

    @property
    def reported(self) -> tuple[AmongOthers, ...]:
        """What can be said: this reel was measured, and enough others were."""
        return tuple(standing for standing in self.standings if standing.this and standing.middle is not None)


Values = dict[str, Quantity]
Rests = dict[float, Quantity]
"""Times to rest in s, by the speed they are from."""


@dataclass(frozen=True, slots=True)
class _AsLeft:
    """What the newest readings of a job say."""

    values: Values = field(default_factory=dict)
    rests: Rests = field(default_factory=dict)


def others_of_pattern(job: Job) -> Others:
    """Each quantity as left against that of the shop's other jobs of this pattern, in words."""
    if job.pattern_id is None:
        return Others((), "The pattern of this reel is not known: choose it, and others of it stand here.")
    by_job = _as_left(job.pattern_id)
    this = by_job.pop(job.pk, _AsLeft())
    if not by_job:
        return Others((), "No other reel of this pattern has been measured as left yet.")
    others = list(by_job.values())
    values = [each.values for each in others]
    standings = (_spins(this, others), *(_standing(what, this.values.get(what.key), values) for what in COMPARED))
    told = tuple(standing for standing in standings if standing.count or standing.this)
    return Others(told, "")


def _as_left(pattern_id: int) -> dict[int, _AsLeft]:
    """The newest of each job as left; one question to the book. What was not read to its end, or was refused, has no
    brief."""
    rows = (
        Reading.objects.filter(job__pattern_id=pattern_id, moment="left", struck_out=False)
        .exclude(brief={})
        .select_related("job__pattern")
        .only("kind", "moment", "brief", *OF_THE_JOB)
        .order_by("-at", "-pk")[:MOST_READINGS]
    )
    found: dict[int, _AsLeft] = {}
    for row in rows:
        known, told = found.setdefault(row.job_id, _AsLeft()), brief_kept(row)
        spun = BY_HAND.key in known.values or known.rests
        if told.rests and not spun:
            known.rests.update({rest.from_rev_s: rest.time_s for rest in told.rests})
        strength = set_to(row.job).strength_N
        running = told.running_N.scaled(100.0 / strength) if told.running_N and strength else None
        by_hand = None if spun else told.by_hand_s
        values = {"ratio": told.startup_ratio, "share": running, "turn": told.torque_Nm, BY_HAND.key: by_hand}
        known.values.update({key: value for key, value in values.items() if value and key not in known.values})
    return found


def _spins(this: _AsLeft, others: Sequence[_AsLeft]) -> AmongOthers:
    """Recorded spins from one speed; a time by hand, of which nobody knows from what speed, among such times."""
    recorded, by_hand = [each.rests for each in others if each.rests], [each.values for each in others]
    if BY_HAND.key in this.values or not (this.rests or len(recorded) >= ENOUGH):
        return _standing(BY_HAND, this.values.get(BY_HAND.key), by_hand)
    speed = _common_speed(this.rests, recorded)
    what = replace(SPIN, name=f"Spin time from {speed:g} rev/s") if speed else SPIN
    times = [{SPIN.key: rests[speed]} for rests in recorded if speed in rests]
    return _standing(what, this.rests.get(speed), times)


def _common_speed(this: Rests, others: Sequence[Rests]) -> float:
    """The highest from which this reel, where it was recorded, and most of the others are told; 0 where none is."""
    counts = Counter(speed for rests in others for speed in rests if not this or speed in this)
    enough = MOST_OF_THEM * max(counts.values(), default=0)
    return max((speed for speed, count in counts.items() if count >= enough), default=max(this, default=0.0))


def _standing(what: Compared, this: Quantity | None, jobs: Iterable[Values]) -> AmongOthers:
    others = [values[what.key] for values in jobs if what.key in values]
    count = len(others)
    if count < ENOUGH:
        return AmongOthers(what, this, count, None, None, None, _too_few(count))
    middles = [other.value for other in others]
    tenths = quantiles(middles, n=10, method="inclusive")
    middle, low, high = (
        float(f"{each:.9g}") for each in (median(middles), tenths[0], tenths[-1])
    )  # alike, where all are
    words = _place(what, this, others) if this else "Not measured as left on this reel."
    return AmongOthers(what, this, count, middle, low, high, words)


def _too_few(count: int) -> str:
    reels = {0: "no other reel of this pattern has", 1: "one other reel of this pattern has"}
    have = reels.get(count, f"{count} other reels of this pattern have")
    return f"Too few to compare: {have} this reading."


def _place(what: Compared, this: Quantity, others: Sequence[Quantity]) -> str:
    """How many others lie clearly to one side of this reel, the side where most are, and how many are too close.

    Clear is what would be called real between two readings of one reel; each of the others is counted once.
    """
    of_all = f"of the {len(others)} others of this pattern"
    clear = [each.difference.value for other in others if (each := what.differ(other, this)).real]
    below, above = sum(by > 0 for by in clear), sum(by < 0 for by in clear)
    close = len(others) - below - above
    if close == len(others):
        return f"Not to be told from any {of_all}."
    word, beaten = (what.larger, below) if below >= above else (what.smaller, above)
    unsure = f"; {close} {'is' if close == 1 else 'are'} too close to tell" if close else ""
    return f"{word.capitalize()} than {beaten} {of_all}{unsure}."
