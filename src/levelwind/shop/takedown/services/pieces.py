"""What becomes of each piece of a reel: laid out, judged, measured, renewed, ordered, bagged. Never nowhere.

The step services (takedown, rebuild) move pieces between the reel and the tray; these do everything else.
"""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from django.db import transaction
from django.db.models import ProtectedError

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.fits.wear import judge_all
from levelwind.core.writing import written
from levelwind.shop.editing import Saved
from levelwind.shop.jobs.services.jobs import job_hold, job_note, job_step_back, job_still_here
from levelwind.shop.models import Job, Part, Pattern, Piece, Stage
from levelwind.shop.patterns.selectors.layouts import Layout, job_layout
from levelwind.shop.patterns.selectors.limits import place_limits
from levelwind.shop.takedown.selectors.pieces import Work, job_work

LARGEST_MM = 2000.0
LONGEST_NOTE = 200


@transaction.atomic
def job_pattern_choose(*, job: Job, pattern: Pattern, by: str = "") -> Job:
    """Say which pattern the reel is. Refused while pieces of it lie in the tray: they are named by the pattern."""
    job_hold(job)
    if job.pattern != pattern and job.pieces.filter(where__in=["cell", "order"]).exists():
        raise LevelwindError("Pieces of this reel lie in the tray under its pattern: put them back before changing it.")
    if job.pattern and job.pattern.family != pattern.family:
        job.steps_done.all().delete()
        job.reach, job.says = [], {}
    if job.pattern != pattern:
        job.layers = job.build = None
    job.pattern = pattern
    job.full_clean()
    job.save(update_fields=["pattern", "reach", "layers", "says", "build"])
    job_note(job=job, text=f"It is a {pattern}.", by=by)
    pieces_lay_out(job=job)
    return job


@transaction.atomic
def job_pattern_take_back(*, job: Job, by: str = "") -> Job:
    """Nobody knows after all which pattern it is. Refused once anything was done to one of its pieces."""
    job_hold(job)
    if job.pattern is None:
        return job
    pieces = Piece.objects.filter(job=job)
    if job.steps_done.exists() or not all(_untouched(piece, set()) for piece in pieces):
        raise LevelwindError("Work on this reel is written down under its pattern: choose another pattern instead.")
    try:
        pieces.delete()
    except ProtectedError as error:
        raise LevelwindError("Parts are booked for pieces of this reel: choose another pattern instead.") from error
    job.pattern, job.build, job.reach, job.layers, job.says = None, None, [], None, {}
    job.full_clean()
    job.save(update_fields=["pattern", "build", "reach", "layers", "says"])
    job_note(job=job, text="Its pattern is not known after all.", by=by)
    return job


@transaction.atomic
def pieces_lay_out(*, job: Job) -> list[Piece]:
    """One piece for every place of the pattern, all in the reel; those that are known already stay as they are.

    A piece nobody has touched, of a place the pattern turned out to lack, goes.
    """
    job_hold(job)
    layout = job_layout(job)
    known = list(Piece.objects.filter(job=job))
    have, renewed = {piece.place for piece in known}, {piece.replaces_id for piece in known}
    strangers = [piece for piece in known if piece.place not in layout.by_key() and _untouched(piece, renewed)]
    Piece.objects.filter(pk__in=[piece.pk for piece in strangers], stock_entries=None, orders=None).delete()
    Piece.objects.bulk_create(
        Piece(job=job, place=place.key, name=place.name, count=place.count)
        for place in layout.places
        if place.key not in have
    )
    _recount([piece for piece in known if _untouched(piece, renewed)], layout)
    return list(Piece.objects.filter(job=job))


def _untouched(piece: Piece, renewed: set[int | None]) -> bool:
    said = piece.state or piece.measured_mm or piece.note or piece.part_id or piece.replaces_id
    return piece.where == "reel" and not said and piece.pk not in renewed


def _recount(pieces: list[Piece], layout: Layout) -> None:
    """The pattern book may have learnt how many there are since the reel was laid out."""
    places = layout.by_key()
    for piece in pieces:
        place = places.get(piece.place)
        if place and piece.count != place.count:
            piece.count = place.count
            piece.full_clean()
            piece.save(update_fields=["count"])


