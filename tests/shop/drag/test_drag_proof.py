"""The drag computed beside the pull as left: off the reel as a scale pulls, at the fill and force it was pulled at."""

from math import exp, pi

import pytest

from levelwind.core.drag.model import stack_from_dict
from levelwind.shop.drag.selectors.drags import drag_computed
from levelwind.shop.drag.selectors.plans import standard_stack
from levelwind.shop.drag.selectors.reels import reel_of
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.drag.services import drag_plan_save
from levelwind.shop.models import Job
from levelwind.shop.papers.selectors.proofs import DragProof, drag_proof
from levelwind.shop.papers.selectors.sheets import proof_sheet
from levelwind.shop.readings.selectors.readings import readings_of
from tests.jobs import a_job, a_pattern
from tests.shop.readings.reading_rows import a_pull

pytestmark = pytest.mark.django_db
BENT = {"wrap_deg": 180.0, "guide_mu": 0.15}


@pytest.fixture
def job() -> Job:
    pattern = a_pattern(gear_ratio=4.0, spool_arbor_mm=20, spool_flange_mm=50, spool_width_mm=30)
    return a_job(pattern=pattern, line_name="30 lb nylon", line_strength_N=133.4, line_diameter_mm=0.55)


def _proof(job: Job, said: dict[str, str] | None = None, running_N: float = 30.0, **numbers: float) -> DragProof:
    assert job.pattern is not None
    setup = Setup({"clamp_N": 300.0} | numbers, said=said or {})
    drag = drag_computed(stack=standard_stack(job.pattern), setup=setup, reel=reel_of(job))
    drag_plan_save(job=job, drag=drag)
    a_pull(job, "left", 1.1 * running_N, running_N)
    proof = drag_proof(job, readings_of(job))
    assert proof is not None and proof.computed is not None
    return proof


def _computed(proof: DragProof) -> float:
    assert proof.computed is not None
    return proof.computed.value


def test_a_pull_straight_off_the_reel_is_held_against_what_is_computed_there(job: Job) -> None:
    straight = _proof(job)
    bent = _proof(job, None, 30.0, **BENT)
    bite = exp(0.15 * pi)
    assert bent.past_guides == pytest.approx(bite)
    assert [fill.tension.value for fill in bent.fills] == pytest.approx([f.tension.value for f in straight.fills])
    assert _computed(bent) == pytest.approx(_computed(straight))
    assert straight.guides_words == "" and "1.60 times as much" in bent.guides_words


def test_the_rods_guides_are_said_on_the_sheet(job: Job) -> None:
    _proof(job, None, 30.0, **BENT)
    check = proof_sheet(job).drag_check
    assert check is not None and "Straight off the reel" in check.where


def test_the_roller_is_on_the_reel_and_stays_in(job: Job) -> None:
    times = _computed(_proof(job, roller_deg=90.0, roller_mu=0.2)) / _computed(_proof(job))
    assert times == pytest.approx(exp(0.2 * pi / 2))


def test_a_pull_is_held_against_the_fill_it_was_made_at(job: Job) -> None:
    half = _proof(job, {"left_fill": "half"})
    assert _computed(half) == pytest.approx(half.fills[1].tension.value, rel=1e-6)
    assert half.where == "half of the line left, at the clamp force planned"
    assert _proof(job, left_out_m=20.0).where.startswith("20 m of line out")


def test_a_pull_at_another_clamp_force_is_held_against_that(job: Job) -> None:
    lighter = _proof(job, left_clamp_N=150.0)
    assert _computed(lighter) == pytest.approx(lighter.fills[0].tension.value / 2)
    assert lighter.where == "full spool, at the clamp force said of this pull"


def test_where_the_pull_cannot_be_placed_the_full_spool_stands(job: Job) -> None:
    lost = _proof(job, left_out_m=4000.0)
    assert lost.computed == lost.fills[0].tension
    assert lost.where.startswith("full spool")


def test_a_fly_reel_is_set_to_its_tippet_on_the_paper_too() -> None:
    """A quarter to a third of 27 N, not of the backing's 89 N; nothing while the tippet is not known."""
    pattern = a_pattern(family="fly", spool_arbor_mm=40, spool_flange_mm=80, spool_width_mm=20)
    job = a_job(pattern=pattern, line_name="20 lb backing", line_strength_N=89.0, line_diameter_mm=0.4)
    assert _proof(job, running_N=3.0).strike is None and proof_sheet(job).setting is None
    job.tippet_strength_N = 27.0
    job.save()
    strike = _proof(job, running_N=3.0).strike
    assert strike and (strike.low, strike.high) == pytest.approx((0.25 * 27, 0.33 * 27))
    setting = proof_sheet(job).setting
    assert setting is not None and setting.line == "the tippet" and "of the tippet's strength" in setting.how


@pytest.mark.parametrize(("running_N", "words"), [(1.0, "pulls less"), (120.0, "pulls harder")])
def test_a_drag_far_off_what_was_computed_is_said(job: Job, running_N: float, words: str) -> None:
    assert words in _proof(job, running_N=running_N).words


def test_what_to_know_of_the_computed_drag_is_on_the_paper_until_a_pull_settles_it(job: Job) -> None:
    """The friction kept for nobody's reel asks for a pull; a lining pressed too hard is told with or without one."""
    assert job.pattern is not None
    bodies = standard_stack(job.pattern).as_dict()["bodies"]
    felt = [{**body, "material": "felt"} if body["kind"] == "friction" else body for body in bodies]
    stack = stack_from_dict({"condition": "dry", "bodies": felt})
    drag_plan_save(job=job, drag=drag_computed(stack=stack, setup=Setup({"clamp_N": 300.0}), reel=reel_of(job)))
    before = " ".join(proof_sheet(job).bear_in_mind)
    assert "measure one pull" in before and "is pressed with" in before and "felt 0.06 MPa" in before
    a_pull(job, "left", 33.0, 30.0)
    after = " ".join(proof_sheet(job).bear_in_mind)
    assert "measure one pull" not in after and "is pressed with" in after
