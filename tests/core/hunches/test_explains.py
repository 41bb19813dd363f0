"""What explains a complaint: the link itself as one more thing that is there or not, by enumeration."""

from dataclasses import replace

import pytest
from hypothesis import given

from levelwind.core.hunches import Fault, Finding, Net, posterior
from tests.core.hunches.nets import UNHURRIED, nets_with_sights, weighed


def at_work(net: Net, seen: dict[str, bool], fault: str, complaint: str) -> float:
    """P(fault there and its link to the complaint at work | seen): with the link kept idle, the rest is left."""
    finding = net.finding(complaint)
    idle = replace(finding, links={key: link for key, link in finding.links.items() if key != fault})
    without = replace(net, findings=tuple(idle if f.key == complaint else f for f in net.findings))
    link = finding.links.get(fault, 0.0)
    whole = sum(weight for _, weight in weighed(net, seen))
    left = sum(w * (1 - link if fault in there else 1.0) for there, w in weighed(without, seen))
    return (whole - left) / whole


@UNHURRIED
@given(nets_with_sights())
def test_a_fault_explains_with_the_chance_that_its_link_is_at_work(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    complaints = [finding.key for finding in net.said if seen.get(finding.key)]
    hunches = posterior(net, seen)
    for hunch in hunches.ranked:
        expected = max((at_work(net, seen, hunch.fault.key, key) for key in complaints), default=0.0)
        assert hunch.explains == pytest.approx(expected, abs=1e-9)
        assert hunch.explains <= hunch.probability + 1e-12
    assert hunches.explaining + hunches.due == hunches.ranked
    assert [h.explains for h in hunches.explaining] == sorted((h.explains for h in hunches.explaining), reverse=True)
    assert [h.probability for h in hunches.due] == sorted((h.probability for h in hunches.due), reverse=True)


def test_what_is_there_anyway_is_not_held_up_as_the_reason() -> None:
    slips = Finding("slips", "it slips", 0.02, {"worn": 0.8, "grease": 0.01})
    net = Net((Fault("worn", "worn", 0.3), Fault("grease", "old grease", 0.9)), (), (slips,))
    hunches = posterior(net, {"slips": True})
    assert [hunch.fault.key for hunch in hunches.explaining] == ["worn"]
    assert [hunch.fault.key for hunch in hunches.due] == ["grease"]
