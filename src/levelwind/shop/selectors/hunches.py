"""What may be wrong with a job's reel, from what was said and seen."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.errors import LevelwindError
from levelwind.core.hunches import Costs, Hunches, Net, NextLook, next_looks, pointed_to, posterior
from levelwind.reference.faults import load_net
from levelwind.shop.models import Job, Seen, Shop, Stage

DEFAULT_FAMILY = "star_drag"
"""The commonest kind in a shop for old reels; the page says when it stands in for one not yet named."""

COMEBACK_HOURS = 1.5
"""A judgement: a reel that comes back costs its post both ways and an hour lost, in hours of work."""


@dataclass(frozen=True, slots=True)
class Standing:
    """All that is known of a job's faults: what was seen, how likely each fault is, and what to look at next.

    ``suggested`` was read from the complaint and counts as said until a person says otherwise. ``clash`` says in words
    why nothing could be computed, and then there are no hunches.
    """

    net: Net
    seen: Mapping[str, bool]
    suggested: frozenset[str]
    hunches: Hunches | None
    looks: tuple[NextLook, ...]
    clash: str = ""


def job_family(job: Job) -> str:
    return job.pattern.family if job.pattern else DEFAULT_FAMILY


def job_net(job: Job) -> Net:
    return load_net(job_family(job))


def costs_of(shop: Shop, job: Job) -> Costs:
    """The shop's money in whole currency units, as the families' rough prices are."""
    hour = shop.hour_minor / 10**shop.currency_decimals
    return Costs(minute=hour / 60, comeback=hour * COMEBACK_HOURS, is_open=job.stage in (Stage.APART, Stage.TOGETHER))


def standing(job: Job, shop: Shop) -> Standing:
    """Exact hunches for the job as it stands now, from what was seen and what the complaint says."""
    net = job_net(job)
    known = {finding.key for finding in net.findings}
    seen = {row.finding: row.present for row in Seen.objects.filter(job=job) if row.finding in known}
    suggested = frozenset(pointed.finding.key for pointed in pointed_to(net, job.complaint)) - seen.keys()
    known_now = seen | dict.fromkeys(suggested, True)
    try:
        hunches = posterior(net, known_now)
        looks = next_looks(net, known_now, costs_of(shop, job))
    except LevelwindError as refusal:
        return Standing(net, seen, suggested, None, (), str(refusal))
    return Standing(net, seen, suggested, hunches, looks)
