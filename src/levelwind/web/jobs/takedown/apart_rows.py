"""What the Apart page shows: the choice of what must be reached, the steps as cards, the pieces."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Generic, Protocol, TypeVar

from levelwind.core.quantities import whole, with_decimals
from levelwind.core.takedown import OwnMinutes, Step, goes
from levelwind.core.takedown.report import not_proven
from levelwind.reference.cautions import Caution, named
from levelwind.reference.families import KINDS
from levelwind.reference.stuck import Leave, Procedure, stuck
from levelwind.shop.jobs.selectors.minutes import ShopMinutes, shop_minutes
from levelwind.shop.jobs.selectors.stuck import StuckNow, left_as_it_is, stuck_now
from levelwind.shop.models import Build, PatternPicture, Photo, Piece, StepDone
from levelwind.shop.papers.selectors.takedown_guide import reach_in_words
from levelwind.shop.patterns.selectors.builds import builds_likely
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern
from levelwind.shop.patterns.selectors.pictures import step_pictures
from levelwind.shop.takedown.selectors.pieces import TO_RENEW, Work, step_photos
from levelwind.shop.takedown.selectors.times import step_times
from levelwind.web.jobs.takedown.clock import Clock, clock_of
from levelwind.web.jobs.takedown.tray import STATES, PieceCard, TrayCell, piece_card, tray_cells
from levelwind.web.jobs.way import JobHead
from levelwind.web.pattern_pick import PickForm

ACTS_SAID = ("reach", "build", "one_more", "lay_out_anew", "layout_keep")
"""Acts that show their refusal themselves."""

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
    took: float | None
    own: OwnMinutes | None
    leaves: tuple[Leave, ...]
    photos: tuple[Photo, ...]

    @property
    def key(self) -> str:
        return self.step.key

    @property
    def minutes_taken(self) -> int:
        return whole(self.took or 0)


def numbers(found: Iterable[int]) -> str:
    """The first and the last of some step numbers, in words.

    >>> numbers([3]), numbers([3, 4, 5])
    ('Step 3', 'Steps 3 to 5')
    """
    found = tuple(found)
    return f"Step {found[0]}" if len(found) == 1 else f"Steps {found[0]} to {found[-1]}"


class InAGo(Protocol):
    """What any card of a step tells, on the way in and on the way back."""

    @property
    def key(self) -> str: ...
    @property
    def number(self) -> int: ...
    @property
    def cautions(self) -> tuple[Caution, ...]: ...
    @property
    def leaves(self) -> tuple[Leave, ...]: ...
    @property
    def photos(self) -> tuple[Photo, ...]: ...
    @property
    def done(self) -> StepDone | None: ...


Card = TypeVar("Card", bound=InAGo)


@dataclass(frozen=True, slots=True)
class Go(Generic[Card]):
    """Steps that one press ticks, drawn on one screen: each caution once, all their pictures.

    ``told`` are the cautions that stood in full before a step that is done: their headline stands, the rest is folded.
    """

    cards: tuple[Card, ...]
    told: frozenset[str] = frozenset()

    @property
    def numbers(self) -> str:
        return numbers(card.number for card in self.cards)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        return tuple(dict.fromkeys(caution for card in self.cards for caution in card.cautions))

    @property
    def leaves(self) -> tuple[Leave, ...]:
        return tuple(dict.fromkeys(leave for card in self.cards for leave in card.leaves))

    @property
    def photos(self) -> tuple[Photo, ...]:
        return tuple(photo for card in self.cards for photo in card.photos)


@dataclass(frozen=True, slots=True)
class GoCard(Go[StepCard]):
    """The way in: most often one step."""

    @property
    def key(self) -> str:
        return self.cards[0].key

    @property
    def keys(self) -> tuple[str, ...]:
        return tuple(card.key for card in self.cards)

    @property
    def tools(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(card.step.tool or "whatever suits" for card in self.cards))

    @property
    def minutes(self) -> float:
        return sum(card.own.minutes if card.own else card.step.minutes for card in self.cards)

    @property
    def times(self) -> int:
        """Of how many reels the minutes are told; 0 where any are the book's."""
        return min(card.own.times if card.own else 0 for card in self.cards)

    @property
    def why(self) -> str:
        return self.cards[-1].why

    @property
    def into(self) -> tuple[tuple[int, str], ...]:
        return tuple(pair for card in self.cards for pair in card.into)

    @property
    def photo_step(self) -> StepCard:
        """The step a picture taken now belongs to: the first that asks for one and has none yet."""
        asking = [card for card in self.cards if card.step.photo] or list(self.cards[:1])
        return next((card for card in asking if not card.photos), asking[0])


