"""Where a job's pieces are, which steps are done, and what stands between the reel and being called together."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from levelwind.core.errors import InputError
from levelwind.core.fits.wear import Limit, judge_all
from levelwind.core.takedown import (
    Gate,
    Rebuild,
    Refit,
    State,
    Step,
    Takedown,
    Whereabouts,
    open_questions,
    reach,
    rebuild,
    tray_cells,
)
from levelwind.core.takedown import Piece as CorePiece
from levelwind.shop.models import Job, Photo, Piece, StepDone
from levelwind.shop.patterns.selectors.layouts import Layout, PlaceInPattern, job_layout
from levelwind.shop.patterns.selectors.limits import place_limits

WHERE = {"reel": Whereabouts.REEL, "cell": Whereabouts.TRAY, "scrap": Whereabouts.SCRAP, "order": Whereabouts.ORDER}
TO_RENEW = ("worn", "broken", "missing")


@dataclass(frozen=True)
class Work:
    """One job's taking apart and putting together as it stands now.

    ``taken``, ``refitted`` and ``passed`` hold the ticked steps and gates by their keys; ``without`` the places whose
    piece is left out on purpose, with the note that says so.
    """

    job: Job
    layout: Layout
    pieces: tuple[Piece, ...]
    taken: Mapping[str, StepDone]
    refitted: Mapping[str, StepDone]
    passed: Mapping[str, StepDone]
    without: Mapping[str, str]

    @cached_property
    def places(self) -> dict[str, PlaceInPattern]:
        return self.layout.by_key()

    @cached_property
    def apart(self) -> tuple[Step, ...]:
        """The steps that are done and not undone by the way back."""
        steps = self.layout.rules.steps
        return tuple(step for step in steps if step.key in self.taken and step.key not in self.refitted)

    @cached_property
    def last_off(self) -> tuple[Step, ...]:
        """What the last press on Apart ticked and is still off, in the order of the pressing."""
        rows = sorted((self.taken[step.key] for step in self.apart), key=lambda row: (row.at, row.pk))
        return tuple(self.step(row.step) for row in rows if row.at == rows[-1].at)

    @cached_property
    def last_in(self) -> tuple[StepDone, ...]:
        """What the last press on Together ticked, steps and gates, in the order of the pressing."""
        rows = sorted((*self.refitted.values(), *self.passed.values()), key=lambda row: (row.at, row.pk))
        return tuple(row for row in rows if row.at == rows[-1].at)

    @cached_property
    def off(self) -> frozenset[str]:
        return frozenset(place for step in self.apart for place in step.frees)

    @cached_property
    def opened(self) -> frozenset[str]:
        """The places that are off or were, and are back in."""
        return frozenset(place for step in self.layout.rules.steps if step.key in self.taken for place in step.frees)

    @cached_property
    def wanted(self) -> tuple[str, ...]:
        """What must be reached, as far as this pattern has it, with what was opened."""
        reach_for = self.opened.union(self.job.reach)
        return tuple(place.key for place in self.layout.places if place.key in reach_for)

    @cached_property
    def plan(self) -> Takedown | None:
        """The way in from a closed reel, so that its numbers stay while it is walked; None with nothing to reach."""
        return reach(self.layout.rules, self.wanted) if self.wanted else None

    @cached_property
    def limits(self) -> Mapping[str, tuple[Limit, ...]]:
        """How far the pieces of each place may be worn, where its pattern says; one query."""
        return place_limits(self.job.pattern) if self.job.pattern else {}

    def worn(self, piece: Piece) -> tuple[str, tuple[str, ...]]:
        """Good or worn by its limits, empty where they do not tell; and each measured size beside its limits."""
        limits = self.limits.get(piece.place, ()) if piece.measured_mm else ()
        return judge_all(limits, piece.measured_mm)

    @cached_property
    def cells(self) -> dict[str, int]:
        """The tray cell of each place of the plan. What lies in the tray stays where it is, though the plan change."""
        steps = self.plan.steps if self.plan else ()
        planned = tray_cells(self.layout.rules, steps)
        lying = {piece.place: piece.cell for piece in self.pieces if piece.cell is not None}
        if all(planned.get(place) == cell for place, cell in lying.items()):
            return planned
        return tray_cells(self.layout.rules, steps, lying)

    def cell_for(self, place: str) -> int:
        """The cell this place's piece goes to, or the next free one for a place outside the plan."""
        lying = [piece.cell for piece in self.pieces if piece.cell is not None]
        return self.cells.get(place) or max([*self.cells.values(), *lying], default=0) + 1

    @cached_property
    def here(self) -> dict[str, Piece]:
        """The piece that counts for each place: the newest one."""
        replaced = {piece.replaces_id for piece in self.pieces}
        return {piece.place: piece for piece in self.pieces if piece.pk not in replaced}

    def successor(self, piece: Piece) -> Piece | None:
        return next((new for new in self.pieces if new.replaces_id == piece.pk), None)

    def pieces_of(self, places: Iterable[str]) -> tuple[Piece, ...]:
        wanted = frozenset(places)
        return tuple(piece for piece in self.pieces if piece.place in wanted)

    @cached_property
    def way_back(self) -> Rebuild:
        back = rebuild(self.layout.rules, self.opened)
        return replace(back, steps=tuple(refit for refit in back.steps if refit.step.key in self.taken))

    def step(self, key: str) -> Step:
        """The step with this key. Raises InputError for one this reel does not have."""
        for step in self.layout.rules.steps:
            if step.key == key:
                return step
        raise InputError("step", repr(key[:60]), f"a step of this reel ({self.job.pattern})")

    def gate(self, key: str) -> Gate:
        """The gate of the way back with this key. Raises InputError for one that does not stand before this reel."""
        for gate in self.way_back.gates:
            if gate.key == key:
                return gate
        raise InputError("gate", repr(key[:60]), "a question this rebuild asks")

    def stands_before(self, step: Step) -> tuple[str, ...]:
        """The places, by name, that must be off before this step and are not."""
        missing = min((way - self.off for way in step.ways()), key=lambda way: (len(way), sorted(way)))
        return self.layout.rules.names(missing)

    def held_out_by(self, step: Step) -> tuple[str, ...]:
        """The places, by name, that must be back in before what this step took off can go in."""
        left = self.off - set(step.frees)
        others = [other for other in self.apart if other.key != step.key]
        return self.layout.rules.names(frozenset(p for o in others if not o.can_be_done(left) for p in o.frees))

    def gate_before(self, refit: Refit) -> Gate | None:
        """The unanswered gate that stands before this step of the way back."""
        if refit in self.way_back.allowed(frozenset(self.passed)):
            return None
        return self.way_back.waiting(frozenset(self.passed))

    def undone_before(self, gate: Gate) -> tuple[str, ...]:
        """The places, by name, that must be back in before this gate can be answered."""
        undone: list[str] = []
        for refit in self.way_back.steps:
            asked_here = gate in refit.step.gates
            if asked_here and gate.ahead:
                break
            undone += [] if refit.step.key in self.refitted else refit.places
            if asked_here:
                break
        return self.layout.rules.names(tuple(undone))

    def lacking(self, places: Iterable[str]) -> tuple[tuple[Piece, str], ...]:
        """The pieces of these places that cannot go back in without a word, each with what is wrong."""
        found = ((self.here[place], _lack(self.here[place])) for place in places if place in self.here)
        return tuple((piece, why) for piece, why in found if why)

    @cached_property
    def questions(self) -> tuple[str, ...]:
        """What keeps the reel from being called together, one sentence each; empty when nothing does."""
        settled = [
            piece for piece in self.pieces if piece.place not in self.without or piece.where in ("cell", "order")
        ]
        sentences = list(open_questions(_core_pieces(settled)))
        lying = {piece.place for piece in self.pieces if piece.where == "cell"}
        closed_late = [step for step in self.apart if not lying & set(step.frees)]
        sentences += [f"{', '.join(self.layout.rules.names(step.frees))}: not put back yet." for step in closed_late]
        waiting = self.way_back.waiting(frozenset(self.passed))
        if waiting:
            sentences.append(f"Not answered yet: {waiting.ask}")
        return tuple(sentences)


