"""The pictures that a stay's jobs show, each drawn once and put into the book as a phone's would be."""

from io import BytesIO

from django.core.files.base import ContentFile

from levelwind.demo.drawings import draw
from levelwind.demo.patterns import Kind
from levelwind.shop.jobs.services.photos import photo_add
from levelwind.shop.models import Draft, Job

CAPTIONS = {"handle": "handle side", "fixed": "from the side", "spool": "from the front, with its line"}


class Album:
    """Draws each picture once and shows it again where the same sort of reel is on the bench."""

    def __init__(self) -> None:
        self._drawn: dict[tuple[str, str, bool], bytes] = {}

    def outside(self, job: Job, kind: Kind, moment: str, *, both_sides: bool) -> None:
        """As found or as left: the handle's side, and the front where the stay is shown in full."""
        views = ["fixed"] if kind.family.startswith("fixed_spool") else ["handle", "spool"][: 1 + both_sides]
        for view in views:
            photo_add(
                file=self._file(kind.maker, view, old=moment == "found"),
                job=job,
                moment=moment,
                caption=CAPTIONS[view],
            )

    def steps(self, job: Job, kind: Kind, *, inside: bool) -> None:
        """Where the washers lie in a row, and the open head plate."""
        self._step(job, kind, "washers", "lift_drag_washers", "top washer to the left")
        if inside and kind.family == "star_drag":
            self._step(job, kind, "inside", "lift_head_plate", "the plate's inside as it came off")

    def crate(self, draft: Draft) -> None:
        file = self._file("Lodderwick", "crate", old=True)
        photo_add(file=file, draft=draft, moment="found", caption="all twelve as they came")

    def _step(self, job: Job, kind: Kind, view: str, step: str, caption: str) -> None:
        file = self._file(kind.maker, view, old=True)
        photo_add(file=file, job=job, moment="step", step=step, caption=caption)

    def _file(self, maker: str, view: str, *, old: bool) -> ContentFile:  # type: ignore[type-arg]
        key = (maker, view, old)
        if key not in self._drawn:
            buffer = BytesIO()
            draw(maker, view, old=old).save(buffer, "JPEG", quality=84)
            self._drawn[key] = buffer.getvalue()
        return ContentFile(self._drawn[key], name=f"{view}.jpg")
