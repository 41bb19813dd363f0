"""Choosing from the shelf: exact, by comparison with trying each stack by hand."""

from itertools import product

import numpy as np
import pytest

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.model import stack_from_dict
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.search import Candidate, Wanted, best_stacks
from levelwind.core.drag.torque import torque_Nm
from levelwind.core.errors import InputError, NotDeterminedError
from tests.core.drag.stacks import THREE_BETWEEN_ALTERNATE_PLATES, body, stack

OPEN = stack(*THREE_BETWEEN_ALTERNATE_PLATES)
WANTED = Wanted(height_m=(6.8e-3, 7.2e-3), clamp_N=200.0, wanted_Nm=1.0, most_clamp_N=400.0, most_Nm=2.5)


def candidate(key: str, count: int = 9, **more) -> Candidate:
    plain = stack_from_dict({"bodies": [body("gear"), body("friction", name=key, **more), body("cap")]})
    return Candidate(key, plain.bodies[1], count)


THIN = candidate("thin felt", thickness_mm=0.8, friction=0.22)
CORK = candidate("cork", thickness_mm=1.1, friction=0.39)
CARBON = candidate("carbon", thickness_mm=1.0, friction=0.21)
SMALL = candidate("small carbon", thickness_mm=1.0, friction=0.21, outer_diameter_mm=18)
SHELF = {place: [THIN, CORK, CARBON, SMALL] for place in (1, 3, 5)}


def test_the_first_is_the_best_of_all_tried_one_by_one() -> None:
    best = best_stacks(OPEN, SHELF, WANTED, keep=64)
    assert len(best) == 4**3
    scored = {}
    for trio in product(SHELF[1], repeat=3):
        bodies = list(OPEN.bodies)
        for place, one in zip((1, 3, 5), trio, strict=True):
            bodies[place] = one.body
        tried = type(OPEN)(tuple(bodies))
        height = sum(b.thickness_m for b in bodies)
        torque = torque_Nm(tried, find_contacts(tried), 200.0, Assumption.WEAR)
        broken = (abs(height - 7e-3) > 0.2e-3 * (1 + 1e-9)) + (2 * torque > 2.5)
        scored[tuple(one.key for one in trio)] = (broken, abs(height - 7e-3) / 0.2e-3 + abs(np.log2(torque / 1.0)))
    for choice in best:
        broken, score = scored[choice.keys]
        assert choice.score == pytest.approx(score, rel=1e-9)
        assert choice.too_strong + choice.too_high_or_low == broken
    assert min(scored.values()) == pytest.approx(scored[best[0].keys])


def test_no_more_is_used_than_there_is() -> None:
    shelf = {place: [candidate("carbon", count=2, friction=0.21), CORK] for place in (1, 3, 5)}
    best = best_stacks(OPEN, shelf, WANTED, keep=99)
    assert all(choice.keys.count("carbon") <= 2 for choice in best)
    assert len(best) == 7


def test_what_is_too_strong_or_too_high_comes_last_and_says_so() -> None:
    best = best_stacks(OPEN, SHELF, WANTED, keep=64)
    broken = [choice.too_strong + choice.too_high_or_low for choice in best]
    assert broken == sorted(broken)
    assert broken[0] == 0
    assert broken[-1] > 0


def test_washers_that_would_miss_each_other_are_no_choice() -> None:
    narrow = stack("gear", "friction", body("keyed", inner_diameter_mm=20.0), "friction", "cap")
    with pytest.raises(NotDeterminedError, match="No stack can be made"):
        best_stacks(narrow, {1: [SMALL]}, WANTED)


def test_more_washers_than_can_be_tried_are_refused() -> None:
    many = [candidate(f"washer {i}") for i in range(70)]
    with pytest.raises(InputError, match="choices was 343000; allowed is up to 300000"):
        best_stacks(OPEN, dict.fromkeys((1, 3, 5), many), WANTED)


@pytest.mark.parametrize("places", [{}, {9: [THIN]}, {1: []}])
def test_places_that_are_not_there_are_refused(places: dict) -> None:
    with pytest.raises(InputError, match="places to fill"):
        best_stacks(OPEN, places, WANTED)


@pytest.mark.parametrize(
    ("change", "says"), [({"height_m": (2.0, 1.0)}, "height wanted"), ({"most_clamp_N": 10.0}, "drag wanted")]
)
def test_wants_that_cannot_be_are_refused(change: dict, says: str) -> None:
    with pytest.raises(InputError, match=says):
        Wanted(
            **(
                {"height_m": (1.0, 2.0), "clamp_N": 20.0, "wanted_Nm": 1.0, "most_clamp_N": 40.0, "most_Nm": 2.0}
                | change
            )
        )
