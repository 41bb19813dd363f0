"""Fisher's exact test on one side, against his own example and a reference library."""

import pytest
from scipy.stats import fisher_exact

from levelwind.core.errors import InputError
from levelwind.core.supply.comebacks import by_chance


def test_the_lady_tasting_tea() -> None:
    """R. A. Fisher, The Design of Experiments, 1935, from memory: of 70 ways one is all right, 17 three or more."""
    assert by_chance(4, 4, 4, 8) == pytest.approx(1 / 70)
    assert by_chance(3, 4, 4, 8) == pytest.approx(17 / 70)


CASES = [(0, 5, 3, 30), (3, 11, 5, 140), (2, 40, 9, 55), (6, 6, 9, 55)]


@pytest.mark.parametrize(
    ("back", "of", "all_back", "all_of"), [(0, 5, 3, 30), (3, 11, 5, 140), (2, 40, 9, 55), (6, 6, 9, 55)]
)
def test_as_scipy_has_it(back: int, of: int, all_back: int, all_of: int) -> None:
    """scipy.stats.fisher_exact, alternative="greater"."""
    table = [[back, of - back], [all_back - back, all_of - of - all_back + back]]
    assert by_chance(back, of, all_back, all_of) == pytest.approx(fisher_exact(table, alternative="greater").pvalue)


def test_what_is_no_share_is_refused() -> None:
    with pytest.raises(InputError, match="a share of all that went home"):
        by_chance(3, 2, 4, 8)
