"""A reel as left beside the shop's other reels of its pattern."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median, quantiles

from levelwind.core.quantities import Quantity
from levelwind.shop.jobs.selectors.lines import set_to
from levelwind.shop.models import Job, Reading, Work
from levelwind.shop.readings.selectors.readings import gave_a_number, pull_value, spin_time
from levelwind.shop.readings.selectors.stored import gauged, pull_result, spin_result

ENOUGH = 3
OF_THE_JOB = ("job__line_strength_N", "job__line_name", "job__tippet_strength_N", "job__pattern__family")
"""What is read of each reading's job."""

MOST_READINGS = 400
"""The newest so many readings of a pattern are compared with: more would say the same and take longer to read."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A quantity that is compared, in ``unit``, and what a smaller and a larger one is called."""

    key: str
    name: str
    unit: str
    smaller: str
    larger: str


COMPARED = (
    Compared("spin", "Spin time", "s", "shorter", "freer"),
    Compared("ratio", "Start-up ratio", "", "lets go more gently", "sticks more"),
    Compared("share", "Running drag, of the line’s strength", "%", "set lighter", "set tighter"),
    Compared("turn", "Handle torque", "N m", "turns lighter", "turns heavier"),
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
    def middle_words(self) -> str:
        return "" if self.middle is None else f"{self.middle:.3g} {self.what.unit}".strip()

    @property
    def range_words(self) -> str:
        if self.low is None or self.high is None:
            return ""
        return f"{self.low:.3g} to {self.high:.3g} {self.what.unit}".strip()


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


def others_of_pattern(job: Job) -> Others:
    """Each quantity as left against that of the shop's other jobs of this pattern, in words."""
    if job.pattern_id is None:
        return Others((), "The pattern of this reel is not known: choose it, and others of it stand here.")
    by_job = _values_by_job(job.pattern_id)
    this = by_job.pop(job.pk, {})
    if not by_job:
        return Others((), "No other reel of this pattern has been measured as left yet.")
    standings = tuple(_standing(what, this.get(what.key), by_job.values()) for what in COMPARED)
    shown = tuple(standing for standing in standings if standing.count or standing.this)
    return Others(shown, "")


def _values_by_job(pattern_id: int) -> dict[int, Values]:
    """The newest values of each job as left; one question to the book."""
    rows = (
        Reading.objects.filter(job__pattern_id=pattern_id, moment="left", struck_out=False, work=Work.READ, refused="")
        .exclude(kind="end_float")
        .select_related("job__pattern")
        .only("kind", "moment", "analysis", "struck_out", "work", "refused", *OF_THE_JOB)
        .order_by("-at", "-pk")[:MOST_READINGS]
    )
    found: dict[int, Values] = {}
    for row in rows:
        if gave_a_number(row):
            known = found.setdefault(row.job_id, {})
            known |= {key: value for key, value in _values(row).items() if key not in known}
    return found


def _values(row: Reading) -> Values:
    if row.kind == "spin":
        values: Mapping[str, Quantity | None] = {"spin": spin_time(spin_result(row))}
    elif row.kind == "pull":
        result, strength = pull_result(row), set_to(row.job).strength_N
        running = pull_value(result, "running_N", 100.0 / strength) if strength else None
        values = {"ratio": pull_value(result, "startup_ratio"), "share": running}
    else:
        values = {"turn": gauged(row)}
    return {key: value for key, value in values.items() if value is not None}


def _standing(what: Compared, this: Quantity | None, jobs: Iterable[Values]) -> AmongOthers:
    others = [values[what.key] for values in jobs if what.key in values]
    count = len(others)
    if count < ENOUGH:
        return AmongOthers(what, this, count, None, None, None, _too_few(count))
    middles = [other.value for other in others]
    tenths = quantiles(middles, n=10, method="inclusive")
    words = _place(what, this, others) if this else "Not measured as left on this reel."
    return AmongOthers(what, this, count, median(middles), tenths[0], tenths[-1], words)


def _too_few(count: int) -> str:
    reels = {0: "no other reel of this pattern has", 1: "one other reel of this pattern has"}
    have = reels.get(count, f"{count} other reels of this pattern have")
    return f"Too few to compare: {have} this reading."


def _place(what: Compared, this: Quantity, others: Sequence[Quantity]) -> str:
    """How many others lie clearly to one side of this reel, the side where most are, and how many are too close.

    Clear is what no interval bridges; each of the others is counted once.
    """
    of_all = f"of the {len(others)} others of this pattern"
    below = sum(other.high < this.low for other in others)
    above = sum(other.low > this.high for other in others)
    close = len(others) - below - above
    if close == len(others):
        return f"Not to be told from any {of_all}."
    word, beaten = (what.larger, below) if below >= above else (what.smaller, above)
    unsure = f"; {close} {'is' if close == 1 else 'are'} too close to tell" if close else ""
    return f"{word.capitalize()} than {beaten} {of_all}{unsure}."
