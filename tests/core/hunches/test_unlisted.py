"""Something not on the list: the same numbers as a fault like any other would have, and money that leaves it out."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.hunches import Costs, Fault, Finding, Look, Net, next_looks, pairs, posterior, unseen_or_look
from levelwind.core.quantities import Quantity
from tests.core.hunches.nets import LINKS, PRIORS, UNHURRIED, nets_with_sights, share


@st.composite
def open_nets(draw: st.DrawFn) -> tuple[Net, dict[str, bool]]:
    """A net with something not on its list, and what was seen."""
    net, seen = draw(nets_with_sights())
    findings = tuple(replace(finding, unlisted=draw(LINKS)) for finding in net.findings)
    return replace(net, findings=findings, unlisted=draw(PRIORS)), seen


def with_it_listed(net: Net) -> Net:
    """The same net with that something as one more fault of the list."""
    findings = tuple(
        replace(finding, links={**finding.links, "not_listed": finding.unlisted}, unlisted=0.0)
        for finding in net.findings
    )
    return replace(net, faults=(*net.faults, Fault("not_listed", "it", net.unlisted)), findings=findings, unlisted=0.0)


@UNHURRIED
@given(open_nets())
def test_it_and_all_others_have_the_probability_that_enumeration_gives(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    listed, hunches = with_it_listed(net), posterior(net, seen)
    assert len(hunches.ranked) == len(net.faults) + 1
    for fault in listed.faults:
        assert hunches.of(fault.key).probability == pytest.approx(share(listed, seen, fault.key), rel=1e-9, abs=1e-12)


@UNHURRIED
@given(open_nets())
def test_what_moved_it_none_at_all_and_the_evidence_are_as_if_it_were_listed(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    there, listed = posterior(net, seen), posterior(with_it_listed(net), seen)
    assert (there.none, there.log_evidence) == pytest.approx((listed.none, listed.log_evidence), abs=1e-9)
    for hunch in listed.ranked:
        moved = {move.key: move.change for move in there.of(hunch.fault.key).moved}
        assert moved == pytest.approx({move.key: move.change for move in hunch.moved}, abs=1e-9)


@UNHURRIED
@given(open_nets())
def test_pairs_are_as_if_it_were_listed(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    listed = pairs(with_it_listed(net), seen)[:-1, :-1]
    assert pairs(net, seen) == pytest.approx(listed, rel=1e-9, abs=1e-12)


def test_with_a_list_taken_as_whole_there_is_no_such_hunch() -> None:
    net = Net((Fault("worn", "worn", 0.3),), (), (Finding("slips", "slips", 0.1, {"worn": 0.8}),))
    assert [hunch.fault.key for hunch in posterior(net, {"slips": True}).ranked] == ["worn"]


SLIPS = Finding("slips", "the drag slips", 0.02, {"worn": 0.8}, unlisted=0.5)
THIN = Finding("thin", "thin washers", 0.01, {"worn": 0.97}, look="washers")
LOOKED = Net((Fault("worn", "worn washers", 0.4),), (Look("washers", "Look.", 3),), (SLIPS, THIN), unlisted=0.05)


def test_it_rises_as_the_others_fall() -> None:
    """By hand: P(slips) by it alone 0.05 · (1 − 0.98 · 0.5) = 0.0255, by the leak 0.95 · 0.02 = 0.019, and with
    worn washers that looked sound (0.4 · 0.03 against 0.6) · (0.05 · 0.902 + 0.95 · 0.804) / 0.99 · 0.99."""
    told = posterior(LOOKED, {"slips": True}).of("not_listed").probability
    cleared = posterior(LOOKED, {"slips": True, "thin": False}).of("not_listed").probability
    worn, sound = 0.4 * 0.03, 0.6
    with_it, whole = worn * 0.05 * 0.902 + sound * 0.05 * 0.51, worn * (0.05 * 0.902 + 0.95 * 0.804)
    assert cleared == pytest.approx(with_it / (whole + sound * (0.05 * 0.51 + 0.95 * 0.02)), rel=1e-9)
    assert told < 0.1 < 0.4 < cleared


def test_nobody_is_told_to_renew_it_unseen_or_that_a_look_settles_it() -> None:
    costs = Costs(1.0, 60.0)
    assert [way.fault.key for way in unseen_or_look(LOOKED, {"slips": True}, costs)] == ["worn"]
    assert {look.settles.key for look in next_looks(LOOKED, {"slips": True}, costs)} == {"worn"}


def test_a_sound_piece_that_is_due_costs_when_it_is_left() -> None:
    """By hand: comeback 60 and mend 10; there with 0, due with a quarter: leave 0.25 · 70 = 17.5, renewed for 10."""
    washer = Fault("worn", "worn", 0.5, "Renew", 0, Quantity.exact(10), renew_unseen=True, soon=0.25)
    net = Net((washer,), (Look("look", "Look.", 1),), (Finding("thin", "thin", 0.0, {"worn": 1.0}, look="look"),))
    way = unseen_or_look(net, {"thin": False}, Costs(1.0, 60.0))[0]
    assert (way.probability, way.leave, way.unseen, way.best) == (0.0, 17.5, 10.0, "unseen")


@pytest.mark.parametrize(("unlisted", "link", "soon"), [(1.0, 0.5, 0.0), (-0.1, 0.5, 0), (0.1, 1.5, 0), (0.1, 0.5, 2)])
def test_what_is_no_chance_is_refused(unlisted: float, link: float, soon: float) -> None:
    with pytest.raises(InputError):
        finding = Finding("slips", "slips", 0.1, {"worn": 0.8}, unlisted=link)
        Net((Fault("worn", "worn", 0.3, soon=soon),), (), (finding,), unlisted=unlisted)
