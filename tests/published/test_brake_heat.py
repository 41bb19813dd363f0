"""Heat of brakes and clutches worked in textbooks: a run against the drag, at another size.

T. H. Wentzell, Machine Design; U. C. Jindal, Machine Design; R. S. Khurmi and J. K. Gupta, Theory of Machines: each
test names its example. Read as the printed outputs of the textbook companions (docs/sources.md).
"""

import numpy as np
import pytest

from levelwind.core.drag.chain import torque_per_N
from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.heat import Lump, warm
from levelwind.core.drag.model import Solid
from levelwind.core.drag.rings import Assumption, friction_radius_m
from tests.core.drag.stacks import body, stack

RPM = 2 * np.pi / 60


def warmed_K(energy_J: float, mass_kg: float, heat_capacity_J_kgK: float) -> float:
    """Rise of one heavy lump that takes all the heat: washers of next to no mass, joined to it without loss."""
    feather = Solid("feather", 1e-6, 1e-3, 9e4)
    drum = Lump("drum", mass_kg, Solid("drum", 7000.0, heat_capacity_J_kgK, 50.0), 0, 1e4)
    thin = {"thickness_mm": 0.01, "material": "feather"}
    built = stack(body("gear", **thin), body("friction", **thin), body("cap", **thin))
    contacts = find_contacts(built)
    slip = energy_J / (0.2 * 100 * 0.0085)
    # The second, idle step lets what little the washers hold even out.
    run = warm(built, contacts, 100.0, np.array([1.0, 1.0]), np.array([slip, 0.0]), {"feather": feather}, [drum])
    return float(run.temperature_C[-1, -1] - run.temperature_C[0, -1])


def test_vehicle_stopped_by_forty_pounds_of_brake() -> None:
    """Wentzell, example 16.5, p. 365. Energy is force over distance; feet and pounds pass through."""
    mass, speed, slowing = 3500 / 32.2, 73.0, 20.0
    energy = mass * slowing * speed**2 / (2 * slowing)
    assert energy == pytest.approx(289619.57, abs=1)
    assert warmed_K(energy, 4.0, 10 * 93.0) == pytest.approx(77.85, abs=0.01)
    assert speed / slowing == pytest.approx(3.65, abs=0.001)
    # The book rounds the time to 3.7 s before the power.
    assert energy / 3.7 / 550 == pytest.approx(142.32, abs=0.01)


def test_car_on_four_brakes() -> None:
    """Jindal, example 23-5, p. 621."""
    speed = 65 / 3.6
    distance = speed * 4 / 2
    assert distance == pytest.approx(36.11, abs=0.01)
    torque = 1.1 * 1100 / 4 * speed / 4 * 0.22
    assert torque == pytest.approx(300.4, abs=0.01)
    energy = torque * distance / 0.22
    assert energy == pytest.approx(49307.97, abs=0.1)
    assert warmed_K(energy, 12.0, 460.0) == pytest.approx(8.93, abs=0.01)


def test_clutch_brings_one_flywheel_up_to_another() -> None:
    """Khurmi and Gupta, example 10.27, p. 306."""
    torque = 570 * float(torque_per_N([1, -1, 1], np.full(2, 0.35), 0.080, 0.110, Assumption.WEAR))
    caught, driving, speed = 1300 * 0.18**2, 800 * 0.2**2, 1250 * RPM
    common = speed / (1 + caught / driving)
    assert common == pytest.approx(56.51, abs=0.01)
    assert caught * common / torque == pytest.approx(62.8, abs=0.05)
    assert torque * speed * (caught * common / torque) / 2 == pytest.approx(156_000, abs=500)


def test_cone_clutch_brings_a_flywheel_up() -> None:
    """Khurmi and Gupta, example 10.34, p. 316; the book rounds torque and time before the energy."""
    torque = 0.3 * 180.0 * float(friction_radius_m(0.0375, 0.0375, Assumption.WEAR)) / np.sin(np.radians(15))
    assert torque == pytest.approx(7.8, abs=0.05)
    seconds = 13.5 * 0.150**2 * 1000 * RPM / torque
    assert seconds == pytest.approx(4.1, abs=0.05)
    assert torque * 1000 * RPM * seconds / 2 == pytest.approx(1674, abs=10)
