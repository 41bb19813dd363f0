"""Threads: pitch diameters against published ones, the ways a designation is written, and what is refused."""

import pytest

from levelwind.core.drag.clamp import tightening_Nm_per_N
from levelwind.core.errors import InputError
from levelwind.reference.threads import LONGEST, designations, standard_threads, thread

BASIC_PITCH_DIAMETER_MM = {
    # ISO 724:1993, basic dimensions, d2, printed to 0.001 mm (from memory).
    "M3x0.5": 2.675,
    "M4x0.7": 3.545,
    "M5x0.8": 4.480,
    "M6x1": 5.350,
    "M8x1": 7.350,
    "M10x1.5": 9.026,
    "M12x1.25": 11.188,
    # ASME B1.1, basic pitch diameter, printed in inches to 0.0001 (from memory): half of that is 0.0013 mm.
    "#6-32 UNC": 0.1177 * 25.4,
    "#10-32 UNF": 0.1697 * 25.4,
    "1/4-20 UNC": 0.2175 * 25.4,
    "1/4-28 UNF": 0.2268 * 25.4,
    "3/8-24 UNF": 0.3479 * 25.4,
    # BS 93, effective diameter, printed to 0.005 mm (the table's own column).
    "2BA": 4.215,
}


@pytest.mark.parametrize(("designation", "published_mm"), BASIC_PITCH_DIAMETER_MM.items())
def test_pitch_diameter_is_the_published_one(designation: str, published_mm: float) -> None:
    assert 1000 * thread(designation).pitch_diameter_m == pytest.approx(published_mm, abs=0.0014)


def test_british_association_effective_diameter_is_six_tenths_of_a_pitch_below_the_major() -> None:
    """BS 93: depth of thread 0.6 p. The table rounds to 0.005 mm."""
    rows = [row for row in standard_threads() if row.system == "British Association"]
    assert len(rows) == 17
    for row in rows:
        assert row.pitch_diameter_m == pytest.approx(row.major_diameter_m - 0.6 * row.pitch_m, abs=0.006e-3)
        assert row.half_angle_deg == 23.75


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("M6x1", "M6x1"),
        (" m 6 X 1.0 ", "M6x1"),
        ("M6 × 1", "M6x1"),
        ("M6", "M6x1"),
        ("M8x1", "M8x1"),
        ("M8", "M8x1.25"),
        ("M10x1,5", "M10x1.5"),
        ("M5x.8", "M5x0.8"),
        ("M6x1-6g", "M6x1"),
        ("1/4-28 UNF", "1/4-28 UNF"),
        ("1/4-28", "1/4-28 UNF"),
        ("¼ - 28 unf", "1/4-28 UNF"),
        ("6-32", "#6-32 UNC"),
        ("No. 6-32 UNC-2A", "#6-32 UNC"),
        ("2BA", "2BA"),
        ("BA 2", "2BA"),
        ("0 ba", "0BA"),
    ],
)
def test_a_designation_may_be_written_as_people_write_it(written: str, meant: str) -> None:
    assert thread(written).designation == meant


def test_every_designation_finds_its_own_row_and_no_two_rows_share_one() -> None:
    assert len(set(designations())) == len(designations()) == 98
    assert [thread(name) for name in designations()] == list(standard_threads())
    assert all(row.source and row.provenance for row in standard_threads())


@pytest.mark.parametrize(
    ("written", "near"),
    [
        ("M5x0.9", "M5x0.8, M5x0.5"),
        ("1/4-32", "1/4-28 UNF"),
        ("1/4-20 UNF", "1/4-28 UNF, 1/4-20 UNC"),
        ("17BA", "7BA"),
        ("M", "M6x1"),
        ("", "M6x1"),
        ("6x1", "M6x1"),
        ("M6x0", "M6x"),
        ("M" + "9" * 100_000, "a standard thread, such as"),
        ("\0\n💥", "M6x1"),
    ],
)
def test_an_unknown_thread_is_refused_with_the_nearest_there_are(written: str, near: str) -> None:
    with pytest.raises(InputError) as refused:
        thread(written)
    assert "thread was" in str(refused.value) and near in str(refused.value).partition("allowed")[2]
    assert len(str(refused.value)) < 4 * LONGEST + 100


def test_the_clamp_formula_takes_the_thread_as_it_stands() -> None:
    """M6, friction 0.15 on flank and collar, collar of 7.5 mm: nut factor 0.1986 (example SC, Shigley section 8-8)."""
    assert float(tightening_Nm_per_N(thread("M6").turning(3.75e-3), 0.15, 0.15)) / 6e-3 == pytest.approx(
        0.1986, abs=1e-4
    )
