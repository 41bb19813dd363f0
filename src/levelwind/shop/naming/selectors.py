"""What a job's reel may be, from what was seen on it: the families, and the patterns of the book."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, lru_cache
from typing import NamedTuple

from django.db.models import Count

from levelwind.core.naming import (
    CANNOT_TELL,
    MARKS,
    SIZES,
    Answer,
    Key,
    Kind,
    Look,
    Naming,
    NextLook,
    Sights,
    Sign,
    all_kinds,
    family_chances,
    name_reel,
    next_looks,
    year_made,
)
from levelwind.core.quantities import Quantity
from levelwind.reference.unknown_reels import commonness, looks_at_unknown
from levelwind.shop.jobs.selectors.drafts import draft_pattern, draft_seen
from levelwind.shop.models import Draft, Job, Pattern, PatternSign, Sighting

SIGN_MINUTES = 0.2
"""Minutes to look for one sign; our choice, as for the quick looks."""
SIGN_ELSEWHERE = 0.03
"""Chance to see a pattern's own sign on a reel of any other; a judgement."""
MOST_OWN_SIGNS = 40
"""Signs of patterns that are asked about, the newest: with more, each page weighs looks that hardly ever tell. Our
choice."""
MOST_SHOWN, LEAST_SHOWN = 5, 0.02
"""Patterns shown one by one, and how likely one has to be for it; our choice."""
CLEAR = 0.9
"""How likely a family has to be for a reel to be looked over as one of it; our choice: so said, it is right 97 times in
a hundred."""
NOT_TOLD = "cannot tell"
YES_NO = (Answer("yes", "yes"), Answer("no", "no"))


class PatternRow(NamedTuple):
    """What naming goes by of a pattern, in the order in which patterns are listed."""

    maker: str
    model: str
    size: str
    pk: int
    family: str
    marks: str
    spool_width_mm: float | None
    spool_flange_mm: float | None
    plate_mm: float | None
    foot_mm: float | None
    year_from: int | None
    year_to: int | None
    retired_on: date | None


class SignRow(NamedTuple):
    """And of a sign."""

    pk: int
    pattern: int
    look: str
    answer: str
    text: str
    year_from: int | None
    year_to: int | None


@dataclass(frozen=True, slots=True)
class InDraft:
    """A reel that is being booked in: its booking, and its key there."""

    draft: Draft
    key: int


