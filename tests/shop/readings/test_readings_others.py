"""A reel as left beside the shop's other reels of its pattern."""

import pytest
from pytest_django import DjangoAssertNumQueries

from levelwind.core import spin
from levelwind.core.codec import as_stored
from levelwind.shop.models import Job, Owner, Parcel, Pattern, Work
from levelwind.shop.readings.selectors.others import AmongOthers, Others, others_of_pattern
from tests.jobs import a_job, a_pattern
from tests.shop.readings.reading_rows import a_gauge, a_known_spin, a_pull, a_row, a_spin

pytestmark = pytest.mark.django_db


def jobs_of(pattern: Pattern, count: int) -> list[Job]:
    owner = Owner.objects.create(name="Ansa Vell")
    parcel = Parcel.objects.create(owner=owner)
    return [
        a_job(f"26-{n:04}", owner=owner, parcel=parcel, pattern=pattern, line_strength_N=100.0) for n in range(count)
    ]


def timed(job: Job, seconds: float, **facts: object) -> None:
    """By a stop-watch."""
    a_row(job, "spin", "left", as_stored(spin.typed(seconds)), **facts)


def standing(others: Others, key: str) -> AmongOthers:
    return next(each for each in others.standings if each.what.key == key)


def test_it_is_placed_among_the_others_by_count_middle_and_range() -> None:
    mine, *rest = jobs_of(a_pattern(), 12)
    a_known_spin(mine, 10.0, 10 / 33.0)
    for n, job in enumerate(rest):
        a_known_spin(job, 10.0, 10 / (20.0 + 1.5 * n))
    told = standing(others_of_pattern(mine), "spin")
    assert told.what.name == "Spin time from 10 rev/s"
    assert (told.count, told.middle) == (11, pytest.approx(27.5))
    assert (told.low, told.high) == pytest.approx((21.5, 33.5))
    assert (told.middle_words, told.range_words) == ("28 s", "21 to 34 s")
    assert told.words == "Freer than 8 of the 11 others of this pattern; 2 are too close to tell."


def test_another_flick_is_no_freer_spool() -> None:
    """One law for all: from 8 to 30 rev/s they spin for 4 to 15 s, and from 8 rev/s all for the same time."""
    mine, *rest = jobs_of(a_pattern(), 6)
    a_known_spin(mine, 30.0)
    for job, first in zip(rest, (8.0, 10.0, 12.0, 15.0, 20.0), strict=True):
        a_known_spin(job, first)
    told = standing(others_of_pattern(mine), "spin")
    assert told.what.name == "Spin time from 10 rev/s", "one slow flick in five takes no speed from the others"
    assert told.this and told.this.value == pytest.approx(5.0, rel=0.01) and told.count == 4
    assert told.words == "Not to be told from any of the 4 others of this pattern."
    slow = standing(others_of_pattern(rest[0]), "spin")
    assert (slow.what.name, slow.count) == ("Spin time from 8 rev/s", 5)
    assert slow.words == "Not to be told from any of the 5 others of this pattern."


def test_a_time_by_hand_stands_among_such_times_and_a_flick_makes_no_difference() -> None:
    mine, *rest = jobs_of(a_pattern(), 10)
    timed(mine, 30.0)
    for job, seconds in zip(rest[:5], (10.0, 15.0, 22.0, 31.0, 45.0), strict=True):
        timed(job, seconds)
    for job in rest[5:]:
        a_known_spin(job, 20.0, 1.0)
    told = standing(others_of_pattern(mine), "by_hand")
    assert told.count == 5
    assert told.words == "Freer than 1 of the 5 others of this pattern; 4 are too close to tell."
    assert all(each.what.key != "spin" for each in others_of_pattern(mine).standings)
    recorded = standing(others_of_pattern(rest[-1]), "spin")
    assert (recorded.what.name, recorded.count) == ("Spin time from 20 rev/s", 3)


