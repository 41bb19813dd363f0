"""The posterior against plain enumeration over every set of faults, and the faults of hostile input."""

from fractions import Fraction
from math import exp, isclose, log, prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.hunches import Costs, Counted, Fault, Finding, Look, Net, Reading, next_looks, pairs, posterior
from levelwind.core.hunches.compute import plan
from levelwind.core.hunches.compute.evidence import Case, Question
from levelwind.core.hunches.compute.posterior import ninety
from tests.core.hunches.nets import UNHURRIED, nets, nets_with_sights, share, weighed, worlds

ROUNDING = 1e-9
"""Relative: a few hundred sums and products of doubles, with room to spare."""


@UNHURRIED
@given(nets_with_sights())
def test_every_fault_has_the_probability_that_enumeration_gives(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    hunches = posterior(net, seen)
    for fault in net.faults:
        assert hunches.of(fault.key).probability == pytest.approx(share(net, seen, fault.key), rel=ROUNDING, abs=1e-12)


@UNHURRIED
@given(nets_with_sights())
def test_no_fault_and_the_evidence_are_those_of_enumeration(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    rows, hunches = weighed(net, seen), posterior(net, seen)
    total = sum(weight for _, weight in rows)
    assert hunches.log_evidence == pytest.approx(log(total), abs=1e-9)
    assert hunches.none == pytest.approx(rows[0][1] / total, rel=ROUNDING, abs=1e-12)


@UNHURRIED
@given(nets_with_sights())
def test_pairs_are_those_of_enumeration(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    together = pairs(net, seen)
    for i, one in enumerate(net.faults):
        for j, other in enumerate(net.faults):
            expected = share(net, seen, one.key, other.key)
            assert together[i, j] == pytest.approx(expected, rel=ROUNDING, abs=1e-12)


@UNHURRIED
@given(nets_with_sights())
def test_what_moved_a_hunch_is_the_difference_when_it_is_left_out(case: tuple[Net, dict[str, bool]]) -> None:
    net, seen = case
    for hunch in posterior(net, seen).ranked:
        assert [abs(move.change) for move in hunch.moved] == sorted((abs(m.change) for m in hunch.moved), reverse=True)
        for move in hunch.moved:
            left_out = {key: there for key, there in seen.items() if key != move.key}
            without = share(net, left_out, hunch.fault.key)
            assert move.change == pytest.approx(hunch.probability - without, abs=1e-9)


@UNHURRIED
@given(nets())
def test_with_nothing_seen_every_fault_keeps_its_prior(net: Net) -> None:
    hunches = posterior(net, {})
    assert [hunch.probability for hunch in hunches.ranked] == pytest.approx(
        sorted((fault.prior for fault in net.faults), reverse=True)
    )
    assert hunches.none == pytest.approx(prod(1 - fault.prior for fault in net.faults))


@UNHURRIED
@given(nets_with_sights(), st.data())
def test_a_doubtful_sight_mixes_the_two_sure_ones(case: tuple[Net, dict[str, bool]], data: st.DataObject) -> None:
    net, seen = case
    rest = [finding.key for finding in net.findings if finding.key not in seen]
    if not rest:
        return
    key, ratio = data.draw(st.sampled_from(rest)), data.draw(st.floats(0.01, 100))
    reading = Reading("pull", "a pull", {key: ratio})
    there, missing = weighed(net, seen | {key: True}), weighed(net, seen | {key: False})
    total = sum(ratio * a + b for (_, a), (_, b) in zip(there, missing, strict=True))
    hunches = posterior(net, seen, [reading])
    for fault in net.faults:
        hits = sum(ratio * a + b for (who, a), (_, b) in zip(there, missing, strict=True) if fault.key in who)
        assert hunches.of(fault.key).probability == pytest.approx(hits / total, rel=ROUNDING, abs=1e-12)


@UNHURRIED
@given(nets_with_sights(), st.floats(0.01, 100))
def test_a_reading_on_a_fault_multiplies_its_odds(case: tuple[Net, dict[str, bool]], ratio: float) -> None:
    net, seen = case
    key = net.faults[0].key
    before = share(net, seen, key)
    after = posterior(net, seen, [Reading("spin", "a spin", {key: ratio})]).of(key)
    assert after.probability == pytest.approx(before * ratio / (before * ratio + 1 - before), rel=ROUNDING)
    moved = next(move for move in after.moved if move.key == "spin")
    assert moved.change == pytest.approx(after.probability - before, abs=1e-9)


def test_readings_and_sights_of_the_same_thing_do_not_add_up() -> None:
    net = Net((Fault("worn", "worn", 0.3),), (), (Finding("slips", "slips", 0.1, {"worn": 0.7}),))
    sure = posterior(net, {"slips": True}).of("worn").probability
    both = posterior(net, {"slips": True}, [Reading("pull", "a pull", {"slips": 50})]).of("worn").probability
    assert both == sure


def test_rare_findings_keep_their_figures_where_an_alternating_sum_loses_them() -> None:
    """Twelve findings that almost never turn up by themselves, all seen; the answer in exact fractions."""
    leak, link, prior = Fraction(1, 10**5), Fraction(3, 10**4), Fraction(1, 100)
    names = [f"f{i}" for i in range(3)]
    findings = tuple(Finding(f"s{j}", f"s{j}", float(leak), {n: float(link) for n in names}) for j in range(12))
    net = Net(tuple(Fault(name, name, float(prior)) for name in names), (), findings)
    exact = {}
    for there, _ in worlds(net):
        seen_one = 1 - (1 - leak) * (1 - link) ** len(there)
        exact[there] = prior ** len(there) * (1 - prior) ** (3 - len(there)) * seen_one**12
    total = sum(exact.values())
    hunches = posterior(net, {finding.key: True for finding in findings})
    assert hunches.log_evidence == pytest.approx(log(total), rel=1e-12)
    expected = float(sum(weight for there, weight in exact.items() if "f0" in there) / total)
    assert hunches.of("f0").probability == pytest.approx(expected, rel=1e-9)
    alternating = _alternating_sum(net)
    assert not isclose(alternating, float(total), rel_tol=0.01), "the plain alternating sum would have done"


def _alternating_sum(net: Net) -> float:
    """Quickscore as published: Σ over subsets of the seen findings of (−1)^size · P(none of the subset)."""
    total = 0.0
    for subset in range(1 << len(net.findings)):
        chosen = [finding for bit, finding in enumerate(net.findings) if subset >> bit & 1]
        term = prod(1 - finding.leak for finding in chosen)
        for fault in net.faults:
            kept = prod(1 - finding.links[fault.key] for finding in chosen)
            term *= 1 - fault.prior + fault.prior * kept
        total += (-1) ** len(chosen) * term
    return total


def test_a_large_net_is_exact_in_an_answer_known_by_another_way() -> None:
    """25 faults in five groups of five that share no finding: the groups answer one by one as they do together."""
    groups = [_group(number) for number in range(5)]
    whole = Net(
        tuple(fault for group in groups for fault in group.faults),
        (),
        tuple(finding for group in groups for finding in group.findings),
    )
    seen = {finding.key: index % 3 != 0 for index, finding in enumerate(whole.findings)}
    hunches = posterior(whole, seen)
    for group in groups:
        sights = {finding.key: seen[finding.key] for finding in group.findings}
        for fault in group.faults:
            assert hunches.of(fault.key).probability == pytest.approx(share(group, sights, fault.key), rel=ROUNDING)


def _group(number: int) -> Net:
    faults = tuple(Fault(f"f{number}{i}", "a fault", 0.05 + 0.03 * i) for i in range(5))
    findings = tuple(
        Finding(
            f"s{number}{j}",
            "a finding",
            0.01 + 0.005 * j,
            {f.key: 0.1 + 0.1 * ((i + j) % 8) for i, f in enumerate(faults)},
        )
        for j in range(8)
    )
    return Net(faults, (), findings)


def test_the_order_of_faults_and_findings_does_not_matter() -> None:
    group = _group(1)
    turned = Net(group.faults[::-1], (), group.findings[::-1])
    seen = {"s10": True, "s11": True, "s14": False, "s17": True}
    for fault in group.faults:
        there, back = (posterior(net, seen).of(fault.key).probability for net in (group, turned))
        assert there == pytest.approx(back, rel=1e-12)


def test_sights_that_cannot_be_true_together_are_refused() -> None:
    sure = Finding("always", "always there with it", 0.0, {"worn": 1.0})
    other = Finding("only", "only with it", 0.0, {"worn": 0.5})
    net = Net((Fault("worn", "worn", 0.3),), (), (sure, other))
    with pytest.raises(NotDeterminedError, match="untick"):
        posterior(net, {"always": False, "only": True})


def test_a_web_too_dense_is_refused_with_what_to_do() -> None:
    faults = tuple(Fault(f"f{i}", "a fault", 0.1) for i in range(30))
    findings = tuple(Finding(f"s{j}", "a finding", 0.01, {f.key: 0.5 for f in faults}) for j in range(30))
    with pytest.raises(InputError, match="leave some findings as not looked at"):
        posterior(Net(faults, (), findings), {finding.key: True for finding in findings})


@pytest.mark.parametrize("key", ["sgrind", "", "fault_0"])
def test_a_finding_the_net_does_not_have_is_refused_by_name(key: str) -> None:
    net = Net((Fault("fault_0", "a fault", 0.1),), (), (Finding("grinds", "it grinds", 0.1, {"fault_0": 0.5}),))
    with pytest.raises(InputError, match="allowed is one of grinds"):
        posterior(net, {key: True})


def test_a_reading_of_something_else_is_refused() -> None:
    net = Net((Fault("worn", "worn", 0.1),), (), ())
    with pytest.raises(InputError, match="a fault or a finding"):
        posterior(net, {}, [Reading("pull", "a pull", {"bent": 2.0})])
    with pytest.raises(InputError, match="likelihood ratio"):
        Reading("pull", "a pull", {"worn": float("nan")})


@pytest.mark.parametrize(
    "make",
    [
        lambda: Fault("f", "f", 0.0),
        lambda: Fault("f", "f", 1.0),
        lambda: Fault("f", "f", float("nan")),
        lambda: Fault("f", "f", 0.1, minutes=-1),
        lambda: Finding("s", "s", -0.1, {}),
        lambda: Finding("s", "s", 1.0, {}),
        lambda: Finding("s", "s", 0.1, {"f": 1.1}),
        lambda: Net((), (), ()),
        lambda: Net((Fault("f", "f", 0.1), Fault("f", "g", 0.1)), (), ()),
        lambda: Net((Fault("f", "f", 0.1),), (), (Finding("s", "s", 0.1, {"g": 0.1}),)),
        lambda: Net((Fault("f", "f", 0.1),), (), (Finding("s", "s", 0.1, {}, look="nowhere"),)),
    ],
)
def test_a_net_that_makes_no_sense_is_refused(make: object) -> None:
    with pytest.raises(InputError):
        make()  # type: ignore[operator]


def test_an_interval_stands_only_where_there_are_counts() -> None:
    judged = Fault("judged", "judged", 0.3)
    counted = Fault("counted", "counted", 0.25, counted=Counted(10.0, 30.0, 30))
    finding = Finding("slips", "slips", 0.05, {"judged": 0.6, "counted": 0.7})
    hunches = posterior(Net((judged, counted), (), (finding,)), {"slips": True})
    assert hunches.of("judged").interval is None
    interval = hunches.of("counted").interval
    assert interval is not None and interval.low < interval.value < interval.high


@UNHURRIED
@given(st.floats(0.5, 50), st.floats(0.5, 50), st.floats(0.05, 0.9))
def test_the_interval_is_the_posterior_at_the_ends_of_the_prior(alpha: float, beta: float, link: float) -> None:
    """The ends are what the same net answers with the prior at either end of the Beta's middle nine tenths."""
    counted = Counted(alpha, beta, 10)

    def with_prior(prior: float) -> Net:
        other = Fault("other", "other", 0.3)
        finding = Finding("slips", "slips", 0.05, {"other": 0.6, "worn": link})
        return Net((Fault("worn", "worn", prior, counted=counted), other), (), (finding,))

    interval = posterior(with_prior(counted.mean), {"slips": True}).of("worn").interval
    assert interval is not None
    low, high = ninety(counted)
    for end, prior in ((interval.low, low), (interval.high, high)):
        if 1e-9 < prior < 1 - 1e-9:
            expected = posterior(with_prior(prior), {"slips": True}).of("worn").probability
            assert end == pytest.approx(expected, rel=1e-6) or end == interval.value


def test_a_page_full_of_findings_weighs_what_enumeration_weighs() -> None:
    """ln of the evidence of a chain in which every fault meets two findings: checked by enumeration of 2^12 sets."""
    faults = tuple(Fault(f"f{i}", "a fault", 0.2) for i in range(12))
    findings = tuple(Finding(f"s{j}", "a finding", 0.02, {f"f{j}": 0.6, f"f{(j + 1) % 12}": 0.4}) for j in range(12))
    net, seen = Net(faults, (), findings), {f"s{j}": True for j in range(12)}
    assert exp(posterior(net, seen).log_evidence) == pytest.approx(sum(w for _, w in weighed(net, seen)), rel=ROUNDING)


def test_fifteen_findings_of_twenty_causes_each_are_weighed() -> None:
    """Against Heckerman's alternating sum (Quickscore, UAI 1989), which keeps its figures where nothing is rare."""
    dice = np.random.default_rng(1)
    priors, leaks, links = dice.uniform(0.2, 0.6, 60), dice.uniform(0.2, 0.5, 15), np.zeros((60, 15))
    for finding in range(15):
        links[dice.choice(60, 20, replace=False), finding] = dice.uniform(0.05, 0.3, 20)
    faults = tuple(Fault(f"f{n}", "a fault", float(prior)) for n, prior in enumerate(priors))
    findings = tuple(
        Finding(
            f"s{m}", "a finding", float(leaks[m]), {f"f{n}": float(links[n, m]) for n in np.flatnonzero(links[:, m])}
        )
        for m in range(15)
    )
    told = Case(Net(faults, (), findings), {f"s{m}": True for m in range(15)}).ask([Question()])
    missing = (np.arange(1 << 15)[:, None] >> np.arange(15)) & 1
    by_fault = 1 - priors + priors * np.exp(missing @ np.log1p(-links).T)
    terms = (-1.0) ** missing.sum(axis=1) * np.exp(missing @ np.log1p(-leaks)) * by_fault.prod(axis=1)
    assert exp(told.log_weight[0]) == pytest.approx(terms.sum(), rel=1e-9)
    there = priors * np.exp(missing @ np.log1p(-links).T) / by_fault
    assert told.chance[0] == pytest.approx(terms @ there / terms.sum(), rel=1e-8)


def test_the_order_of_the_faults_is_sought_once_for_a_web_and_laid_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sixty starts are compared by what they would take; the steps of the best alone are made."""
    dice, laid_out, steps = np.random.default_rng(1), [], plan._steps
    keys = [f"f{n}" for n in range(60)]
    looks = tuple(Look(f"l{m}", "a look", 2.0) for m in range(120))
    findings = tuple(
        Finding(f"s{m}", "a finding", 0.02, dict.fromkeys(dice.choice(keys, 3).tolist(), 0.5), look=f"l{m}")
        for m in range(120)
    )
    net = Net(tuple(Fault(key, "a fault", 0.05) for key in keys), looks, findings)
    monkeypatch.setattr(plan, "_steps", lambda *asked: laid_out.append(asked) or steps(*asked))
    seen = {f"s{m}": m < 15 for m in range(60)}
    assert posterior(net, seen).ranked
    assert next_looks(net, seen, Costs(1.0, 30.0))
    assert len(laid_out) == 1


@UNHURRIED
@given(hnp.arrays(bool, st.tuples(st.integers(1, 9), st.integers(0, 9))))
def test_the_work_of_an_order_is_what_its_steps_take(linked: np.ndarray) -> None:
    orders = plan._greedy(linked)
    assert [sorted(order) for order in orders.tolist()] == [list(range(len(linked)))] * len(linked)
    works = [plan.cells(plan._steps(linked, order)) for order in orders.tolist()]
    assert plan._work(linked, orders).tolist() == works
    assert plan.cells(plan.plan(linked.astype(float))) == min(works)