@dataclass(frozen=True, slots=True)
class Told:
    """One look that was answered: its key, what was asked and what was said, as the page shows them."""

    key: str
    ask: str
    said: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A pattern of the book with its probability, and the years its signs leave, where they say any."""

    pattern: Pattern
    probability: float
    year: Quantity | None


@dataclass(frozen=True, slots=True)
class NamingState:
    """All that is known of an unknown reel. ``looks`` are those still to be made, the most telling first."""

    key: Key
    sights: Sights
    told: tuple[Told, ...]
    naming: Naming
    looks: tuple[NextLook, ...]
    candidates: tuple[Candidate, ...]


def sign_key(pk: int) -> str:
    return f"sign-{pk}"


def naming_looks() -> tuple[Look, ...]:
    """The looks at any reel, and one for each sign of their own that patterns have: the newest where there are many."""
    return _looks(_sign_rows())


def _looks(signs: Iterable[SignRow]) -> tuple[Look, ...]:
    odds = dict.fromkeys(commonness(), (SIGN_ELSEWHERE, 1 - SIGN_ELSEWHERE))
    own = sorted(sign for sign in signs if sign.text)[-MOST_OWN_SIGNS:]
    return (
        *looks_at_unknown(),
        *(Look(sign_key(sign.pk), f"Is this there: {sign.text}?", SIGN_MINUTES, YES_NO, odds) for sign in own),
    )


def naming_key(besides: Job | None = None) -> Key:
    """The looks, and all a reel may be: every pattern, a reel of each family that is not in the book, none of these.

    ``besides`` is the job in hand: it is not counted among the shop's own reels.
    """
    rows = sorted(PatternRow(*row) for row in Pattern.objects.order_by().values_list(*PatternRow._fields))
    named = Job.objects.filter(pattern__isnull=False).order_by()
    if besides:
        named = named.exclude(pk=besides.pk)
    families, counts = {row.pk: row.family for row in rows}, Counter[str]()
    for pattern, jobs in named.values_list("pattern").annotate(jobs=Count("pk")):
        counts[families[pattern]] += jobs
    kept = _key(tuple(row for row in rows if row.retired_on is None), _sign_rows())
    return replace(kept, common=family_chances(commonness(), counts))


def _sign_rows() -> tuple[SignRow, ...]:
    return tuple(SignRow(*row) for row in PatternSign.objects.values_list(*SignRow._fields))


@lru_cache(maxsize=2)
def _key(patterns: tuple[PatternRow, ...], signs: tuple[SignRow, ...]) -> Key:
    """Made once while nothing of the book that it is made of has changed: all of that is in the rows."""
    looks = _looks(signs)
    asked, of = {look.key for look in looks}, dict[int, list[SignRow]]()
    for sign in signs:
        of.setdefault(sign.pattern, []).append(sign)
    kinds = (_kind(row, of.get(row.pk, ()), asked) for row in patterns)
    return Key(looks, all_kinds(dict.fromkeys(commonness(), 1.0), kinds))


def seen_on(reel: Job | InDraft) -> dict[str, str]:
    """What was said of a reel so far, by look, in the order of the looks."""
    if isinstance(reel, InDraft):
        return draft_seen(reel.draft, reel.key)
    return {row.look: row.said for row in Sighting.objects.filter(job=reel)}


def named_as(reel: Job | InDraft) -> Pattern | None:
    """The pattern that the reel is said to be of."""
    return draft_pattern(reel.draft, reel.key) if isinstance(reel, InDraft) else reel.pattern


def naming_of(reel: Job | InDraft) -> NamingState:
    """What the reel may be as it stands. Answers to signs that are gone from the book meanwhile count for nothing."""
    key = naming_key(reel if isinstance(reel, Job) else None)
    said = seen_on(reel)
    answers = {look.key: said[look.key] for look in key.looks if _still_an_answer(look, said.get(look.key))}
    sizes = {size.key: float(said[size.key]) for size in SIZES if said.get(size.key)}
    in_vain = frozenset(look for look in (MARKS, *(size.key for size in SIZES)) if said.get(look) == CANNOT_TELL)
    sights = Sights(answers, sizes, said.get(MARKS, ""), in_vain)
    naming = name_reel(key, sights)
    return NamingState(
        key=key,
        sights=sights,
        told=tuple(_told(key, look, text) for look, text in said.items()),
        naming=naming,
        looks=next_looks(key, sights),
        candidates=_candidates(key, naming, answers),
    )


def clear_family(reel: Job | InDraft) -> str:
    """The key of the family that the reel is of as good as surely, by what was seen of it; "" where none is."""
    if not seen_on(reel):
        return ""
    likeliest, chance = next(iter(naming_of(reel).naming.families.items()))
    return likeliest if chance >= CLEAR else ""


def _still_an_answer(look: Look, said: str | None) -> bool:
    return said is not None and said in (CANNOT_TELL, *(answer.key for answer in look.answers))


def _candidates(key: Key, naming: Naming, answers: Mapping[str, str]) -> tuple[Candidate, ...]:
    found = naming.in_book_from(LEAST_SHOWN)[:MOST_SHOWN]
    patterns = Pattern.objects.in_bulk([int(named.kind.key) for named in found])
    return tuple(
        Candidate(patterns[int(named.kind.key)], named.probability, year_made(key, named.kind, answers))
        for named in found
    )


def _kind(row: PatternRow, signs: Iterable[SignRow], asked: Collection[str]) -> Kind:
    texts = (row.maker, f"{row.model} {row.size}".strip(), *row.marks.splitlines())
    return Kind(
        key=str(row.pk),
        family=row.family,
        weight=1.0,
        in_book=True,
        marks=tuple(text.strip() for text in texts if text.strip()),
        sizes_mm={size.key: mm for size in SIZES if (mm := getattr(row, size.key))},
        signs=tuple(_signs(signs, asked)),
        year_from=row.year_from,
        year_to=row.year_to,
    )


def _signs(rows: Iterable[SignRow], asked: Collection[str]) -> Iterable[Sign]:
    """A sign of a look that is no longer asked, or of an answer that is gone, counts for nothing."""
    known = _answers_known()
    for row in rows:
        if row.text and sign_key(row.pk) in asked:
            yield Sign(sign_key(row.pk), "yes", row.year_from, row.year_to)
    for row in rows:
        if (row.look, row.answer) in known:
            yield Sign(row.look, row.answer, row.year_from, row.year_to)


@cache
def _answers_known() -> frozenset[tuple[str, str]]:
    return frozenset((look.key, answer.key) for look in looks_at_unknown() for answer in look.answers)


def _told(key: Key, look: str, said: str) -> Told:
    """As the page shows it; a look that is gone from the book is shown by what was said alone."""
    sizes = {size.key: size for size in SIZES}
    if look == MARKS:
        return Told(look, "Marks, as read", said or NOT_TOLD)
    if look in sizes:
        return Told(look, sizes[look].name.capitalize(), f"{said} mm" if said else NOT_TOLD)
    asked = next((known for known in key.looks if known.key == look), None)
    names = {answer.key: answer.name for answer in asked.answers} if asked else {}
    return Told(look, asked.ask if asked else "A sign that is gone from the book", names.get(said, NOT_TOLD))


def signs_of(pattern: Pattern) -> list[tuple[PatternSign, str, str]]:
    """The signs a pattern is known by: the row, what is looked at, and what is seen."""
    looks = {look.key: look for look in looks_at_unknown()}
    rows = []
    for sign in pattern.signs.all():
        look = looks.get(sign.look)
        names = {answer.key: answer.name for answer in look.answers} if look else {}
        rows.append((sign, look.ask if look else "A sign of its own", sign.text or names.get(sign.answer, sign.answer)))
    return rows