@dataclass(frozen=True, slots=True)
class Trouble:
    """A procedure for what will not come, the step of the go it is for, and whether its kinds of piece are there."""

    procedure: Procedure
    step: str
    fits: bool


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
    pick: PickForm
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
    now: GoCard | None
    pictures: tuple[PatternPicture, ...]
    clock: Clock
    in_hand: tuple[Piece, ...]
    stuck: tuple[StuckNow, ...]
    troubles: tuple[Trouble, ...]
    just_off: tuple[PieceCard, ...]
    coming: tuple[StepCard, ...]
    done: tuple[StepCard, ...]
    steps: int
    minutes: float
    not_proven: str
    tray: tuple[TrayCell, ...]
    renew: tuple[PieceCard, ...]
    renew_while_open: tuple[PieceCard, ...]
    pieces: tuple[PieceCard, ...]
    in_reel: tuple[Piece, ...]
    also: str
    moved_on: bool
    layout_kept: bool
    found_in: tuple[Step, ...]
    builds: tuple[Build, ...]
    build_likely: tuple[Build, ...]
    refusal: Refusal | None
    kinds: tuple[tuple[str, str], ...] = KIND_CHOICES
    states: list[tuple[str, str]] = field(default_factory=lambda: STATES)

    @property
    def build_shown(self) -> Build | None:
        """The build the reel is said to be of, else the one its serial number points to."""
        return self.head.job.build or (self.build_likely[0] if self.build_likely else None)

    @property
    def minutes_in_all(self) -> str:
        return with_decimals(self.minutes)

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


def step_cards(work: Work, own: ShopMinutes) -> tuple[StepCard, ...]:
    """The plan as cards, in order, with the time each done one took and what the bench's own middle is."""
    if work.plan is None:
        return ()
    photos = step_photos(work.job)
    took = step_times(work)
    return tuple(
        StepCard(
            number=number,
            step=step,
            why=why,
            cautions=named(_cautions(work, step)),
            into=_into(work, step),
            first=() if step in work.apart else work.stands_before(step),
            done=work.taken.get(step.key) if step in work.apart else None,
            took=took.get(step.key),
            own=own.apart.get(step.key),
            leaves=left_as_it_is(work.job, kinds_of(work, step.frees)),
            photos=tuple(photos.get(step.key, ())),
        )
        for number, (step, why) in enumerate(zip(work.plan.steps, work.plan.why, strict=True), 1)
    )


def _cautions(work: Work, step: Step) -> tuple[str, ...]:
    """The step's own, but that of old washers where every washer it takes off was put in new since."""
    washers = [place for place in step.frees if work.places[place].kind == "friction_washer"]
    fitted = [work.here[place] for place in washers if place in work.here]
    new = [piece.replaces_id is not None and piece.where == "reel" for piece in fitted]
    return tuple(key for key in step.cautions if key != "old_friction" or not (new and all(new)))


def _into(work: Work, step: Step) -> tuple[tuple[int, str], ...]:
    cells: dict[int, list[str]] = {}
    for place in step.frees:
        count = work.places[place].count
        name = work.places[place].name + (f" ({count})" if count > 1 else "")
        cells.setdefault(work.cells[place], []).append(name)
    return tuple((cell, ", ".join(names)) for cell, names in cells.items())


def go_now(work: Work, cards: Collection[StepCard], held: Collection[str] = ()) -> GoCard | None:
    """What is left of the first go that is not done whole; a step that is held by its owner's word stands alone."""
    plan = work.plan.steps if work.plan else ()
    left = {card.key: card for card in cards if card.done is None}
    waiting = (
        tuple(left[step.key] for step in go if step.key in left) for go in goes(plan, lambda step: step.key in held)
    )
    return next((GoCard(go, told_before(cards)) for go in waiting if go), None)


