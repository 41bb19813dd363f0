"""The net of all that kinds of reels share."""

import pytest

from levelwind.core.errors import InputError
from levelwind.core.hunches import Fault, Finding, Look, Net, chance_seen, posterior, shared

LOOKS = (Look("outside", "look", 1.0),)


def _net(salt: float, own: str, link: float) -> Net:
    faults = (Fault("salt", "salt", salt, places=("frame",)), Fault(own, own, 0.5))
    return Net(faults, LOOKS, (Finding("bloom", "bloom", 0.1, {"salt": 0.8, own: link}, "outside"),))


def test_chances_stay_and_what_is_left_out_still_brings_a_sight_about() -> None:
    """Pearl 1988, section 4.3.2: with independent faults, P(not seen) is the product of 1 - prior * link."""
    one = shared([(_net(0.2, "dog", 0.4), 1.0), (_net(0.2, "bail", 0.4), 5.0)], "any")
    assert [fault.key for fault in one.faults] == ["salt"] and one.faults[0].places == ()
    seen = posterior(one, {"bloom": True}).of("salt").probability
    evidence = 1 - 0.9 * (1 - 0.2 * 0.8) * (1 - 0.5 * 0.4)
    assert seen == pytest.approx(0.2 * (1 - 0.9 * 0.2 * (1 - 0.5 * 0.4)) / evidence)


def test_weights_count_and_nothing_to_share_is_refused() -> None:
    two = shared([(_net(0.2, "dog", 0.0), 3.0), (_net(0.4, "bail", 0.0), 1.0)], "any")
    assert two.fault("salt").prior == pytest.approx(0.25)
    assert chance_seen(two, "bloom", ["salt"]) == pytest.approx(0.82)
    with pytest.raises(InputError, match="nets to share"):
        shared([], "any")
    with pytest.raises(InputError, match="number of faults"):
        shared([(Net((Fault("a", "a", 0.1),), (), ()), 1.0), (Net((Fault("b", "b", 0.1),), (), ()), 1.0)], "any")
