"""What comebacks cost, and which fault, part or hurry of the stay before they come from. Only reads."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from levelwind.core.supply.comebacks import by_chance
from levelwind.reference.families import families
from levelwind.shop.jobs.selectors.closed_jobs import faults_found
from levelwind.shop.models import Job, StockEntry
from levelwind.shop.money.sunday import Comeback, Home, Time, comebacks_among, homes_of

SURE = 0.05
"""By chance alone no oftener is called oftener; shared over the rows that are compared. Our choice, the usual one."""
SOON_DAYS = 3
"""Days from booking in to home that are called quick. Our choice."""
HURRIES = {
    "urgent": "said to be urgent",
    "last-day": "home on the promised day or after it",
    "quick": f"home within {SOON_DAYS} days",
}
"""What is called a hurry, by its key. Our choice."""
KINDS = {"fault": "fault", "part": "part", "hurry": "hurry"}


@dataclass(frozen=True, slots=True)
class Cause:
    """Reels that went home with this fault found, this part fitted, in this hurry; and those that came back."""

    key: str
    name: str
    homes: tuple[int, ...]
    back: tuple[int, ...]
    cost: int
    chance: float
    """That as many or more of them came back by chance alone."""
    of_rows: int
    """Rows compared with it: the more, the likelier one stands out by chance."""

    @property
    def oftener(self) -> bool:
        return self.chance <= SURE / self.of_rows

    @property
    def share(self) -> float:
        return len(self.back) / len(self.homes)


@dataclass(frozen=True, slots=True)
class Causes:
    """Of the reels that went home in a time; ``comebacks`` by the stay they came back from."""

    time: Time
    homes: Mapping[int, Home]
    comebacks: Mapping[int, Comeback]
    rows: Mapping[str, tuple[Cause, ...]]
    """By kind of cause, those from which reels came back, the dearest first."""

    @property
    def cost(self) -> int:
        return sum(each.cost for each in self.comebacks.values())

    def row(self, kind: str, key: str) -> Cause | None:
        return next((row for row in self.rows.get(kind, ()) if row.key == key), None)


def causes(time: Time) -> Causes:
    homes = {home.pk: home for home in homes_of(time)}
    back = {each.before.pk: each for each in comebacks_among(Job.objects.filter(comeback_of__in=list(homes)))}
    groups = {"fault": _faults(homes), "part": _parts(homes), "hurry": _hurries(homes)} if back else {}
    rows = {kind: _rows(some, homes, back) for kind, some in groups.items()}
    return Causes(time, homes, back, rows)


Group = tuple[str, str, set[int]]
"""Key, name, and the reels that went home."""


def _rows(groups: Iterable[Group], homes: Mapping[int, Home], back: Mapping[int, Comeback]) -> tuple[Cause, ...]:
    """Only what reels came back from is shown; all of it is compared."""
    some = list(groups)
    rows = []
    for key, name, reels in some:
        came = tuple(sorted(reels & back.keys()))
        if came:
            chance = by_chance(len(came), len(reels), len(back), len(homes))
            cost = sum(back[pk].cost for pk in came)
            rows.append(Cause(key, name, tuple(sorted(reels)), came, cost, chance, len(some)))
    return tuple(sorted(rows, key=lambda row: (-row.cost, row.name)))


def _faults(homes: Mapping[int, Home]) -> list[Group]:
    """Found on the stay before: as its pieces were judged, or as a look told it."""
    reels: dict[tuple[str, str], set[int]] = defaultdict(set)
    for kind in families():
        jobs = [pk for pk, home in homes.items() if home.family == kind]
        for pk, faults in faults_found(kind, jobs).items() if jobs else ():
            for key, name in faults.items():
                reels[key, name].add(pk)
    return [(key, name, some) for (key, name), some in _joined(reels).items()]


def _joined(reels: Mapping[tuple[str, str], set[int]]) -> dict[tuple[str, str], set[int]]:
    """One key under one name, as its commonest family says it."""
    by_key: dict[str, list[tuple[str, set[int]]]] = defaultdict(list)
    for (key, name), some in reels.items():
        by_key[key].append((name, some))
    return {
        (key, max(rows, key=lambda row: len(row[1]))[0]): set[int]().union(*(some for _, some in rows))
        for key, rows in by_key.items()
    }


def _parts(homes: Mapping[int, Home]) -> list[Group]:
    """Fitted on the stay before and not put back."""
    counts: dict[tuple[int, str], dict[int, int]] = defaultdict(lambda: defaultdict(int))
    entries = StockEntry.objects.filter(job__in=list(homes), why__in=("taken", "back")).order_by()
    for job, part, number, name, change in entries.values_list("job", "part", "part__number", "part__name", "change"):
        if job is not None:
            counts[part, f"{number} {name}"][job] -= change
    fitted = ((str(pk), name, {job for job, n in jobs.items() if n > 0}) for (pk, name), jobs in counts.items())
    return [row for row in fitted if row[2]]


def _hurries(homes: Mapping[int, Home]) -> list[Group]:
    urgent = set(Job.objects.filter(pk__in=list(homes), urgent=True).values_list("pk", flat=True))
    last_day = {pk for pk, home in homes.items() if home.promised is not None and home.day >= home.promised}
    quick = {pk for pk, home in homes.items() if home.took <= SOON_DAYS}
    groups = zip(HURRIES.items(), (urgent, last_day, quick), strict=True)
    return [(key, name, reels) for (key, name), reels in groups if reels]
