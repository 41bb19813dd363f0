"""Heat goes where it must and none is lost."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.heat import Lump, warm
from levelwind.core.drag.model import Solid
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.torque import torque_Nm
from levelwind.core.errors import InputError
from tests.core.drag.stacks import body, stack

SOLIDS = {
    "steel": Solid("steel", 7850.0, 465.0, 50.0),
    "brass": Solid("brass", 8500.0, 380.0, 115.0),
    "felt": Solid("felt", 330.0, 1400.0, 0.05),
}
STACK = stack(
    body("gear", material="brass", thickness_mm=2.5),
    body("friction", material="felt"),
    body("keyed", material="steel"),
    body("friction", material="felt"),
    body("cap", material="steel"),
)
SPOOL = Lump("spool", 0.15, Solid("aluminium", 2700.0, 900.0, 160.0), 0, 2.0, 0.4)


def run(clamp: float, seconds: list[float], slips: list[float], lumps: list[Lump] | None = None, fade: float = 0.0):
    lumps = [SPOOL] if lumps is None else lumps
    steps = np.array(seconds), np.array(slips)
    return warm(STACK, find_contacts(STACK), clamp, *steps, SOLIDS, lumps, fade_per_K=fade)


@settings(deadline=None)
@given(
    st.floats(1.0, 2000.0),
    st.lists(st.tuples(st.floats(1e-3, 100.0), st.floats(0.0, 500.0)), min_size=1, max_size=20),
    st.sampled_from([0.0, 0.002, 0.008]),
)
def test_energy_is_conserved(clamp: float, steps: list[tuple[float, float]], fade: float) -> None:
    warmed = run(clamp, [s for s, _ in steps], [r for _, r in steps], fade=fade)
    assert warmed.stored_J + warmed.lost_J == pytest.approx(warmed.energy_J, rel=1e-9, abs=1e-9)


def test_without_fade_the_heat_is_the_torque_times_the_slip() -> None:
    warmed = run(200.0, [5.0] * 4, [30.0] * 4)
    assert warmed.energy_J == pytest.approx(
        torque_Nm(STACK, find_contacts(STACK), 200.0, Assumption.WEAR) * 120, rel=1e-12
    )
    assert warmed.hottest[1] > 20.0


def test_agrees_with_a_general_integrator() -> None:
    """scipy's solve_ivp on the same lumps written out by hand, one washer between gear and cap."""
    built = stack(body("gear", material="brass"), body("friction", material="felt"), body("cap", material="steel"))
    warmed = warm(built, find_contacts(built), 300.0, np.full(50, 1.0), np.full(50, 20.0), SOLIDS)
    area = np.pi * (0.012**2 - 0.005**2)
    hold = np.array([area * 1e-3 * s.density_kg_m3 * s.heat_capacity_J_kgK for s in map(SOLIDS.get, BETWEEN)])
    feel = np.array(
        [np.sqrt(s.density_kg_m3 * s.heat_capacity_J_kgK * s.conductivity_W_mK) for s in map(SOLIDS.get, BETWEEN)]
    )
    k = [SOLIDS[name].conductivity_W_mK for name in BETWEEN]
    joint = [area / (0.5e-3 / k[i] + 0.5e-3 / k[i + 1] + 1 / 3000) for i in (0, 1)]
    power = 0.2 * 300.0 * 0.0085 * 20.0
    # Equal faces: the first of the two slips.
    into = np.array([feel[0], feel[1], 0.0]) / (feel[0] + feel[1]) * power

    def rate(_: float, t: np.ndarray) -> np.ndarray:
        flow = np.array([joint[0] * (t[0] - t[1]), joint[1] * (t[1] - t[2])])
        return (into - np.array([flow[0], flow[1] - flow[0], -flow[1]])) / hold

    reference = solve_ivp(rate, (0, 50), np.zeros(3), method="LSODA", rtol=1e-10, atol=1e-10).y[:, -1]
    # Two integrators of the same equations: the reference's own tolerance.
    assert warmed.temperature_C[-1] - 20 == pytest.approx(reference, rel=1e-7)


BETWEEN = ("brass", "felt", "steel")


def test_the_better_conductor_takes_more_of_the_heat() -> None:
    warmed = run(300.0, [0.01], [1.0], lumps=[])
    gear, lining = warmed.temperature_C[1, :2] - 20
    hold = [
        np.pi * (0.012**2 - 0.005**2) * t * s.density_kg_m3 * s.heat_capacity_J_kgK
        for t, s in ((2.5e-3, SOLIDS["brass"]), (1e-3, SOLIDS["felt"]))
    ]
    assert gear * hold[0] > 10 * lining * hold[1]


def test_a_long_run_fades_and_a_rest_cools() -> None:
    warmed = run(400.0, [10.0] * 12, [300.0] * 6 + [0.0] * 6, fade=0.004)
    slipping = warmed.torque_Nm[:6]
    assert np.all(np.diff(slipping) < 0)
    assert warmed.temperature_C[-1].max() < warmed.temperature_C[6].max()
    assert warmed.torque_Nm[-1] > slipping[-1]


def test_a_material_without_properties_is_refused() -> None:
    odd = stack(body("gear", material="brass"), body("friction", material="jelly"), body("cap", material="steel"))
    with pytest.raises(InputError, match="material of friction was 'jelly'; allowed is one of brass, felt, steel"):
        warm(odd, find_contacts(odd), 100.0, np.ones(1), np.ones(1), SOLIDS)


def test_a_step_that_takes_no_time_is_refused() -> None:
    with pytest.raises(InputError, match="steps of the run"):
        run(100.0, [0.0], [1.0])


@pytest.mark.parametrize("mass_kg", [0.0, -1.0, 1e-300, 21.0, float("nan")])
def test_a_lump_without_a_sensible_mass_is_refused(mass_kg: float) -> None:
    with pytest.raises(InputError, match=r"mass of spool was .* allowed is from 0\.001 to 20000 g"):
        Lump("spool", mass_kg, SOLIDS["steel"], 0, 1.0)


def test_a_lump_on_a_body_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputError, match="body that spool touches was 9; allowed is 0 to 4"):
        run(100.0, [1.0], [1.0], lumps=[Lump("spool", 0.1, SOLIDS["steel"], 9, 1.0)])