def test_no_other_reel_is_counted_twice() -> None:
    """Of eight others four are clearly shorter, three too close, one clearly longer: five were once claimed to be."""
    mine, *rest = jobs_of(a_pattern(), 9)
    a_known_spin(mine, 10.0, 10 / 30.0)
    for job, seconds in zip(rest, (20.0, 21.0, 22.0, 23.0, 29.9, 30.0, 30.1, 40.0), strict=True):
        a_known_spin(job, 10.0, 10 / seconds)
    told = standing(others_of_pattern(mine), "spin")
    assert told.words == "Freer than 4 of the 8 others of this pattern; 3 are too close to tell."


def test_a_fly_reels_running_drag_is_a_share_of_its_tippet() -> None:
    mine, *rest = jobs_of(a_pattern(family="fly"), 5)
    for n, job in enumerate([mine, *rest]):
        Job.objects.filter(pk=job.pk).update(tippet_strength_N=25.0 if n < 4 else None)
        a_pull(job, "left", 11.0, 10.0)
    told = standing(others_of_pattern(mine), "share")
    assert (told.count, told.middle) == (3, pytest.approx(40.0))


def test_a_smaller_number_is_named_by_the_side_most_of_the_others_lie_on() -> None:
    mine, *rest = jobs_of(a_pattern(), 4)
    a_pull(mine, "left", 31.0, 30.0)
    for n, job in enumerate(rest):
        a_pull(job, "left", 60.0 + n, 30.0)
    others = others_of_pattern(mine)
    assert standing(others, "ratio").words == "Lets go more gently than 3 of the 3 others of this pattern."
    share = standing(others, "share")
    assert share.middle == pytest.approx(30.0)
    assert share.words == "Not to be told from any of the 3 others of this pattern."
    assert (share.middle_words, share.range_words) == ("30 %", "30 %"), "all are the same"


@pytest.mark.parametrize(
    ("count", "words"),
    [(1, "No other reel of this pattern has been measured"), (2, "one other reel"), (3, "2 other reels")],
)
def test_fewer_than_three_others_are_no_range(count: int, words: str) -> None:
    mine, *rest = jobs_of(a_pattern(), count)
    for job in (mine, *rest):
        timed(job, 20.0)
    others = others_of_pattern(mine)
    assert words in " ".join((others.words, *(each.words for each in others.standings)))
    assert others.reported == () and all(each.low is None for each in others.standings)


def test_only_the_newest_reading_as_left_of_a_job_counts() -> None:
    mine, *rest = jobs_of(a_pattern(), 4)
    timed(mine, 20.0)
    for job in rest:
        timed(job, 99.0)
        timed(job, 10.0)
        timed(job, 300.0, struck_out=True)
        timed(job, 300.0, work=Work.WAITING)
        a_row(job, "spin", "left", {}, refused="only a voice")
        a_row(job, "spin", "found", as_stored(spin.typed(300.0)))
    told = standing(others_of_pattern(mine), "by_hand")
    assert (told.count, told.middle) == (3, 10.0)


def test_recordings_without_a_time_and_reels_of_other_patterns_are_left_out() -> None:
    mine, *rest = jobs_of(a_pattern(), 5)
    timed(mine, 20.0)
    for job in rest[:3]:
        timed(job, 10.0)
    a_spin(rest[3], "left", until=0.3)
    stranger = a_job("26-0999", owner=mine.owner, pattern=a_pattern(size="60"))
    timed(stranger, 500.0)
    assert standing(others_of_pattern(mine), "by_hand").count == 3


def test_a_reel_of_no_known_pattern_and_one_not_measured_say_so() -> None:
    assert "not known" in others_of_pattern(a_job("26-0998")).words
    mine, *rest = jobs_of(a_pattern(), 4)
    for job in rest:
        a_gauge(job, "turn", "left", 0.2)
    others = others_of_pattern(mine)
    assert standing(others, "turn").words == "Not measured as left on this reel."
    assert others.reported == ()


def test_forty_others_are_one_question_to_the_book(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    mine, *rest = jobs_of(a_pattern(), 41)
    for job in (mine, *rest):
        timed(job, 20.0)
        a_pull(job, "left", 31.0, 30.0)
    job = Job.objects.get(pk=mine.pk)
    with django_assert_num_queries(1):
        assert standing(others_of_pattern(job), "by_hand").count == 40
