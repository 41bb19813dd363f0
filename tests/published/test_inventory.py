"""Slow demand and base stock as books and libraries have them: docs/sources.md says how each was read."""

from csv import DictReader
from math import exp, factorial
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from levelwind.core.supply.demand import forecasts, newsvendor

SLOW = (0, 0, 3, 0, 0, 0, 1, 0, 0, 2, 0, 4, 0, 0, 0, 0, 2, 0)


def test_croston_and_its_correction() -> None:
    """As statsforecast 2.1.1 answers for CrostonClassic and CrostonSBA (alpha 0.1, factor 0.95)."""
    told = forecasts(SLOW)
    assert told.croston == pytest.approx(0.86813912, abs=1e-7)
    assert told.sba == pytest.approx(0.82473216, abs=1e-7)


def test_teunter_syntetos_and_babai() -> None:
    """As statsforecast 2.1.1 answers for TSB (both alphas 0.1; the chance begins from the first month)."""
    assert forecasts(SLOW).tsb == pytest.approx(0.65808646, abs=1e-6)


def test_a_hundred_series_as_a_reference_library_has_them() -> None:
    """statsforecast 2.1.1 (PyPI), its answers kept beside this file: Croston, its correction, TSB, each within 1e-6."""
    text = (Path(__file__).parent / "slow_demand.csv").read_text()
    rows = list(DictReader(line for line in text.splitlines() if not line.startswith("#")))
    assert len(rows) == 100
    for row in rows:
        told = forecasts(tuple(int(units) for units in row["units_by_month"].split()))
        kept = [float(row[name]) for name in ("croston", "sba", "tsb")]
        assert [told.croston, told.sba, told.tsb] == pytest.approx(kept, rel=1e-6), row["units_by_month"]


@pytest.mark.parametrize(("alpha", "factor"), [(0.1, 0.95), (0.2, 0.9)])
def test_the_correction_is_one_less_half_of_alpha(alpha: float, factor: float) -> None:
    """As the description of R's forecast package has it (read on a web page)."""
    told = forecasts(SLOW, alpha)
    assert told.sba / told.croston == pytest.approx(factor, abs=1e-12)


def poisson(mean: float, most: int = 150) -> np.ndarray:
    return np.array([exp(n * np.log(mean) - mean - sum(np.log(range(1, n + 1)))) for n in range(most)])


@pytest.mark.parametrize(
    ("mean", "over", "short", "units", "cost"), [(6, 1, 4, 8, 3.570106946), (50, 0.18, 0.70, 56, 1.797235212)]
)
def test_newsvendor_with_poisson_demand(mean: float, over: float, short: float, units: int, cost: float) -> None:
    """L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, examples 4.7 and 4.1, as read in stockpyl's
    documentation."""
    keep = newsvendor(np.arange(150.0), poisson(mean), over, short)
    assert keep.units == units
    assert keep.cost == pytest.approx(cost, abs=1e-8)


def test_newsvendor_with_normal_demand() -> None:
    """Snyder and Shen, example 4.3 (read likewise): 56.604 and 1.9976; here on a grid of 0.01 units."""
    values = np.arange(0, 110, 0.01)
    edges = [NormalDist(50, 8).cdf(value) for value in np.append(values - 0.005, values[-1] + 0.005)]
    keep = newsvendor(values, np.diff(edges), 0.18, 0.70)
    assert keep.units == pytest.approx(56.604, abs=0.01)
    assert keep.cost == pytest.approx(1.997605, abs=1e-5)


def test_base_stock_with_poisson_demand_over_the_lead_time() -> None:
    """Half a unit a month, three months of lead time: with 1, 2, 3 on hand none is short with 0.809, 0.934, 0.981
    (worked out from the Poisson table)."""
    enough = np.cumsum([exp(-1.5) * 1.5**n / factorial(n) for n in range(5)])
    for units, chance in ((2, 0.8088468), (3, 0.9343576), (4, 0.9814241)):
        wanted = chance - 1e-6
        assert newsvendor(np.arange(150.0), poisson(1.5), 1 - wanted, wanted).units == units
        assert enough[units] == pytest.approx(chance, abs=1e-6)
