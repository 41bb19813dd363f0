"""The same drag gives the same interval in the book and on the command line."""

import json
import re
from pathlib import Path

import pytest
from django.test import Client

from levelwind.cli.main import main
from levelwind.core.codec import as_stored
from levelwind.core.drag.families import Drive, Family
from levelwind.core.drag.model import stack_from_dict
from levelwind.core.line import Line, Spool
from levelwind.reference.families import family
from levelwind.shop.drag.selectors.drags import drag_computed
from levelwind.shop.drag.selectors.plans import standard_stack
from levelwind.shop.drag.selectors.reels import Reel, reel_of
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.drag.services import drag_plan_save
from levelwind.shop.papers.selectors.proofs import drag_proof
from levelwind.shop.readings.selectors.readings import readings_of
from tests.jobs import a_job, a_pattern
from tests.shop.readings.reading_rows import a_pull

RING = {"outer_diameter_mm": 24, "inner_diameter_mm": 12, "thickness_mm": 1, "material": "steel"}
LINING = {**RING, "kind": "friction", "material": "felt"}
BODIES = [
    {"name": "gear floor", "kind": "gear", **RING},
    {"name": "first", **LINING},
    {"name": "key washer", "kind": "keyed", **RING},
    {"name": "second", **LINING},
    {"name": "eared washer", "kind": "eared", **RING},
]
IN_A_FILE = """
[reel]
family = "star drag"
gear_ratio = 4.0
[clamp]
torque_Nm = { value = 1.0, low = 0.7, high = 1.3 }
thread = { major_mm = 9.5, pitch_mm = 1.0, collar_mm = 13.75 }
thread_friction = { value = 0.14, low = 0.08, high = 0.2 }
[stack]
condition = "dry"
bodies = [BODIES]
[spool]
arbor_mm = 20
rim_mm = 50
width_mm = 30
[line]
name = "5 lb nylon"
diameter_mm = 0.55
strength_N = 24.0
length_m = 150
[[guides]]
friction = 0.15
wrap_deg = 60
[run]
speed_m_s = 4.0
length_m = 100
"""


def _toml(body: dict[str, object]) -> str:
    return "{" + ", ".join(f"{key} = {json.dumps(value)}" for key, value in body.items()) + "}"


@pytest.mark.django_db
def test_page_paper_and_command_line_show_one_stack_alike(
    client: Client, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A star drag's usual stack, its washers on steel and on brass; the paper's are from run in to new."""
    pattern = a_pattern(gear_ratio=4.0, spool_arbor_mm=20, spool_flange_mm=50, spool_width_mm=30)
    job = a_job(pattern=pattern, line_name="5 lb nylon", line_strength_N=24.0, line_diameter_mm=0.55)
    stack = standard_stack(pattern)
    drag = drag_computed(stack=stack, setup=Setup({"clamp_N": 400.0}), reel=reel_of(job))
    drag_plan_save(job=job, drag=drag)
    a_pull(job, "left", 33.0, 30.0)

    page = client.get(f"/jobs/{job.tag}/drag/").context["page"].figures.drag.result
    paper = drag_proof(job, readings_of(job))
    assert page.system.spool is not None and paper is not None
    path = tmp_path / "drag.toml"
    length = page.system.spool.filled.length_m
    text = IN_A_FILE.replace("BODIES", ", ".join(_toml(body) for body in stack.as_dict()["bodies"]))
    text = re.sub(r"\[clamp\].*?\[stack\]", "[clamp]\nforce_N = 400\n[stack]", text, flags=re.DOTALL)
    text = text.replace("length_m = 150", f"length_m = {length!r}").partition("[[guides]]")[0]
    path.write_text(text.replace('"dry"', f'"{stack.condition}"'), encoding="utf-8")
    assert main(["drag", str(path), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)

    assert as_stored(page.torque.run_in_Nm) == pytest.approx(printed["run_in_torque_Nm"], rel=1e-12)
    assert as_stored(page.torque.new_Nm) == pytest.approx(printed["new_torque_Nm"], rel=1e-12)
    for shown, on_paper, told in zip(page.fills, paper.fills, printed["line"]["fills"], strict=True):
        assert as_stored(shown.run_in_N) == pytest.approx(told["tension_N"], rel=1e-9)
        assert on_paper.tension.low == pytest.approx(told["tension_N"]["low"], rel=1e-9)
        assert on_paper.tension.high == pytest.approx(shown.new_N.high, rel=1e-12)


def test_the_book_and_the_command_line_give_the_same_intervals(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "drag.toml"
    path.write_text(IN_A_FILE.replace("BODIES", ", ".join(_toml(body) for body in BODIES)), encoding="utf-8")
    assert main(["drag", str(path), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)

    reel = Reel(
        family("star_drag"),
        Drive(Family.STAR, 4.0),
        True,
        Spool(0.010, 0.025, 0.030),
        Line("5 lb nylon", 0.55e-3, 24.0),
        True,
    )
    setup = Setup({"hand_Nm": 1.0, "line_m": 150.0, "wrap_deg": 60.0, "guide_mu": 0.15, "run_m": 100.0, "run_m_s": 4.0})
    result = drag_computed(stack=stack_from_dict({"condition": "dry", "bodies": BODIES}), setup=setup, reel=reel).result

    # Only the last bit may differ: the file gives the thread and collar in millimetres, the family in its own.
    def alike(ours: dict[str, float], theirs: dict[str, float]) -> bool:
        return ours == pytest.approx(theirs, rel=1e-12)

    assert alike(as_stored(result.clamp_N), printed["clamp_N"])
    assert result.notes and printed["cautions"][-len(result.notes) :] == [note.words() for note in result.notes]
    assert alike(as_stored(result.torque.run_in_Nm), printed["run_in_torque_Nm"])
    assert alike(as_stored(result.torque.new_Nm), printed["new_torque_Nm"])
    for ours, theirs in zip(result.fills, printed["line"]["fills"], strict=True):
        assert alike(as_stored(ours.run_in_N), theirs["tension_N"])
    assert result.line is not None and result.run is not None
    assert result.line.report.parts_at_left_m == pytest.approx(printed["line"]["parts_at_left_m"], rel=1e-12)
    assert alike(as_stored(result.run.report.hottest_C), printed["run"]["hottest_C"])
