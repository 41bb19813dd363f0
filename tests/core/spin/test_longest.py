"""One definition of the spin that stands for a recording, whoever asks."""

import pytest

from levelwind.core.errors import NotDeterminedError
from levelwind.core.quantities import Quantity
from levelwind.core.spin import Spin, SpinResult, typed

KNOWN, UNKNOWN = Spin(0.0, 5.0, spin_time_s=Quantity(5.27, 5.2, 5.4)), Spin(6.0, 14.0)


@pytest.mark.parametrize("spins", [(KNOWN, UNKNOWN), (UNKNOWN, KNOWN)])
def test_a_longer_spin_without_a_time_does_not_hide_the_time_that_is_known(spins: tuple[Spin, ...]) -> None:
    result = SpinResult(spins)
    assert result.longest is KNOWN and result.longest.spin_time_s is result.spin_time_s


def test_where_no_time_is_known_the_one_followed_longest_stands() -> None:
    shorter = Spin(0.0, 3.0)
    result = SpinResult((shorter, UNKNOWN))
    assert result.longest is UNKNOWN
    with pytest.raises(NotDeterminedError, match="does not tell how long"):
        _ = result.spin_time_s


def test_without_a_spin_it_says_so() -> None:
    with pytest.raises(NotDeterminedError, match="no spin"):
        _ = SpinResult().longest


def test_what_was_typed_is_its_own_longest() -> None:
    assert typed(11.0).longest.spin_time_s == typed(11.0).spin_time_s
