"""What the trade does anyway, and what the computation must therefore say. Common practice, no source."""

import pytest

from levelwind.core.hunches import Costs, UnseenOrLook, next_looks, pointed_to, posterior, unseen_or_look
from levelwind.reference.families import families
from levelwind.reference.faults import load_net

FAMILIES = ("star_drag", "fixed_spool")
WITH_A_DISC = (*FAMILIES, "fixed_spool_rear", "low_profile", "lever_drag", "fly")
DRAG_COMPLAINTS = ("The drag slips", "the drag is jerky and sticks", "drag won't hold any more", "No drag at all")


@pytest.mark.parametrize("is_open", [False, True])
@pytest.mark.parametrize("comeback", [40.0, 60.0, 100.0])
@pytest.mark.parametrize("minute", [0.5, 0.8, 1.5])
@pytest.mark.parametrize("complaint", DRAG_COMPLAINTS)
@pytest.mark.parametrize("family", FAMILIES)
def test_when_the_drag_is_the_complaint_look_at_the_washers_first(
    family: str, complaint: str, minute: float, comeback: float, is_open: bool
) -> None:
    """Common practice, no source. Held for a minute at 0.5 to 1.5 and a comeback at 40 to 100, reel whole or open."""
    net = load_net(family)
    seen = {pointed.finding.key: True for pointed in pointed_to(net, complaint)}
    first = next_looks(net, seen, Costs(minute, comeback, is_open=is_open))[0]
    assert first.look.key == "washers"


@pytest.mark.parametrize("complaint", DRAG_COMPLAINTS)
@pytest.mark.parametrize("family", WITH_A_DISC)
def test_in_any_reel_with_a_disc_at_most_one_quick_look_comes_before_its_washers(family: str, complaint: str) -> None:
    """Common practice, no source: a sweep of the lever, a pull or a turn by hand may come first; it opens nothing."""
    net = load_net(family)
    seen = {pointed.finding.key: True for pointed in pointed_to(net, complaint)}
    first, second = (row.look for row in next_looks(net, seen, Costs(0.8, 60.0))[:2])
    assert "washers" in (first.key, second.key)
    assert first.key == "washers" or (first.minutes <= 4 and not first.needs_open)


@pytest.mark.parametrize("complaint", ["said_drag_slips", "said_drag_jerks"])
@pytest.mark.parametrize("family", FAMILIES)
def test_a_ten_dollar_drag_set_is_renewed_on_an_open_reel_even_if_it_looks_sound(family: str, complaint: str) -> None:
    """Common practice, no source. Here where the drag is the complaint; the rough price stands in the data."""
    way = way_with_sound_washers(family, {complaint: True})
    assert way.fault.parts.value == 10
    assert way.best == "unseen"


@pytest.mark.parametrize("family", FAMILIES)
def test_the_drag_set_is_not_left_when_the_whole_reel_is_given_in_hand(family: str) -> None:
    """Common practice, no source: with no complaint at all, sound looks alone are not enough to leave it in."""
    way = way_with_sound_washers(family, {})
    assert way.best != "leave"
    assert way.unseen < way.leave


def way_with_sound_washers(family: str, said: dict[str, bool]) -> UnseenOrLook:
    net = load_net(family)
    sound = {finding.key: False for finding in net.shown_by("washers")}
    ways = unseen_or_look(net, sound | said, Costs(0.8, 60.0, is_open=True))
    return next(way for way in ways if way.fault.key == "washers_worn")


@pytest.mark.parametrize(("family", "residue"), [("star_drag", "leather_residue"), ("fixed_spool", "washer_residue")])
def test_residue_on_the_metal_washers_must_come_off(family: str, residue: str) -> None:
    """Common practice, no source: a stuck or broken leather washer leaves residue that must come off."""
    net = load_net(family)
    seen = {finding.key: finding.key == "washers_residue" for finding in net.shown_by("washers")}
    assert posterior(net, seen).ranked[0].fault.key == residue
    way = next(way for way in unseen_or_look(net, seen, Costs(0.8, 60.0)) if way.fault.key == residue)
    assert way.unseen < way.leave
    assert "Take the residue off wet" in way.fault.mend and "asbestos" in way.fault.note


def test_a_spool_without_end_float_has_its_cast_control_too_tight() -> None:
    """Common practice, no source: some end float must remain in the spool."""
    hunch = posterior(load_net("star_drag"), {"no_float": True, "spin_short": True}).ranked[0]
    assert hunch.fault.key == "cast_control_tight" and "end float must remain" in hunch.fault.note


WORK = {
    "salt_corrosion": ((90, 180), (1, 30)),
    "handle_loose": ((3, 10), (0, 45)),
    "washers_worn": ((2, 10), (4, 40)),
    "gear_worn": ((10, 30), (12, 120)),
    "main_gear_worn": ((10, 30), (12, 120)),
    "low_gear_worn": ((10, 30), (12, 120)),
    "gear_stripped": ((10, 30), (12, 120)),
}
"""Salt damage, handle, drag set, gear and pinion: least and most minutes beside the way in, and what the parts cost in
the currency of the data. Common practice, no source."""


def test_salt_handle_drag_and_gears_cost_in_every_family_what_they_cost_in_the_trade() -> None:
    """Common practice, no source: a reel full of salt is 90 to 180 minutes of work."""
    for key in families():
        net = load_net(key)
        faults = {fault.key: fault for fault in net.faults}
        assert {"salt_corrosion", "handle_loose"} <= set(faults), key
        for name in WORK.keys() & faults.keys():
            (least, most), (cheap, dear) = WORK[name]
            parts = faults[name].parts
            assert least <= faults[name].minutes <= most, (key, name)
            assert cheap <= parts.low <= parts.value <= parts.high <= dear, (key, name)
            assert parts.value > 0, (key, name)
