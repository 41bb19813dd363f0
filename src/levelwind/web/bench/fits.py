"""What is this piece? Three fields, an answer that moves as they are typed in, the leaders drawn over one another."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.core.fits import length, measured, recognise
from levelwind.core.fits.compute import HANDS
from levelwind.core.fits.figure import leaders_figure
from levelwind.core.fits.model import Answer, Table
from levelwind.core.fits.report import cautions, next_words, variants, why
from levelwind.core.quantities import percent
from levelwind.core.writing import retold
from levelwind.reference.standard_parts import kind_of, table
from levelwind.shop.drag.selectors.choices import washers_at_hand
from levelwind.shop.jobs.selectors.jobs import job_get
from levelwind.shop.models import Job, Part, Pattern
from levelwind.shop.parts.selectors.sizes import PART_NAMES, STANDARD_OF, number_on_shelf, washer_table
from levelwind.shop.parts.services.fits import fit_recognised, fit_say
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.patterns.selectors.patterns import pattern_find
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request, key_in

TAG = re.compile(r"\d\d-\d{4,}")
LONGEST = 60
"""Letters of a field that are shown again: more is refused as no length anyway."""

OVER = "over"
"""The field of how many threads a pitch was measured over."""

TICKS = {
    "thread": "It is a nut: the diameter is its bore",
    "clip": "It sits in a bore: type the bore for the shaft",
}


@dataclass(frozen=True, slots=True)
class Field:
    name: str
    label: str
    hint: str
    typed: str


WASHER = "washer"
"""The piece that is looked for among the shop's own parts."""

PART_KINDS = {piece: kind for kind, piece in STANDARD_OF.items()}
"""The kind of part it is there."""

PIECES: Mapping[str, tuple[str, tuple[tuple[str, str, str], ...]]] = {
    "thread": (
        "Screw or nut",
        (
            ("diameter", "Diameter", "2.81, 7/32 or .112"),
            ("pitch", "Pitch", "0.5, 40 tpi, or over several"),
            (OVER, "Over how many threads", "if you measured several"),
        ),
    ),
    "bearing": (
        "Ball bearing",
        (
            ("bore", "Bore", "such as 3 or 1/8"),
            ("od", "Outside", "such as 10 or 3/8"),
            ("width", "Width", "such as 4 or 5/32"),
        ),
    ),
    "oring": (
        "O-ring",
        (("id", "Inside diameter", "such as 9.2"), ("section", "Thickness of the ring", "such as 1.8")),
    ),
    "clip": (
        "Clip",
        (
            ("shaft", "Shaft", "such as 6"),
            ("groove", "Diameter in the groove", "such as 5"),
            ("thickness", "Thickness of the clip", "such as 0.7"),
        ),
    ),
    "spring": (
        "Disc spring",
        (
            ("od", "Outside", "such as 12.5"),
            ("id", "Inside", "such as 6.2"),
            ("thickness", "Thickness of the sheet", "such as 0.7"),
        ),
    ),
    WASHER: (
        "Washer of the shelf",
        (
            ("od", "Outside", "such as 25.4"),
            ("id", "Inside", "such as 9.5"),
            ("thickness", "Thickness", "such as 1.2"),
        ),
    ),
}
"""What each kind of piece is called, and its fields: name, label, what may be typed."""


@dataclass(frozen=True, slots=True)
class Row:
    name: str
    part: Part | None
    """For one of the shelf."""
    standard: str
    probability: float
    chance: str
    """The probability in words."""
    why: str
    variants: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """The place a piece is looked for, so that the answer can be written back to it."""

    pattern: Pattern
    key: str
    name: str


@dataclass(frozen=True, slots=True)
class FitsContext:
    piece: str
    pieces: tuple[tuple[str, str], ...]
    fields: tuple[Field, ...]
    typed: Mapping[str, str]
    inside: str
    hands: tuple[tuple[str, str], ...]
    hand: str
    job: str
    wanted: Wanted | None
    refusal: str
    rows: tuple[Row, ...]
    none_probability: float | None
    none_chance: str
    is_none: bool
    next: str
    cautions: tuple[str, ...]
    figure: Figure | None


def fits_page(request: Request) -> HttpResponse:
    context = fits_context(request.GET.dict())
    if request.htmx:
        return render(request, "bench/fits_answer.html", {"page": context})
    return page(request, "bench/fits.html", context)


