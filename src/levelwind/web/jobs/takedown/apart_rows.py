"""What the Apart page shows: the choice of what must be reached, the steps as cards, the pieces."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta
from itertools import pairwise

from levelwind.core.takedown import Step
from levelwind.reference.cautions import Caution, named
from levelwind.reference.families import KINDS
from levelwind.shop.models import Pattern, Photo, Piece, StepDone
from levelwind.shop.papers.selectors.takedown_guide import reach_in_words
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern, layout_moved_on
from levelwind.shop.takedown.selectors.pieces import TO_RENEW, Work, step_photos
from levelwind.web.jobs.takedown.tray import STATES, PieceCard, TrayCell, piece_card, tray_cells
from levelwind.web.jobs.way import JobHead

ACTS_SAID = ("reach", "one_more", "lay_out_anew")
"""Acts that show their refusal themselves."""
LONGEST_PAUSE = timedelta(hours=1)
"""A longer time between two ticks is not the step's: the bench was left."""


KIND_CHOICES = tuple((kind, kind.replace("_", " ")) for kind in KINDS)


@dataclass(frozen=True, slots=True)
class ReachGroup:
    """The places of one assembly, each with whether it is chosen and whether the price speaks of it."""

    name: str
    places: tuple[tuple[PlaceInPattern, bool, bool], ...]

    @property
    def chosen(self) -> int:
        return sum(chosen for _, chosen, _ in self.places)


@dataclass(frozen=True, slots=True)
class StepCard:
    """One step of the way in. ``into`` are its pieces' names by tray cell; ``first`` what stands before it."""

    number: int
    step: Step
    why: str
    cautions: tuple[Caution, ...]
    into: tuple[tuple[int, str], ...]
    first: tuple[str, ...]
    done: StepDone | None
    took: timedelta | None
    photos: tuple[Photo, ...]

    @property
    def minutes_taken(self) -> int:
        return round(self.took.total_seconds() / 60) if self.took else 0


@dataclass(frozen=True, slots=True)
class Refusal:
    """What was refused, and beside which thing it is said; what was typed there."""

    at: str
    sentence: str
    note: str = ""

    def beside(self, known: Collection[str]) -> "Refusal":
        """On top of the work where what it is about is not on the page."""
        return self if self.at in known else replace(self, at="work")


@dataclass(frozen=True, slots=True)
class ApartUnknown:
    """The page while nobody has said which pattern the reel is."""

    head: JobHead
    patterns: tuple[Pattern, ...]
    refusal: Refusal | None


@dataclass(frozen=True, slots=True)
class ApartContext:
    """The page of a reel whose pattern is known."""

    head: JobHead
    work: Work
    reach: str
    groups: tuple[ReachGroup, ...]
    was: str
    begun: bool
    now: StepCard | None
    just_off: tuple[PieceCard, ...]
    coming: tuple[StepCard, ...]
    done: tuple[StepCard, ...]
    steps: int
    minutes: float
    tray: tuple[TrayCell, ...]
    renew: tuple[PieceCard, ...]
    renew_while_open: tuple[PieceCard, ...]
    pieces: tuple[PieceCard, ...]
    in_reel: tuple[Piece, ...]
    also: str
    moved_on: bool
    found_in: tuple[Step, ...]
    refusal: Refusal | None
    kinds: tuple[tuple[str, str], ...] = KIND_CHOICES
    states: list[tuple[str, str]] = field(default_factory=lambda: STATES)

    @property
    def minutes_in_all(self) -> str:
        return f"{self.minutes:.0f}"

    @property
    def not_judged(self) -> int:
        return sum(card.piece.where == "cell" and not card.piece.state for card in (*self.just_off, *self.pieces))

    @property
    def refused_done(self) -> bool:
        return self.refusal is not None and any(card.step.key == self.refusal.at for card in self.done)


def reach_groups(work: Work, priced: tuple[str, ...]) -> tuple[ReachGroup, ...]:
    """Every place by its assembly. Nothing chosen yet: what the price speaks of stands ticked."""
    chosen = set(work.job.reach or priced)
    names = dict.fromkeys(place.assembly for place in work.layout.places)
    return tuple(
        ReachGroup(
            name,
            tuple((p, p.key in chosen, p.key in priced) for p in work.layout.places if p.assembly == name),
        )
        for name in names
    )