@transaction.atomic
def piece_judge(*, piece: Piece, state: str, by: str = "") -> Piece:
    """What was seen of it: good, clean it, worn, broken or missing. A missing one is taken out of its tray cell."""
    if state not in dict(Piece.STATES):
        raise InputError("state", repr(state[:60]), "one of " + ", ".join(name for key, name in Piece.STATES if key))
    _hold(piece)
    if state == piece.state:
        return piece
    if "missing" in (state, piece.state):
        _lose_or_find(piece, state)
    piece.state = state
    _save(piece, "state", "where", "cell")
    if state in ("worn", "broken", "missing"):
        job_note(job=piece.job, text=f"{_named(piece)}: {piece.get_state_display()}.", by=by)
    return piece


@transaction.atomic
def pieces_rest_clean(*, job: Job) -> int:
    """Everything in the tray that nobody has judged is sound and only wants cleaning. Returns how many those were."""
    job_hold(job)
    return job.pieces.filter(where="cell", state="").update(state="clean")


def _lose_or_find(piece: Piece, state: str) -> None:
    if piece.where in ("scrap", "order"):
        raise LevelwindError(f"{_named(piece)} is {piece.get_where_display()}, so it is not missing.")
    work = job_work(piece.job)
    new = work.successor(piece)
    if state == "missing":
        piece.where, piece.cell = "reel", None
    elif new and (piece.place in work.off or new.where == "reel"):
        piece.where = "scrap"
    elif piece.place in work.off:
        piece.where, piece.cell = "cell", work.cell_for(piece.place)


@transaction.atomic
def piece_measure(*, piece: Piece, sizes_mm: Mapping[str, float | None]) -> Piece:
    """Sizes read off a caliper, by dimension: mm, and a plain number for a tooth count. None takes a size out again.

    Sizes that are not named stay as they are. A piece that nobody has judged is good or worn by its pattern's limits.
    """
    _hold(piece)
    place = job_layout(piece.job).by_key().get(piece.place)
    asked = place.measure if place else ()
    for dimension, size in sizes_mm.items():
        if dimension not in asked:
            raise InputError("dimension", repr(dimension[:60]), "one of " + (", ".join(asked) or "none for this piece"))
        if size is not None and not (isfinite(size) and 0 < size <= LARGEST_MM):
            raise InputError(dimension, size, f"more than 0, up to {written(LARGEST_MM)}")
    before = piece.measured_mm
    piece.measured_mm = {k: v for k, v in {**before, **sizes_mm}.items() if v is not None}
    return _judge_by_limits(_save(piece, "measured_mm"), before)


def _judge_by_limits(piece: Piece, before: Mapping[str, float]) -> Piece:
    """What a person said of it stays; what the limits said of the sizes ``before`` moves with the sizes."""
    limits = place_limits(piece.job.pattern).get(piece.place, ()) if piece.job.pattern else ()
    state, reasons = judge_all(limits, piece.measured_mm)
    if piece.state == state or piece.state != judge_all(limits, before)[0]:
        return piece
    if reasons and state:
        job_note(job=piece.job, text=f"{_named(piece)}: {reasons[0]}."[:300])
    return piece_judge(piece=piece, state=state)


@transaction.atomic
def piece_remark(*, piece: Piece, note: str) -> Piece:
    """A word on the piece, in place of the one before."""
    _hold(piece)
    piece.note = note.strip()
    if len(piece.note) > LONGEST_NOTE:
        raise InputError("note", f"{len(piece.note)} characters", f"up to {LONGEST_NOTE}")
    return _save(piece, "note")


@transaction.atomic
def piece_write_down(*, piece: Piece, field: str, was: Any, now: Any, by: str = "") -> Saved:
    """The state, the note or one dimension, where the stored value is still what it ``was``.

    What somebody else wrote meanwhile is left and reported, as `fields_save` does for whole rows.
    """
    _hold(piece)
    held = {"state": piece.state, "note": piece.note}.get(field, piece.measured_mm.get(field))
    if held == now:
        return Saved(fields=(), clashes={})
    if held != was:
        return Saved(fields=(), clashes={field: held})
    if field == "state":
        piece_judge(piece=piece, state=now, by=by)
    elif field == "note":
        piece_remark(piece=piece, note=now)
    else:
        piece_measure(piece=piece, sizes_mm={field: now})
    return Saved(fields=(field,), clashes={})


