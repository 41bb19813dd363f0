"""The first takedown of a reel whose pattern is made from it."""

from dataclasses import dataclass

from levelwind.reference.recorded_takedown import steps_of
from levelwind.shop.models import Job, Pattern, Photo, Piece


@dataclass(frozen=True, slots=True)
class PieceOut:
    """One piece as it came out: its step's number and words, and its pictures."""

    number: int
    do: str
    tool: str
    piece: Piece
    photos: tuple[Photo, ...]


def first_takedown(job: Job) -> Pattern | None:
    """The job's pattern while it is being made from this reel; None where it stands as it is."""
    pattern = Pattern.objects.filter(pk=job.pattern_id).first() if job.pattern_id else None
    return pattern if pattern and pattern.recorded_from_id == job.pk else None


def may_be_recorded(job: Job) -> bool:
    """Whether the pattern can be made from this reel: no other reel has it, it says nothing, and nothing is off."""
    pattern = job.pattern
    if pattern is None:
        return False
    others = Job.objects.filter(pattern=pattern).exclude(pk=job.pk).exists()
    begun = pattern.says or pattern.builds.exists() or pattern.recorded_from_id or job.steps_done.exists()
    return pattern.recorded_from_id == job.pk or not (others or begun)


def pieces_out(job: Job) -> tuple[PieceOut, ...]:
    """What came out so far, the last first."""
    assert job.pattern is not None
    pieces = {piece.place: piece for piece in Piece.objects.filter(job=job, replaces=None)}
    photos: dict[str, list[Photo]] = {}
    for photo in Photo.objects.filter(job=job, moment="piece").order_by("at", "pk"):
        photos.setdefault(photo.place, []).append(photo)
    out = [
        PieceOut(number, step["do"], step.get("tool", ""), pieces[key], tuple(photos.get(key, ())))
        for number, step in enumerate(steps_of(job.pattern.says), 1)
        for key in step["frees"]
        if key in pieces
    ]
    return tuple(reversed(out))
