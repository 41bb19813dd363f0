"""Taking a reel apart for the first time: each piece as it comes out becomes a place of its pattern, in that order."""

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.takedown.clock import SHORTEST_PAUSE_MIN
from levelwind.reference.families import KINDS, Family
from levelwind.reference.family_files import Values
from levelwind.reference.layer_changes import own_key
from levelwind.reference.recorded_takedown import counts_of, layer_of, own_places_of, place_meant, same_name, steps_of
from levelwind.shop.jobs.services.jobs import job_hold, job_note
from levelwind.shop.models import Job, Pattern, Piece, StepDone
from levelwind.shop.patterns.selectors.layouts import pattern_layers, under
from levelwind.shop.patterns.services.layouts import keys_taken, place_of_its_own, says_set
from levelwind.shop.patterns.services.patterns import MOST_IN_A_PLACE
from levelwind.shop.takedown.selectors.first import first_takedown, may_be_recorded
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_step_done, takedown_step_undone
from levelwind.shop.takedown.services.pieces import pieces_lay_out, pieces_take_off

LEAST_MINUTES = 0.2
"""A press takes this long itself; our choice."""
NOT_TOLD_MINUTES = 1.0
"""Minutes of a step that no press before it tells, or that a pause fell into; a judgement."""


@transaction.atomic
def first_takedown_begin(*, job: Job, by: str = "") -> Pattern:
    """From now on each piece that comes out of this reel is written into its pattern. Begun already is as good."""
    job_hold(job)
    pattern = job.pattern
    if pattern is None:
        raise LevelwindError("Begin a pattern from this reel first: a name and a family are enough.")
    if pattern.recorded_from_id == job.pk:
        return pattern
    if not may_be_recorded(job):
        raise LevelwindError("This pattern has its takedown already, from its family or from another reel.")
    pattern.recorded_from = job
    pattern.full_clean()
    pattern.save(update_fields=["recorded_from"])
    job_note(job=job, text=f"Taking the first {pattern} apart: its pieces become the pattern.", by=by)
    return pattern


@transaction.atomic
def first_piece_record(
    *,
    job: Job,
    name: str,
    kind: str = "",
    count: int = 1,
    do: str = "",
    tool: str = "",
    with_last: bool = False,
    behind: int | None = None,
    by: str = "",
) -> Piece:
    """The next piece is out: it gets a place in the pattern, a step behind the last one, and a cell in the tray.

    ``with_last``: it came out in the same step as the one before it. A ``name`` that the family has a place for is that
    place. ``kind`` may be left out where the name says it ("bridge screw"). ``behind`` is how many pieces were out
    when the page was drawn: the same piece pressed twice is out once.
    """
    pattern, kin = _open(job)
    says = pattern.says
    steps, own, counts = steps_of(says), own_places_of(says), counts_of(says)
    met = [key for step in steps for key in step["frees"]]
    if behind is not None and behind != len(met):
        return _pressed_twice(job, kin, name, met)
    known = place_meant(kin, name, met)
    if known:
        _refuse_count(name, count)
        key = known.key
        counts = {**counts, key: count} if count != known.count else counts
    else:
        groups = {place["key"]: place["group"] for place in own} | {place.key: place.group for place in kin.places}
        group = groups[steps[-1]["frees"][-1]] if steps else kin.assemblies[0].key
        row = place_of_its_own(
            name=name, kind=_kind(name, kind), count=count, group=group, taken=keys_taken(pattern, kin.places)
        )
        key, own = row["key"], [*own, row]
    if with_last and steps:
        steps[-1]["frees"] = [*steps[-1]["frees"], key]
    else:
        steps.append(_step(job, key, name, do, tool, {step["key"] for step in steps}))
    _lay(job, pattern, layer_of(kin, steps, own, counts))
    if with_last and len(steps[-1]["frees"]) > 1:
        pieces_take_off(job_work(job), (key,))
    else:
        takedown_step_done(job=job, step=steps[-1]["key"], by=by)
    return Piece.objects.get(job=job, place=key, replaces=None)


