"""Every unit the bench reads or writes, against pint (a general library of units, its own definitions)."""

import pint
import pytest

from levelwind.core.errors import InputError
from levelwind.core.quantities import METRES_PER, NEWTONS_PER, convert
from levelwind.recordings.force_columns import TIME_UNITS
from levelwind.recordings.force_log import read_force_log
from levelwind.recordings.spin_table import read_spin_table

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


SPEEDS = {
    "rpm": "rpm",
    "1/min": "turn/minute",
    "rev/s": "turn/second",
    "turns per second": "turn/second",
    "Hz": "turn/second",
    "rad/s": "radian/second",
    "deg/s": "degree/second",
}


@pytest.mark.parametrize(("ours", "theirs"), SPEEDS.items())
def test_speed(ours: str, theirs: str) -> None:
    """A spool once round is a turn; what a table says of its speed is read in turns a second."""
    table = read_spin_table(f"time (s);speed ({ours})\n0;37\n1;3.7\n2;1\n".encode())
    assert table.rev_s is not None
    assert table.rev_s[0] == pytest.approx(PINT.Quantity(37.0, theirs).to("turn/second").magnitude, rel=EXACT)


@pytest.mark.parametrize("ours", TIMES)
def test_a_spins_time(ours: str) -> None:
    table = read_spin_table(f"time ({ours});rpm\n0;37\n4000;3.7\n8000;1\n".encode())
    seconds = PINT.Quantity(8000.0, TIMES[ours]).to("second").magnitude
    assert table.time_s[-1] == pytest.approx(seconds, rel=EXACT)


@pytest.mark.parametrize("header", ["kg", "g", "lb", "oz"])
def test_a_scale_that_reads_mass_reads_its_weight_in_standard_gravity(header: str) -> None:
    """Mass times standard gravity, 9.80665 m/s2 (SI Brochure, 9th edition, 2019)."""
    log = read_force_log(f"Time (s),Weight ({header})\n0,0\n1,2\n".encode())
    weight = (PINT.Quantity(2.0, header) * PINT.Quantity(1.0, "standard_gravity")).to("newton").magnitude
    assert log.force_N[1] == pytest.approx(weight, rel=EXACT)


def test_a_unit_nobody_knows() -> None:
    with pytest.raises(InputError, match="unit was 'stone'; allowed is one of N, kN"):
        convert(1.0, NEWTONS_PER, "stone")
