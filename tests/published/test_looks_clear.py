"""A look that found nothing clears what it was made for. Common practice, no source."""

import pytest

from levelwind.core.hunches import Net, posterior
from levelwind.reference.faults import families_with_hunches, load_net
from tests.full_size import cases

nets = pytest.mark.parametrize("net", [load_net(key) for key in families_with_hunches()], ids=lambda net: net.family)

TELLS = 0.8
"""Links from here up say that a look is made for this fault."""


def sound(net: Net, *looks: str) -> dict[str, bool]:
    return {finding.key: False for look in looks for finding in net.shown_by(look)}


@pytest.mark.parametrize("felt", [{}, {"pull_weak": True}, {"pull_jerky": True}, {"pull_weak": False}])
@pytest.mark.parametrize("said", ["said_drag_slips", "said_drag_jerks"])
@pytest.mark.parametrize("family", ["star_drag", "fixed_spool", "fixed_spool_rear", "low_profile"])
def test_both_faces_of_every_washer_seen_sound_clear_worn_washers(
    family: str, said: str, felt: dict[str, bool]
) -> None:
    net = load_net(family)
    complaint = {said: True, **felt}
    before, after = posterior(net, complaint), posterior(net, complaint | sound(net, "washers"))
    assert after.of("washers_worn").probability < net.fault("washers_worn").prior / 1.5
    assert after.of("washers_worn").probability < after.of("not_listed").probability
    assert after.of("not_listed").probability > 1.5 * before.of("not_listed").probability > net.unlisted


@pytest.mark.parametrize("felt", [{}, {"turns_back": True}])
@pytest.mark.parametrize("family", ["fixed_spool", "fixed_spool_rear"])
def test_clutch_and_lever_seen_sound_clear_the_anti_reverse(family: str, felt: dict[str, bool]) -> None:
    net = load_net(family)
    hunches = posterior(net, {"said_turns_back": True, **felt} | sound(net, "clutch_look"))
    assert hunches.of("anti_reverse_slips").probability < 0.2
    assert hunches.of("anti_reverse_lever").probability < 0.2
    assert hunches.of("not_listed").probability > 0.5


@pytest.mark.sampled
@nets
def test_any_fault_is_cleared_by_the_looks_made_for_it_though_the_owner_complains_of_it(net: Net) -> None:
    for fault in net.faults[:: cases(7, 1)]:
        telling = {
            f.key: False for f in net.findings if f.look and f.links.get(fault.key, 0.0) >= TELLS and not f.unlisted
        }
        complaints = [finding for finding in net.said if finding.links.get(fault.key)]
        for complaint in complaints:
            told, cleared = posterior(net, {complaint.key: True}), posterior(net, {complaint.key: True} | telling)
            name = f"{fault.key} for {complaint.key}"
            assert telling and cleared.of(fault.key).probability < 0.3, name
            assert cleared.of(fault.key).probability < told.of(fault.key).probability / 2, name
            if complaint.unlisted:
                assert cleared.of("not_listed").probability > told.of("not_listed").probability, name


@nets
def test_what_is_not_on_the_list_can_bring_about_whatever_an_owner_complains_of(net: Net) -> None:
    assert net.unlisted
    assert all(finding.unlisted for finding in net.said if finding.key != "said_salt")
    in_the_hand = [finding for finding in net.findings if finding.look and net.look(finding.look).needs_open]
    assert not any(finding.unlisted for finding in in_the_hand)