@transaction.atomic
def piece_renew(
    *, piece: Piece, part: Part | None = None, count: int | None = None, note: str = "", by: str = ""
) -> Piece:
    """A new piece in the tray, in the place of this one; this one goes to the scrap bag as soon as it is off.

    ``count`` says how many of a set are new, all of them unless it is said: the rest of the set stays with the new
    ones. A new one that was on order for this piece becomes the one that came. In the stock entry that takes the part
    from the shelf name the old piece: the new one's row goes again if the renewal is taken back.
    """
    _hold(piece)
    ordered = getattr(piece, "replaced_by", None)
    if ordered and ordered.where == "order":
        return piece_arrived(piece=ordered, part=part, by=by)
    new = _successor(piece, count, part=part, note=note)
    return _into_the_tray(new, by)


@transaction.atomic
def piece_order(
    *, piece: Piece, part: Part | None = None, count: int | None = None, note: str = "", by: str = ""
) -> Piece:
    """A new piece on order for this one, which stays where it is until the new one comes."""
    _hold(piece)
    new = _successor(piece, count, part=part, note=note)
    new.where = "order"
    job_note(job=piece.job, text=f"{_named(piece)}: a new one is on order.", by=by)
    return _save(new)


@transaction.atomic
def piece_arrived(*, piece: Piece, part: Part | None = None, by: str = "") -> Piece:
    """The piece that was on order is here, and lies in the tray."""
    _hold(piece)
    if piece.where != "order":
        raise LevelwindError(f"{_named(piece)} is not on order: it is {piece.get_where_display()}.")
    piece.part = part or piece.part
    return _into_the_tray(piece, by)


@transaction.atomic
def piece_renew_undo(*, piece: Piece, by: str = "") -> Piece:
    """Take back a renewal or an order of a piece that is not in the reel yet; the old one counts again."""
    _hold(piece)
    old = piece.replaces
    if old is None or piece.where not in ("cell", "order"):
        raise LevelwindError(f"{_named(piece)} is {piece.get_where_display()}: there is no renewal to take back.")
    cell, old.count = piece.cell, piece.count
    try:
        with transaction.atomic():
            piece.delete()
    except ProtectedError:
        raise LevelwindError(f"The shelf's ledger speaks of this new {piece.name}: it stays with the job.") from None
    work = job_work(old.job)
    if old.where == "scrap" and (old.place in work.off or old.place not in work.places):
        old.where, old.cell = "cell", cell or work.cell_for(old.place)
    job_note(job=old.job, text=f"{_named(old)}: the new one was taken back.", by=by)
    _save(old, "where", "cell", "count")
    out_of_the_box(old.job, by)
    return old


@transaction.atomic
def piece_scrap(*, piece: Piece, by: str = "") -> Piece:
    """Into the scrap bag, from the tray."""
    _hold(piece)
    if piece.where != "cell":
        raise LevelwindError(
            f"{_named(piece)} is {piece.get_where_display()}: only what lies in the tray can be bagged."
        )
    piece.where, piece.cell = "scrap", None
    job_note(job=piece.job, text=f"{_named(piece)}: into the scrap bag.", by=by)
    return _save(piece, "where", "cell")


@transaction.atomic
def piece_unscrap(*, piece: Piece, by: str = "") -> Piece:
    """Out of the scrap bag again and into the tray; only while its place is open and no new one has it."""
    _hold(piece)
    if piece.where != "scrap" or hasattr(piece, "replaced_by"):
        raise LevelwindError(f"{_named(piece)} is not waiting in the scrap bag, or has a new one in its place.")
    work = job_work(piece.job)
    if piece.place in work.places and piece.place not in work.off:
        raise LevelwindError(f"The place of the {piece.name} is closed: undo its step on Together first.")
    piece.where, piece.cell = "cell", work.cell_for(piece.place)
    job_note(job=piece.job, text=f"{_named(piece)}: out of the scrap bag again.", by=by)
    _save(piece, "where", "cell")
    out_of_the_box(piece.job, by)
    return piece


@transaction.atomic
def piece_put_back(*, piece: Piece, by: str = "") -> Piece:
    """Straight into the reel, without a step: for a piece whose place this pattern no longer has."""
    _hold(piece)
    if piece.where != "cell" or piece.place in job_layout(piece.job).by_key():
        raise LevelwindError(f"{_named(piece)} goes back by its step of the rebuild.")
    piece.where, piece.cell = "reel", None
    job_note(job=piece.job, text=f"{_named(piece)}: back in the reel.", by=by)
    return _save(piece, "where", "cell")


