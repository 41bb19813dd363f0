"""Stacks as plain data: there and back, and every refusal names the value."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.model import stack_from_dict
from levelwind.core.errors import InputError
from tests.core.drag.stacks import THREE_BETWEEN_ALTERNATE_PLATES, body, stack


def test_a_stack_survives_a_json_field() -> None:
    built = stack(
        *THREE_BETWEEN_ALTERNATE_PLATES[:-1],
        body("cap", key_diameter_mm=8.25, material="brass"),
        condition="greased",
        key_friction=0.12,
    )
    assert stack_from_dict(json.loads(json.dumps(built.as_dict()))) == built


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"inner_diameter_mm": 26}, "inner diameter of friction was 26 mm; allowed is from 0 to less than the outer"),
        ({"thickness_mm": -1}, "thickness of friction was -1 mm; allowed is from 0.001 to 50 mm"),
        ({"thickness_mm": 1e-300}, "thickness of friction was 1e-300 mm; allowed is from 0.001 to 50 mm"),
        ({"thickness_mm": "1"}, "thickness_mm of friction was '1'; allowed is a number"),
        ({"outer_diameter_mm": float("nan")}, "outer_diameter_mm of friction was nan"),
        ({"outer_diameter_mm": 10**5000}, "outer_diameter_mm of friction was too large"),
        ({"outer_diameter_mm": True}, "outer_diameter_mm of friction was True"),
        ({"outer_diameter_mm": None}, "outer_diameter_mm of friction was missing"),
        ({"kind": "sponge"}, "kind of friction was 'sponge'; allowed is flange, gear, friction"),
        ({"tie": "spool"}, "tie of friction was 'spool'; allowed is gear, sleeve, floating"),
        ({"colour": "red"}, "entry in body 2 was 'colour'"),
        ({"friction": 0}, "was 0; allowed is over 0 and up to 2"),
        ({"friction": {"value": 0.2, "low": 0.3, "high": 0.4}}, "was 0.2, 0.3 to 0.4; allowed is"),
        ({"friction": "high"}, "friction of friction was str"),
        ({"bonded": "yes"}, "bonded of friction was 'yes'"),
        ({"inner_diameter_mm": 4, "outer_diameter_mm": 9}, "rings that do not touch"),
        ({"key_diameter_mm": 0}, "key diameter of friction was 0 mm"),
        ({"name": "x" * 500}, "name of body 2"),
    ],
)
def test_a_bad_body_is_refused_by_name(change: dict[str, Any], says: str) -> None:
    washer = {**body("friction"), **change}
    with pytest.raises(InputError) as refused:
        stack_from_dict({"bodies": [body("gear"), washer, body("keyed")]})
    assert says in str(refused.value)


@pytest.mark.parametrize(
    ("plain", "says"),
    [
        (None, "stack was NoneType"),
        ({"bodies": "gear"}, "bodies of the stack was str"),
        ({"bodies": []}, "number of bodies in the stack was 0; allowed is 2 to 60"),
        ({"bodies": [body("gear")] * 61}, "bodies of the stack was list; allowed is a list of 2 to 60"),
        ({"bodies": [body("gear"), body("friction")]}, "without any body held by the sleeve"),
        ({"bodies": [body("keyed"), body("friction")]}, "without any body turned by the gear"),
        ({"bodies": [3, 4]}, "body 1 was int"),
        ({"bodies": [body("gear"), body("cap")], "key_friction": 1.5}, "friction along keys and ears was 1.5"),
        ({"bodies": [body("gear"), body("cap")], "condition": 3}, "condition of stack was 3"),
    ],
)
def test_a_bad_stack_is_refused_by_name(plain: object, says: str) -> None:
    with pytest.raises(InputError) as refused:
        stack_from_dict(plain)
    assert says in str(refused.value)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(["bodies", "name", "kind"]), inner),
    max_leaves=12,
)


@given(JSON)
def test_anything_that_is_not_a_stack_is_refused_in_words(data: object) -> None:
    with pytest.raises(InputError):
        stack_from_dict(data)


def test_metal_on_metal_without_a_coefficient_is_refused() -> None:
    with pytest.raises(InputError, match="friction between gear and cap was not given"):
        find_contacts(stack("gear", "cap"))


def test_metal_between_bodies_of_one_side_needs_no_coefficient() -> None:
    contacts = find_contacts(stack("gear", "friction", "keyed", "cap"))
    assert [surface.carries for surface in contacts] == [True, True, False]
