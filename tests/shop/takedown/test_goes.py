"""One press ticks a go, one press takes it back; the ticks tell the bench's own minutes."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.reference.families import family
from levelwind.shop.jobs.selectors.minutes import shop_minutes
from levelwind.shop.models import Piece, StepDone
from levelwind.shop.money.services.prices import price_draft
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_go_done, takedown_last_undone, takedown_step_done
from levelwind.shop.takedown.services.together import rebuild_go_done, rebuild_last_undone
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_back_until, take_apart

pytestmark = pytest.mark.django_db

HANDLE = ["undo_handle_screw", "undo_handle_nut", "pull_handle"]


def test_a_go_is_ticked_with_one_press_and_undone_with_one():
    job = a_job(a_pattern(), reach=("pinion",))
    takedown_go_done(job=job, steps=HANDLE)
    takedown_go_done(job=job, steps=HANDLE)
    assert StepDone.objects.filter(phase="apart").count() == 3
    assert Piece.objects.filter(where="cell").count() == 3
    with pytest.raises(LevelwindError, match="Take off first"):
        takedown_go_done(job=job, steps=["unwind_star", "lift_bridge"])
    assert job_work(job).last_off[-1].key == "pull_handle", "refused whole: the star is not ticked either"
    takedown_last_undone(job=job)
    assert not StepDone.objects.exists() and not Piece.objects.exclude(where="reel").exists()
    with pytest.raises(LevelwindError, match="Nothing is ticked"):
        takedown_last_undone(job=job)


def test_a_go_back_answers_its_gates_in_turn_and_is_taken_back_with_them():
    job = a_job(a_pattern(), reach=("pinion",))
    take_apart(job)
    put_back_until(job, "undo_bridge_screws")
    before = set(StepDone.objects.values_list("phase", "step"))
    gates = ["bridge_screws_told_apart", "bridge_screws_started", "gears_turn_free"]
    with pytest.raises(LevelwindError, match="A gate stands before this step"):
        rebuild_go_done(job=job, steps=["undo_bridge_screws"], gates=gates[1:])
    rebuild_go_done(job=job, steps=["undo_bridge_screws"], gates=gates)
    assert {step for phase, step in StepDone.objects.values_list("phase", "step")} >= {*gates}
    rebuild_last_undone(job=job)
    assert set(StepDone.objects.values_list("phase", "step")) == before
    with pytest.raises(LevelwindError, match="allowed is a step"):
        rebuild_go_done(job=job, steps=["no_such"], gates=())


def test_the_benchs_own_minutes_come_from_the_ticks_and_go_into_the_price():
    pattern, now = a_pattern(), timezone.now()
    for number in range(3):
        job = a_job(pattern, reach=("star",), tag=f"26-000{number}")
        for minutes, step in zip((0, 4, 10), [*HANDLE], strict=True):
            takedown_step_done(job=job, step=step)
            StepDone.objects.filter(job=job, step=step).update(at=now + timedelta(minutes=minutes))
    StepDone.objects.filter(job=job, step="pull_handle").update(at=now + timedelta(hours=2))
    rules = family("star_drag").rules
    own = shop_minutes(rules, "star_drag")
    assert {key: (one.minutes, one.times) for key, one in own.apart.items()} == {"undo_handle_nut": (4.0, 3)}
    book = sum(step.minutes for step in rules.steps)
    assert own.both_ways(rules.steps) == pytest.approx(2 * book + 4.0 - 0.4)
    assert "by this bench's own times" in price_draft(job=job).lines.get(place="", kind="work").because


def test_the_pages_tick_a_go_say_what_is_not_there_and_take_back(client):
    job = a_job(a_pattern(), reach=("pinion",))
    apart, together = (reverse(name, args=[job.tag]) for name in ("apart", "together"))
    assert client.post(apart, {"act": "done", "step": ",".join(HANDLE)}).status_code == 303
    page = client.get(apart).content.decode()
    assert "Step 4 of" in page or "Steps 4 to" in page
    assert "No star" in page
    star = job_work(job).here["star"]
    client.post(apart, {"act": "not_there", "piece": star.pk})
    star.refresh_from_db()
    assert star.state == "missing"
    client.post(apart, {"act": "last_off"})
    assert not StepDone.objects.exists()
    answer = client.post(together, {"act": "last_off"})
    assert answer.status_code == 422 and "Nothing is ticked" in answer.content.decode()
    for steps in ("undo_handle_screw,no_such", ",,,", "undo_handle_screw," * 400):
        assert client.post(apart, {"act": "done", "step": steps, "jump": "1"}).status_code in (303, 422)
