"""The tables of standard parts against their standards' own rules, printed limits and a second source."""

import csv
import re
from pathlib import Path

import pytest

from levelwind.core.fits.apart import look_alikes
from levelwind.core.fits.nuts import association_nut_mm, iso_nut_mm, unified_nut_mm
from levelwind.reference.bearings import bearings
from levelwind.reference.rings import orings, retaining_rings
from levelwind.reference.standard_parts import BUILDERS, table

ROOT = Path(__file__).parents[2]
TABLES = ROOT / "src/levelwind/reference/tables"
INCH = 25.4


def threads(system: str) -> list[dict[str, str]]:
    with (TABLES / "threads.csv").open(encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if row["system"] == system]


def test_metric_screws_have_the_limits_that_iso_965_computes() -> None:
    """es(g) = 15 + 11 P and Td(6) = 180 P^(2/3) - 3.15 / sqrt(P), in um with P in mm (ISO 965-1, from memory).

    The standard rounds a tolerance to a series of preferred numbers: by at most 3 %, and a little for what is printed.
    """
    for row in threads("ISO metric"):
        size, pitch, least, most = (
            float(row[key]) for key in ("nominal_major_mm", "pitch_mm", "major_min_mm", "major_max_mm")
        )
        below = (15 + 11 * pitch) / 1000 if row["tolerance_class"] == "6g" else 0.0
        assert size - most == pytest.approx(below, abs=0.0015), row["designation"]
        assert most - least == pytest.approx((180 * pitch ** (2 / 3) - 3.15 / pitch**0.5) / 1000, rel=0.035)


def test_inch_screws_have_the_limits_that_asme_b1_1_computes() -> None:
    """2A: allowance 0.3 (0.0015 D^(1/3) + 0.0015 sqrt(D) + 0.015 P^(2/3)), tolerance 0.06 P^(2/3), in inches.

    For an engagement of one diameter (ASME B1.1, from memory). Printed to 0.0001 in.
    """
    for row in threads("Unified"):
        size, pitch, least, most = (
            float(row[key]) / INCH for key in ("nominal_major_mm", "pitch_mm", "major_min_mm", "major_max_mm")
        )
        allowance = 0.3 * (0.0015 * size ** (1 / 3) + 0.0015 * size**0.5 + 0.015 * pitch ** (2 / 3))
        assert size - allowance == pytest.approx(most, abs=0.0001), row["designation"]
        assert most - least == pytest.approx(0.06 * pitch ** (2 / 3), abs=0.0001), row["designation"]


def test_association_screws_have_the_limits_of_bs_93() -> None:
    """Normal bolts: 0.20 p and 0.025 mm below size to 10BA, 0.25 p from 11BA on (a public document on BS 93:1951)."""
    for row in threads("British Association"):
        size, pitch, least, most = (
            float(row[key]) for key in ("nominal_major_mm", "pitch_mm", "major_min_mm", "major_max_mm")
        )
        small = int(row["designation"].removesuffix("BA")) > 10
        assert most == pytest.approx(size - (0.0 if small else 0.025), abs=1e-9)
        assert most - least == pytest.approx((0.25 if small else 0.20) * pitch, abs=0.001)


@pytest.mark.parametrize(
    ("rule", "size", "pitch", "printed", "within"),
    [
        # ISO 965-1 and -2, 6H minor diameters as printed (from memory); the tolerance is rounded by up to 5 %.
        (iso_nut_mm, 2.0, 0.4, (1.567, 1.679), 0.003),
        (iso_nut_mm, 3.0, 0.5, (2.459, 2.599), 0.006),
        (iso_nut_mm, 4.0, 0.7, (3.242, 3.422), 0.001),
        (iso_nut_mm, 5.0, 0.8, (4.134, 4.334), 0.002),
        (iso_nut_mm, 6.0, 1.0, (4.917, 5.153), 0.007),
        (iso_nut_mm, 8.0, 1.25, (6.647, 6.912), 0.005),
        (iso_nut_mm, 10.0, 1.5, (8.376, 8.676), 0.006),
        # ASME B1.1, 2B minor diameters in inches as printed (from memory), 0.0001 in or, for the two, 0.001 in.
        (unified_nut_mm, 0.060 * INCH, INCH / 80, (0.0465 * INCH, 0.0514 * INCH), 0.0035),
        (unified_nut_mm, 0.112 * INCH, INCH / 40, (0.0849 * INCH, 0.0939 * INCH), 0.0035),
        (unified_nut_mm, 0.138 * INCH, INCH / 32, (0.104 * INCH, 0.114 * INCH), 0.014),
        (unified_nut_mm, 0.190 * INCH, INCH / 32, (0.156 * INCH, 0.164 * INCH), 0.014),
        (unified_nut_mm, 0.250 * INCH, INCH / 20, (0.196 * INCH, 0.207 * INCH), 0.014),
        # BS 93 worked: 2BA has a basic minor diameter of 3.73 mm, and 0.375 p = 0.304 mm above it.
        (association_nut_mm, 4.7, 0.81, (3.73, 4.034), 0.003),
    ],
)
def test_nuts_have_the_limits_that_are_printed(rule, size, pitch, printed, within) -> None:
    assert rule(size, pitch) == pytest.approx(printed, abs=within)


