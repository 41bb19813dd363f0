"""The naming page: few taps, all of them plain buttons, each with its way back."""

import pytest
from django.test import Client

from levelwind.shop.models import Job, Owner, Pattern, PatternSign, Sighting
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/name/"


def test_a_reel_nobody_knows_is_named_by_a_few_taps(client: Client) -> None:
    """Reached where a reel without a pattern stands; one look at a time; named, taken back, and named as another."""
    job, skerry = a_job(), a_pattern(spool_width_mm=38)
    assert URL in client.get(f"/parcels/{job.parcel_id}/").content.decode()
    shown = client.get(URL).content.decode()
    assert "Next look" in shown and "Cannot tell" in shown and "None of these" in shown
    answer = client.post(URL, {"do": "answer", "look": "drag", "said": "star"})
    assert answer.headers["Location"] == URL + "#next"
    client.post(URL, {"do": "answer", "look": "drag", "said": "star"})
    fields = typed_into(client.get(URL), spool_width_mm="38.1", marks="SKE?RY 50", do="typed")
    client.post(URL, fields)
    shown = client.get(URL).content.decode()
    for words in ("A star under the handle", "38.1 mm", "So far", "Tarn &amp; Wey"):
        assert words in shown
    for _ in range(2):
        answer = client.post(URL, {"do": "pattern", "pattern": skerry.pk})
        assert answer.headers["Location"] == "/jobs/26-0001/look-over/"
    job.refresh_from_db()
    assert job.pattern == skerry and job.events.filter(text__contains="It is a").count() == 1
    assert "It is named" in client.get(URL).content.decode()
    client.post(URL, {"do": "unname"})
    client.post(URL, {"do": "back", "look": "drag"})
    assert Job.objects.get().pattern is None and set(Sighting.objects.values_list("look", flat=True)) == {
        "spool_width_mm",
        "marks",
    }


def test_a_pattern_is_begun_from_the_page(client: Client) -> None:
    a_job(reel="Loft reel")
    begin = client.get(URL + "begin/?family=centre_pin")
    fields = typed_into(begin)
    assert fields["model"] == "Loft reel" and fields["family_key"] == "centre_pin"
    assert client.post(URL + "begin/", fields | {"model": ""}).status_code == 422
    for _ in range(2):
        assert client.post(URL + "begin/", fields).status_code == 302
    assert Pattern.objects.get().family == "centre_pin" == Job.objects.get().pattern.family


@pytest.mark.parametrize(
    "fields",
    [
        {"do": "answer", "look": "moon", "said": "yes"},
        {"do": "answer", "look": "drag", "said": "moon"},
        {"do": "typed", "spool_width_mm": "wide"},
        {"do": "pattern", "pattern": "99"},
        {"do": "pattern", "pattern": "moon"},
        {"do": "dance"},
    ],
)
def test_nonsense_is_refused_in_words(client: Client, fields: dict[str, str]) -> None:
    a_job()
    answer = client.post(URL, fields)
    assert answer.status_code == 422 and "Traceback" not in answer.content.decode()
    assert not Sighting.objects.exists()


def test_how_a_pattern_is_known_is_written_in_the_book(client: Client) -> None:
    pattern = a_pattern()
    url = f"/patterns/{pattern.pk}/signs/"
    assert url in client.get(f"/patterns/{pattern.pk}/").content.decode()
    client.post(url, typed_into(client.get(url), marks="MADE BY HAND", foot_mm="61"))
    pattern.refresh_from_db()
    assert (pattern.marks, pattern.foot_mm) == ("MADE BY HAND", 61.0)
    assert client.post(url, typed_into(client.get(url), foot_mm="6100")).status_code == 422
    new = {"do": "add", "text": "", "seen": "knob old", "year_from": "1950", "year_to": "1961"}
    for _ in range(2):
        assert client.post(url, new).status_code == 302
    assert "Wood, horn, bone or hard rubber, from 1950 until 1961" in " ".join(client.get(url).content.decode().split())
    assert client.post(url, new | {"year_to": "1940"}).status_code == 422
    assert client.post(url, {"do": "add"}).status_code == 422
    client.post(url, {"away": str(PatternSign.objects.get().pk)})
    assert not PatternSign.objects.exists()


def test_a_reel_is_named_while_it_is_being_booked_in_and_nothing_is_lost(client: Client) -> None:
    """The button saves what was typed; looks are kept with the booking, and go with the reel onto the bench."""
    owner, skerry = Owner.objects.create(name="Tove Aldersund"), a_pattern(spool_width_mm=38)
    address = client.post("/book-in/", {"owner": owner.pk}).headers["Location"]
    client.post(address, typed_into(client.get(address), do="add"))
    typed = {"reel1_reel": "Granddad's", "reel1_complaint": "grinds", "reel2_reel": "The other"}
    there = client.post(address, typed_into(client.get(address), **typed, do="name 1"))
    name = f"{address}reels/1/name/"
    assert there.headers["Location"] == name
    client.post(name, {"do": "answer", "look": "drag", "said": "star"})
    client.post(name, {"do": "answer", "look": "metal", "said": "brass"})
    client.post(name, {"do": "back", "look": "metal"})
    client.post(name, typed_into(client.get(name), spool_width_mm="38.1", marks="SKE?RY 50", do="typed"))
    shown = client.get(name).content.decode()
    for words in ("Granddad&#x27;s", "A star under the handle", "38.1 mm", "Tarn &amp; Wey", f"{address}#reel1"):
        assert words in shown
    for _ in range(2):
        back = client.post(name, {"do": "pattern", "pattern": skerry.pk})
        assert back.headers["Location"] == f"{address}#reel1"
    client.post(name, {"do": "unname"})
    begun = typed_into(client.get(name + "begin/"), model="Loft")
    for _ in range(2):
        assert client.post(name + "begin/", begun).headers["Location"] == f"{address}#reel1"
    fields = typed_into(client.get(address))
    loft = Pattern.objects.get(model="Loft")
    assert (fields["reel1_pattern"], fields["reel1_complaint"]) == (str(loft.pk), "grinds")
    assert (loft.family, loft.spool_width_mm) == ("star_drag", 38.1) and "name 1" not in client.get(
        address
    ).content.decode()
    more = {"spool": "turns", "body": "plates", "let_go": "side_lever", "cast_cap": "no", "level_wind": "no"}
    for look, said in more.items():
        client.post(f"{address}reels/2/name/", {"do": "answer", "look": look, "said": said})
    client.post(f"{address}reels/2/name/", {"do": "answer", "look": "drag", "said": "star"})
    client.post(address, fields | {"do": "book_in"})
    jobs = {job.reel: job for job in Job.objects.all()}
    assert jobs["Granddad's"].pattern == loft and jobs["The other"].pattern is None
    first = {("Granddad's", look) for look in ("drag", "spool_width_mm", "marks")}
    assert set(Sighting.objects.values_list("job__reel", "look")) == first | {
        ("The other", look) for look in (*more, "drag")
    }
    shown = client.get(f"/jobs/{jobs['The other'].tag}/look-over/").content.decode()
    assert (
        jobs["The other"].clear_family == "star_drag"
        and "it is a star drag" in shown
        and "Name the reel first" in shown
    )
    assert client.get(name).status_code == 404 == client.post(name, {"do": "unname"}).status_code
