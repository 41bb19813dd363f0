"""The takedown guide of a job, filled in for the press."""

from dataclasses import replace
from pathlib import Path

from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import Step
from levelwind.documents import takedown as guide
from levelwind.documents.letterhead import pattern_head
from levelwind.documents.picture import Picture
from levelwind.reference.cautions import Caution, named
from levelwind.shop.models import Job, Photo
from levelwind.shop.patterns.selectors.pictures import step_on_paper, step_pictures
from levelwind.shop.people.selectors import letterhead, sheet_head, shop_get
from levelwind.shop.takedown.selectors.pieces import Work, job_work, step_photos


def takedown_sheet(job: Job) -> guide.TakedownGuide:
    """The way in to what must be reached, with its cells. Raises LevelwindError while nothing is chosen."""
    work, shop, photos = job_work(job), shop_get(), step_photos(job)
    if work.plan is None:
        raise LevelwindError("Choose first what must be reached: the guide prints the way there.")
    of_pattern = step_pictures(job.pattern) if job.pattern else {}
    return guide.TakedownGuide(
        shop=letterhead(shop),
        job=sheet_head(job, shop),
        dated=timezone.localdate(),
        steps=tuple(
            _step(work, step, _picture(photos.get(step.key, [])) or step_on_paper(of_pattern.get(step.key, [])))
            for step in work.plan.steps
        ),
        reach=reach_in_words(work),
    )


def guide_to_hand_on(job: Job) -> guide.TakedownGuide:
    """The same way in with nothing of its owner on it: no name, no tag, no serial number, no words under a photo.

    Raises LevelwindError while the reel has no pattern, whose name stands on it instead, or nothing is chosen.
    """
    if job.pattern is None:
        raise LevelwindError("Choose its pattern first: what its owner calls it does not go out.")
    sheet = takedown_sheet(job)
    steps = tuple(
        replace(step, picture=replace(step.picture, caption="")) if step.picture else step for step in sheet.steps
    )
    return replace(sheet, job=pattern_head(str(job.pattern), sheet.job.invented), steps=steps)


def reach_in_words(work: Work) -> str:
    """What must be reached: the whole reel, or the places by name."""
    missing = [place for place in work.layout.places if place.key not in work.job.reach]
    if not missing:
        return "the whole reel"
    return ", ".join(place.name for place in work.layout.places if place.key in work.job.reach) or "what is apart"


def caution_in_words(caution: Caution) -> str:
    return f"{caution.headline}. {caution.text}"


def _step(work: Work, step: Step, picture: Picture | None) -> guide.Step:
    return guide.Step(
        what=step.do,
        tool=step.tool,
        cell=cells_in_words(work, step),
        cautions=tuple(caution_in_words(caution) for caution in named(step.cautions)),
        note=f"Photo: {step.photo}" if step.photo else "",
        minutes=step.minutes,
        picture=picture,
    )


def cells_in_words(work: Work, step: Step) -> str:
    """The cells a step fills, as short as they can be said.

    The first to the last where there are several, since a step's cells follow one another.
    """
    cells = sorted({work.cells[place] for place in step.frees})
    return f"{cells[0]} to {cells[-1]}" if len(cells) > 1 else f"{cells[0]}"


def _picture(photos: list[Photo]) -> Picture | None:
    """The last picture of the step, small: it only shows which way things lay."""
    if not photos:
        return None
    try:
        return Picture(Path(photos[-1].thumbnail.path).read_bytes(), photos[-1].caption)
    except OSError:
        return None
