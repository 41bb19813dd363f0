"""In a book of many patterns one is looked for by words, with a script or without one."""

import re

import pytest
from django.test import Client

from levelwind.shop.jobs.services.drafts import draft_begin
from levelwind.shop.models import BoneReel, Job, Part, Pattern
from levelwind.shop.patterns.selectors import picking
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def many(monkeypatch: pytest.MonkeyPatch) -> dict[str, Pattern]:
    """Three patterns, in a shop where a list holds none."""
    monkeypatch.setattr(picking, "FEW", 0)
    make = {"Tarn 30": "star_drag", "Tarn 50": "star_drag", "Holm 4": "lever_drag"}
    return {model: Pattern.objects.create(maker="Orrin", model=model, family=family) for model, family in make.items()}


def radios(page: str, name: str = "pattern") -> list[tuple[str, bool]]:
    """The choices on the page, each with whether it is taken."""
    found = re.findall(rf'<input type="radio"\s+name="{name}"\s+value="(\d*)"(\s+checked)?', page)
    return [(value, bool(taken)) for value, taken in found]


def test_words_that_leave_no_choice_name_it_and_others_are_asked_back(client: Client, many: dict[str, Pattern]) -> None:
    job, small, lever = a_job(), many["Tarn 30"], many["Holm 4"]
    page = client.get(f"/jobs/{job.tag}/").content.decode()
    assert "Tarn" not in page and radios(page) == [("", True)]
    asked = client.post(f"/jobs/{job.tag}/", {"pattern": "", "was-pattern": "", "pattern-words": "tarn"})
    page = asked.content.decode()
    assert asked.status_code == 422 and "Several patterns have these words: choose one." in page
    assert [value for value, _ in radios(page)] == [str(small.pk), str(many["Tarn 50"].pk), ""]
    nothing = client.post(f"/jobs/{job.tag}/", {"pattern": "", "was-pattern": "", "pattern-words": "quill"})
    assert "No pattern has all these words." in nothing.content.decode()
    client.post(f"/jobs/{job.tag}/", {"pattern": "", "was-pattern": "", "pattern-words": "tarn 30"})
    assert Job.objects.get().pattern == small
    # With words still in the box, what was chosen counts, as long as it has them; without, the words do.
    client.post(f"/jobs/{job.tag}/", {"pattern": small.pk, "was-pattern": small.pk, "pattern-words": "tarn"})
    assert Job.objects.get().pattern == small
    client.post(f"/jobs/{job.tag}/", {"pattern": small.pk, "was-pattern": small.pk, "pattern-words": "holm"})
    assert Job.objects.get().pattern == lever
    assert radios(client.get(f"/jobs/{job.tag}/").content.decode()) == [(str(lever.pk), True), ("", False)]


def test_what_is_typed_finds_patterns_of_the_kind_that_is_asked_for(client: Client, many: dict[str, Pattern]) -> None:
    small, large = many["Tarn 30"], many["Tarn 50"]
    asks = {"pick": "into", "into-words": "orrin", "family": "star_drag", "besides": [small.pk]}
    assert radios(client.get("/patterns/pick/", asks).content.decode(), "into") == [(str(large.pk), False)]
    large.retired_on = "2026-01-01"
    large.save(update_fields=["retired_on"])
    assert "No other pattern has all these words" in client.get("/patterns/pick/", asks).content.decode()
    assert radios(client.get("/patterns/pick/", {**asks, "retired": "too"}).content.decode(), "into")
    assert client.get("/patterns/pick/", {"pick": 'x" onclick="', "into-words": "a"}).status_code == 404


def test_a_booking_keeps_the_pattern_and_not_the_words(client: Client, many: dict[str, Pattern]) -> None:
    draft = draft_begin()
    here = f"/book-in/{draft.pk}/"
    typed = {"reel1_pattern": "", "was-reel1_pattern": ""}
    asked = client.post(here, {**typed, "reel1_pattern-words": "tarn"})
    assert asked.status_code == 422 and len(radios(asked.content.decode(), "reel1_pattern")) == 3
    client.post(here, {**typed, "reel1_pattern-words": "holm"})
    draft.refresh_from_db()
    assert draft.data["reel1_pattern"] == str(many["Holm 4"].pk) and "reel1_pattern-words" not in draft.data


def test_every_page_that_asks_for_a_pattern_looks_for_it(client: Client, many: dict[str, Pattern]) -> None:
    small, large, lever = many.values()
    client.post("/shelf/bone-box/", {"pattern": "", "pattern-words": "holm", "reel": "", "paid_minor": ""})
    bone = BoneReel.objects.get()
    assert bone.pattern == lever and radios(client.get(f"/shelf/bone-box/{bone.pk}/").content.decode())
    part = Part.objects.create(number="W-1", name="washer")
    shown = client.get(f"/shelf/part/{part.pk}/", {"pattern-words": "tarn 50"}).content.decode()
    assert "In the Orrin Tarn 50" in shown
    job = a_job()
    assert 'name="pattern-words"' in client.get(f"/jobs/{job.tag}/apart/").content.decode()
    several = client.post(f"/jobs/{job.tag}/apart/", {"act": "pattern", "pattern-words": "tarn"})
    assert several.status_code == 422 and len(radios(several.content.decode())) >= 2
    client.post(f"/jobs/{job.tag}/apart/", {"act": "pattern", "pattern-words": "holm"})
    assert Job.objects.get().pattern == lever
    assert client.post(f"/patterns/{small.pk}/merge/", {"into-words": "orrin"}).status_code == 302
    small.refresh_from_db()
    assert small.merged_into == large
