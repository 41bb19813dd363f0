"""Disc springs: the formula of DIN 2092 against the loads DIN 2093 prints.

Loads are printed for deflections rounded to 0.01 mm, and the table may have been made with either; so each row is
met with the exact deflection or the printed one, whichever is nearer, as its compiler did. We allow
0.5 % where the printed load has three figures; over all rows the worst is under 0.6 % (a load printed to two figures).
"""

import numpy as np
import pytest

from levelwind.core.drag.springs import DiscSpring, SpringPack, disc_force_N, k1, pack_force_N
from levelwind.reference.springs import DiscSpringRow, disc_spring, disc_springs

NAMES = [f"{row.series} {row.outer_mm:g} {row.load_N:g} N" for row in disc_springs()]


def differences_percent(row: DiscSpringRow) -> tuple[float, float]:
    pressed = np.array([0.75 * row.cone_mm, row.printed_mm]) / 1000
    exact, printed = 100 * (disc_force_N(row.spring, pressed) / row.load_N - 1)
    return float(exact), float(printed)


def test_k1() -> None:
    """Reference value in the tests of a public program; closed form of DIN 2092."""
    assert k1(2.0) == pytest.approx(0.6943332, abs=1e-8)


@pytest.mark.parametrize("row", disc_springs(), ids=NAMES)
def test_every_row_of_the_table(row: DiscSpringRow) -> None:
    """DIN 2093 series A, B and C; each row's source stands in the table."""
    assert min(abs(d) for d in differences_percent(row)) < 0.6


def test_the_table_is_whole() -> None:
    """44 rows, the worst 0.54 %, of the smallest spring of series C, whose load is printed to two figures."""
    assert len(disc_springs()) == 44
    worst = max(disc_springs(), key=lambda row: min(abs(d) for d in differences_percent(row)))
    assert (worst.series, worst.outer_mm, worst.load_N) == ("C", 8.0, 39.0)
    assert min(differences_percent(worst)) == pytest.approx(0.54345, abs=1e-5)


@pytest.mark.parametrize(
    ("series", "outer_mm", "load_N", "tolerance_N"),
    [
        ("A", 8, 210, 1.05),
        ("A", 12.5, 673, 3.365),
        ("A", 25, 2910, 14.55),
        ("B", 8, 119, 0.595),
        ("B", 12.5, 291, 1.455),
        ("B", 50, 4760, 23.8),
        ("C", 16, 155, 0.775),
        ("C", 25, 601, 3.005),
    ],
)
def test_printed_loads(series: str, outer_mm: float, load_N: float, tolerance_N: float) -> None:
    """Eight springs of series A, B and C: DIN 2093 at the printed deflection, within 0.5 %."""
    row = disc_spring(series, outer_mm)
    assert row.load_N == load_N
    assert disc_force_N(row.spring, row.printed_mm / 1000) == pytest.approx(load_N, abs=tolerance_N)


def test_parallel_series_and_their_friction() -> None:
    """Two in parallel give 2 F at s, three in series F at 3 s; DIN 2092 friction 1/(1 - wM (n - 1) - wR)."""
    spring = DiscSpring(8e-3, 4.2e-3, 0.4e-3, 0.2e-3)
    one = disc_force_N(spring, 0.15e-3)
    assert pack_force_N(SpringPack(spring, parallel=2), 0.15e-3) == pytest.approx(2 * one, rel=1e-12)
    assert pack_force_N(SpringPack(spring, series=3), 0.45e-3) == pytest.approx(one, rel=1e-12)
    rubbing = SpringPack(spring, parallel=2, edge_friction=0.03, face_friction=0.02)
    assert pack_force_N(rubbing, 0.15e-3) / (2 * one) == pytest.approx(1 / 0.95, abs=1e-12)