def step_cards(work: Work) -> tuple[StepCard, ...]:
    """The plan as cards, in order, with the time each done one took since the one ticked before it."""
    if work.plan is None:
        return ()
    photos = step_photos(work.job)
    took = _times(work)
    return tuple(
        StepCard(
            number=number,
            step=step,
            why=why,
            cautions=named(step.cautions),
            into=_into(work, step),
            first=() if step in work.apart else work.stands_before(step),
            done=work.taken.get(step.key) if step in work.apart else None,
            took=took.get(step.key),
            photos=tuple(photos.get(step.key, ())),
        )
        for number, (step, why) in enumerate(zip(work.plan.steps, work.plan.why, strict=True), 1)
    )


def _into(work: Work, step: Step) -> tuple[tuple[int, str], ...]:
    cells: dict[int, list[str]] = {}
    for place in step.frees:
        count = work.places[place].count
        name = work.places[place].name + (f" ({count})" if count > 1 else "")
        cells.setdefault(work.cells[place], []).append(name)
    return tuple((cell, ", ".join(names)) for cell, names in cells.items())


def _times(work: Work) -> dict[str, timedelta]:
    rows = sorted(work.taken.values(), key=lambda row: (row.at, row.pk))
    gaps = {late.step: late.at - early.at for early, late in pairwise(rows)}
    return {step: gap for step, gap in gaps.items() if gap <= LONGEST_PAUSE}


def open_pieces(work: Work, also: str = "") -> tuple[Piece, ...]:
    """The newest piece of each place the bench has to do with, by cell: off, bagged, on order, to renew, or new.

    ``also`` is a place that is looked at although its piece is still in the reel.
    """
    pieces = [
        piece
        for piece in work.here.values()
        if piece.place in work.off or piece.where != "reel" or piece.state in TO_RENEW or piece.place == also
    ]
    return tuple(sorted(pieces, key=lambda piece: (work.cells.get(piece.place, 10**6), piece.pk)))


def in_the_reel(work: Work, shown: Collection[Piece]) -> tuple[Piece, ...]:
    """The pieces that are still in the reel and not shown, by name; empty before they are laid out."""
    return tuple(sorted((piece for piece in work.here.values() if piece not in shown), key=lambda piece: piece.name))


def found_in(work: Work, done: Sequence[StepCard]) -> tuple[Step, ...]:
    """The steps in which one more piece may have been found: the last done first, then what is not done yet."""
    ticked = tuple(card.step for card in done)
    others = (step for step in work.layout.rules.steps if step not in ticked and step.key not in work.refitted)
    return (*ticked, *others)


def apart_context(
    head: JobHead,
    work: Work,
    *,
    priced: tuple[str, ...] = (),
    refusal: Refusal | None = None,
    typed: PieceCard | None = None,
    also: str = "",
) -> ApartContext:
    """The page's context; ``typed`` is a piece whose form was refused, with what was typed."""
    cards = step_cards(work)
    coming = [card for card in cards if card.done is None]
    done = sorted((card for card in cards if card.done), key=lambda card: (card.done.at, card.done.pk), reverse=True)  # type: ignore[union-attr]
    last = set(done[0].step.frees) if done else set()
    shown = open_pieces(work, typed.piece.place if typed else also)
    pieces = [typed if typed and typed.piece == piece else piece_card(work, piece) for piece in shown]
    known = set(work.layout.by_key())
    return ApartContext(
        head=head,
        work=work,
        reach=reach_in_words(work),
        groups=reach_groups(work, tuple(place for place in priced if place in known)),
        was=",".join(work.job.reach),
        begun=bool(work.taken),
        now=coming[0] if coming else None,
        just_off=tuple(card for card in pieces if card.piece.place in last),
        coming=tuple(coming[1:]),
        done=tuple(done),
        steps=len(cards),
        minutes=work.plan.minutes if work.plan else 0.0,
        tray=tray_cells(work, last),
        renew=tuple(card for card in pieces if card.to_renew),
        renew_while_open=tuple(card for card in pieces if card.renew and not card.to_renew and card.new is None),
        pieces=tuple(card for card in pieces if card.piece.place not in last),
        in_reel=in_the_reel(work, shown),
        also=also,
        moved_on=bool(work.taken) and not work.job.is_over and layout_moved_on(work.job),
        found_in=found_in(work, done),
        refusal=refusal
        and refusal.beside([*ACTS_SAID, *(c.step.key for c in cards), *(str(c.piece.pk) for c in pieces)]),
    )
