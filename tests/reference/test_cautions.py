import pytest

from levelwind.core.errors import InputError
from levelwind.reference.cautions import cautions, named

HEADLINE_LENGTH = 60
"""Characters that stand on one line of a phone card."""


@pytest.mark.parametrize("caution", cautions().values(), ids=cautions())
def test_a_caution_fits_a_card_and_says_where_it_comes_from(caution):
    assert 0 < len(caution.headline) <= HEADLINE_LENGTH
    assert 1 <= caution.text.count(". ") + 1 <= 2
    assert len(caution.text) <= 280
    assert caution.basis in ("read", "memory", "derived")
    assert caution.source


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("springs", "before this step, not after"),
        ("solvents", "never pour it into a heated bath"),
        ("solvents", "flash point"),
        ("solvents", "Ventilate"),
        ("old_friction", "No dry brushing"),
        ("old_friction", "no air line"),
        ("lithium_post", "Ask your carrier"),
        ("aerosol_post", "carrier's current rules"),
        ("old_parts", "local rules"),
        ("estimates", "local rules"),
        ("taxes_guarantees", "where you and the owner are"),
        ("computed_limit", "no guarantee"),
    ],
)
def test_each_caution_keeps_the_words_that_matter(key, said):
    assert said in cautions()[key].text


@pytest.mark.parametrize("key", ["line_and_hooks", "hot_drag", "clips"])
def test_the_other_hazards_of_the_bench_have_a_card(key):
    assert named([key])[0].headline


def test_cautions_come_in_the_order_asked_and_an_unknown_one_is_refused():
    assert [caution.key for caution in named(["clips", "springs"])] == ["clips", "springs"]
    with pytest.raises(InputError, match=r"'lasers'.*springs"):
        named(["lasers"])


def test_flash_points_are_those_of_the_source():
    """VM&P naphtha 20 to 55 F (-7 to 13 C): NIOSH/OSHA card, CAS 8032-32-4 (read). Acetone -18 C (web page)."""
    low, high = ((fahrenheit - 32) / 1.8 for fahrenheit in (20, 55))
    assert f"{low:.0f} to {high:.0f} C" in cautions()["solvents"].text
    assert "acetone (-18 C)" in cautions()["solvents"].text
