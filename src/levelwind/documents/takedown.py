"""The takedown guide: the order of taking apart, printed for the bench, with boxes to tick."""

from dataclasses import dataclass
from datetime import date

from levelwind.core.writing import written
from levelwind.documents import press
from levelwind.documents.letterhead import JobHead, Shop, head
from levelwind.documents.picture import Picture


@dataclass(frozen=True, slots=True)
class Step:
    """One step. Its ``cautions`` are printed ahead of it; ``cell`` is where in the tray the piece goes."""

    what: str
    tool: str = ""
    cell: str = ""
    cautions: tuple[str, ...] = ()
    note: str = ""
    minutes: float | None = None
    picture: Picture | None = None


@dataclass(frozen=True, slots=True)
class TakedownGuide:
    """The steps in the order they are done. ``reach`` says what the takedown is to reach; cautions hold throughout.

    ``pictures`` are of the whole, laid out.
    """

    shop: Shop
    job: JobHead
    dated: date
    steps: tuple[Step, ...]
    reach: str = ""
    cautions: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()

    @property
    def minutes(self) -> float | None:
        """Of all steps together; None where one of them is not known."""
        known = [step.minutes for step in self.steps if step.minutes is not None]
        return sum(known) if known and len(known) == len(self.steps) else None


def render(guide: TakedownGuide) -> bytes:
    return press.pdf(layout(guide))


def layout(guide: TakedownGuide) -> press.Forme:
    data = {
        **head("Takedown guide", guide.shop, guide.job, guide.dated),
        "reach": guide.reach,
        "minutes": None if guide.minutes is None else f"{guide.minutes:.0f} min",
        "cautions": guide.cautions,
        "pictures": [{"picture": shown, "caption": shown.caption} for shown in guide.pictures],
        "steps": [_step(number, step) for number, step in enumerate(guide.steps, start=1)],
    }
    return press.Forme("takedown", data, guide.dated)


def _step(number: int, step: Step) -> dict[str, object]:
    return {
        "number": str(number),
        "what": step.what,
        "tool": step.tool,
        "cell": step.cell,
        "cautions": step.cautions,
        "note": step.note,
        "minutes": "" if step.minutes is None else f"{written(step.minutes)} min",
        "picture": step.picture,
    }
