"""A pull sharpens what is known of a washer's friction, says which condition it fits, and knows when it cannot tell."""

import numpy as np
import pytest

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.draws import independent_product
from levelwind.core.drag.families import Drive, Family
from levelwind.core.drag.infer import in_a_sentence, likelihood, remembered, weighed
from levelwind.core.drag.model import Coefficient
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.torque import torque_Nm
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.line import Filled, Line, Spool, radius_at_length_m, spool_torque_Nm, tension_N
from levelwind.core.quantities import Quantity
from tests.conftest import Figure
from tests.core.drag.stacks import body, stack
from tests.full_size import cases

DRY = Coefficient(Quantity(0.39, 0.30, 0.50), "table, dry")
OILED = Coefficient(Quantity(0.19, 0.15, 0.25), "table, oiled")
PRIORS = {"dry": DRY, "oiled": OILED}
CLAMP = Quantity(100.0, 95.0, 105.0)


def cork(mu: float = 0.39) -> tuple:
    built = stack(
        "gear",
        body("friction", friction=mu),
        "keyed",
        body("friction", friction=mu),
        "eared",
        body("friction", friction=mu),
        "cap",
    )
    return built, find_contacts(built)


def read(mu: float, assumption: Assumption = Assumption.WEAR, spread: float = 0.03) -> Quantity:
    built, contacts = cork(mu)
    torque = torque_Nm(built, contacts, 100.0, assumption)
    return Quantity(torque, torque * (1 - spread), torque * (1 + spread))


def infer(reading: Quantity, clamp: Quantity = CLAMP, priors: dict[str, Coefficient] = PRIORS, seed: int = 1):
    built, contacts = cork()
    return weighed(likelihood(built, contacts, range(6), reading, clamp, np.random.default_rng(seed)), priors, clamp)


@pytest.mark.parametrize(("mu", "condition"), [(0.42, "dry"), (0.18, "oiled")])
def test_the_reading_says_which_condition(mu: float, condition: str) -> None:
    found = infer(read(mu))
    assert found.fits == condition
    assert found.by_condition[condition] > 0.99
    assert sum(found.by_condition.values()) == pytest.approx(1.0)


def test_the_interval_is_narrower_than_the_table_and_holds_the_truth() -> None:
    found = infer(read(0.42))
    mu = found.coefficient.mu
    assert mu.low < 0.42 < mu.high
    assert np.log(mu.high / mu.low) < 0.5 * np.log(DRY.mu.high / DRY.mu.low)
    assert found.cautions == ()


@pytest.mark.sampled
def test_nine_intervals_in_ten_hold_the_truth(figure: Figure) -> None:
    """Truths drawn from the prior, clamps and readings with their stated errors; binomial 3.28 sigma."""
    rng = np.random.default_rng(5)
    held, number = 0, cases(30, 120)
    for case in range(number):
        mu = 0.39 * np.exp(rng.standard_normal() * np.log(0.50 / 0.39) / 1.645)
        assumption = Assumption.PRESSURE if rng.random() < 0.5 else Assumption.WEAR
        force = 100.0 * np.exp(rng.standard_normal() * 0.05 / 1.645)
        torque = read(mu, assumption).value * force / 100 * np.exp(rng.standard_normal() * 0.03 / 1.645)
        found = infer(Quantity(torque, torque * np.exp(-0.03), torque * np.exp(0.03)), priors={"dry": DRY}, seed=case)
        held += found.coefficient.mu.low <= mu <= found.coefficient.mu.high
    figure("friction intervals that hold the truth", number, f"{100 * held / number:.1f} %", "90 %")
    assert abs(held / number - 0.9) < 3.28 * np.sqrt(0.9 * 0.1 / number)


def test_a_second_reading_sharpens_the_first() -> None:
    once = infer(read(0.42, spread=0.2))
    twice = infer(read(0.42, spread=0.2), priors={"dry": remembered(once, "set 1")})
    width = [np.log(f.coefficient.mu.high / f.coefficient.mu.low) for f in (once, twice)]
    assert width[1] < width[0]
    assert remembered(once, "set 1").source.startswith("set 1, dry: the shop's own reading")


def test_an_unknown_clamp_is_said() -> None:
    found = infer(read(0.42), clamp=Quantity(100.0, 40.0, 250.0))
    assert "The clamp force is hardly known, so friction and clamp cannot be told apart." in found.cautions


def test_a_reading_that_does_not_tell_the_condition_says_so() -> None:
    alike = {"dry": DRY, "glazed": DRY}
    assert (
        in_a_sentence(infer(read(0.42), priors=alike), "cork").words().endswith("it does not tell in which condition.")
    )
    assert in_a_sentence(infer(read(0.42)), "cork").words().endswith("for cork, as if dry (100 %).")


def test_a_pull_at_the_line_comes_back_to_the_friction_behind_it() -> None:
    """Through radius, guides and gears and back: a star drag of ratio 4 with 120 m of line left."""
    filled = Filled(Spool(0.011, 0.024, 0.040), Line("line", 0.4e-3, 90.0), 200.0)
    radius, guides, drive = float(radius_at_length_m(filled, 120.0)), 1.1, Drive(Family.STAR, 4.0)
    built, contacts = cork(0.42)
    drag = torque_Nm(built, contacts, 100.0, Assumption.WEAR)
    pull = float(tension_N(drag * drive.spool_per_drag().value, radius, guides))
    reading = Quantity(pull, 0.97 * pull, 1.03 * pull).scaled(float(spool_torque_Nm(1.0, radius, guides)))
    found = infer(independent_product(reading, drive.drag_per_spool()))
    assert found.coefficient.mu.low < 0.42 < found.coefficient.mu.high
    assert found.fits == "dry"


def test_a_reading_outside_all_that_is_known_is_said_or_refused() -> None:
    reading = read(0.10)
    assert any("well outside" in caution for caution in infer(reading).cautions)
    with pytest.raises(NotDeterminedError, match="check the clamp"):
        infer(Quantity(1e-6, 0.99e-6, 1.01e-6))


def test_surfaces_that_carry_nothing_cannot_be_inferred() -> None:
    built = stack("gear", "friction", "keyed", "friction", "cap")
    with pytest.raises(InputError, match="surfaces to infer"):
        likelihood(built, find_contacts(built), [3], read(0.2), CLAMP, np.random.default_rng(1))
