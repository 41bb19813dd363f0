"""Renewing a piece of a job from the shelf, or by an order: the shelf's ledger and the tray move together."""

from datetime import date

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import BoneReel, Job, Part, PartOrder, Piece, StockEntry
from levelwind.shop.parts.selectors.shelf import part_with_number, still_out, stock_entries, stock_of
from levelwind.shop.parts.selectors.standins import OtherWay
from levelwind.shop.parts.services.bones import bone_strip
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.orders import part_order_add, part_order_call_off
from levelwind.shop.parts.services.shelf import part_add, stock_bought, stock_cut, stock_put_back, stock_take
from levelwind.shop.takedown.selectors.renewals import Renewal, piece_to_renew, renewals
from levelwind.shop.takedown.services.pieces import (
    piece_go_without,
    piece_order,
    piece_renew,
    piece_renew_undo,
    pieces_lay_out,
)


def piece_at(job: Job, place: str) -> Piece:
    """The piece to be renewed in a place; every piece is laid out first where nobody has yet."""
    piece = piece_to_renew(job.pieces.filter(place=place))
    if piece is None:
        pieces_lay_out(job=job)
        piece = piece_to_renew(job.pieces.filter(place=place))
    if piece is None:
        raise LevelwindError("This reel has no such place: load the page again.")
    return piece


@transaction.atomic
def renew_from_shelf(*, job: Job, place: str, part: Part, count: int, used: bool = False, by: str = "") -> StockEntry:
    """Take a part from the shelf and lay it in the tray for its place."""
    piece = piece_at(job, place)
    entry = stock_take(part=part, job=job, count=count, used=used, piece=piece, by=by)
    piece_renew(piece=piece, part=part, count=min(count, piece.count), by=by)
    return entry


@transaction.atomic
def renew_with_another(
    *,
    job: Job,
    place: str,
    number: str,
    name: str,
    count: int,
    price_minor: int = 0,
    order: bool = False,
    bone: BoneReel | None = None,
    sheet: Part | None = None,
    of_sheet: int = 0,
    kind: str = "",
    basis: str = "declared",
    by: str = "",
) -> Part:
    """Renew with a part that nothing offered: ordered, off a donor reel, cut from a sheet, or in the hand.

    It is written down where the shelf does not know its number, and said to fit. What is in the hand and not on the
    shelf comes onto it first.
    """
    piece_at(job, place)
    part = part_with_number(number.strip()) or part_add(
        number=number, name=name, kind=kind, price_minor=price_minor, by=by
    )
    if job.pattern and not part.fits.filter(pattern=job.pattern, place=place).exists():
        said_by, note = by or "the bench", f"for {job.tag}"
        fit_say(part=part, pattern=job.pattern, place=place, basis=basis, said_by=said_by, note=note)
    if order:
        renew_by_order(job=job, place=place, part=part, count=count, by=by)
        return part
    if bone:
        bone_strip(bone=bone, parts={part: count}, by=by)
    elif sheet:
        stock_cut(part=part, count=count, sheet=sheet, of_sheet=of_sheet, by=by)
    elif stock_of(part).new < count:
        stock_bought(part=part, count=count - stock_of(part).new, note=f"for {job.tag}", by=by)
    renew_from_shelf(job=job, place=place, part=part, count=count, used=bool(bone), by=by)
    return part


BASIS_OF = {"standard": "standard", "cut": "measured"}
"""On what ground a way that is no part of the shelf is said to fit."""


def renew_with_way(*, job: Job, renewal: Renewal, way: OtherWay, number: str, by: str = "") -> Part:
    """Renew by a way that is no part of the shelf yet: off the donor, ordered as a standard size, or cut from sheet.

    ``number`` is what it is written down under where the way has none.
    """
    return renew_with_another(
        job=job,
        place=renewal.place.key,
        number=way.number or number,
        name=way.name,
        count=renewal.count,
        price_minor=way.price_minor or 0,
        order=not way.now,
        bone=way.bone,
        sheet=way.part if way.kind == "cut" else None,
        of_sheet=way.of_sheet,
        kind=renewal.place.kind,
        basis=BASIS_OF.get(way.kind, "declared"),
        by=by,
    )


@transaction.atomic
def renew_set(*, job: Job, by: str = "") -> int:
    """Everything that is renewed whenever the reel is open, with the surest new part the shelf has enough of.

    Returns how many places were renewed. Raises LevelwindError, and takes nothing, where the shelf has none for any.
    """
    count = 0
    for renewal in renewals(job):
        if renewal.done or renewal.orders or renewal.place.renew != "whenever open":
            continue
        enough = [
            offer for offer in renewal.offers if offer.taken_unasked and stock_of(offer.part).new >= renewal.count
        ]
        if enough:
            renew_from_shelf(job=job, place=renewal.place.key, part=enough[0].part, count=renewal.count, by=by)
            count += 1
    if not count:
        raise LevelwindError("The shelf has nothing new for what is renewed whenever the reel is open.")
    return count


@transaction.atomic
def renew_put_back(*, job: Job, place: str, by: str = "") -> None:
    """The new piece was not needed: out of the tray and back on the shelf."""
    piece = piece_at(job, place)
    new = getattr(piece, "replaced_by", None)
    if new is None:
        raise LevelwindError(f"No new {piece.name} lies in the tray.")
    piece_renew_undo(piece=new, by=by)
    last = stock_entries().filter(job=job, piece=piece, why="taken").order_by("-at", "-pk").first()
    if last is not None and still_out(last.part, job=job).get((last.used, job.pk, piece.pk), 0) > 0:
        stock_put_back(taken=last, by=by)


@transaction.atomic
def renew_by_order(
    *, job: Job, place: str, part: Part, count: int, expected_on: date | None = None, by: str = ""
) -> PartOrder:
    """Order a part for a place; the reel is short of it until it comes."""
    piece = piece_at(job, place)
    order = part_order_add(part=part, count=count, job=job, piece=piece, expected_on=expected_on, by=by)
    piece_order(piece=piece, part=part, count=min(count, piece.count), by=by)
    return order


@transaction.atomic
def renew_order_call_off(*, order: PartOrder, by: str = "") -> None:
    """The order will not come: the old piece counts again until another way is found."""
    new = getattr(order.piece, "replaced_by", None) if order.piece else None
    part_order_call_off(order=order, by=by)
    if new is not None and new.where == "order":
        piece_renew_undo(piece=new, by=by)


@transaction.atomic
def renew_without(*, job: Job, place: str, note: str, by: str = "") -> None:
    """The reel goes home without this piece, on purpose; the note says why."""
    piece_go_without(piece=piece_at(job, place), note=note, by=by)
