"""The drag page's real answer to a change against the bare core in the same run; ratios, so that any machine can tell.

Wanted: a change seen within 100 ms, of which the page itself waits some for the next key and the browser needs some to
draw. Timed here is the rest: the whole POST through Django, reading, computing, keeping and drawing, for a moved washer
with every fold shut, with each one open, and with all of them. The turns of the star move by a hair each time too, so
that nothing the app keeps between two looks can answer: the worst a change can ask.
"""

import html
import os
import re
import sys
import tempfile
from collections.abc import Callable
from html.parser import HTMLParser
from time import perf_counter
from urllib.parse import urlencode

import django
import numpy as np
from django.core.management import call_command
from django.test import Client

from levelwind.core.drag.families import Drive, Family
from levelwind.core.drag.model import Stack, stack_from_dict
from levelwind.core.drag.order import right_order
from levelwind.core.drag_system.compute import compute
from levelwind.core.drag_system.model import SEED, DragSystem, GivenForce
from levelwind.core.drag_system.report import as_dict
from levelwind.core.quantities import Quantity
from levelwind.reference.families import family
from levelwind.reference.materials import drag_tables

TIMES = 15
FOLDS = ("fill", "turns", "run", "strength", "height", "pull", "how", "classes")
TYPED = {
    **{"spring_outer_mm": "18", "spring_inner_mm": "12.2", "spring_thick_mm": "0.7", "spring_cone_mm": "0.45"},
    **{"turns": "0.3", "lower_mm": "0.3", "higher_mm": "0.3", "dog_mm2": "6", "dog_radius_mm": "11"},
    **{"gear_teeth": "48", "gear_module_mm": "0.6", "gear_face_mm": "4", "gear_g": "60", "spool_g": "150"},
}


class Fields(HTMLParser):
    """What a browser would send back of the page's form: its fields, and its rows in their order."""

    def __init__(self) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self.rows: list[str] = []
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        name, value = said.get("name") or "", said.get("value") or ""
        if tag == "input" and name == "row":
            self.rows.append(value)
        elif tag == "input" and name and (said.get("type") != "checkbox" or "checked" in said):
            self.fields[name] = value
        elif tag == "select":
            self.select = name
        elif tag == "option" and (self.select not in self.fields or "selected" in said):
            self.fields[self.select] = value


def a_job() -> str:
    """The tag of a job with a pull as found, in an empty book."""
    from levelwind.shop.models import Job, Owner, Parcel, Pattern
    from levelwind.shop.readings.services.readings import reading_type

    pattern = Pattern.objects.create(
        maker="Tarn & Wey", model="Skerry", size="50", family="star_drag", gear_ratio=3.2, spool_arbor_mm=22,
        spool_flange_mm=54, spool_width_mm=44,
    )  # fmt: skip
    owner = Owner.objects.create(name="Ansa Vell")
    job = Job.objects.create(
        tag="26-0001", owner=owner, parcel=Parcel.objects.create(owner=owner), pattern=pattern, reel="Skerry 50",
        line_name="30 lb nylon", line_strength_N=133.4, line_diameter_mm=0.55,
    )  # fmt: skip
    reading_type(job=job, kind="pull", moment="found", typed={"breakaway_N": 36.0, "running_N": 31.0})
    return job.tag


def milliseconds(what: Callable[[], object], times: int = TIMES) -> tuple[float, float]:
    """Least and middle of some runs: what it takes when nothing else runs, and as it comes."""
    spans = []
    for _ in range(times):
        start = perf_counter()
        what()
        spans.append(1000 * (perf_counter() - start))
    return min(spans), sorted(spans)[len(spans) // 2]


class Page:
    """The page of one job, posted over and over with one washer more or less out of its place."""

    def __init__(self, tag: str) -> None:
        self.address, self.client = f"/jobs/{tag}/drag/", Client(SERVER_NAME="localhost")
        self.fields = Fields()
        self.fields.feed(self.client.get(self.address).content.decode())
        self.mark = self.fields.fields["drawn_from"]
        self.changes = 0

    def change(self, opened: str) -> None:
        rows = list(self.fields.rows)
        self.changes += 1
        if self.changes % 2:
            rows[5], rows[6] = rows[6], rows[5]
        turns = f"{0.3 + self.changes / 10_000:.4f}"
        typed = {
            **self.fields.fields,
            **TYPED,
            "turns": turns,
            "row": rows,
            "drawn_from": self.mark,
            "opened": opened,
            "touched": "",
        }
        answer = self.client.post(
            self.address,
            urlencode(typed, doseq=True),
            "application/x-www-form-urlencoded",
            headers={"hx-request": "true", "hx-target": "drag-figures"},
        )
        shown = answer.content.decode()
        mark = re.search(r'id="drawn-from"\s+value="([^"]*)"', shown)
        if mark is None or "Kept" not in shown:
            sys.exit(f"The page did not keep the change: {answer.status_code}")
        self.mark = html.unescape(mark[1])


def told(stack: Stack) -> dict[str, object]:
    """Torque, order, section, words of one stack, with nothing kept from before."""
    right_order.cache_clear()
    system = DragSystem(stack, Drive(Family.LEVER), GivenForce(Quantity(300.0, 250.0, 360.0)))
    return as_dict(compute(system, drag_tables(), np.random.default_rng(SEED)))


def main() -> None:
    os.environ["LEVELWIND_DATA"] = tempfile.mkdtemp(prefix="levelwind-bench-")
    os.environ["DJANGO_SETTINGS_MODULE"] = "levelwind.project.settings"
    django.setup()
    call_command("migrate", verbosity=0)
    stack = stack_from_dict(family("star_drag").drag)
    core, _ = milliseconds(lambda: told(stack))
    print(f"the core alone (torque, order, section, words): {core:.1f} ms")
    page = Page(a_job())
    whole, middle = milliseconds(lambda: page.client.get(page.address))
    print(f"the whole page, everything on it: {whole:.0f} ms, {middle:.0f} in the middle")
    for name, opened in [
        ("every fold shut", ""),
        *((f"{fold} open", fold) for fold in FOLDS),
        ("all", " ".join(FOLDS)),
    ]:
        least, middle = milliseconds(lambda opened=opened: page.change(opened))
        print(f"a change, {name}: {least:.0f} ms, {middle:.0f} in the middle; {least / core:.1f} times the core")


if __name__ == "__main__":
    main()
