"""A long run in words: hotter and weaker together, hot to touch, and past what a lining stands."""

import numpy as np
import pytest

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.heat import Lump
from levelwind.core.drag.model import Solid
from levelwind.core.drag.run_report import run_report
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from tests.core.drag.stacks import body, stack

SOLIDS = {
    "aluminium": Solid("aluminium", 2700.0, 900.0, 160.0),
    "steel": Solid("steel", 7850.0, 465.0, 50.0),
    "cork": Solid("cork", 200.0, 1800.0, 0.045),
}
STACK = stack(
    body("gear", material="aluminium", thickness_mm=3.0),
    body("friction", material="cork"),
    body("cap", material="steel", thickness_mm=3.0),
)
DRAG = Quantity(0.17, 0.13, 0.22)


def run(slip_rad: float, drag: Quantity = DRAG, **more):
    steps = np.full(30, 1.0), np.full(30, slip_rad / 30)
    return run_report(STACK, find_contacts(STACK), 100.0, drag, steps, SOLIDS, **more)


def test_a_long_run_is_hot_and_weaker_and_a_short_one_is_neither() -> None:
    short, long = run(5.0), run(3000.0)
    assert short.hottest_C.high < 25
    assert short.cautions == ()
    assert long.hottest_C.value > 51
    assert long.cautions[0].words().startswith("Hot drag: over 51 °C burns when held.")
    assert long.left_share.low < long.left_share.value < long.left_share.high == pytest.approx(1.0)


def test_a_spool_that_takes_up_heat_keeps_the_drag_cooler() -> None:
    spool = Lump("spool", 0.3, SOLIDS["aluminium"], 0, 20.0)
    assert run(3000.0, lumps=[spool]).hottest_C.value < run(3000.0).hottest_C.value


def test_a_lining_past_what_it_stands_is_said() -> None:
    told = run(6000.0, stands_C={"cork": 60.0})
    assert any(str(note).startswith("friction reaches") and "cork stands 60 °C" in str(note) for note in told.cautions)
    assert not any("stands" in str(note) for note in run(6000.0, stands_C={"cork": 5000.0}).cautions)


def test_the_words_carry_the_energy_of_the_run() -> None:
    told = run(300.0, fade_per_K=Quantity.exact(0.0))
    assert told.warming.energy_J == pytest.approx(0.17 * 300, rel=1e-9)
    assert "rubs 51 J into the drag" in told.sentences[0].words()


@pytest.mark.parametrize("gear_g", [20.0, 60.0])
def test_faces_that_slip_in_turn_leave_the_middle_inside_its_interval(gear_g: float) -> None:
    faces = stack(
        body("gear", material="aluminium", thickness_mm=3.0),
        body("friction", material="felt"),
        body("keyed", material="steel"),
        body("friction", material="felt"),
        body("eared", material="steel"),
        body("friction", material="felt"),
        body("cap", material="steel", thickness_mm=3.0),
    )
    solids = SOLIDS | {"felt": Solid("felt", 300.0, 1400.0, 0.05)}
    lumps = [
        Lump("gear", gear_g / 1000, solids["aluminium"], 0, 5.0),
        Lump("spool", 0.15, solids["aluminium"], 0, 0.1),
    ]
    steps = np.full(40, 0.5), np.full(40, 12.0)
    told = run_report(faces, find_contacts(faces), 60.0, Quantity(0.9, 0.6, 1.2), steps, solids, lumps)
    assert told.hottest_C.low <= told.hottest_C.value <= told.hottest_C.high


def test_a_run_without_drag_is_refused() -> None:
    with pytest.raises(InputError, match="without drag nothing warms"):
        run(100.0, drag=Quantity(0.0, 0.0, 0.1))
