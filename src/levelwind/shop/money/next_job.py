"""Which job next: the order of the bench that keeps most promises, like reels one after another, and its reason."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from levelwind.core import supply
from levelwind.shop.jobs.selectors.jobs import next_move
from levelwind.shop.models import Job, Stage, Turn
from levelwind.shop.money.foretold import bench

THEN = 3
"""Jobs named after the next one. Our choice: a morning's work."""
IN_HAND = (Stage.AGREED, Stage.APART, Stage.TOGETHER)
"""Stages in which tools and oil lie out."""
SAME = {
    "crate": "from the same crate",
    "pattern": "the same kind of reel",
    "tools": "the same tools and oil",
    "move": "the same to be done",
}
"""What two jobs may share, the more telling first, and how it is said."""
SUFFERS = 0.03
"""By so much a promise's chance falls, at the least, for it to be the reason. Our choice."""


@dataclass(frozen=True, slots=True)
class After:
    """A job that comes after, and what it shares with the one before it."""

    job: Job
    shares: str


@dataclass(frozen=True, slots=True)
class NextJob:
    job: Job
    now: float | None
    """Chance of keeping its promise when it is begun now; None where nothing is promised."""
    later: float | None
    """The same when it goes after all others."""
    then: tuple[After, ...]

    @property
    def pressing(self) -> bool:
        return self.now is not None and self.later is not None and self.now - self.later >= SUFFERS


def next_job(put_aside: Collection[str] = ()) -> NextJob | None:
    """The job to take now, of those that are mine and not put aside; None where there is none, or no hours are said."""
    found = bench(whole_today=True)
    if found is None:
        return None
    by_tag = {job.tag: job for job in found.jobs}
    ready = frozenset(job.tag for job in found.jobs if job.turn == Turn.MINE and job.tag not in put_aside)
    likes = _likes(by_tag[tag] for tag in ready)
    best = _turns(found.shop, ready, tuple(sorted(likes.items(), key=lambda like: like[0])))
    if best is None:
        return None
    first, *others = (turn for turn in best.order if turn.tag in ready)
    then = tuple(After(by_tag[turn.tag], _said(turn.shares)) for turn in others[:THEN])
    return NextJob(by_tag[first.tag], best.now, best.later, then)


@lru_cache(maxsize=4)
def _turns(
    shop: supply.Shop, ready: frozenset[str], likes: tuple[tuple[str, frozenset[str]], ...]
) -> supply.Turns | None:
    """Sought once while nothing has changed that it is sought from: all of that is here."""
    return supply.turns(shop, ready, dict(likes), np.random.default_rng(len(shop.jobs)))


def _likes(jobs: Iterable[Job]) -> Mapping[str, frozenset[str]]:
    return {job.tag: frozenset(_things(job)) for job in jobs}


def _things(job: Job) -> Iterable[str]:
    yield f"crate {job.parcel_id}"
    yield f"move {next_move(job).words}"
    if job.stage in IN_HAND and job.pattern:
        yield f"pattern {job.pattern_id}"
        yield f"tools {job.pattern.family}"


def _said(shares: Collection[str]) -> str:
    kinds = {each.partition(" ")[0] for each in shares}
    return next((words for kind, words in SAME.items() if kind in kinds), "")
