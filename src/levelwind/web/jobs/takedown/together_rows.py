"""What the Together page shows: the steps of the way back and the gates between them, in the order they are met."""

from dataclasses import dataclass

from levelwind.core.takedown import Gate, Refit
from levelwind.reference.cautions import Caution, named
from levelwind.reference.families import LubricationPoint
from levelwind.shop.models import Photo, Piece, StepDone
from levelwind.shop.takedown.selectors.pieces import Work, step_photos
from levelwind.web.jobs.takedown.apart_rows import Refusal
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
    photos: tuple[Photo, ...]
    done: StepDone | None

    @property
    def key(self) -> str:
        return self.refit.step.key


Card = GateCard | RefitCard


@dataclass(frozen=True, slots=True)
class TogetherUnknown:
    """The page while nobody has said which pattern the reel is."""

    head: JobHead
    refusal: Refusal | None


@dataclass(frozen=True, slots=True)
class TogetherContext:
    """The page of a reel whose pattern is known; ``now`` is the first thing not done."""

    head: JobHead
    work: Work
    now: Card | None
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
    def now_gate(self) -> GateCard | None:
        return self.now if isinstance(self.now, GateCard) else None

    @property
    def now_step(self) -> RefitCard | None:
        return self.now if isinstance(self.now, RefitCard) else None

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
    tray, unsettled = tray_cells(work), to_settle(work)
    known = ["finish", *(card.key for card in cards), *(str(card.piece.pk) for card in unsettled)]
    return TogetherContext(
        head=head,
        work=work,
        now=left[0] if left else None,
        coming=tuple(left[1:]),
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