def test_a_bearing_is_what_its_number_says() -> None:
    """MRnm has an outside of n and a bore of m; 60n, 62n, 63n, 68n and 69n a bore of n (the trade's numbering)."""
    for row in bearings():
        if found := re.fullmatch(r"MR(\d+)(\d)", row.size):
            assert (row.outer_mm, row.bore_mm) == (float(found[1]), float(found[2])), row.designation
        if found := re.fullmatch(r"6[02389](\d)", row.size):
            assert row.bore_mm == float(found[1]), row.designation
        assert (
            row.size in row.designation.replace("/", "") or row.size in row.designation or row.second_source or row.note
        )
        assert row.bore_mm < row.outer_mm and (row.flange_mm is None or row.flange_mm > row.outer_mm)
    assert sum(bool(row.second_source) for row in bearings()) == 49


def test_open_shielded_and_flanged_bearings_of_one_size_share_bore_and_outside() -> None:
    sizes: dict[str, set[tuple[float, float]]] = {}
    for row in bearings():
        sizes.setdefault(row.size, set()).add((row.bore_mm, row.outer_mm))
    assert not {size: each for size, each in sizes.items() if len(each) > 1}


def test_o_rings_have_the_sizes_that_their_codes_count_off() -> None:
    """AS568: one 16th (32nds in the smallest of the 1xx) less 0.011 or 0.013 in; BS 4518 and JIS say it in the code."""
    for row in orings():
        if row.standard == "AS568" and (number := int(row.designation.removeprefix("AS568-"))) >= 10:
            steps = (row.inside_mm / INCH + (0.011 if number < 100 else 0.013)) * 32
            assert steps == pytest.approx(round(steps), abs=0.05), row.designation
            assert row.section_mm == (1.78 if number < 100 else 2.62)
        elif row.standard == "BS 4518":
            inside, section = row.designation.removeprefix("BS 4518 ").split("-")
            assert (row.inside_mm, row.section_mm) == (int(inside) / 10, int(section) / 10)
        elif found := re.fullmatch(r"JIS B 2401 P([\d.]+)(A?)", row.designation):
            assert 0.05 < float(found[1]) - row.inside_mm < 0.35, row.designation
        elif row.standard == "metric, trade":
            assert row.designation == f"{row.inside_mm:g}x{row.section_mm:g}"


def test_clips_have_grooves_that_hold_them_and_the_printed_ones() -> None:
    """DIN 471: 5 has a groove of 4.8 and is 0.6 thick, 8 of 7.6 and 0.8, 10 of 9.6 and 1.0 (from memory)."""
    by_name = {row.designation: row for row in retaining_rings()}
    for name, groove, thickness in [("DIN 471 5", 4.8, 0.6), ("DIN 471 8", 7.6, 0.8), ("DIN 471 10", 9.6, 1.0)]:
        assert (by_name[name].groove_mm, by_name[name].thickness_mm) == (groove, thickness)
    for row in retaining_rings():
        if row.standard == "DIN 6799":
            assert row.groove_mm == row.nominal_mm < (row.shaft_mm or (0.0, 0.0))[0]
        else:
            assert (row.groove_mm < row.nominal_mm) is (row.standard == "DIN 471")


@pytest.mark.parametrize("kind", BUILDERS)
def test_designations_are_unique_and_every_row_has_its_source(kind: str) -> None:
    rows = table(kind).candidates
    assert len({each.name for each in rows}) == len(rows)
    assert all(each.source and each.basis for each in rows)


def test_the_docs_list_every_pair_that_a_caliper_cannot_tell_apart() -> None:
    page = (ROOT / "docs/physics/fits.md").read_text(encoding="utf-8")
    for kind in ("thread", "nut", "bearing", "clip", "bore_clip", "spring"):
        [listed] = re.findall(rf"<!-- {kind} -->\n(.*?)\n\n", page + "\n\n", re.DOTALL)
        pairs = tuple(tuple(pair.split(" / ")) for pair in listed.replace("\n", " ").rstrip(".").split(", "))
        assert (pairs if listed != "None." else ()) == look_alikes(table(kind)), kind
    assert f"O-rings: {len(look_alikes(table('oring')))} pairs" in page
