"""What is this piece: the page with and without script, from the bench and from a job's parts."""

import pytest
from django.test import Client

from levelwind.shop.models import Part
from levelwind.shop.parts.services.shelf import stock_bought
from levelwind.shop.takedown.services.pieces import job_pattern_choose
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db

SCREW = {"piece": "thread", "diameter": "2.81", "pitch": "40 tpi"}


def test_the_page_works_by_its_button_and_by_itself_and_keeps_what_was_typed(client: Client) -> None:
    whole = client.get("/fits/", SCREW).content.decode()
    assert "<strong>#4-40 UNC</strong>" in whole and 'value="40 tpi"' in whole and "None of these" in whole
    assert ">What is it?</button>" in whole and 'class="plot scaled"' in whole
    assert "to scale: #4-40 UNC over 99 %" in whole and "aspect-ratio: 1.9" in whole
    part = client.get("/fits/", SCREW, headers={"HX-Request": "true"}).content.decode()
    assert "<strong>#4-40 UNC</strong>" in part and "<html" not in part
    assert "one size is enough" in client.get("/fits/").content.decode().lower()


@pytest.mark.parametrize(
    ("sent", "shown"),
    [
        ({"piece": "thread", "diameter": "3.15", "pitch": "3.54", "over": "6"}, "<strong>5BA</strong>"),
        ({"piece": "thread", "inside": "on", "diameter": "2.55", "pitch": "0.5"}, "<strong>M3x0.5</strong>"),
        ({"piece": "thread", "diameter": "2.9", "hand": "left", "worn": "on", "gauge": "0.05"}, "left hand"),
        ({"piece": "bearing", "od": "10"}, "measure the bore"),
        ({"piece": "oring", "id": "9.2", "section": "1.8", "any": "on"}, "<strong>AS568-012</strong>"),
        ({"piece": "clip", "shaft": "6", "groove": "5"}, "<strong>DIN 6799 5</strong>"),
        ({"piece": "clip", "inside": "on", "shaft": "10"}, "<strong>DIN 472 10</strong>"),
        ({"piece": "spring", "od": "8", "thickness": "0.4"}, "DIN 2093 A 8x4.2x0.4"),
        ({"piece": "thread", "diameter": "5", "pitch": "3.6", "over": "6"}, 'class="none"'),
        ({"piece": "bearing", "bore": "12", "od": "10"}, "Bore can be less than the outside"),
        ({"piece": "thread", "diameter": "3 mm mm"}, "can be a length such as"),
        ({"piece": "thread", "diameter": "3", "gauge": "-1"}, "Error of the caliper can be"),
        ({"piece": "thread", "diameter": "<b>" + "9" * 9000}, "&lt;b&gt;"),
        ({"piece": "moon", "diameter": "3", "hand": "both", "job": "../../"}, "M3x0.5"),
    ],
)  # fmt: skip
def test_each_kind_of_piece_and_what_cannot_be(client: Client, sent: dict[str, str], shown: str) -> None:
    answer = client.get("/fits/", sent)
    assert answer.status_code == 200 and shown in answer.content.decode()


def test_it_is_reached_from_the_bench_and_leads_back_to_the_parts_it_came_from(client: Client) -> None:
    a_job()
    assert 'href="/fits/"' in client.get("/").content.decode()
    for tag in ("26-0001", "26-10001"):  # the ten thousandth of a year has one figure more
        assert f"/jobs/{tag}/parts/" in client.get(f"/fits/?job={tag}").content.decode()


def test_the_shops_own_washers_are_looked_for_by_their_sizes(client: Client) -> None:
    asked = {"piece": "washer", "od": "25.4", "id": "9.5", "thickness": "1.15"}
    assert "No washer on the shelf has its diameters" in client.get("/fits/", asked).content.decode()
    for number, outer, thick in [("W-1", 25.4, 1.2), ("W-2", 25.4, 1.5), ("W-3", 31.0, 1.2), ("W-4", "?", 1.2)]:
        sizes = {"outer diameter": outer, "inner diameter": 9.5, "thickness": thick}
        part = Part.objects.create(number=number, name="drag washer", kind="friction_washer", sizes_mm=sizes)
        stock_bought(part=part, count=2, unit_cost_minor=100)
    shown = client.get("/fits/", asked).content.decode()
    first = Part.objects.get(number="W-1")
    assert f'<a href="/shelf/part/{first.pk}/">W-1</a>' in shown and "W-3" not in shown
    assert "none of the washers on the shelf" in client.get("/fits/", asked | {"od": "19"}).content.decode()


def test_an_answer_is_written_back_to_the_place_it_was_looked_for(client: Client) -> None:
    job, pattern = a_job(), a_pattern()
    job_pattern_choose(job=job, pattern=pattern)
    asked = {"piece": "bearing", "bore": "3", "od": "10", "width": "4", "job": job.tag, "place": "dog"}
    shown = client.get("/fits/", asked).content.decode()
    assert "Write down that it serves the dog" in shown and f"/jobs/{job.tag}/parts/#dog" in shown
    assert "It serves" not in client.get("/fits/", {**asked, "place": "propeller"}).content.decode()
    for _ in (1, 2):
        answer = client.post("/fits/serves/", {**asked, "name": "623"})
        assert answer["Location"] == f"/jobs/{job.tag}/parts/#dog"
    fit = pattern.fits.get()
    assert (fit.part.number, fit.part.kind, fit.basis, fit.place) == ("623", "bearing", "standard", "dog")
    assert 0.5 < fit.sure <= 1 and "bore 3 lies within" in fit.note
    screw = Part.objects.create(number="M8x1", name="screw", kind="screw")
    nut = {"piece": "thread", "inside": "on", "diameter": "7", "pitch": "1", "job": job.tag, "place": "handle_nut"}
    client.post("/fits/serves/", {**nut, "name": "M8x1"})
    fit = pattern.fits.get(place="handle_nut")
    assert (fit.part.number, fit.part.kind, screw.fits.count()) == ("M8x1 nut", "nut", 0)
    lost = client.post("/fits/serves/", {**asked, "name": "624"})
    assert lost.status_code == 422 and "look for the piece again" in lost.content.decode()
    washer = Part.objects.create(
        number="W-1", name="drag washer", kind="friction_washer",
        sizes_mm={"outer diameter": 25.4, "inner diameter": 9.5, "thickness": 1.2},
    )  # fmt: skip
    stock_bought(part=washer, count=2, unit_cost_minor=100)
    typed = {"piece": "washer", "od": "25.4", "id": "9.5", "pattern": str(pattern.pk), "place": "friction_1"}
    place = client.post("/fits/serves/", {**typed, "name": "W-1"})
    assert place["Location"] == f"/patterns/{pattern.pk}/place/friction_1/"
    assert washer.fits.get().basis == "measured"
