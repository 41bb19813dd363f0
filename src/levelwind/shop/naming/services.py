"""Writing down what was seen on a reel that nobody knows, and what comes of it."""

from collections.abc import Mapping

from django.db import transaction

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.naming import CANNOT_TELL, MARKS, SIZES, Sights
from levelwind.reference.unknown_reels import looks_at_unknown
from levelwind.shop.jobs.services.drafts import draft_clear_family_keep, draft_pattern_pick, draft_seen_keep
from levelwind.shop.models import Job, Pattern, PatternSign, Sighting
from levelwind.shop.naming.selectors import InDraft, clear_family, named_as, naming_looks, seen_on
from levelwind.shop.patterns.services.patterns import pattern_add
from levelwind.shop.takedown.services.pieces import job_pattern_choose, job_pattern_take_back

CARRIED = ("knob", "metal", "screws")
"""Looks whose answers a pattern begun from the reel keeps as its signs: they differ inside a family."""
MOST_SIGNS = 60
"""Signs of one pattern. Our choice: more than a person would look for."""


@transaction.atomic
def sighting_record(*, of: Job | InDraft, look: str, said: str) -> None:
    """Write down one answer to a look, "" where it cannot be told; the same look once more takes its place.

    A size is said in mm, the marks as read, with a ? for a letter that cannot be read.
    """
    said = said.strip()
    if look == MARKS:
        Sights(marks=said)
    elif look in {size.key for size in SIZES}:
        said = _size(look, said)
    else:
        known = {each.key: each for each in naming_looks()}
        if look not in known:
            raise InputError("look", repr(look[:60]), "one of the looks on the page")
        if said != CANNOT_TELL:
            known[look].place(said)
    _keep(of, look, said)
    _tell_family(of)


def _tell_family(of: Job | InDraft) -> None:
    """The family that is clear by now, if one is: the reel is looked over as one of it until it has a pattern."""
    clear = clear_family(of)
    if isinstance(of, InDraft):
        draft_clear_family_keep(draft=of.draft, key=of.key, family_key=clear)
    elif of.clear_family != clear:
        of.clear_family = clear
        of.save(update_fields=["clear_family"])


def _keep(of: Job | InDraft, look: str, said: str) -> None:
    if isinstance(of, InDraft):
        draft_seen_keep(draft=of.draft, key=of.key, seen={look: said})
        return
    row, new = Sighting.objects.get_or_create(job=of, look=look, defaults={"said": said})
    if not new and row.said != said:
        row.said = said
        row.full_clean()
        row.save(update_fields=["said"])


@transaction.atomic
def sightings_type(*, of: Job | InDraft, typed: Mapping[str, str]) -> None:
    """Marks and sizes as they stand in their fields, by key: an emptied one is taken back."""
    for look, said in typed.items():
        if said.strip():
            sighting_record(of=of, look=look, said=said)
        elif seen_on(of).get(look):
            sighting_take_back(of=of, look=look)


def _size(look: str, said: str) -> str:
    """The number of a caliper reading as it is kept, "" for none; a comma is a point."""
    text = said.lower().removesuffix("mm").strip()
    if not text:
        return ""
    try:
        mm = float(typed_number(text))
    except InputError as refusal:
        name = next(size.name for size in SIZES if size.key == look)
        raise InputError(name, repr(said[:40]), f"a number of mm: {refusal.allowed}") from None
    Sights(sizes_mm={look: mm})
    return f"{mm:g}"


@transaction.atomic
def sighting_take_back(*, of: Job | InDraft, look: str) -> None:
    """This look was not made after all."""
    if isinstance(of, InDraft):
        draft_seen_keep(draft=of.draft, key=of.key, seen={look: None})
    else:
        Sighting.objects.filter(job=of, look=look).delete()
    _tell_family(of)


@transaction.atomic
def naming_choose(*, of: Job | InDraft, pattern: Pattern | None, by: str = "") -> None:
    """The reel is of this pattern; None where it is not the one it was said to be."""
    if isinstance(of, InDraft):
        draft_pattern_pick(draft=of.draft, key=of.key, pattern=pattern)
    elif pattern is None:
        job_pattern_take_back(job=of, by=by)
    elif of.pattern != pattern:
        job_pattern_choose(job=of, pattern=pattern, by=by)


@transaction.atomic
def naming_pattern_begin(
    *, of: Job | InDraft, maker: str, model: str, family_key: str, size: str = "", by: str = ""
) -> Pattern:
    """Begin a pattern from the reel in hand: what was measured and read off it goes along. The reel is named so.

    Asked twice for the same reel and the same name, it is begun once.
    """
    named = tuple(" ".join(word.split()).lower() for word in (maker, model, size))
    here = named_as(of)
    if here and here.family == family_key and tuple(w.lower() for w in (here.maker, here.model, here.size)) == named:
        return here
    pattern = pattern_add(maker=maker, model=model, size=size, family_key=family_key)
    said = seen_on(of)
    for each in SIZES:
        if said.get(each.key):
            setattr(pattern, each.key, float(said[each.key]))
    pattern.marks = said.get(MARKS, "")
    pattern.full_clean()
    pattern.save(update_fields=["marks", *(each.key for each in SIZES)])
    for look in CARRIED:
        if said.get(look):
            sign_add(pattern=pattern, look=look, answer=said[look])
    naming_choose(of=of, pattern=pattern, by=by)
    return pattern


@transaction.atomic
def sign_add(
    *,
    pattern: Pattern,
    look: str = "",
    answer: str = "",
    text: str = "",
    year_from: int | None = None,
    year_to: int | None = None,
) -> PatternSign:
    """What reels of this pattern show at a look, or a sign of their own in words, in which years; once is enough."""
    text = " ".join(text.split())
    if not text:
        looks = {each.key: each for each in looks_at_unknown()}
        if look not in looks:
            raise InputError("sign", "neither a look nor words", "what is looked at, or a sign in your own words")
        looks[look].place(answer)
    if year_from and year_to and year_to < year_from:
        raise InputError("years of the sign", f"{year_from} to {year_to}", "an end that is not before the beginning")
    if pattern.signs.count() >= MOST_SIGNS:
        raise LevelwindError(f"This pattern has {MOST_SIGNS} signs already: take one away first.")
    said = {"text": text} if text else {"look": look, "answer": answer}
    sign = PatternSign(pattern=pattern, year_from=year_from, year_to=year_to, **said)
    same = PatternSign.objects.filter(pattern=pattern, year_from=year_from, year_to=year_to, **said).first()
    if same:
        return same
    sign.full_clean()
    sign.save()
    return sign


@transaction.atomic
def sign_take_away(*, pattern: Pattern, pk: int) -> None:
    PatternSign.objects.filter(pattern=pattern, pk=pk).delete()
