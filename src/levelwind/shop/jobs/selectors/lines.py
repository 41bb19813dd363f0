"""What a job's drag is set to."""

from dataclasses import dataclass

from levelwind.core.drag.families import BY_TIPPET
from levelwind.reference.families import family
from levelwind.shop.models import Job, Pattern


@dataclass(frozen=True, slots=True)
class SetTo:
    """The line on the reel, or a fly reel's tippet: ``kind`` is line or tippet, the strength None where not known."""

    name: str
    kind: str
    strength_N: float | None


def set_to(job: Job) -> SetTo:
    """The tippet of a fly reel; the line of any other, and of one whose pattern is not known."""
    if job.pattern and by_tippet(job.pattern):
        return SetTo("the tippet", "tippet", job.tippet_strength_N)
    return SetTo(job.line_name or "the line on the reel", "line", job.line_strength_N)


def by_tippet(pattern: Pattern) -> bool:
    """Whether the drag of such a reel is set to a tippet."""
    return family(pattern.family).drag_family in BY_TIPPET