@transaction.atomic
def first_piece_back(*, job: Job) -> None:
    """The last piece was not out, or was written down wrongly: it is in the reel again, and the pattern without it."""
    pattern, kin = _open(job)
    says = pattern.says
    steps = steps_of(says)
    if not steps:
        return
    last = steps[-1]["frees"][-1]
    piece = Piece.objects.get(job=job, place=last, replaces=None)
    if piece.state or piece.measured_mm or piece.note or piece.part_id or piece.where != "cell":
        raise LevelwindError(f"The {piece.name} was judged already: it stays. Its pattern can be changed afterwards.")
    if len(steps[-1]["frees"]) > 1:
        steps[-1]["frees"] = steps[-1]["frees"][:-1]
        piece.where, piece.cell = "reel", None
        piece.full_clean()
        piece.save(update_fields=["where", "cell"])
    else:
        takedown_step_undone(job=job, step=steps.pop()["key"])
    _lay(job, pattern, layer_of(kin, steps, own_places_of(says), counts_of(says)))


@transaction.atomic
def first_takedown_end(*, job: Job, by: str = "") -> Pattern:
    """That was the last piece. The pattern stands as recorded; without a piece it stays as its family has it."""
    pattern, _ = _open(job)
    pattern.recorded_from = None
    pattern.full_clean()
    pattern.save(update_fields=["recorded_from"])
    pieces = len([key for step in steps_of(pattern.says) for key in step["frees"]])
    if pieces:
        job_note(job=job, text=f"The {pattern} has {pieces} places, in the order they came out.", by=by)
    return pattern


def _pressed_twice(job: Job, kin: Family, name: str, met: list[str]) -> Piece:
    last = Piece.objects.filter(job=job, place=met[-1], replaces=None).first() if met else None
    meant = place_meant(kin, name, met[:-1])
    if last and (same_name(last.name, name) or (meant and meant.key == last.place)):
        return last
    raise LevelwindError("Another piece was written down meanwhile: load the page again, then say this one once more.")


def _open(job: Job) -> tuple[Pattern, Family]:
    job_hold(job)
    found = first_takedown(job)
    if found is None:
        raise LevelwindError("This takedown is not being recorded: its pattern stands as it is.")
    return found, under(found).laid_out({})


def _lay(job: Job, pattern: Pattern, says: Values) -> None:
    """Keep what the pattern says now, and lay this reel out by it at once: it is the reel the pattern is made from."""
    says_set(one=pattern, says=says)
    job.layers = pattern_layers(pattern, job.build) if says else None
    job.reach = []
    job.full_clean()
    job.save(update_fields=["layers", "reach"])
    job.pattern = pattern
    pieces_lay_out(job=job)


def _step(job: Job, place: str, name: str, do: str, tool: str, taken: set[str]) -> Values:
    name, do, tool = (" ".join(text.split()) for text in (name, do, tool))
    row = {"key": own_key(f"off {name}", taken), "do": do[:300] or f"Take off the {name}.", "frees": [place]}
    minutes = {"minutes": _minutes(job)}
    return {**row, **minutes, "tool": tool[:120]} if tool else {**row, **minutes}


def _minutes(job: Job) -> float:
    """From the last press to this one, where that can be the step's own time."""
    last = StepDone.objects.filter(job=job, phase="apart").order_by("-at").first()
    took = (timezone.now() - last.at).total_seconds() / 60 if last else SHORTEST_PAUSE_MIN + 1
    return round(max(took, LEAST_MINUTES), 1) if took <= SHORTEST_PAUSE_MIN else NOT_TOLD_MINUTES


def _kind(name: str, kind: str) -> str:
    """The kind that was chosen, else the one that the name ends in."""
    if kind:
        if kind not in KINDS:
            raise InputError("kind of piece", repr(kind[:60]), "one of " + ", ".join(KINDS))
        return kind
    words = name.lower().replace("-", " ").split()
    for word in reversed(words):
        for form in (word, word.removesuffix("s"), word.removesuffix("es")):
            if form in KINDS:
                return form
    raise LevelwindError(f"What kind of piece is “{name[:60]}”? Choose one: its caution and its care come from it.")


def _refuse_count(name: str, count: int) -> None:
    if not 1 <= count <= MOST_IN_A_PLACE:
        raise InputError(f"count of {name}", count, f"from 1 to {MOST_IN_A_PLACE}")
