"""The tables the drag leans on: whole, typed, with a source on every row, and honest where nothing is published."""

import math

import pytest

from levelwind.core.errors import InputError
from levelwind.reference.gears import Edition, lewis_rows, lewis_y
from levelwind.reference.lines import line_classes
from levelwind.reference.materials import ASBESTOS, CONDITIONS, coefficient, friction_rows, known_materials, solids
from levelwind.reference.springs import disc_spring, disc_springs


def test_every_row_has_a_source_and_says_how_it_was_come_by() -> None:
    editions = [row for edition in Edition for row in lewis_rows(edition)]
    rows = [*friction_rows(), *disc_springs(), *editions, *line_classes(), *solids().values()]
    assert len(rows) == 67 + 44 + 64 + 11 + 22
    assert all(row.source and row.provenance for row in rows)


def test_ranges_run_upwards() -> None:
    assert all(0 < row.mu_low <= row.mu_high < 1 for row in friction_rows())
    assert all(row.yield_MPa is None or 0 < row.yield_MPa[0] < row.yield_MPa[1] for row in solids().values())
    assert all(row.free_mm == pytest.approx(row.thickness_mm + row.cone_mm) for row in disc_springs())


@pytest.mark.parametrize("material", known_materials())
@pytest.mark.parametrize("condition", CONDITIONS)
def test_any_known_pair_has_a_coefficient_with_a_source(material: str, condition: str) -> None:
    found = coefficient(material, "stainless steel", condition)
    assert found.source
    assert found.mu.low < found.mu.value < found.mu.high
    assert coefficient("stainless steel", material, condition) == found


def test_published_range_is_the_interval() -> None:
    """Cork on steel, dry: 0.3 to 0.5, a design guide's clutch and brake lining table."""
    cork = coefficient("cork", "steel", "dry")
    assert (cork.mu.low, cork.mu.high) == (0.3, 0.5)
    assert cork.caution == ""


def test_woven_carbon_is_wide_and_says_so() -> None:
    woven = coefficient("woven carbon lining", "steel", "dry")
    # The table's 0.15 to 0.30 is trusted every other time only; the interval must reach well beyond it.
    assert woven.mu.low < 0.10
    assert woven.mu.high > 0.45
    assert "poorly published" in woven.caution


@pytest.mark.parametrize(
    ("material", "against", "condition", "says"),
    [
        ("felt", "brass", "dry", "Published against iron or steel, used here for brass."),
        ("leather", "steel", "glazed", "the dry figure stands in, its low end halved (assumption)"),
        ("PTFE", "steel", "greased", "Nothing published greased: the oiled figure stands in"),
        ("felt", "cork", "dry", "No published friction of cork on felt, dry: a wide guess"),
        ("unknown friction material", "steel", "dry", ASBESTOS),
        ("woven asbestos", "steel", "dry", ASBESTOS),
    ],
)
def test_what_is_not_published_is_said(material: str, against: str, condition: str, says: str) -> None:
    assert says in coefficient(material, against, condition).caution


@pytest.mark.parametrize(
    ("material", "against", "condition", "says"),
    [
        ("moon cheese", "steel", "dry", "material was 'moon cheese'"),
        ("", "steel", "dry", "material was ''"),
        ("felt", "steel", "frozen", "condition was 'frozen'; allowed is one of dry, oiled"),
    ],
)
def test_what_is_not_known_is_refused(material: str, against: str, condition: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        coefficient(material, against, condition)
    assert says in str(refused.value)


def test_static_figures_do_not_set_a_running_drag() -> None:
    brass = coefficient("brass", "steel", "dry")
    assert brass.mu.value == pytest.approx(0.44)


def test_the_two_lewis_tables_agree_within_three_thousandths() -> None:
    newer = [row.teeth for row in lewis_rows(Edition.NEWER) if math.isfinite(row.teeth)]
    gaps = [abs(lewis_y(teeth, Edition.OLDER) - lewis_y(teeth, Edition.NEWER)) for teeth in newer]
    # The README of the tables: up to 0.003, printed to three decimals.
    assert max(gaps) == pytest.approx(0.003, abs=5e-4)
    assert lewis_y(math.inf, Edition.NEWER) == 0.485


def test_a_tooth_count_beyond_the_table_is_refused() -> None:
    with pytest.raises(InputError, match="number of teeth was 9; allowed is from 10 to 500 in table A"):
        lewis_y(9, Edition.OLDER)


def test_a_spring_that_is_not_standard_is_refused_with_the_sizes_there_are() -> None:
    with pytest.raises(InputError, match=r"disc spring was A 9; allowed is DIN 2093 sizes 8, 10, 12\.5"):
        disc_spring("A", 9)


def test_greased_carbon_is_the_trades_until_a_pull_says_otherwise() -> None:
    """0.14 to 0.21: common practice, no source."""
    carbon = coefficient("woven carbon lining", "steel", "greased")
    assert (carbon.mu.low, carbon.mu.high) == (0.14, 0.21)
    assert "common practice, no source, until a pull says otherwise" in carbon.caution


def test_dry_leather_does_not_hold_twice_what_greased_carbon_holds() -> None:
    """Leather in a reel keeps some of its oil: nobody knows it well, and its interval takes in greased carbon's."""
    leather, carbon = (
        coefficient("leather", "steel", "dry").mu,
        coefficient("woven carbon lining", "steel", "greased").mu,
    )
    assert leather.value < 1.5 * carbon.value
    assert leather.low < carbon.low and leather.high > carbon.high


def test_a_lone_printed_figure_is_half_as_much_again_either_way() -> None:
    """Felt on steel, dry, is printed as 0.22."""
    felt = coefficient("felt", "steel", "dry").mu
    assert (felt.value, felt.low, felt.high) == pytest.approx((0.22, 0.22 / 1.5, 0.33))
