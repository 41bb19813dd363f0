"""What the Together page shows: the steps of the way back and the gates between them, in the order they are met."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

from levelwind.core.takedown import Gate, Refit, can_be_heeded, goes_back
from levelwind.reference.cautions import Caution, named
from levelwind.reference.families import LubricationPoint
from levelwind.reference.stuck import Leave
from levelwind.shop.jobs.selectors.stuck import left_as_it_is
from levelwind.shop.models import PatternPicture, Photo, Piece, StepDone
from levelwind.shop.takedown.selectors.pieces import Work, step_photos
from levelwind.web.jobs.takedown.apart_rows import Go, Refusal, kinds_of, pattern_pictures, told_before
from levelwind.web.jobs.takedown.clock import Clock, clock_of
from levelwind.web.jobs.takedown.tray import PieceCard, TrayCell, piece_card, tray_cells
from levelwind.web.jobs.way import JobHead


@dataclass(frozen=True, slots=True)
class GateCard:
    """A gate as a card. ``undone`` are the places that must be in before it can be answered."""

    gate: Gate
    undone: tuple[str, ...]
    done: StepDone | None

    @property
    def key(self) -> str:
        return self.gate.key


@dataclass(frozen=True, slots=True)
class PieceIn:
    """One piece to put in, with what it gets and the pieces it could be mistaken for."""

    card: PieceCard
    oil: tuple[LubricationPoint, ...]


@dataclass(frozen=True, slots=True)
class RefitCard:
    """One step of the way back. ``lacking`` says what cannot go in without a word; ``behind`` what goes in first;
    ``in_drag`` steps fill part of the drag stack."""

    number: int
    refit: Refit
    names: tuple[str, ...]
    cautions: tuple[Caution, ...]
    pieces: tuple[PieceIn, ...]
    lacking: tuple[tuple[Piece, str], ...]
    on_order: bool
    behind: tuple[str, ...]
    gate: Gate | None
    in_drag: bool
    leaves: tuple[Leave, ...]
    photos: tuple[Photo, ...]
    done: StepDone | None

    @property
    def key(self) -> str:
        return self.refit.step.key


Card = GateCard | RefitCard


@dataclass(frozen=True, slots=True)
class Screen(Go[RefitCard]):
    """What one press ticks on the way back: the steps of a go and their gates, as ``items`` in the order they are met.

    A screen of gates alone asks what stands open by itself; ``by_hand`` is a step that wants a word of its own;
    ``closes`` says that nothing else is left, so that its press calls the reel together.
    """

    items: tuple[Card, ...] = ()
    by_hand: bool = False
    closes: bool = False

    @property
    def before(self) -> tuple[GateCard, ...]:
        """The gates asked ahead of the first step."""
        return tuple(takewhile(lambda card: isinstance(card, GateCard), self.items))  # type: ignore[arg-type]

    @property
    def lines(self) -> tuple[Card, ...]:
        """The steps and the gates after them."""
        return self.items[len(self.before) :]

    @property
    def keys(self) -> tuple[str, ...]:
        return tuple(card.key for card in self.items)

    @property
    def steps(self) -> tuple[str, ...]:
        return tuple(card.key for card in self.cards)

    @property
    def gates(self) -> tuple[str, ...]:
        return tuple(card.key for card in self.items if isinstance(card, GateCard))

    @property
    def asked(self) -> int:
        return len(self.gates)

    @property
    def whys_folded(self) -> bool:
        """Much stands on the screen: what each gate is asked for lies folded below, once."""
        return bool(self.cards) and self.asked + len(self.cautions) > 1

    @property
    def tools(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(card.refit.step.tool for card in self.cards if card.refit.step.tool))

    @property
    def in_drag(self) -> bool:
        return any(card.in_drag for card in self.cards)

    @property
    def unphotographed(self) -> bool:
        return not self.photos and any(card.refit.step.photo for card in self.cards)


@dataclass(frozen=True, slots=True)
class TogetherUnknown:
    """The page while nobody has said which pattern the reel is."""

    head: JobHead
    refusal: Refusal | None


@dataclass(frozen=True, slots=True)
class TogetherContext:
    """The page of a reel whose pattern is known; ``now`` is the first screen not done."""

    head: JobHead
    work: Work
    now: Screen | None
    pictures: tuple[PatternPicture, ...]
    clock: Clock
    coming: tuple[Card, ...]
    done: tuple[Card, ...]
    steps: int
    steps_done: int
    tray: tuple[TrayCell, ...]
    lying: int
    questions: tuple[str, ...]
    to_settle: tuple[PieceCard, ...]
    is_together: bool
    refusal: Refusal | None

    @property
    def finishing(self) -> bool:
        """Calling it together is the matter in hand, not a thing for later."""
        refused = self.refusal is not None and self.refusal.at == "finish"
        return refused or self.is_together or not self.steps or self.now is None

    @property
    def refused_done(self) -> bool:
        return self.refusal is not None and any(card.key == self.refusal.at for card in self.done)


def together_cards(work: Work) -> tuple[Card, ...]:
    """Gates and steps in one line: gates asked ahead of a step, the step, gates asked after it, the last gates."""
    photos = step_photos(work.job)
    cards: list[Card] = []
    for number, refit in enumerate(work.way_back.steps, 1):
        gates = refit.step.gates
        cards += [_gate_card(work, gate) for gate in gates if gate.ahead]
        cards.append(_refit_card(work, number, refit, tuple(photos.get(refit.step.key, ()))))
        cards += [_gate_card(work, gate) for gate in gates if not gate.ahead]
    return (*cards, *(_gate_card(work, gate) for gate in work.way_back.finish))


def screen_now(work: Work, left: Sequence[Card]) -> Screen | None:
    """What is left of the first go, with the gates ahead of it, between its steps and after it.

    A step that cannot go in without a word stands by itself, behind its gates; and where a step and all that is asked
    about it would be too much for a screen, what is asked ahead of it stands first.
    """
    steps = {card.key: card for card in left if isinstance(card, RefitCard)}
    alone = {key for key, card in steps.items() if card.lacking}
    waiting = (
        [steps[refit.step.key] for refit in go if refit.step.key in steps]
        for go in goes_back(work.way_back.steps, lambda refit: refit.step.key in alone)
    )
    go = next((cards for cards in waiting if cards), [])
    before = tuple(takewhile(lambda card: isinstance(card, GateCard), left))
    by_hand = not go or go[0].key in alone or bool(go[0].behind)
    if by_hand and (before or not go):
        return Screen((), items=before) if before else None
    if by_hand:
        return Screen(tuple(go[:1]), items=tuple(go[:1]), by_hand=True)
    screen = Screen(tuple(go), items=_items(left, go))
    if before and not can_be_heeded(asked=screen.asked, cautions=len(screen.cautions)):
        return Screen((), items=before)
    return screen


def _items(left: Sequence[Card], go: Sequence[RefitCard]) -> tuple[Card, ...]:
    """The steps of the go and every gate up to the last one's own."""
    items = list(left[: left.index(go[-1]) + 1])
    after = [gate for gate in go[-1].refit.step.gates if not gate.ahead]
    return (*items, *(card for card in left[len(items) :] if isinstance(card, GateCard) and card.gate in after))


