"""Every piece of the pages in every state, on one page: looked at before one is drawn anew, compared in the tests."""

from dataclasses import dataclass

from django import forms
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from levelwind.core.figures import Axis, Band, Figure, Line, Marker, Row, Span
from levelwind.core.quantities import Quantity
from levelwind.shop.jobs.life import OPEN
from levelwind.web.forms import DecimalField
from levelwind.web.pages import page
from levelwind.web.steps import STEPS

LONG = (
    "The owner’s own words, as long as owners write them: it slipped on the second fish, held on the third, and has "
    "ground like a coffee mill since the boat ride home"
)


class EveryField(forms.Form):
    """One field of each kind the pages have; filled in, refused or empty by what it is given."""

    text = forms.CharField(label="serial", help_text="As it is stamped on the foot.")
    number = DecimalField(label="outer, mm", widget=forms.TextInput(attrs={"class": "number"}))
    choice = forms.ChoiceField(choices=[("", "Choose one"), ("star", "Star drag")], label="family")
    day = forms.DateField(label="ready on", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    words = forms.CharField(label="complaint", widget=forms.Textarea(attrs={"rows": 2}))
    tick = forms.BooleanField(label="urgent: ahead of all others", required=False)


FILLED = {
    "text": "8121 K",
    "number": "28.5",
    "choice": "star",
    "day": "2026-03-14",
    "words": LONG,
    "tick": "on",
}


@dataclass(frozen=True, slots=True)
class Guide:
    title: str
    mark: str
    here: bool


@dataclass(frozen=True, slots=True)
class PiecesContext:
    long: str
    forms: tuple[EveryField, ...]
    way: tuple[Guide, ...]
    standing: tuple[tuple[str, int], ...]
    chances: tuple[tuple[str, float, float], ...]
    """What it may be, the chance it began with and the one it stands at."""
    share: Quantity
    pull: Figure
    spin: Figure


def _pull() -> Figure:
    """A pull with its stretch, its interval and its marks."""
    force = [
        (0.0, 0.0),
        (1.0, 0.0),
        (1.6, 62.0),
        (2.0, 50.0),
        (3.0, 48.0),
        (4.0, 49.0),
        (5.0, 47.0),
        (5.4, 0.0),
        (6.0, 0.0),
    ]
    level = [(2.2, 49.0), (5.0, 48.0)]
    times, forces = [at for at, _ in force], [height for _, height in force]
    return Figure(
        says="Force over time in N, one pull marked: breakaway 62 N, running at 48.5 N",
        x=Axis.along("s", times),
        y=Axis.upright("N", forces),
        lines=(Line("read", force, "the scale"), Line("running", level, "running level")),
        bands=(Band("running", [(at, y - 2) for at, y in level], [(at, y + 2) for at, y in level]),),
        spans=(Span("pull 1", 1.0, 5.4),),
        markers=(Marker("breakaway", 1.6, 62.0, "breakaway 62 N", "62 N", "breakaway", range_=(60.0, 65.0)),),
        rows=(Row("breakaway", "1.6 s", "62 N"), Row("running drag", "2.2 to 5 s", "48.5 N")),
    )


def _spin() -> Figure:
    """As found beside as left."""
    lines = (
        Line("as-found", [(0.0, 12.0), (2.0, 5.0), (4.0, 1.0), (5.0, 0.0)], "as found"),
        Line("as-left", [(0.0, 12.0), (8.0, 5.0), (16.0, 1.5), (20.0, 0.0)], "as left"),
    )
    points = [point for line in lines for point in line.points]
    return Figure(
        says="Speed over time in rev/s: at rest after 5 s as found, after 20 s as left",
        x=Axis.along("s", [at for at, _ in points]),
        y=Axis.upright("rev/s", [speed for _, speed in points]),
        lines=lines,
    )


@require_safe
def pieces_page(request: HttpRequest) -> HttpResponse:
    at = 4
    context = PiecesContext(
        long=LONG,
        forms=(
            EveryField(prefix="empty"),
            EveryField({f"filled-{name}": text for name, text in FILLED.items()}, prefix="filled"),
            EveryField({"refused-number": "twelve", "refused-day": "soon"}, prefix="refused"),
        ),
        way=tuple(
            Guide(title, "done" if number < at else "next" if number == at else "", number == at - 1)
            for number, (_, title, _) in enumerate(STEPS)
        ),
        standing=tuple((stage.label, (number * 5) % 13) for number, stage in enumerate(OPEN)),
        chances=(
            ("worn or glazed drag washers", 0.62, 0.94),
            ("worn main gear", 0.31, 0.23),
            ("rusted spool bearing", 0.2, 0.2),
            ("bent spindle", 0.0, 0.0),
            ("dry washers", 0.5, 1.0),
        ),
        share=Quantity(62.0, 51.0, 70.0),
        pull=_pull(),
        spin=_spin(),
    )
    return page(request, "help/pieces.html", context)
