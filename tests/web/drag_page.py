"""What the tests of the drag page stand on: a reel on its page, and the page filled in."""

from django.test import Client

from levelwind.core.figures import Line
from levelwind.shop.models import Job, Part
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

URL = "/jobs/26-0001/drag/"
FIGURES = {"hx-request": "true", "hx-target": "drag-figures"}
WORK = {"hx-request": "true", "hx-target": "drag-work"}
SPOOL = {"gear_ratio": 3.2, "spool_arbor_mm": 22, "spool_flange_mm": 54, "spool_width_mm": 44}
SPRINGS = {"spring_outer_mm": "18", "spring_inner_mm": "12.2", "spring_thick_mm": "0.7", "spring_cone_mm": "0.45"}


def a_reel() -> Job:
    return a_job(pattern=a_pattern(**SPOOL), line_strength_N=133.4, line_diameter_mm=0.55, line_name="30 lb nylon")


def typed_on_page(client: Client, **typed: str) -> dict[str, object]:
    """The page's fields, with every row's number in its order."""
    answer = client.get(URL)
    fields: dict[str, object] = dict(typed_into(answer))
    fields["row"] = [str(row.uid) for row in answer.context["page"].typed.rows]
    return fields | typed


def lay(client: Client, part: Part) -> None:
    """Into all four places for friction washers, each with its own button."""
    for uid in (1, 3, 5, 7):
        client.post(URL, typed_on_page(client, **{f"part-{uid}": str(part.pk), "do": f"lay-{uid}"}))


def end(curve: Line) -> tuple[float, float]:
    return curve.points[-1]