def _gate_card(work: Work, gate: Gate) -> GateCard:
    done = work.passed.get(gate.key)
    return GateCard(gate, () if done else work.undone_before(gate), done)


def _refit_card(work: Work, number: int, refit: Refit, photos: tuple[Photo, ...]) -> RefitCard:
    done = work.refitted.get(refit.step.key)
    drag = set(work.layout.family.drag_places)
    lacking = () if done else work.lacking(refit.places)
    return RefitCard(
        number=number,
        refit=refit,
        names=work.layout.rules.names(refit.places),
        cautions=named(_cautions(work, refit)),
        pieces=tuple(_piece_in(work, place) for place in refit.places if place in work.here),
        lacking=lacking,
        on_order=any(piece.where == "order" for piece, _ in lacking),
        behind=() if done else work.held_out_by(refit.step),
        gate=None if done else work.gate_before(refit),
        leaves=left_as_it_is(work.job, kinds_of(work, refit.places)),
        in_drag=len(drag & set(refit.places)) > 1,
        photos=photos,
        done=done,
    )


def _cautions(work: Work, refit: Refit) -> tuple[str, ...]:
    """The step's own, but that of old washers where every washer that goes in is a new one."""
    washers = [place for place in refit.places if work.places[place].kind == "friction_washer"]
    new = [place in work.here and work.here[place].replaces_id is not None for place in washers]
    return tuple(key for key in refit.step.cautions if key != "old_friction" or not (new and all(new)))


def _piece_in(work: Work, place: str) -> PieceIn:
    oil = tuple(point for point in work.layout.family.lubrication if point.place == place)
    return PieceIn(piece_card(work, work.here[place]), oil)


def to_settle(work: Work) -> tuple[PieceCard, ...]:
    """Pieces that are missing or bagged with no new one, whose place is closed and nobody has said why."""
    pieces = [piece for piece in work.here.values() if piece.place not in work.off and piece.place not in work.without]
    return tuple(piece_card(work, piece) for piece in pieces if piece.state == "missing" or piece.where == "scrap")


def together_context(
    head: JobHead, work: Work, *, is_together: bool, refusal: Refusal | None = None
) -> TogetherContext:
    cards = together_cards(work)
    left = [card for card in cards if card.done is None]
    now = screen_now(work, left)
    if now:
        now = replace(now, told=told_before(card for card in cards if isinstance(card, RefitCard)))
    if now and now.items == tuple(left) and not is_together and len(work.questions) == 1:
        now = replace(now, closes=not now.cards)
    tray, unsettled = tray_cells(work), to_settle(work)
    known = ["finish", *(card.key for card in cards), *(str(card.piece.pk) for card in unsettled)]
    return TogetherContext(
        head=head,
        work=work,
        now=now,
        pictures=pattern_pictures(work, now),
        clock=clock_of(work, sum(card.refit.step.minutes for card in now.cards) if now else 0.0),
        coming=tuple(card for card in left if not (now and card in now.items)),
        done=tuple(card for card in reversed(cards) if card.done),
        steps=sum(isinstance(card, RefitCard) for card in cards),
        steps_done=sum(isinstance(card, RefitCard) and card.done is not None for card in cards),
        tray=tray,
        lying=sum(len(cell.lying) for cell in tray),
        questions=work.questions,
        to_settle=unsettled,
        is_together=is_together,
        refusal=refusal and refusal.beside(known),
    )
