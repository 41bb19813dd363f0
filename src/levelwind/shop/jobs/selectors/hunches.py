"""What may be wrong with a job's reel, from what was said and seen."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from levelwind.core.errors import LevelwindError
from levelwind.core.hunches import (
    Costs,
    Hunch,
    Hunches,
    Net,
    NextLook,
    Understood,
    next_looks,
    pointed_to,
    posterior,
    understand,
)
from levelwind.reference.families import Family, families, family
from levelwind.reference.faults import load_net, minutes_to_looks, net_of_any_reel, open_places
from levelwind.shop.jobs.selectors.closed_jobs import learnt_net
from levelwind.shop.models import Job, Seen, Shop, Stage
from levelwind.shop.patterns.selectors.layouts import job_layout

COMEBACK_HOURS = 1.5
"""A judgement: a reel that comes back costs its post both ways and an hour lost, in hours of work."""


@dataclass(frozen=True, slots=True)
class Standing:
    """All that is known of a job's faults: what was seen, how likely each fault is, and what to look at next.

    ``suggested`` was read from the complaint and counts as said until a person says otherwise; ``left`` are the phrases
    of it that were not understood. ``clash`` says in words why nothing could be computed; then there are no hunches.
    """

    net: Net
    seen: Mapping[str, bool]
    suggested: frozenset[str]
    hunches: Hunches | None
    looks: tuple[NextLook, ...]
    left: tuple[str, ...] = ()
    clash: str = ""

    @property
    def is_learnt(self) -> bool:
        return any(fault.counted for fault in self.net.faults)


def job_family(job: Job) -> Family | None:
    """The family of the job's reel; None while nobody has said which pattern it is."""
    return family(job.pattern.family) if job.pattern else None


def looked_over_as(job: Job) -> Family | None:
    """The family whose looks and faults hold: its pattern's, or the one its looks tell clearly; None for any reel's."""
    return job_family(job) or (family(job.clear_family) if job.clear_family in families() else None)


def job_net(job: Job) -> Net:
    """The net of the reel's family as judged, without faults of places that its pattern lacks; while nothing tells the
    family, what holds for any reel."""
    kin = looked_over_as(job)
    return _of_pattern(job, load_net(kin.key)) if kin else net_of_any_reel()


def job_learnt_net(job: Job) -> Net:
    """The same, brought up to date by the shop's closed jobs."""
    kin = looked_over_as(job)
    return _of_pattern(job, learnt_net(kin.key)) if kin else net_of_any_reel()


def _absent(job: Job) -> frozenset[str]:
    """Places of its family that the reel lacks."""
    if not job.pattern:
        return frozenset()
    return frozenset(place.key for place in family(job.pattern.family).places).difference(job_layout(job).by_key())


def _of_pattern(job: Job, net: Net) -> Net:
    absent = _absent(job)
    gone = {fault.key for fault in net.faults if fault.places and absent.issuperset(fault.places)}
    if not gone:
        return net
    findings = tuple(
        replace(finding, links={fault: link for fault, link in finding.links.items() if fault not in gone})
        for finding in net.findings
        if not finding.links or not gone.issuperset(finding.links)
    )
    shown = {finding.look for finding in findings}
    return replace(
        net,
        faults=tuple(fault for fault in net.faults if fault.key not in gone),
        findings=findings,
        looks=tuple(look for look in net.looks if look.key in shown),
    )


def complaint_read(job: Job) -> Understood:
    """What the complaint says that the hunches have a finding for, and what it says beside that."""
    return understand(job_net(job), job.complaint)


def hunches_of(job: Job) -> tuple[Hunch, ...]:
    """Every fault of the job's reel, likeliest first; none where what was seen cannot be true together."""
    net = job_learnt_net(job)
    known, _ = _known(job, net)
    try:
        return posterior(net, known).ranked
    except LevelwindError:
        return ()


def _known(job: Job, net: Net) -> tuple[dict[str, bool], frozenset[str]]:
    """What was seen, and what the complaint suggests beyond it."""
    findings = {finding.key for finding in net.findings}
    seen = {row.finding: row.present for row in Seen.objects.filter(job=job) if row.finding in findings}
    suggested = frozenset(pointed.finding.key for pointed in pointed_to(net, job.complaint)) - seen.keys()
    return seen | dict.fromkeys(suggested, True), suggested


def costs_of(shop: Shop, job: Job) -> Costs:
    """The shop's money in whole currency units, as the families' rough prices are."""
    hour = shop.hour_minor / 10**shop.currency_decimals
    is_open = job.stage in (Stage.APART, Stage.TOGETHER)
    return Costs(minute=hour / 60, comeback=hour * COMEBACK_HOURS, is_open=is_open, ways_in=_ways_in(job))


def _ways_in(job: Job) -> Mapping[str, float]:
    """The takedown's minutes to each look as this reel stands; the looks at any reel need no way in."""
    kin = looked_over_as(job)
    if kin is None:
        return {}
    key, absent = kin.key, _absent(job)
    off = open_places(key) if job.stage == Stage.TOGETHER else frozenset[str]()
    if job.stage == Stage.APART:
        done = set(job.steps_done.filter(phase="apart").values_list("step", flat=True))
        off = frozenset(place for step in job_layout(job).rules.steps if step.key in done for place in step.frees)
    return minutes_to_looks(key, off, absent)


def standing(job: Job, shop: Shop) -> Standing:
    """Exact hunches for the job as it stands now, from what was seen and what the complaint says."""
    net = job_learnt_net(job)
    known, suggested = _known(job, net)
    left = complaint_read(job).left
    seen = {key: there for key, there in known.items() if key not in suggested}
    try:
        hunches = posterior(net, known)
        looks = next_looks(net, known, costs_of(shop, job))
    except LevelwindError as refusal:
        return Standing(net, seen, suggested, None, (), left, str(refusal))
    return Standing(net, seen, suggested, hunches, looks, left)
