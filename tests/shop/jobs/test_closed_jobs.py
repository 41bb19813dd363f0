"""What closed jobs teach: only what a piece was found to be, both ways, and nothing where that is not clear."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from levelwind.core.hunches import ClosedJob
from levelwind.reference.faults import families_with_hunches, load_net
from levelwind.shop.jobs.selectors import closed_jobs as closed_jobs_module
from levelwind.shop.jobs.selectors.closed_jobs import closed_jobs, learnt_net
from levelwind.shop.jobs.selectors.hunches import standing
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.jobs.services.looks import finding_record
from levelwind.shop.models import Job, Lesson, Pattern, Piece, Stage
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.takedown.services.pieces import piece_judge, piece_renew, pieces_lay_out
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, take_apart

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern()


def closed(pattern: Pattern, *, stage: Stage = Stage.HOME, tag: str = "26-0001", **states: str) -> Job:
    """A job that ended with these pieces judged so, and none of its steps ticked."""
    job = a_job(pattern, tag=tag)
    pieces_lay_out(job=job)
    for place, state in states.items():
        piece_judge(piece=job.pieces.get(place=place), state=state)
    Job.objects.filter(pk=job.pk).update(stage=stage)
    return job


def told() -> list[ClosedJob]:
    return closed_jobs(load_net("star_drag"))


def test_a_worn_piece_tells_its_fault_and_a_clean_set_its_absence(pattern: Pattern) -> None:
    closed(pattern, dog="worn", ratchet="good", friction_1="clean", friction_2="good", friction_3="clean")
    (job,) = told()
    assert (job.found, job.sound) == ({"dog_worn"}, {"washers_worn"})


def test_a_state_that_two_faults_may_mean_tells_neither(pattern: Pattern) -> None:
    """A worn pinion may be the pinion's own wear or that of the pair; the worn main gear beside it is plain."""
    closed(pattern, pinion="worn")
    assert told() == []
    closed(pattern, tag="26-0002", pinion="worn", main_gear="worn")
    (job,) = told()
    assert (job.found, job.sound) == ({"gear_worn"}, frozenset())


def test_half_a_set_in_the_hand_clears_nobody(pattern: Pattern) -> None:
    closed(pattern, friction_1="good", friction_2="good")
    assert told() == []


def test_a_piece_that_was_off_and_drew_no_remark_was_good_once_the_reel_went_home(pattern: Pattern) -> None:
    job = a_job(pattern, ("dog", "ratchet"))
    take_apart(job)
    Job.objects.filter(pk=job.pk).update(stage=Stage.SENT_BACK)
    assert told() == []
    Job.objects.filter(pk=job.pk).update(stage=Stage.HOME)
    (home,) = told()
    assert "dog_worn" in home.sound and "pawl_worn" not in home.sound and not home.found


def test_a_piece_renewed_without_a_word_tells_nothing(pattern: Pattern) -> None:
    job = a_job(pattern, ("friction_1", "friction_2", "friction_3"))
    take_apart(job)
    piece_renew(piece=Piece.objects.get(job=job, place="friction_2"))
    Job.objects.filter(pk=job.pk).update(stage=Stage.HOME)
    assert all("washers_worn" not in one.found | one.sound for one in told())


def test_open_jobs_and_other_families_teach_nothing(pattern: Pattern) -> None:
    closed(pattern, stage=Stage.TOGETHER, dog="worn")
    closed(a_pattern("low_profile", "Wren"), tag="26-0002", pawl="worn")
    assert told() == []
    assert learnt_net("star_drag") == load_net("star_drag")


def test_the_hunches_start_from_what_was_counted(pattern: Pattern) -> None:
    """By hand: a judged 0.06 worth ten reels, and four of five worn: (0.6 + 4) / 15."""
    judged = load_net("star_drag").fault("dog_worn").prior
    for n in range(4):
        closed(pattern, tag=f"26-000{n}", dog="worn")
    closed(pattern, tag="26-0004", dog="good", ratchet="clean")
    state = standing(a_job(pattern, tag="26-0009"), shop_get())
    assert state.is_learnt and judged == 0.06
    assert state.net.fault("dog_worn").prior == pytest.approx((10 * judged + 4) / 15)
    assert state.net.fault("pawl_worn") == load_net("star_drag").fault("pawl_worn")


def test_a_link_learns_where_its_one_cause_was_there_and_the_others_were_not(pattern: Pattern) -> None:
    job = closed(pattern, dog="worn", ratchet="good")
    finding = next(f for f in load_net("star_drag").findings if set(f.links) == {"dog_worn"})
    finding_record(job=job, finding=finding.key, sight="yes")
    assert learnt_net("star_drag").finding(finding.key).counted["dog_worn"].jobs == 1