@require_POST
def serves_act(request: Request) -> HttpResponse:
    """What was recognised serves the place it was looked for: written back as a fit, as sure as the answer was."""
    context = fits_context(request.POST.dict())
    wanted, name = context.wanted, request.POST.get("name", "")
    row = next((row for row in context.rows if row.name == name), None)
    if wanted is None or row is None:
        return refused(request, "This answer is not there any more: look for the piece again.")
    try:
        _write_back(row, wanted, _made(context), request.user.get_username())
    except LevelwindError as refusal:
        return refused(request, refusal)
    messages.success(request, f"Written down: {row.name} serves the {wanted.name}.")
    if context.job:
        return redirect(reverse("parts", args=[context.job]) + f"#{wanted.key}")
    return redirect("pattern_place", wanted.pattern.pk, wanted.key)


def _made(context: FitsContext) -> str:
    """The kind of piece that was recognised."""
    return "nut" if context.piece == "thread" and "inside" in context.typed else context.piece


def _write_back(row: Row, wanted: Wanted, piece: str, by: str) -> None:
    if row.part is not None:
        fit_say(
            part=row.part,
            pattern=wanted.pattern,
            place=wanted.key,
            basis="measured",
            said_by=by,
            sure=row.probability,
            note=row.why[:200],
        )
        return
    fit_recognised(
        number=number_on_shelf(row.name, piece),
        name=PART_NAMES[piece],
        kind=PART_KINDS[piece],
        pattern=wanted.pattern,
        place=wanted.key,
        sure=row.probability,
        note=row.why,
        said_by=by,
    )


def _wanted(typed: Mapping[str, str]) -> Wanted | None:
    """The place that the address names: of a job's reel, or of a pattern."""
    try:
        pattern = job_get(typed["job"]).pattern if typed.get("job") else pattern_find(key_in(typed.get("pattern")))
    except Job.DoesNotExist:
        pattern = None
    key = typed.get("place", "")
    if pattern is None or not key:
        return None
    return next((Wanted(pattern, key, place.name) for place in pattern_places(pattern) if place.key == key), None)


def fits_context(sent: Mapping[str, str]) -> FitsContext:
    typed = {key: text[:LONGEST] for key, text in sent.items()}
    piece = typed.get("piece", "") if typed.get("piece", "") in PIECES else "thread"
    fields = tuple(Field(name, label, retold(hint), typed.get(name, "")) for name, label, hint in PIECES[piece][1])
    shelf = washers_at_hand() if piece == WASHER else []
    answer, refusal = None, ""
    if any(each.typed.strip() for each in fields):
        try:
            answer = _answer(washer_table(shelf) if piece == WASHER else _table(piece, typed), fields, typed)
        except LevelwindError as error:
            refusal = spoken(error)
    return FitsContext(
        piece=piece,
        pieces=tuple((key, name) for key, (name, _) in PIECES.items()),
        fields=fields,
        typed=typed,
        inside=TICKS.get(piece, ""),
        hands=(("", "Not looked"), *((key, key.capitalize()) for key in HANDS)) if piece == "thread" else (),
        hand=typed.get("hand", "") if typed.get("hand") in HANDS else "",
        job=typed.get("job", "") if TAG.fullmatch(typed.get("job", "")) else "",
        wanted=_wanted(typed),
        refusal=refusal[:1].upper() + refusal[1:],
        rows=_rows(answer, shelf) if answer else (),
        none_probability=answer.none_probability if answer else None,
        none_chance=percent(answer.none_probability) if answer else "",
        is_none=answer.is_none if answer else False,
        next=next_words(answer.next) if answer and answer.next else "",
        cautions=tuple(cautions(answer)) if answer else (),
        figure=leaders_figure(answer) if answer else None,
    )


def _table(piece: str, typed: Mapping[str, str]) -> Table:
    known = {name for name, text in typed.items() if text.strip()}
    return table(kind_of(piece, inside=piece in TICKS and "inside" in typed, measured=known))


def _answer(rows: Table, fields: tuple[Field, ...], typed: Mapping[str, str]) -> Answer:
    texts = {each.name: each.typed for each in fields}
    over = texts.pop(OVER, "").strip()
    if over and texts["pitch"].strip():
        texts["pitch"] = f"{texts['pitch']} over {over}"
    gauge = typed.get("gauge", "").strip()
    return recognise(
        rows,
        measured(rows.kind, texts),
        gauge_mm=length(gauge, "error of the caliper").value_mm if gauge else None,
        worn="worn" in typed,
        common="any" not in typed,
        hand=typed["hand"] if rows.kind.handed and typed.get("hand") in HANDS else None,
    )


def _rows(answer: Answer, shelf: Sequence[Part]) -> tuple[Row, ...]:
    hand = f", {answer.hand} hand" if answer.hand else ""
    parts = {part.number: part for part in shelf}
    return tuple(
        Row(
            found.candidate.name + hand,
            parts.get(found.candidate.name),
            found.candidate.standard,
            found.probability,
            percent(found.probability),
            why(answer, found),
            "; ".join(variants(found)),
        )
        for found in answer.found
    )
