"""Words and rows: what a page is given to show."""

import pytest
from scipy.stats import beta

from levelwind.core.codec import as_shown
from levelwind.core.hunches import (
    ClosedJob,
    Costs,
    Fault,
    Finding,
    Look,
    Net,
    Reading,
    hunch_rows,
    learn,
    look_rows,
    next_looks,
    posterior,
)
from levelwind.core.hunches.report import Answer
from levelwind.core.quantities import Quantity

WORN = Fault(
    "worn", "worn washers", 0.5, "Renew the drag set", 5, Quantity(10, 6, 18), renew_unseen=True, note="Custom."
)
BENT = Fault("bent", "a bent spool", 0.004, "Straighten the spool", 30)
SLIPS = Finding("slips", "the drag slips", 0.1, {"worn": 0.6})
THIN = Finding("thin", "thin washers", 0.05, {"worn": 0.9}, look="washers")
NET = Net((WORN, BENT), (Look("washers", "Look at the washers.", 2, tool="wrench"),), (SLIPS, THIN), "f", "a family")


def test_a_row_tells_the_chance_what_it_rests_on_and_what_moved_it() -> None:
    """By hand: 0.5 · 0.64 / (0.5 · 0.64 + 0.5 · 0.1) = 86.5 %, up 36 from an even chance."""
    worn, bent = hunch_rows(NET, posterior(NET, {"slips": True}))
    assert (worn.name, worn.chance, worn.basis) == ("worn washers", "86 %", "a judgement, no counts")
    assert worn.moved == "50 → 86 %"
    assert worn.reasons == ("the drag slips: up 36",)
    assert (worn.mend, worn.note) == ("Renew the drag set", "Custom.")
    assert (bent.chance, bent.reasons) == ("under 1 %", ())


def test_a_counted_fault_shows_its_interval_and_its_jobs() -> None:
    """Beta(5 + 6, 5): scipy.stats.beta.ppf([0.05, 0.95], 11, 5) = 0.489, 0.858."""
    jobs = [ClosedJob(frozenset({"worn"}), frozenset({"bent"}), {})] * 6
    learnt = learn(NET, jobs)
    row = hunch_rows(learnt, posterior(learnt, {}))[0]
    assert row.basis == "49 to 86 % (9 in 10), from 6 closed jobs and a judgement"
    answer = Answer(learnt, {}, posterior(learnt, {}), (), (), {})
    assert answer.cautions == ()
    interval = as_shown(answer)["hunches"][0]["interval"]
    assert (interval["low"], interval["high"]) == pytest.approx(beta.ppf([0.05, 0.95], 11, 5))


def test_a_reading_is_told_by_its_name() -> None:
    reading = Reading("pull", "the pull of 2 March", {"slips": 20.0})
    row = hunch_rows(NET, posterior(NET, {}, [reading]), [reading])[0]
    assert row.reasons[0].startswith("the pull of 2 March: up ")


def test_a_look_tells_what_it_is_worth() -> None:
    """By hand: renewing blind 15; after it 0.4775 · 15 where thin and 75 · 0.0475 where not: 10.725; 4.275 saved.

    At a comeback of 200 the set is renewed whatever the look shows: nothing saved."""
    (row,) = look_rows(next_looks(NET, {}, Costs(1.0, 60.0)))
    assert (row.do, row.tool, row.worth_it) == ("Look at the washers.", "wrench", True)
    assert row.why == "settles worn washers, 2 minutes"
    assert row.worth == "saves about 4.28 for 2.00 of time"
    (row,) = look_rows(next_looks(NET, {}, Costs(1.0, 200.0)))
    assert row.worth.endswith("less than its 2.00 of time") and not row.worth_it