@transaction.atomic
def piece_go_without(*, piece: Piece, note: str, by: str = "") -> None:
    """The reel goes home without this piece, on purpose. The note says why."""
    _hold(piece)
    note = note.strip()[:LONGEST_NOTE]
    if not note:
        raise LevelwindError(f"Enter why the reel goes home without the {piece.name}.")
    if piece.where in ("cell", "order") or (piece.where == "reel" and piece.state != "missing"):
        raise LevelwindError(f"{_named(piece)} is {piece.get_where_display()}: the reel does not go without it.")
    piece.job.steps_done.update_or_create(phase="without", step=piece.place, defaults={"note": note})
    job_note(job=piece.job, text=f"Goes home without the {piece.name}: {note}", by=by)


def pieces_take_off(work: Work, places: tuple[str, ...]) -> None:
    """Move what sits in these places into its tray cells; an old piece whose new one lies ready goes to the bag."""
    for piece in work.pieces_of(places):
        if piece.where != "reel" or piece.state == "missing":
            continue
        new = work.successor(piece)
        ready = new is not None and new.where != "order"
        piece.where, piece.cell = ("scrap", None) if ready else ("cell", work.cell_for(piece.place))
        _save(piece, "where", "cell")


def pieces_put_in(work: Work, places: tuple[str, ...]) -> None:
    """Move what lies in the tray for these places into the reel."""
    for piece in work.pieces_of(places):
        if piece.where == "cell":
            piece.where, piece.cell = "reel", None
            _save(piece, "where", "cell")


def _successor(piece: Piece, count: int | None, *, part: Part | None, note: str) -> Piece:
    new = getattr(piece, "replaced_by", None)
    if new is not None:
        where = f"in tray cell {new.cell}" if new.cell else new.get_where_display()
        raise LevelwindError(f"{_named(piece)} has a new one already: it is {where}.")
    if piece.where == "order":
        raise LevelwindError(f"{_named(piece)} is on order itself: say that it has arrived, or call the order off.")
    renewed = piece.count if count is None else count
    if not 1 <= renewed <= piece.count:
        raise InputError("how many are new", renewed, f"from 1 to {piece.count}")
    new = Piece(job=piece.job, place=piece.place, name=piece.name, count=piece.count, part=part, replaces=piece)
    new.note = note.strip() or (f"{renewed} of {piece.count} new" if renewed < piece.count else "")
    piece.count = renewed
    _save(piece, "count")
    return new


def _into_the_tray(new: Piece, by: str) -> Piece:
    """Lay the new piece in the cell of its old one, and bag the old one if it lies there."""
    old, work = new.replaces, job_work(new.job)
    assert old is not None
    new.where, new.cell = "cell", old.cell or work.cell_for(new.place)
    if old.where == "cell" or (old.where == "reel" and old.state != "missing" and old.place in work.off):
        old.where, old.cell = "scrap", None
        _save(old, "where", "cell")
    what = f" ({new.part})" if new.part else ""
    job_note(job=new.job, text=f"{_named(new)}: a new one{what} in tray cell {new.cell}.", by=by)
    _save(new)
    out_of_the_box(new.job, by)
    return new


def out_of_the_box(job: Job, by: str = "") -> None:
    """A piece that lies in the tray and whose fate nobody said is in no box: the reel is out of it again."""
    if job.stage == Stage.BOXED and job.pieces.filter(where="cell", fate="").exists():
        job_step_back(job=job, by=by)


def _hold(piece: Piece) -> None:
    """Lock the piece's job, then read the piece as it is now."""
    job_still_here(piece.job)
    try:
        piece.refresh_from_db()
    except Piece.DoesNotExist:
        raise LevelwindError(f"The new {piece.name} was taken back meanwhile. Load the page again.") from None


def _save(piece: Piece, *fields: str) -> Piece:
    """Write these fields, or the whole row of a new piece."""
    if piece.pk is None:
        piece.full_clean()
        piece.save(force_insert=True)
    else:
        piece.full_clean(exclude={"job"}, validate_constraints=False)  # the book itself holds what it always was
        piece.save(update_fields=fields or None)
    return piece


def _named(piece: Piece) -> str:
    return piece.name[:1].upper() + piece.name[1:]
