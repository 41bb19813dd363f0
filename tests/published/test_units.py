"""Every unit the bench reads or writes, against pint (a general library of units, its own definitions)."""

import pint
import pytest

from levelwind.core.errors import InputError
from levelwind.core.quantities import METRES_PER, NEWTONS_PER, convert
from levelwind.recordings.force_columns import TIME_UNITS
from levelwind.recordings.force_log import read_force_log

PINT = pint.UnitRegistry()

FORCES = {
    "N": "newton",
    "kN": "kilonewton",
    "daN": "decanewton",
    "cN": "centinewton",
    "mN": "millinewton",
    "gf": "gram_force",
    "kgf": "kilogram_force",
    "lbf": "pound_force",
    "ozf": "ounce_force",
}
LENGTHS = {"m": "meter", "cm": "centimeter", "mm": "millimeter", "in": "inch", "ft": "foot", "yd": "yard"}
TIMES = {"s": "second", "ms": "millisecond", "us": "microsecond", "min": "minute", "h": "hour"}
EXACT = 1e-12  # both sides hold exact definitions: only rounding may differ


def test_every_unit_has_its_counterpart_here() -> None:
    assert set(FORCES) == set(NEWTONS_PER) and set(LENGTHS) == set(METRES_PER)


@pytest.mark.parametrize(("ours", "theirs"), FORCES.items())
def test_force(ours: str, theirs: str) -> None:
    assert convert(3.7, NEWTONS_PER, ours) == pytest.approx(
        PINT.Quantity(3.7, theirs).to("newton").magnitude, rel=EXACT
    )


@pytest.mark.parametrize(("ours", "theirs"), LENGTHS.items())
def test_length(ours: str, theirs: str) -> None:
    assert convert(3.7, METRES_PER, ours) == pytest.approx(PINT.Quantity(3.7, theirs).to("meter").magnitude, rel=EXACT)


@pytest.mark.parametrize(("ours", "theirs"), TIMES.items())
def test_time(ours: str, theirs: str) -> None:
    assert TIME_UNITS[ours] == pytest.approx(PINT.Quantity(1.0, theirs).to("second").magnitude, rel=EXACT)


@pytest.mark.parametrize("header", ["kg", "g", "lb", "oz"])
def test_a_scale_that_reads_mass_reads_its_weight_in_standard_gravity(header: str) -> None:
    """Mass times standard gravity, 9.80665 m/s2 (SI Brochure, 9th edition, 2019)."""
    log = read_force_log(f"Time (s),Weight ({header})\n0,0\n1,2\n".encode())
    weight = (PINT.Quantity(2.0, header) * PINT.Quantity(1.0, "standard_gravity")).to("newton").magnitude
    assert log.force_N[1] == pytest.approx(weight, rel=EXACT)


def test_a_unit_nobody_knows() -> None:
    with pytest.raises(InputError, match="unit was 'stone'; allowed is one of N, kN"):
        convert(1.0, NEWTONS_PER, "stone")