def piece_find(job: Job, pk: int) -> Piece | None:
    return Piece.objects.filter(job=job, pk=pk).first()


def job_work(job: Job) -> Work:
    """Four queries. Raises LevelwindError while nobody has said which pattern the reel is."""
    ticked: dict[str, dict[str, StepDone]] = {phase: {} for phase, _ in StepDone.PHASES}
    for row in StepDone.objects.filter(job=job):
        ticked[row.phase][row.step] = row
    return Work(
        job=job,
        layout=job_layout(job),
        pieces=tuple(Piece.objects.filter(job=job).select_related("part").order_by("pk")),
        taken=ticked["apart"],
        refitted=ticked["together"],
        passed=ticked["gate"],
        without={place: row.note for place, row in ticked["without"].items()},
    )


def step_photos(job: Job) -> dict[str, list[Photo]]:
    """The pictures taken at the steps of a job, by step, oldest first."""
    found: dict[str, list[Photo]] = {}
    for photo in Photo.objects.filter(job=job, moment="step").order_by("at", "pk"):
        found.setdefault(photo.step, []).append(photo)
    return found


def core_piece(piece: Piece, belongs: int | None = None) -> CorePiece:
    """The piece as core sees it; ``belongs`` is how many its place takes, where that is more than it counts."""
    return CorePiece(
        place=piece.place,
        name=piece.name,
        where=WHERE[piece.where],
        cell=piece.cell,
        state=State(piece.state or "good"),
        count=piece.count if belongs is None else belongs,
        replacement=piece.replaces_id is not None,
    )


def _core_pieces(pieces: Iterable[Piece]) -> list[CorePiece]:
    """A first piece stands for as many as its place takes, though only some of a set were renewed: the newest tells."""
    pieces = list(pieces)
    takes = {piece.place: piece.count for piece in pieces}
    return [core_piece(piece, takes[piece.place] if piece.replaces_id is None else None) for piece in pieces]


def _lack(piece: Piece) -> str:
    if piece.where == "order":
        return "is on order and not here"
    if piece.state == "missing":
        return "is missing, and no new one is here"
    if piece.where == "scrap":
        return "is in the scrap bag, and no new one is here"
    if piece.state in TO_RENEW:
        return f"is {piece.get_state_display()}, and no new one is here"
    return ""