def told_before(cards: Iterable[InAGo]) -> frozenset[str]:
    """The cautions, by key, of the steps that are done."""
    return frozenset(caution.key for card in cards if card.done for caution in card.cautions)


def pattern_pictures(work: Work, now: Go[Card] | None) -> tuple[PatternPicture, ...]:
    """The pattern's newest picture of each step at hand of which this reel has none of its own."""
    bare = [card.key for card in now.cards if not card.photos] if now else []
    if not bare or work.job.pattern is None:
        return ()
    found = step_pictures(work.job.pattern)
    return tuple(found[key][-1] for key in bare if key in found)


def kinds_of(work: Work, places: Iterable[str]) -> tuple[str, ...]:
    """The kinds of these places; a frame or plate that carries the foot counts as the foot too."""
    kinds = (work.places[place].kind for place in places if place in work.places)
    return (*kinds, *("foot" for place in places if place == "foot"))


def troubles(work: Work, now: GoCard) -> tuple[Trouble, ...]:
    """What may be done about a piece of this go that will not come, what suits its pieces first."""
    kinds = {card.key: set(kinds_of(work, card.step.frees)) for card in now.cards}
    found = []
    for procedure in stuck().for_kinds(kind for each in kinds.values() for kind in each):
        suits = [step for step, have in kinds.items() if have & set(procedure.kinds)]
        found.append(Trouble(procedure, (suits or [now.key])[0], bool(suits)))
    return tuple(found)


def in_hand(work: Work, now: GoCard | None) -> tuple[Piece, ...]:
    """The pieces the step in hand frees and nobody has missed, once they are laid out."""
    places = [place for card in now.cards for place in card.step.frees] if now else []
    return tuple(work.here[place] for place in places if place in work.here and work.here[place].state != "missing")


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
    own = shop_minutes(work.layout.rules, work.layout.family.key)
    cards = step_cards(work, own)
    not_come = stuck_now(work.job)
    now = go_now(work, cards, [one.row.step for one in not_come if not one.may_go_on])
    coming = [card for card in cards if card.done is None and not (now and card in now.cards)]
    done = sorted((card for card in cards if card.done), key=lambda card: (card.done.at, card.done.pk), reverse=True)  # type: ignore[union-attr]
    last = {place for step in work.last_off for place in step.frees}
    shown = open_pieces(work, typed.piece.place if typed else also)
    pieces = [typed if typed and typed.piece == piece else piece_card(work, piece) for piece in shown]
    known = set(work.layout.by_key())
    builds = tuple(work.job.pattern.builds.all()) if work.job.pattern else ()
    return ApartContext(
        head=head,
        work=work,
        reach=reach_in_words(work),
        groups=reach_groups(work, tuple(place for place in priced if place in known)),
        was=",".join(work.job.reach),
        begun=bool(work.taken),
        now=now,
        pictures=pattern_pictures(work, now),
        clock=clock_of(work, now.minutes if now else 0.0),
        in_hand=in_hand(work, now),
        stuck=tuple(one for one in not_come if now and one.row.step in now.keys),
        troubles=troubles(work, now) if now else (),
        just_off=tuple(card for card in pieces if card.piece.place in last),
        coming=tuple(coming),
        done=tuple(done),
        steps=len(cards),
        minutes=own.way_in(work.plan.steps) if work.plan else 0.0,
        not_proven=not_proven(work.plan) if work.plan else "",
        tray=tray_cells(work, last),
        renew=tuple(card for card in pieces if card.to_renew),
        renew_while_open=tuple(card for card in pieces if card.renew and not card.to_renew and card.new is None),
        pieces=tuple(card for card in pieces if card.piece.place not in last),
        in_reel=in_the_reel(work, shown),
        also=also,
        moved_on=work.layout.moved_on and not work.job.is_over,
        layout_kept=work.layout.kept,
        found_in=found_in(work, done),
        builds=builds,
        build_likely=builds_likely(work.job, builds) if work.job.build is None else (),
        refusal=refusal and refusal.beside([*ACTS_SAID, *(c.key for c in cards), *(str(c.piece.pk) for c in pieces)]),
    )
