"""Whatever is done in whatever order, every piece is somewhere, and a reel called together holds every one of them."""

from collections import Counter
from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import unaccounted
from levelwind.shop.models import Job, Piece, Stage
from levelwind.shop.takedown.selectors.pieces import Work, core_piece, job_work
from levelwind.shop.takedown.services.apart import reach_choose, takedown_step_done, takedown_step_undone
from levelwind.shop.takedown.services.layouts import job_lay_out_anew, piece_one_more
from levelwind.shop.takedown.services.pieces import (
    piece_arrived,
    piece_go_without,
    piece_judge,
    piece_order,
    piece_renew,
    piece_renew_undo,
    piece_scrap,
    piece_unscrap,
)
from levelwind.shop.takedown.services.together import (
    gate_open,
    gate_pass,
    job_call_together,
    rebuild_step_done,
    rebuild_step_undone,
)
from tests.full_size import cases
from tests.shop.takedown.pieces_jobs import a_job, a_pattern

STATES = ("good", "clean", "worn", "broken", "missing", "")


def step_in(work: Work, pick: int) -> None:
    """The next step of the plan."""
    for step in left_of_the_plan(work)[:1]:
        takedown_step_done(job=work.job, step=step)


def step_in_with_all_before(work: Work, pick: int) -> None:
    left = left_of_the_plan(work)
    if left:
        takedown_step_done(job=work.job, step=left[pick % len(left)], with_before=True)


def all_the_way_in(work: Work, pick: int) -> None:
    for step in left_of_the_plan(work)[-1:]:
        takedown_step_done(job=work.job, step=step, with_before=True)


def all_the_way_back(work: Work, pick: int) -> None:
    for _ in range(60):
        work = job_work(work.job)
        if not one_back(work, pick):
            return


def reach_more(work: Work, pick: int) -> None:
    reach_choose(job=work.job, places=[*work.job.reach, work.layout.places[pick % len(work.layout.places)].key])


def gate_opened(work: Work, pick: int) -> None:
    for gate in sorted(work.passed)[: pick % 3]:
        gate_open(job=work.job, gate=gate)


def left_of_the_plan(work: Work) -> list[str]:
    return [one.key for one in work.plan.steps if one not in work.apart] if work.plan else []


def a_step(work: Work, pick: int) -> str:
    return work.layout.rules.steps[pick % len(work.layout.rules.steps)].key


def a_piece(work: Work, pick: int, where: str = "") -> Piece:
    """Any piece, or the first that is there."""
    there = [piece for piece in work.pieces if piece.where == where]
    return there[pick % len(there)] if there else work.pieces[pick % len(work.pieces)]


def a_new_piece(work: Work, pick: int) -> Piece:
    new = [piece for piece in work.pieces if piece.replaces_id]
    return new[pick % len(new)] if new else a_piece(work, pick)


def one_back(work: Work, pick: int) -> bool:
    """The next thing on the way back, be it a gate or a step; what lacks goes back all the same at an even pick.

    Whether there was one.
    """
    gate = work.way_back.waiting(frozenset(work.passed))
    left = [refit for refit in work.way_back.steps if refit.step.key not in work.refitted]
    if gate and not work.undone_before(gate):
        gate_pass(job=work.job, gate=gate.key)
    elif left:
        rebuild_step_done(job=work.job, step=left[0].step.key, all_the_same=pick % 2 == 0, note="a word")
    return bool(left or (gate and not work.undone_before(gate)))


def one_more(work: Work, pick: int) -> None:
    kind = ("pin", "spring", "friction_washer")[pick % 3]
    piece_one_more(job=work.job, name="odd one", kind=kind, step=a_step(work, pick), for_pattern=pick % 2 == 0)


