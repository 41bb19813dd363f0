"""Pulls on the drag page: what they say of the friction, what is remembered, and where they stand on the curve."""

from math import exp, pi

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from levelwind.core.quantities import NEWTONS_PER
from levelwind.shop.models import DragPlan, Job, Part
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.readings.services.readings import reading_type
from tests.web.drag_page import FIGURES, URL, WORK, a_reel, end, lay, typed_on_page

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    return a_reel()


@pytest.fixture
def pull(job: Job) -> Job:
    reading_type(job=job, kind="pull", moment="found", typed={"breakaway_N": 36.0, "running_N": 31.0})
    return job


def test_a_pull_as_found_says_the_friction_and_it_is_computed_with(client: Client, pull: Job) -> None:
    shown = client.get(URL).content.decode()
    assert "The pull says of woven carbon lining, greased: friction" in shown
    client.post(URL, typed_on_page(client, do="pull-found"))
    bodies = DragPlan.objects.get().stack["bodies"]
    assert all("friction" in body for body in bodies if body["kind"] == "friction")


@pytest.fixture
def part(pull: Job) -> Part:
    part = part_add(number="C-28", name="carbon washer", kind="friction_washer", count=9)
    sizes = {"outer diameter": 28.0, "inner diameter": 12.2, "thickness": 1.0}
    Part.objects.filter(pk=part.pk).update(material="woven carbon lining", sizes_mm=sizes)
    return part


def test_what_the_pull_says_is_remembered_for_the_parts_found_and_used_where_they_lie(
    client: Client, part: Part
) -> None:
    lay(client, part)
    assert "Remember it for these washers" not in client.get(URL).content.decode()
    client.post(URL, typed_on_page(client, do="found"))
    assert "Remember it for these washers" in client.get(URL).content.decode()
    client.post(URL, typed_on_page(client, do="pull-found"))
    client.post(URL, typed_on_page(client, do="remember-found"))
    part.refresh_from_db()
    kept = part.friction["greased"]
    answer = client.get(URL)
    assert "this pull is remembered, greased" in answer.content.decode()
    assert "Remember it for these washers" not in answer.content.decode()
    assert {row.mu for row in answer.context["page"].typed.rows if row.part} == {""}
    faces = {face.mu.value for face in answer.context["page"].figures.faces if "C-28" in face.source}
    assert faces == {kept["value"]}
    dry = client.post(URL, typed_on_page(client, condition="dry"), headers=WORK).context["page"].figures
    assert not any("C-28" in face.source for face in dry.faces)


def test_a_pull_is_remembered_once_and_says_so(client: Client, part: Part) -> None:
    lay(client, part)
    client.post(URL, typed_on_page(client, do="found"))
    client.post(URL, typed_on_page(client, do="remember-found"))
    answer = client.post(URL, typed_on_page(client, do="remember-found"))
    assert answer.status_code == 422 and "in the figure kept already" in answer.content.decode()


@pytest.mark.parametrize("do", ["remember-left", "remember-", "remember-sideways", "pull-left", "pull-"])
def test_a_pull_that_is_not_there_is_refused_in_words(client: Client, part: Part, do: str) -> None:
    answer = client.post(URL, typed_on_page(client, do=do))
    assert answer.status_code == 422 and "pull" in answer.content.decode()


def test_the_parts_page_shows_what_is_kept_and_lets_it_be_forgotten(client: Client, part: Part) -> None:
    lay(client, part)
    client.post(URL, typed_on_page(client, do="found"))
    client.post(URL, typed_on_page(client, do="remember-found"))
    shown = client.get(f"/shelf/part/{part.pk}/").content.decode()
    assert "by our own pulls" in shown and "26-0001" in shown and "C-28, greased: the shop" in shown
    forget = f"/shelf/part/{part.pk}/friction/greased/forget/"
    assert client.post(forget).status_code == 302
    part.refresh_from_db()
    assert part.friction == {} and "by our own pulls" not in client.get(f"/shelf/part/{part.pk}/").content.decode()
    assert "Friction to forget can be" in client.post(forget, follow=True).content.decode()


def test_a_pull_as_left_is_read_with_the_stack_laid_in(client: Client, pull: Job) -> None:
    reading_type(job=pull, kind="pull", moment="left", typed={"breakaway_N": 40.0, "running_N": 36.0})
    answer = client.get(URL)
    assert [line.moment for line in answer.context["page"].figures.pulled] == ["found", "left"]
    assert "How the pull as left was made" in answer.content.decode()


def test_where_and_how_a_pull_was_made_counts(client: Client, pull: Job) -> None:
    def radius(**typed: str) -> float:
        client.post(URL, typed_on_page(client, hand_Nm="1", **typed))
        return float(client.get(URL).context["page"].figures.pulled[0].pulled.made.radius_m)

    full, half, out = radius(), radius(found_fill="half"), radius(found_fill="full", found_out_m="200")
    assert half < full and out < full
    client.post(URL, typed_on_page(client, found_clamp_N="123"))
    assert client.get(URL).context["page"].figures.pulled[0].pulled.made.clamp_N.value == 123.0


def test_without_a_pull_nothing_is_read_from_it(client: Client, job: Job) -> None:
    assert "There is no pull as found yet" in client.get(URL).content.decode()
    assert client.post(URL, typed_on_page(client, do="pull-found")).status_code == 422


def test_a_pull_straight_off_the_reel_is_put_past_the_guides_like_the_curve(client: Client, pull: Job) -> None:
    straight = client.get(URL).context["page"].figures.charts.fill
    assert "straight off the reel" not in client.get(URL).content.decode()
    client.post(URL, typed_on_page(client, wrap_deg="180", guide_mu="0.15"))
    answer = client.get(URL)
    bent = answer.context["page"].figures.charts.fill
    assert [pull.words for pull in bent.markers] == ["pull as found, past the guides"]
    read = 31.0 / NEWTONS_PER["lbf"]
    assert f"pull as found: {read:.3g}" in straight.says
    assert f"as found, past the guides: {read * exp(0.15 * pi):.3g}" in bent.says
    assert "straight off the reel" in answer.content.decode() and "1.60 times as much" in answer.content.decode()


def test_the_pulls_stand_on_the_curve_where_they_were_made(client: Client, pull: Job) -> None:
    """At a full spool first, where the curve begins, and then half way out; its interval stands about it."""
    full = client.get(URL).context["page"].figures.charts.fill
    assert [pull.role for pull in full.markers] == ["as-found"] and full.markers[0].x == full.lines[0].points[0][0] == 0
    client.post(URL, typed_on_page(client, found_fill="half"))
    half = client.get(URL).context["page"].figures.charts.fill
    (at_half,) = half.markers
    assert at_half.x == pytest.approx(end(half.lines[0])[0] / 2, rel=0.001)
    assert at_half.range_[0] < at_half.y < at_half.range_[1]


def test_a_change_asks_the_book_no_more_for_more_parts(
    client: Client, part: Part, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    lay(client, part)
    client.post(URL, typed_on_page(client, do="found"))
    typed = typed_on_page(client, clamp_N="240")
    with django_assert_max_num_queries(20):
        client.post(URL, typed, headers=FIGURES)
