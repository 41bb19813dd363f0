"""What must be answered before a job ends: pieces in the tray, old parts, and what is proved of the reel."""

from collections.abc import Iterator
from dataclasses import dataclass

from levelwind.shop.jobs.selectors.jobs import old_parts_open
from levelwind.shop.models import Job, Piece, Reading
from levelwind.shop.papers.selectors.done import some_names
from levelwind.shop.readings.selectors.readings import Readings, readings_of
from levelwind.shop.takedown.selectors.pieces import job_work


@dataclass(frozen=True, slots=True)
class EndAsks:
    """``lying`` in the tray, with no fate said; ``old_parts`` neither bagged nor refused; the rest only told."""

    lying: tuple[Piece, ...]
    old_parts: tuple[Piece, ...]
    told: tuple[str, ...]

    @property
    def words(self) -> str:
        """What stands open, a sentence each; nothing where the job may end without a word."""
        names = some_names([piece.name for piece in self.lying])
        tray = f"In the tray: {names}. Choose what becomes of each." if names else ""
        old = "Old parts are in the scrap bag: bagged for the owner, or refused?" if self.old_parts else ""
        return " ".join(filter(None, (tray, old)))


def end_asks(job: Job) -> EndAsks:
    """What stands open as this job is about to end, at home or otherwise."""
    old = job.pieces.filter(where="scrap") if old_parts_open(job) else job.pieces.none()
    lying = job.pieces.filter(where="cell", fate="")
    return EndAsks(tuple(lying), tuple(old), tuple(_told(job, readings_of(job))))


def _told(job: Job, readings: Readings) -> Iterator[str]:
    """What is proved and what is not."""
    names = {**dict(Reading.KINDS), "turn": "handle torque"}
    left = [name for kind, name in names.items() if (kind, "left") in readings.latest]
    lost = [
        name
        for kind, name in names.items()
        if (kind, "found") in readings.latest and (kind, "left") not in readings.latest
    ]
    yield f"Measured as left: {', '.join(left)}." if left else "Nothing is measured as left: there is no proof."
    if lost:
        yield f"Measured as found and not as left: {', '.join(lost)}."
    if job.pattern:
        work = job_work(job)
        if work.taken and work.questions:
            yield "The rebuild is not finished."
    ordered = [piece.name for piece in job.pieces.filter(where="order")]
    if ordered:
        yield f"On order and not here: {some_names(ordered)}."
