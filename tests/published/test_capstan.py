"""Rope round a post: line over a guide.

A. K. Tayal, Engineering Mechanics, and U. C. Jindal, Machine Design, as printed in the FOSSEE textbook companions;
tolerances are half a unit of the last figure printed.
"""

import numpy as np
import pytest

from levelwind.core.line.tension import capstan, guides_factor


def test_half_a_turn() -> None:
    """Tayal, example 7-4, p. 161."""
    assert 1000 / capstan(0.25, np.pi) == pytest.approx(456, abs=0.5)


def test_three_turns() -> None:
    """Tayal, example 7-6, p. 163."""
    assert 1000 / capstan(0.3, 6 * np.pi) == pytest.approx(3.5, abs=0.05)


def test_band_brake() -> None:
    """Jindal, example 23-2, p. 618."""
    slack = 9600 / capstan(0.22, np.radians(225))
    assert slack == pytest.approx(4046.4, abs=0.1)
    assert (9600 - slack) * 0.200 == pytest.approx(1110.72, abs=0.01)


def test_line_over_a_tip_guide() -> None:
    """Euler and Eytelwein, arithmetic: 60 degrees at 0.2 and at 0.1."""
    assert capstan(0.2, np.pi / 3) == pytest.approx(1.232987, abs=1e-6)
    assert capstan(0.1, np.pi / 3) == pytest.approx(1.110401, abs=1e-5)
    assert guides_factor([(0.1, np.pi / 3), (0.1, np.pi / 3)]) == pytest.approx(1.232987, abs=1e-6)
