"""The eight steps of a reel's way, and what every job page shows of its job."""

from dataclasses import dataclass

from django.http import Http404
from django.urls import reverse
from django.utils import timezone

from levelwind.reference.families import Family
from levelwind.shop.jobs.life import Move, offered, reached
from levelwind.shop.jobs.selectors.hunches import looked_over_as
from levelwind.shop.jobs.selectors.jobs import job_get, next_move, turn_words, waiting_words
from levelwind.shop.jobs.selectors.notes import note_latest
from levelwind.shop.models import Job, JobNote, Stage
from levelwind.web.steps import STEPS, marks


@dataclass(frozen=True, slots=True)
class Step:
    title: str
    address: str
    here: bool
    done: bool
    next: bool


@dataclass(frozen=True, slots=True)
class JobHead:
    """The title block and the way, drawn on top of every page of a job."""

    job: Job
    steps: tuple[Step, ...]
    move: Move
    move_address: str
    turn: str
    waiting: str

    @property
    def moment(self) -> str:
        """What a reading taken now would be: as found, or, once the reel is together again, as left."""
        return "left" if reached(self.job.stage, Stage.TOGETHER) else "found"

    @property
    def noted(self) -> JobNote | None:
        """The latest note or call; asked for only where the head is drawn."""
        return note_latest(self.job)

    @property
    def taken_as(self) -> Family | None:
        """The family it is looked over as."""
        return looked_over_as(self.job)

    @property
    def acts(self) -> frozenset[str]:
        """What can be done with the job as it stands, by the keys of its life's table."""
        return offered(self.job.stage)


def job_or_404(tag: str) -> Job:
    try:
        return job_get(tag)
    except Job.DoesNotExist:
        raise Http404(tag) from None


def job_head(job: Job, here: str) -> JobHead:
    move = next_move(job)
    move_address = reverse(move.step, args=[job.tag])
    steps = tuple(
        Step(
            title=title,
            address=reverse(name, args=[job.tag]),
            here=name == here,
            done=mark == "done",
            next=name == move.step and not job.is_over,
        )
        for (name, title, _), mark in zip(STEPS, marks(job, move), strict=True)
    )
    return JobHead(
        job=job,
        steps=steps,
        move=move,
        move_address=move_address,
        turn=turn_words(job),
        waiting=waiting_words(job, timezone.localdate()),
    )
