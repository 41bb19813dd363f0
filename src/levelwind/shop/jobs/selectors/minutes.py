"""How long the bench takes: the middle of many reels as its own minutes, told from the ticks."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from levelwind.core.takedown import OwnMinutes, Rules, Step, Tick, own_minutes, times_taken
from levelwind.shop.models import Job, StepDone

REELS = 60
"""Reels of a family that the bench's own minutes are told from, the newest ones. Our choice: hands get quicker."""


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
    opened = StepDone.objects.filter(job__pattern__family=family, phase="apart").values("job").distinct()
    jobs = Job.objects.filter(pk__in=opened).order_by("-pk").values("pk")[:REELS]
    ticked = StepDone.objects.filter(job__in=jobs, phase__in=["apart", "together", "gate"])
    by_job: dict[int, list[tuple[str, str, datetime]]] = {}
    for job, phase, step, at in ticked.order_by("at", "pk").values_list("job", "phase", "step", "at"):
        by_job.setdefault(job, []).append((phase, step, at))
    book = {step.key: step.minutes for step in rules.steps}
    reels = [told(book, rows) for rows in by_job.values()]
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
