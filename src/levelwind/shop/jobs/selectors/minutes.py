"""How long the bench takes, told from the ticks: its own minutes by step, each reel's so far, its pace over months."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef, QuerySet

from levelwind.core.takedown import OwnMinutes, Rules, Step, Tick, own_minutes, times_taken
from levelwind.reference.families import family
from levelwind.shop.models import Job, Pattern, Stage, StepDone

REELS = 60
"""Reels of a family that the bench's own minutes are told from, the newest ones. Our choice: hands get quicker."""

PACED = 120
"""Reels that went home last, from which it is told how the bench's pace changes. Our choice: a year or two of them."""
NOT_HOME = [stage for stage in Stage if stage != Stage.HOME]
"""What is left out, as no index can be asked for it: asked for those at home, the database sorts all that ever were."""
FORTNIGHT_DAYS = 14
"""Reels finished within it were worked on at one pace. Our choice."""
FEWEST_MIN = 5.0
"""Minutes on the clock from which a reel's pace is told. Our choice: of fewer one hard screw decides."""


@dataclass(frozen=True, slots=True)
class ShopMinutes:
    """What the steps of a family take at this bench, on the way in and on the way back, where enough were timed."""

    apart: Mapping[str, OwnMinutes]
    together: Mapping[str, OwnMinutes]

    def way_in(self, steps: Iterable[Step]) -> float:
        """Minutes of these steps, the book's where the bench has none of its own."""
        return sum(self.apart[step.key].minutes if step.key in self.apart else step.minutes for step in steps)

    def both_ways(self, steps: Iterable[Step]) -> float:
        """Minutes of these steps apart and together."""
        steps = tuple(steps)
        back = (self.together[step.key].minutes if step.key in self.together else step.minutes for step in steps)
        return self.way_in(steps) + sum(back)


def shop_minutes(rules: Rules, family: str) -> ShopMinutes:
    """One query over the family's newest reels that were opened."""
    opened = Exists(StepDone.objects.filter(job=OuterRef("pk"), phase="apart"))
    jobs = Job.objects.filter(opened, pattern__in=Pattern.objects.filter(family=family)).order_by("-pk")
    book = {step.key: step.minutes for step in rules.steps}
    reels = [told(book, rows) for rows in _ticks(StepDone.objects.filter(job__in=jobs.values("pk")[:REELS])).values()]
    return ShopMinutes(own_minutes(apart for apart, _ in reels), own_minutes(back for _, back in reels))


def told(
    book: Mapping[str, float], rows: Iterable[tuple[str, str, datetime]]
) -> tuple[dict[str, float], dict[str, float]]:
    """Minutes by step of the way in, and of the way back with its gates, which take none of their own in the book."""
    ticks: tuple[list[Tick], list[Tick]] = ([], [])
    for phase, step, at in rows:
        minutes = 0.0 if phase == "gate" else book.get(step, 0.0)
        ticks[phase != "apart"].append(Tick(step, at.timestamp() / 60.0, minutes))
    return times_taken(ticks[0]), times_taken(ticks[1])


def clocked(jobs: Collection[Job]) -> dict[int, float]:
    """Minutes told for each of these jobs so far, both ways, by its key; a job without any is not in it."""
    ticks = _ticks(StepDone.objects.filter(job__in=[job for job in jobs if job.pattern_id]))
    kinds = {job.pk: _book(job) for job in jobs if job.pk in ticks}
    taken = {key: told(kinds[key], rows) for key, rows in ticks.items()}
    return {key: spent for key, (way_in, back) in taken.items() if (spent := sum(way_in.values()) + sum(back.values()))}


def paces() -> list[float]:
    """By fortnight, the oldest first: minutes on the clock for one minute that the bench's own minutes expect."""
    gone = Job.objects.exclude(stage__in=NOT_HOME).filter(pattern__isnull=False).select_related("pattern")
    jobs = list(gone.only("stage_since", "pattern__family").order_by("-stage_since", "-pk")[:PACED])
    ticks = _ticks(StepDone.objects.filter(job__in=jobs))
    times = {job.pk: told(_book(job), ticks[job.pk]) for job in jobs if job.pk in ticks}
    usual = {
        key: tuple(
            own_minutes(times[job.pk][way] for job in jobs if job.pk in times and _kind(job) == key) for way in (0, 1)
        )
        for key in {_kind(job) for job in jobs}
    }
    took: dict[int, list[float]] = {}
    for job in jobs:
        pairs = [
            (minutes, own.minutes)
            for way, own_way in enumerate(usual[_kind(job)])
            for step, minutes in times.get(job.pk, ({}, {}))[way].items()
            if (own := own_way.get(step))
        ]
        expected = sum(usually for _, usually in pairs)
        if expected >= FEWEST_MIN:
            pair = took.setdefault(job.stage_since.toordinal() // FORTNIGHT_DAYS, [0.0, 0.0])
            pair[0] += sum(minutes for minutes, _ in pairs)
            pair[1] += expected
    return [spent / expected for _, (spent, expected) in sorted(took.items())]


def _kind(job: Job) -> str:
    assert job.pattern
    return job.pattern.family


def _book(job: Job) -> dict[str, float]:
    return {step.key: step.minutes for step in family(_kind(job)).rules.steps}


def _ticks(steps: QuerySet[StepDone]) -> dict[int, list[tuple[str, str, datetime]]]:
    ticked = steps.filter(phase__in=["apart", "together", "gate"]).order_by("at", "pk")
    by_job: dict[int, list[tuple[str, str, datetime]]] = {}
    for job, phase, step, at in ticked.values_list("job", "phase", "step", "at"):
        by_job.setdefault(job, []).append((phase, step, at))
    return by_job
