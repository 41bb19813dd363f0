"""Owners' words: what they point to, and what they must not."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.hunches import Fault, Finding, Net, pointed_to
from tests.core.hunches.nets import UNHURRIED


def net(**says: tuple[str, ...]) -> Net:
    findings = tuple(Finding(key, key, 0.1, {"f": 0.5}, says=patterns) for key, patterns in says.items())
    return Net((Fault("f", "f", 0.1),), (), findings)


NET = net(slips=("drag slip", "drag not hold", "no drag"), grinds=("grind", "rough"), cast=("not cast",), silent=())


@pytest.mark.parametrize(
    ("complaint", "keys"),
    [
        ("The drag slips.", ["slips"]),
        ("DRAG IS SLIPPING", ["slips"]),
        ("slipping drag", ["slips"]),
        ("the drag doesn't slip", []),
        ("The drag doesn’t hold at all", ["slips"]),
        ("drag won't hold", ["slips"]),
        ("the drag holds", []),
        ("There is no drag left", ["slips"]),
        ("it never casts well", ["cast"]),
        ("it casts well", []),
        ("It can't cast", ["cast"]),
        ("The drag is fine but the handle slips", []),
        ("It grinds; the drag slips; won't cast far", ["slips", "grinds", "cast"]),
        ("it grinds and doesn't cast", ["grinds", "cast"]),
        ("background", []),
        ("", []),
        ("😀 \x00 ...", []),
    ],
)
def test_a_complaint_points_to(complaint: str, keys: list[str]) -> None:
    assert [pointed.finding.key for pointed in pointed_to(NET, complaint)] == keys


def test_the_clause_that_points_is_told() -> None:
    (pointed,) = pointed_to(NET, "Bought in 1962. It grinds badly, and I like it.")
    assert pointed.clause == "it grinds badly"


@UNHURRIED
@given(st.text(max_size=300))
def test_any_text_at_all_is_read_and_points_only_to_findings_with_patterns(complaint: str) -> None:
    assert {pointed.finding.key for pointed in pointed_to(NET, complaint)} <= {"slips", "grinds", "cast"}
