"""Keeping the pattern book: one pattern begun as another, two that are one, one that is no longer offered."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.forms.models import model_to_dict
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.editing import row_delete
from levelwind.shop.models import Build, Fit, Pattern, PatternPicture, PatternPlace, PatternSign, PlaceLimit
from levelwind.shop.patterns.selectors.layouts import job_layers, pattern_layout
from levelwind.shop.patterns.selectors.patterns import pattern_named
from levelwind.shop.patterns.services.layouts import refuse_broken

PATTERN_OWN = ("places", "limits", "signs", "builds")
"""What goes with a pattern that is taken away."""

NOT_COPIED = (
    "id",
    "pattern",
    "maker",
    "model",
    "size",
    "retired_on",
    "merged_into",
    "like",
    "otherwise",
    "recorded_from",
    "laid_by",
    "year_from",
    "year_to",
)


@transaction.atomic
def pattern_copy(*, pattern: Pattern, maker: str, model: str, size: str = "") -> Pattern:
    """A new pattern as this one, to be changed where it is otherwise: its facts, places, steps, drag, builds, signs.

    Its pictures too. Its years are its own. What fits the old one is taken to fit the new one, but where that says
    otherwise.
    """
    maker, model, size = (" ".join(word.split()) for word in (maker, model, size))
    if not maker or not model:
        raise LevelwindError("A pattern needs a maker and a model: what stands on the plate will do.")
    if pattern_named(maker=maker, model=model, size=size):
        raise LevelwindError(f"The {' '.join(filter(None, (maker, model, size)))} is in the book already.")
    new = Pattern(maker=maker, model=model, size=size, like=pattern, **_facts(pattern))
    try:
        new.full_clean()
    except ValidationError as refusal:
        raise LevelwindError(" ".join(refusal.messages)) from refusal
    new.save()
    for row in pattern.places.all():
        PatternPlace.objects.create(pattern=new, **_facts(row))
    for limit in pattern.limits.all():
        PlaceLimit.objects.create(pattern=new, **_facts(limit))
    for build in pattern.builds.all():
        Build.objects.create(pattern=new, year_from=build.year_from, year_to=build.year_to, **_facts(build))
    for sign in pattern.signs.all():
        PatternSign.objects.create(pattern=new, year_from=sign.year_from, year_to=sign.year_to, **_facts(sign))
    for picture in pattern.pictures.all():
        PatternPicture.objects.create(pattern=new, **_facts(picture))
    return new


def _facts(row: Pattern | PatternPlace | PlaceLimit | PatternSign | PatternPicture | Build) -> dict[str, object]:
    return {name: value for name, value in model_to_dict(row).items() if name not in NOT_COPIED}


@transaction.atomic
def pattern_merge(*, gone: Pattern, into: Pattern) -> Pattern:
    """Two names of one pattern: jobs, donor reels, builds, signs, pictures, part numbers and fits go over to ``into``.

    What ``into`` says counts. Jobs keep the layout they have; ``gone`` stays in the book, retired, with the fits of
    places that ``into`` lacks. Refused over two families, and where a build would not come apart over ``into``.
    """
    if gone == into:
        raise LevelwindError("A pattern is merged into another one, not into itself.")
    if gone.family != into.family:
        raise LevelwindError(f"The {gone} and the {into} are built like two families: they cannot be one pattern.")
    for job in gone.jobs.select_related("build"):
        job.layers = job_layers(job)
        job.pattern = into
        job.save(update_fields=["layers", "pattern"])
    gone.bone_reels.update(pattern=into)
    _builds_over(gone, into)
    _signs_over(gone, into)
    gone.pictures.update(pattern=into)
    _numbers_over(gone, into)
    _fits_over(gone, into)
    _limits_over(gone, into)
    refuse_broken(into)
    gone.retired_on, gone.merged_into = timezone.localdate(), into
    gone.save(update_fields=["retired_on", "merged_into"])
    return into


def _builds_over(gone: Pattern, into: Pattern) -> None:
    names = set(into.builds.values_list("name", flat=True))
    for build in gone.builds.all():
        if build.name in names:
            build.name = f"{build.name}, of the {gone}"[:60]
        build.pattern = into
        build.full_clean()
        build.save(update_fields=["name", "pattern"])


def _signs_over(gone: Pattern, into: Pattern) -> None:
    said = {sign.says for sign in into.signs.all()}
    for sign in gone.signs.all():
        if sign.says not in said:
            sign.pattern = into
            sign.save(update_fields=["pattern"])


def _numbers_over(gone: Pattern, into: Pattern) -> None:
    for row in gone.places.exclude(part_number=""):
        mine, _ = PatternPlace.objects.get_or_create(pattern=into, key=row.key)
        if not mine.part_number:
            mine.part_number = row.part_number
            mine.save(update_fields=["part_number"])


def _fits_over(gone: Pattern, into: Pattern) -> None:
    said = set(Fit.objects.filter(pattern=into).values_list("part", "place", "basis"))
    known = {place.key for place in pattern_layout(into).places}
    for fit in Fit.objects.filter(pattern=gone, place__in=known):
        if (fit.part_id, fit.place, fit.basis) not in said:
            fit.pattern = into
            fit.save(update_fields=["pattern"])


def _limits_over(gone: Pattern, into: Pattern) -> None:
    said = set(into.limits.values_list("place", "dimension"))
    for limit in gone.limits.all():
        if (limit.place, limit.dimension) not in said:
            limit.pattern = into
            limit.save(update_fields=["pattern"])


@transaction.atomic
def pattern_delete(*, pattern: Pattern) -> None:
    """Take away a pattern on which nothing hangs; its own places, limits, signs and builds go with it.

    Raises LevelwindError that says what does.
    """
    row_delete(instance=pattern, what=str(pattern), but=PATTERN_OWN)


@transaction.atomic
def pattern_retire(*, pattern: Pattern, retired: bool = True) -> Pattern:
    """No longer offered for a reel, or offered again; its jobs and all that is known of it stay."""
    pattern.retired_on = timezone.localdate() if retired else None
    if not retired:
        pattern.merged_into = None
    pattern.save(update_fields=["retired_on", "merged_into"])
    return pattern
