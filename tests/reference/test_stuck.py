"""When it will not come apart: what the book says, and the picture scale drawn from it."""

from math import hypot, pi

import pytest

from levelwind.core.errors import InputError
from levelwind.reference.stuck import FACE_MM, pits, read_stuck, scale_of_corrosion, stuck

ISO_10289 = [0.0, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 25.0, 50.0]
"""Upper limits, in % of the surface, of protection ratings 10 to 1 of ISO 10289:1999, table 1; from memory."""


def rating(share):
    """The protection rating of a defect area in %; over 50 % it is 0."""
    return next((10 - number for number, most in enumerate(ISO_10289) if share <= most), 0)


def test_the_eight_ways_of_being_stuck_are_there_each_with_what_it_takes_risks_and_costs():
    wanted = "seized_screw stuck_washer frozen_sleeve stripped_thread salt hardened_grease cracked_ring bent_foot"
    assert list(stuck().procedures) == wanted.split()
    for procedure in stuck().procedures.values():
        assert procedure.tools and procedure.do and procedure.means and procedure.risks
        assert 0 < procedure.minutes.low <= procedure.minutes.value <= procedure.minutes.high <= 180
        assert 0 <= procedure.breaks.low <= procedure.breaks.high <= 1
    assert stuck().procedures["cracked_ring"].asks and not stuck().procedures["stuck_washer"].asks


@pytest.mark.parametrize(
    ("material", "never"),
    [
        ("celluloid", {"acetone", "alcohol", "heat"}),
        ("hard_rubber", {"spirit", "heat"}),
        ("casein", {"soap", "acid"}),
        ("magnesium", {"acid"}),
        ("paint", {"acetone"}),
        ("plating", {"acid", "brush"}),
    ],
)
def test_what_a_material_never_bears(material, never):
    """Cellulose nitrate dissolves in acetone and burns; ebonite swells in petrol spirit; casein takes up water; acids
    attack magnesium. From memory of textbooks on materials; common practice of restorers, no source."""
    row = stuck().materials[material]
    assert never <= set(row.never) and not set(row.never) & set(row.careful)


@pytest.mark.parametrize("procedure", stuck().procedures.values(), ids=stuck().procedures)
def test_cautions_stand_with_what_is_used_and_what_it_is_made_of(procedure):
    keys = {caution.key for caution in stuck().cautions(procedure, ["celluloid", "magnesium"])}
    assert {"celluloid", "magnesium"} <= keys
    if {"spirit", "alcohol", "acetone"} & set(procedure.means):
        assert {"solvents", "vapour"} <= keys
    if "heat" in procedure.means:
        assert "warming" in keys


def test_the_scale_is_drawn_to_its_shares_and_each_grade_is_a_worse_rating():
    grades = list(stuck().grades.values())
    for grade in grades:
        drawn = pits(grade)
        covered = sum(pi * radius**2 for *_, radius in drawn)
        assert 100 * covered / FACE_MM**2 == pytest.approx(grade.share)
        for number, (x, y, radius) in enumerate(drawn):
            assert radius <= x <= FACE_MM - radius and radius <= y <= FACE_MM - radius
            assert all(hypot(x - a, y - b) >= radius + r - 1e-9 for a, b, r in drawn[:number])
    ratings = [rating(grade.share) for grade in grades]
    assert ratings == sorted(set(ratings), reverse=True) and (ratings[0], ratings[-1]) == (10, 0)
    scale = scale_of_corrosion(grades)
    assert len(scale.bands) == sum(len(pits(grade)) for grade in grades)
    assert scale.to_scale and scale.x.high < 4 * FACE_MM, "wide enough on a phone to tell specks from spots"
    tops = [(marker.x - FACE_MM / 2, marker.y - FACE_MM) for marker in scale.markers]
    assert all(abs(a - c) > FACE_MM or abs(b - d) > FACE_MM for n, (a, b) in enumerate(tops) for c, d in tops[:n])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[procedure]]\nkey = "a"\nname = "a"\nkinds = ["hat"]', "allowed is one of"),
        ('[[material]]\nkey = "a"\nname = "a"\nnever = ["fire"]\nwhy = "x"', "never"),
        ('[[grade]]\nkey = "a"\nname = "a"\nlooks = "x"\nshare = 90\npits_a_side = 3\ntimes = 1', "share"),
        ('[[leave]]\nkey = "a"\nname = "a"\nkinds = []\nsay = "x"\nodd = 1', "odd"),
        ('[[means]]\nkey = "a"\nname = "a"\ncautions = ["none_such"]', "none_such"),
        ("[[means", "TOML"),
    ],
)
def test_a_wrong_row_is_refused_by_its_name(text, said):
    with pytest.raises(InputError, match=said):
        read_stuck(text)