def test_a_job_closed_or_opened_again_is_noticed_in_one_query(pattern: Pattern) -> None:
    job = closed(pattern, dog="worn")
    assert learnt_net("star_drag").fault("dog_worn").counted is not None
    with CaptureQueriesContext(connection) as asked:
        learnt_net("star_drag")
    assert len(asked) == 1
    Job.objects.filter(pk=job.pk).update(stage=Stage.APART)
    assert learnt_net("star_drag").fault("dog_worn").counted is None


def test_one_closed_while_another_is_opened_again_is_noticed(pattern: Pattern) -> None:
    first, second = closed(pattern, dog="worn"), closed(pattern, stage=Stage.APART, tag="26-0002", yoke="worn")
    assert learnt_net("star_drag").fault("yoke_worn").counted is None
    Job.objects.filter(pk=first.pk).update(stage=Stage.APART)
    Job.objects.filter(pk=second.pk).update(stage=Stage.HOME, stage_since=timezone.now())
    net = learnt_net("star_drag")
    assert net.fault("yoke_worn").counted is not None and net.fault("dog_worn").counted is None


def test_many_closed_jobs_are_read_in_as_many_queries_as_one(pattern: Pattern) -> None:
    closed(pattern, dog="worn")
    with CaptureQueriesContext(connection) as one:
        told()
    for n in range(2, 6):
        closed(pattern, tag=f"26-000{n}", dog="worn")
    with CaptureQueriesContext(connection) as five:
        assert len(told()) == 5
    assert len(five) == len(one)


def test_a_step_or_finding_the_family_has_no_longer_is_passed_over(pattern: Pattern) -> None:
    job = closed(pattern, dog="worn")
    job.steps_done.create(phase="apart", step="no_such_step")
    job.seen.create(finding="no_such_finding", present=True)
    assert learnt_net("star_drag").fault("dog_worn").counted is not None


@pytest.mark.parametrize("family", families_with_hunches())
def test_the_states_that_mean_a_fault_are_states_of_a_piece(family: str) -> None:
    faults = load_net(family).faults
    assert all(set(fault.judged) <= {"worn", "broken", "missing"} for fault in faults)
    assert all(fault.places for fault in faults if fault.judged) and any(fault.judged for fault in faults)


def test_hard_grease_is_told_by_the_look_made_for_it_either_way(pattern: Pattern) -> None:
    """No state of a piece means it; the sight has no other cause, so the shop's own jobs take over its prior."""
    for number, there in enumerate(("yes", "no", "no", "no")):
        job = a_job(pattern, tag=f"26-000{number}")
        finding_record(job=job, finding="grease_hard", sight=there)
        Job.objects.filter(pk=job.pk).update(stage=Stage.HOME, stage_since=timezone.now())
    assert [("old_grease" in job.found, "old_grease" in job.sound) for job in told()] == [(True, False)] + 3 * [
        (False, True)
    ]
    learnt = learnt_net("star_drag").fault("old_grease")
    assert learnt.prior == pytest.approx((10 * 0.8 + 1) / 14)  # a judgement worth ten reels, one found, three not


def test_what_a_job_taught_is_written_down_as_it_ends_and_its_pieces_are_read_no_more(
    pattern: Pattern, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    job = a_job(pattern)
    pieces_lay_out(job=job)
    piece_judge(piece=job.pieces.get(place="dog"), state="worn")
    job_move(job=job, stage=Stage.SENT_BACK)
    assert Lesson.objects.get().found == ["dog_worn"]
    _anew()
    with django_assert_num_queries(2):
        assert _worn_dogs() == 1

    Piece.objects.filter(place="dog").update(state="")
    _anew()
    assert _worn_dogs() == 1, "a piece was read again"
    Lesson.objects.update(law="another")
    _anew()
    assert _worn_dogs() == 0, "a lesson of another law was believed"

    Piece.objects.filter(place="dog").update(state="worn")
    job_move(job=job, stage=Stage.APART)
    assert _worn_dogs() == 0
    job_move(job=job, stage=Stage.SPARES)
    assert (Lesson.objects.get().stage, _worn_dogs()) == (Stage.SPARES, 1)


def _worn_dogs() -> int:
    counted = learnt_net("star_drag").fault("dog_worn").counted
    return counted.jobs if counted else 0


def _anew() -> None:
    """As another process: nothing is kept in memory."""
    closed_jobs_module._KEPT.clear()
    closed_jobs_module._learnt.cache_clear()
