"""What of a job's reel is to be renewed, and with what."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, PartOrder, Piece, PriceLine, StockEntry
from levelwind.shop.parts.selectors.fits import Offer
from levelwind.shop.parts.selectors.shelf import stock_entries
from levelwind.shop.parts.selectors.standins import StandIn, standins
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern
from levelwind.shop.takedown.selectors.pieces import TO_RENEW, Work, job_work

_Row = TypeVar("_Row", StockEntry, PartOrder)

WHENEVER_OPEN = "renewed whenever the reel is open"


@dataclass(frozen=True, slots=True)
class Renewal:
    """One place to renew: why, with what, and how far it is. ``by_limits`` is each measured size beside its limits."""

    place: PlaceInPattern
    piece: Piece | None
    new: Piece | None
    why: str
    by_limits: tuple[str, ...]
    must: bool
    standins: tuple[StandIn, ...]
    taken: tuple[StockEntry, ...]
    orders: tuple[PartOrder, ...]
    without: str

    @property
    def count(self) -> int:
        return self.piece.count if self.piece else self.place.count

    @property
    def done(self) -> bool:
        return bool(self.without) or (self.new is not None and self.new.where != "order")

    @property
    def offers(self) -> tuple[Offer, ...]:
        """Those of the stand-ins that are parts."""
        return tuple(row.offer for row in self.standins if row.offer)


def renewals(job: Job) -> tuple[Renewal, ...]:
    """Every place to renew: what is worn, broken or missing first, then what is always renewed, priced or begun."""
    if job.pattern is None:
        raise LevelwindError("Choose its pattern first: its places and what fits them come from there.")
    work = job_work(job)
    why = _reasons(job, work)
    places = [work.places[key] for key in work.places if key in why]
    found = standins(
        job.pattern, places, {piece.place: piece.measured_mm for piece in work.pieces if piece.measured_mm}
    )
    taken = _by_place(work, stock_entries().filter(job=job, piece__isnull=False).select_related("part"))
    orders = _by_place(
        work, job.part_orders.filter(arrived_on__isnull=True, piece__isnull=False).select_related("part")
    )
    rows = (_renewal(work, place, why[place.key], found[place.key], taken, orders) for place in places)
    return tuple(sorted(rows, key=lambda row: not row.must))


def piece_to_renew(pieces: Iterable[Piece]) -> Piece | None:
    """Of one place's pieces, the one whose place a new one takes: the reel's own, until a new one proves bad too."""
    successors = {piece.replaces_id: piece for piece in pieces}
    piece = successors.get(None)
    while piece and (new := successors.get(piece.pk)) and new.state in TO_RENEW:
        piece = new
    return piece


def _reasons(job: Job, work: Work) -> dict[str, str]:
    why: dict[str, str] = {}
    for place in work.layout.places:
        if place.renew == "whenever open" and not place.optional:
            why[place.key] = WHENEVER_OPEN
    lines = PriceLine.objects.filter(price__job=job, kind="part").exclude(place="").order_by("-price__number")
    for key in lines.values_list("place", flat=True):
        why.setdefault(key, "on the price")
    for piece in work.pieces:
        if piece.state in TO_RENEW:
            why[piece.place] = piece.get_state_display()
        elif piece.replaces_id is not None:
            why.setdefault(piece.place, "renewed")
    return why


def _by_place(work: Work, rows: Iterable[_Row]) -> Mapping[str, list[_Row]]:
    places = {piece.pk: piece.place for piece in work.pieces}
    sorted_out: dict[str, list[_Row]] = {}
    for row in rows:
        sorted_out.setdefault(places.get(row.piece_id or 0, ""), []).append(row)
    return sorted_out


def _renewal(
    work: Work,
    place: PlaceInPattern,
    why: str,
    found: tuple[StandIn, ...],
    taken: Mapping[str, list[StockEntry]],
    orders: Mapping[str, list[PartOrder]],
) -> Renewal:
    piece = piece_to_renew(work.pieces_of([place.key]))
    return Renewal(
        place=place,
        piece=piece,
        new=work.successor(piece) if piece else None,
        why=why,
        by_limits=work.worn(piece)[1] if piece else (),
        must=piece is not None and piece.state in TO_RENEW,
        standins=found,
        taken=tuple(taken.get(place.key, ())),
        orders=tuple(orders.get(place.key, ())),
        without=work.without.get(place.key, ""),
    )