MOVES = {
    "one more": one_more,
    "laid out anew": lambda work, pick: job_lay_out_anew(job=work.job),
    "step in": step_in,
    "step in with all before": step_in_with_all_before,
    "all the way in": all_the_way_in,
    "any step in": lambda work, pick: takedown_step_done(job=work.job, step=a_step(work, pick)),
    "step in undone": lambda work, pick: takedown_step_undone(job=work.job, step=a_step(work, pick)),
    "one back": one_back,
    "all the way back": all_the_way_back,
    "any step back": lambda work, pick: rebuild_step_done(
        job=work.job, step=a_step(work, pick), all_the_same=bool(pick % 2), note="a word"
    ),
    "step back undone": lambda work, pick: rebuild_step_undone(job=work.job, step=a_step(work, pick)),
    "gate opened": gate_opened,
    "finish": lambda work, pick: job_call_together(job=work.job),
    "reach more": reach_more,
    "judge": lambda work, pick: piece_judge(piece=a_piece(work, pick), state=STATES[pick % len(STATES)]),
    "judge in tray": lambda work, pick: piece_judge(
        piece=a_piece(work, pick, "cell"), state=STATES[pick % len(STATES)]
    ),
    "renew": lambda work, pick: piece_renew(piece=a_piece(work, pick)),
    "renew in tray": lambda work, pick: piece_renew(piece=a_piece(work, pick, "cell")),
    "renew some": lambda work, pick: piece_renew(piece=a_piece(work, pick, "cell"), count=1),
    "order": lambda work, pick: piece_order(piece=a_piece(work, pick)),
    "arrived": lambda work, pick: piece_arrived(piece=a_piece(work, pick, "order")),
    "renewal undone": lambda work, pick: piece_renew_undo(piece=a_new_piece(work, pick)),
    "scrap": lambda work, pick: piece_scrap(piece=a_piece(work, pick, "cell")),
    "unscrap": lambda work, pick: piece_unscrap(piece=a_piece(work, pick, "scrap")),
    "go without": lambda work, pick: piece_go_without(piece=a_piece(work, pick), note="a reason"),
}


@pytest.mark.sampled
class NeverNowhere(TestCase):
    @settings(max_examples=cases(4, 100), deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(
        family=st.sampled_from(["star_drag", "fixed_spool"]),
        walk=st.lists(st.tuples(st.sampled_from(sorted(MOVES)), st.integers(0, 10**6)), min_size=5, max_size=40),
    )
    def test_every_piece_is_somewhere_after_every_move(self, family, walk):
        job = a_job(a_pattern(family))
        places = job_work(job).layout.places
        reach_choose(job=job, places=[places[20].key])
        for move, pick in walk:
            with suppress(LevelwindError):
                MOVES[move](job_work(Job.objects.get(pk=job.pk)), pick)
            everything_is_somewhere(job_work(Job.objects.get(pk=job.pk)))
        bring_home(job)
        a_finished_reel_is_whole(job_work(Job.objects.get(pk=job.pk)))


def bring_home(job: Job) -> None:
    """However it was left, the reel can be brought home: orders called off, all put in, what lacks said to lack."""
    while (work := job_work(Job.objects.get(pk=job.pk))).questions:
        ready = [one for one in work.here.values() if one.where == "cell" and one.place not in work.off]
        coming = [one for one in work.here.values() if one.where == "order"]
        if coming or ready:
            piece_renew_undo(piece=[*coming, *ready][0])
        elif work.apart or work.way_back.waiting(frozenset(work.passed)):
            one_back(work, 0)
        else:
            lost = [one for one in work.here.values() if one.state == "missing" or one.where == "scrap"]
            piece_go_without(piece=next(one for one in lost if one.place not in work.without), note="agreed")
    job_call_together(job=job)


def everything_is_somewhere(work: Work) -> None:
    places = set(work.places)
    assert {piece.place for piece in work.pieces} == places
    assert unaccounted(core_piece(piece) for piece in work.pieces) == ()
    assert all((piece.cell is None) == (piece.where != "cell") for piece in work.pieces)
    inside = Counter(one.place for one in work.pieces if one.where == "reel" and one.state != "missing")
    assert max(inside.values(), default=1) == 1, "two pieces in one place"
    assert not work.off & set(inside), "a place is off and its piece in the reel"
    for place in places - work.off:
        here = work.here[place]
        assert here.where != "cell" or here.replaces_id, f"{place} is closed and its piece in the tray"
        held = here.where in ("scrap", "order") or here.state == "missing" or here.replaces_id or inside[place]
        assert held, f"{place} is closed and empty"
    look_alikes_have_cells_of_their_own(work)


def look_alikes_have_cells_of_their_own(work: Work) -> None:
    lying = [piece for piece in work.pieces if piece.where == "cell"]
    for one in lying:
        for other in lying:
            assert other.cell != one.cell or other.place not in work.places[one.place].look_alikes


def a_finished_reel_is_whole(work: Work) -> None:
    inside = {piece.place for piece in work.pieces if piece.where == "reel" and piece.state != "missing"}
    assert work.job.stage == Stage.TOGETHER and not work.off
    assert {piece.where for piece in work.pieces} <= {"reel", "scrap"}
    assert inside | set(work.without) == set(work.places)
