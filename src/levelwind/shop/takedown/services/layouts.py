"""The layout of one reel at the bench: a piece more than its pattern has; laid out anew when the pattern changed."""

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.reference.families import KINDS
from levelwind.reference.layers import Under
from levelwind.shop.jobs.services.jobs import job_hold, job_note, job_still_here
from levelwind.shop.models import Build, Job, Piece
from levelwind.shop.patterns.selectors.layouts import job_layers, job_layout, layers_digest, pattern_layers, under
from levelwind.shop.patterns.services.layouts import keys_taken, one_more, place_of_its_own, says_set
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.pieces import out_of_the_box, pieces_lay_out, pieces_take_off


@transaction.atomic
def piece_one_more(
    *, job: Job, name: str, kind: str, step: str, count: int = 1, for_pattern: bool = False, by: str = ""
) -> Piece:
    """A piece the layout has no place for, found at the bench: it gets a place, and a cell if its step is done.

    It comes out in the step where it was found, and goes in again with it. ``for_pattern`` keeps it for every reel of
    the pattern; the others that are begun keep their layout. Refused, in words, where that step is back together.
    """
    job_still_here(job)
    work = job_work(job)
    pattern = job.pattern
    assert pattern is not None
    if kind not in KINDS:
        raise InputError("kind of piece", repr(kind[:60]), "one of " + ", ".join(KINDS))
    found = work.step(step)
    if found.key in work.refitted:
        raise LevelwindError(f"“{found.do}” is put back already: undo it on Together first, then say it again.")
    group = work.places[found.frees[0]].group
    taken = keys_taken(pattern, work.layout.places)
    place = place_of_its_own(name=name, kind=kind, count=count, group=group, taken=taken)
    beneath = Under(pattern.family, tuple(job_layers(job)))
    says = one_more(beneath, job.says, place, step)
    beneath.checked(says, "this reel")
    if for_pattern:
        says_set(one=pattern, says=one_more(under(pattern), pattern.says, place, step))
    job.says = says
    job.full_clean()
    job.save(update_fields=["says"])
    pieces_lay_out(job=job)
    work = job_work(job)
    if found.key in work.taken:
        pieces_take_off(work, (place["key"],))
    kept = f", kept for every {pattern}" if for_pattern else ""
    job_note(job=job, text=f"One more piece: {place['name']}{kept}.", by=by)
    out_of_the_box(job, by)
    return Piece.objects.get(job=job, place=place["key"])


@transaction.atomic
def job_build_choose(*, job: Job, build: Build | None, by: str = "") -> Job:
    """Name the build the reel is of, once it is known; None takes it back. A reel that is begun is laid out anew.

    What the reel is gets known as it is opened: a piece that the build lacks stays in the tray, and goes straight back.
    """
    job_hold(job)
    if build is not None and build.pattern_id != job.pattern_id:
        raise LevelwindError(f"The build “{build}” is not one of a {job.pattern}.")
    job.build = build
    job.full_clean()
    job.save(update_fields=["build"])
    job_note(job=job, text=f"It is of the build “{build}”." if build else "Its build is not known after all.", by=by)
    if job.layers is None:
        pieces_lay_out(job=job)
        return job
    return _lay_out_anew(job, by)


@transaction.atomic
def job_lay_out_anew(*, job: Job, by: str = "") -> Job:
    """Lay the reel out as its pattern stands now, in place of the layout it was begun with.

    A piece that came to belong to a step that is done lies in the tray with the others of it. Raises LevelwindError
    where a piece that is out of the reel would have no place to go back to.
    """
    job_hold(job)
    if job.pattern is None or job.layers is None:
        raise LevelwindError("This reel is laid out as its pattern stands: there is nothing to lay out anew.")
    _lay_out_anew(job, by)
    _refuse_placeless(job)
    return job


def _lay_out_anew(job: Job, by: str) -> Job:
    job_still_here(job)
    assert job.pattern is not None
    had = set(job_work(job).layout.by_key())
    job.layers = pattern_layers(job.pattern, job.build)
    job.kept_from = ""
    job.full_clean()
    job.save(update_fields=["layers", "kept_from"])
    pieces_lay_out(job=job)
    work = job_work(job)
    pieces_take_off(work, tuple(work.off - had))
    job_note(job=job, text="Laid out anew, as its pattern stands now.", by=by)
    out_of_the_box(job, by)
    return job


def _refuse_placeless(job: Job) -> None:
    known = job_layout(job).by_key()
    out = [piece.name for piece in Piece.objects.filter(job=job).exclude(where="reel") if piece.place not in known]
    if out:
        raise LevelwindError(
            f"Out of this reel, and without a place in the pattern as it stands now: {', '.join(out)}. "
            "Put back what was taken out, or keep the layout as it is."
        )


@transaction.atomic
def job_layout_keep(*, job: Job, by: str = "") -> Job:
    """Keep the layout the reel was begun with, though its pattern was changed since; asked again if it changes more."""
    job_hold(job)
    if job.pattern is None or not job_layout(job).moved_on:
        raise LevelwindError("This reel is laid out as its pattern stands: there is nothing to keep it from.")
    job.kept_from = layers_digest(pattern_layers(job.pattern, job.build))
    job.full_clean()
    job.save(update_fields=["kept_from"])
    job_note(job=job, text="Its layout stays as it was begun, though its pattern was changed.", by=by)
    return job
