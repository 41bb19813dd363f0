"""Learning from closed jobs: conjugate updates by hand, what is not counted, and where it leads in the long run."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.hunches import ClosedJob, Fault, Finding, Net, learn
from tests.core.hunches.nets import UNHURRIED

NONE: frozenset[str] = frozenset()


def net() -> Net:
    faults = (Fault("worn", "worn", 0.2), Fault("dry", "dry", 0.4), Fault("loose", "loose", 0.1))
    return Net(faults, (), (Finding("rough", "rough", 0.1, {"worn": 0.5, "dry": 0.8}),))


def job(found: str = "", sound: str = "", **seen: bool) -> ClosedJob:
    return ClosedJob(frozenset(found.split()), frozenset(sound.split()), seen)


def test_a_prior_moves_as_a_beta_does() -> None:
    """By hand: Beta(10 · 0.2 + 3, 10 · 0.8 + 1), mean 5 / 14."""
    learnt = learn(net(), [job("worn")] * 3 + [job(sound="worn")], weight=10).fault("worn")
    assert learnt.counted is not None
    assert (learnt.counted.alpha, learnt.counted.beta, learnt.counted.jobs) == (pytest.approx(5), pytest.approx(9), 4)
    assert learnt.prior == pytest.approx(5 / 14)


def test_a_fault_nobody_looked_for_stays_a_judgement() -> None:
    learnt = learn(net(), [job("worn", "dry")])
    assert learnt.fault("loose") == net().fault("loose")


def test_a_leak_is_counted_only_where_every_cause_was_sound() -> None:
    """By hand: of four jobs one qualifies: Beta(10 · 0.1 + 1, 10 · 0.9), mean 2 / 11."""
    jobs = [
        job(sound="worn dry", rough=True),
        job(sound="worn", rough=True),
        job(sound="worn dry"),
        job("loose", rough=True),
    ]
    learnt = learn(net(), jobs, weight=10).finding("rough")
    assert learnt.leak == pytest.approx(2 / 11)
    assert learnt.counted[""].jobs == 1 and set(learnt.counted) == {""}


def test_a_link_is_counted_only_where_its_fault_was_the_one_cause() -> None:
    """By hand: P(rough | worn alone) was judged 1 − 0.9 · 0.5 = 0.55; two of two: (5.5 + 2) / 12; leak unchanged."""
    jobs = [job("worn loose", "dry", rough=True)] * 2 + [job("worn dry", rough=True), job("worn", rough=True)]
    learnt = learn(net(), jobs, weight=10).finding("rough")
    assert learnt.counted["worn"].jobs == 2 and "dry" not in learnt.counted
    assert 1 - (1 - learnt.leak) * (1 - learnt.links["worn"]) == pytest.approx(7.5 / 12)
    assert learnt.links["dry"] == 0.8


def test_a_link_never_falls_below_nothing() -> None:
    learnt = learn(net(), [job("worn", "dry", rough=False)] * 5000).finding("rough")
    assert learnt.links["worn"] == 0.0


def test_the_net_that_was_judged_is_left_as_it_was() -> None:
    judged = net()
    learn(judged, [job("worn")])
    assert judged == net()


def test_many_jobs_lead_to_the_truth() -> None:
    """4000 reels drawn from known chances; standard errors are below 0.02, three of them allowed."""
    dice, truth = np.random.default_rng(7), {"worn": 0.35, "dry": 0.15}
    jobs = []
    for _ in range(4000):
        found = frozenset(key for key, chance in truth.items() if dice.random() < chance)
        off = 0.95 * (0.3 if "worn" in found else 1) * (0.6 if "dry" in found else 1)
        jobs.append(ClosedJob(found, frozenset(truth) - found, {"rough": bool(dice.random() > off)}))
    learnt = learn(net(), jobs)
    rough = learnt.finding("rough")
    assert learnt.fault("worn").prior == pytest.approx(0.35, abs=0.03)
    assert rough.leak == pytest.approx(0.05, abs=0.03)
    assert rough.links["worn"] == pytest.approx(0.7, abs=0.06)
    assert rough.links["dry"] == pytest.approx(0.4, abs=0.06)


@UNHURRIED
@given(st.lists(st.tuples(st.sampled_from(["worn", "dry", "loose", ""]), st.booleans()), max_size=40))
def test_whatever_was_closed_the_net_stays_one_that_can_be_asked(rows: list[tuple[str, bool]]) -> None:
    every = {"worn", "dry", "loose"}
    jobs = [ClosedJob(frozenset({f} - {""}), frozenset(every - {f}), {"rough": seen}) for f, seen in rows]
    learnt = learn(net(), jobs)
    assert all(0 < fault.prior < 1 for fault in learnt.faults)
    assert all(0 <= link <= 1 for link in learnt.finding("rough").links.values())


def test_a_job_that_makes_no_sense_is_refused() -> None:
    with pytest.raises(InputError, match="not both"):
        learn(net(), [job("worn", "worn")])
    with pytest.raises(InputError, match="bent"):
        learn(net(), [job("bent")])
    with pytest.raises(InputError, match="weight"):
        learn(net(), [], weight=0)
