"""Washers from a sheet: what is counted can be cut, and no more than a proved bound and known best packings allow."""

import pytest

from levelwind.core.errors import InputError
from levelwind.core.fits.cutting import washers_from

# Largest circles of which n go into a unit square, by radius: the best known packings, from memory.
BEST = {1: 0.5, 2: 0.292893, 4: 0.25, 5: 0.207107, 9: 0.166667, 10: 0.148204, 16: 0.125, 30: 0.091671}


@pytest.mark.parametrize(("count", "radius"), BEST.items())
def test_the_best_known_packings_lie_between_what_is_counted_and_the_bound(count: int, radius: float) -> None:
    got = washers_from(100, 100, 200 * radius * (1 - 1e-6), cut_mm=0)
    assert got.count <= count <= got.most


@pytest.mark.parametrize(
    ("sheet", "outer", "count"),
    [((100, 100), 50, 4), ((100, 100), 51, 2), ((49, 200), 50, 0), ((200, 50), 50, 4), ((60, 93.4), 50, 1),
     ((75, 93.4), 50, 2), ((125, 93.4), 50, 4)],
)  # fmt: skip
def test_rows_by_hand(sheet: tuple[float, float], outer: float, count: int) -> None:
    for sides in (sheet, sheet[::-1]):
        got = washers_from(*sides, outer, cut_mm=0)
        assert got.count == count <= got.most


def test_long_rows_are_staggered_and_the_cut_costs_some() -> None:
    got = washers_from(1000, 1000, 10, cut_mm=0)
    assert got.staggered and got.count == 58 * 100 + 57 * 99 and got.most < 1.03 * got.count
    assert washers_from(1000, 1000, 10).count < got.count


@pytest.mark.parametrize("sheet", [(0, 10, 5), (10, -1, 5), (10, 10, 0), (float("inf"), 10, 5), (10, 10, float("nan"))])
def test_no_sheet_and_no_washer_of_no_size(sheet: tuple[float, float, float]) -> None:
    with pytest.raises(InputError, match="more than 0 mm"):
        washers_from(*sheet)
