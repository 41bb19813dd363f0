"""A pattern's pictures, and the numbers its places have on them and on its parts list."""

from dataclasses import dataclass
from pathlib import Path

from levelwind.documents.picture import Mark, Picture
from levelwind.shop.models import Build, Job, Pattern, PatternPicture, Photo
from levelwind.shop.patterns.selectors.layouts import pattern_family, pattern_layout

MOST_OFFERED = 24
"""Photos of jobs that are offered for a picture, the newest of them."""


@dataclass(frozen=True, slots=True)
class Numbered:
    """A number on a picture: whose it is, and where in thousandths of the picture's width."""

    key: str
    name: str
    number: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Exploded:
    """An exploded picture with its numbers; ``tall`` is its height in thousandths of its width."""

    picture: PatternPicture
    numbers: tuple[Numbered, ...]
    tall: float


def place_numbers(pattern: Pattern, build: Build | None = None) -> dict[str, int]:
    """The number of every place: its position in the pattern's list, whatever a build of it lacks; then the build's."""
    keys = dict.fromkeys(place.key for place in pattern_family(pattern).places)
    if build is not None:
        keys |= dict.fromkeys(place.key for place in pattern_layout(pattern, build).places)
    return {key: number for number, key in enumerate(keys, start=1)}


def exploded(pattern: Pattern, build: Build | None = None) -> tuple[Exploded, ...]:
    """Its exploded pictures, oldest first; what the build has none of bears no number."""
    names = {place.key: place.name for place in pattern_layout(pattern, build).places}
    numbers = place_numbers(pattern, build)
    return tuple(_numbered(picture, names, numbers) for picture in pattern.pictures.filter(step=""))


def _numbered(picture: PatternPicture, names: dict[str, str], numbers: dict[str, int]) -> Exploded:
    tall = 1000 * picture.height / picture.width
    rows = [row for row in picture.numbers if row["place"] in names]
    shown = [
        Numbered(row["place"], names[row["place"]], numbers[row["place"]], 1000 * row["across"], tall * row["down"])
        for row in rows
    ]
    return Exploded(picture, tuple(sorted(shown, key=lambda one: one.number)), tall)


def picture_find(pattern: int, pk: int) -> PatternPicture | None:
    """A picture of this pattern."""
    return PatternPicture.objects.select_related("pattern").filter(pattern=pattern, pk=pk).first()


def step_pictures(pattern: Pattern) -> dict[str, list[PatternPicture]]:
    """The pictures of each step, oldest first."""
    found: dict[str, list[PatternPicture]] = {}
    for picture in pattern.pictures.exclude(step=""):
        found.setdefault(picture.step, []).append(picture)
    return found


def photos_offered(pattern: Pattern, step: str = "") -> list[Photo]:
    """Photos from jobs of this pattern, newest first: of one step, or of any step and piece."""
    photos = Photo.objects.filter(job__in=Job.objects.filter(pattern=pattern), moment__in=("step", "piece"))
    return list((photos.filter(step=step) if step else photos).order_by("-at", "-pk")[:MOST_OFFERED])


def on_paper(shown: Exploded) -> Picture | None:
    """The picture as it is printed, with its numbers; None where its file is lost."""
    marks = tuple(Mark(one.x / 1000, one.y / shown.tall, str(one.number)) for one in shown.numbers)
    return _printed(shown.picture.picture.path, str(shown.picture), marks)


def step_on_paper(pictures: list[PatternPicture]) -> Picture | None:
    """The last picture of a step, small."""
    return _printed(pictures[-1].thumbnail.path, pictures[-1].caption, ()) if pictures else None


def _printed(path: str, caption: str, marks: tuple[Mark, ...]) -> Picture | None:
    try:
        return Picture(Path(path).read_bytes(), caption, marks)
    except OSError:
        return None
