"""The Apart page: what must be reached, the steps, the pieces; without JavaScript and with htmx."""

import pytest
from django.urls import reverse

from levelwind.shop.models import Job, Pattern, Piece, Price, PriceLine, Stage, StepDone
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.layouts import piece_one_more
from levelwind.shop.takedown.services.pieces import piece_judge, piece_renew
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, take_apart

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}


@pytest.fixture
def job():
    return a_job(a_pattern(), reach=("pinion",))


@pytest.fixture
def address(job):
    return reverse("apart", args=[job.tag])


def lines(answer):
    """The words of a page, without its tags and with single spaces."""
    import re

    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def ticked(client, address, act, **posted):
    return client.post(address, {"act": act, **posted})


def test_a_job_without_a_pattern_asks_for_one_and_takes_it(client):
    job, pattern = a_job(None), a_pattern()
    address = reverse("apart", args=[job.tag])
    assert "Tarnbeck Harrier, star drag" in lines(client.get(address))
    answer = ticked(client, address, "pattern", pattern=pattern.pk)
    assert (answer.status_code, answer["Location"]) == (303, f"{address}#reach")
    assert Job.objects.get().pattern == pattern
    assert Piece.objects.filter(job=job).count() == len(job_work(Job.objects.get()).layout.places)


@pytest.mark.parametrize("wrong", ["", "999999", "x", "9" * 40, "-1"])
def test_a_pattern_that_is_none_is_refused_beside_the_list(client, wrong):
    job = a_job(None)
    a_pattern()
    answer = ticked(client, reverse("apart", args=[job.tag]), "pattern", pattern=wrong)
    assert answer.status_code == 422 and "Choose a pattern from the list." in lines(answer)


def test_an_empty_pattern_book_says_what_to_do(client):
    job = a_job(None)
    Pattern.objects.all().delete()
    assert "The pattern book is empty" in lines(client.get(reverse("apart", args=[job.tag])))


def test_what_the_price_speaks_of_stands_ticked_until_something_is_chosen(client):
    job = a_job(a_pattern())
    PriceLine.objects.create(price=Price.objects.create(job=job), kind="part", text="Dog", place="dog")
    PriceLine.objects.create(price=Price.objects.get(), kind="part", text="Odd", place="not_a_place")
    address = reverse("apart", args=[job.tag])
    assert 'value="dog" checked' in client.get(address).content.decode()
    ticked(client, address, "reach", place=["star"], was="")
    page = client.get(address).content.decode()
    assert 'value="star" checked' in page and 'value="dog" checked' not in page


def test_the_whole_reel_is_one_button(client, job, address):
    answer = ticked(client, address, "reach", whole="1", was="pinion")
    assert answer.status_code == 303
    job.refresh_from_db()
    assert len(job.reach) == len(job_work(job).layout.places)
    assert "the whole reel" in lines(client.get(address))


def test_a_choice_as_you_go_swaps_the_way_in_and_what_the_form_was(client, job, address):
    answer = client.post(address, {"act": "reach", "place": ["pinion", "dog"], "was": "pinion"}, headers=HTMX)
    text = answer.content.decode()
    assert 'id="work"' in text and "<html" not in text
    assert 'value="pinion,dog" hx-swap-oob="true"' in text


def test_each_step_stands_with_its_tool_minutes_and_cell_and_its_caution_ahead(client, job, address):
    ticked(client, address, "done", step="undo_bridge_screws", with_before="1")
    page = client.get(address).content.decode()
    now = page[page.index('id="now"') : page.index('id="tray"')]
    caution, do, tick = (now.index(word) for word in ("Eye protection on", "ease the bridge out", ">Done</button>"))
    assert caution < do < tick
    assert "fingers, cupped hand" in now and "0.8 min" in now and "bridge, yoke springs (2)" in now


def test_the_asbestos_caution_stands_at_old_washers_and_not_at_those_fitted_since(client):
    job = a_job(a_pattern(), reach=("friction_1", "friction_2", "friction_3", "under_gear_washer", "hard_washer"))
    address = reverse("apart", args=[job.tag])
    assert "Old washers may hold asbestos" in lines(client.get(address))
    for place in [place.key for place in job_work(job).layout.places if place.kind == "friction_washer"]:
        old = job.pieces.get(place=place)
        Piece.objects.create(job=job, place=place, name=old.name, replaces=old)
        job.pieces.filter(pk=old.pk).update(where="scrap")
    assert "Old washers may hold asbestos" not in lines(client.get(address))


def test_a_tick_without_javascript_leads_back_to_the_next_step(client, job, address):
    answer = ticked(client, address, "done", step="undo_handle_screw")
    assert (answer.status_code, answer["Location"]) == (303, f"{address}#now")
    assert "Unscrew the handle nut" in lines(client.get(address))
    job.refresh_from_db()
    assert job.stage == Stage.APART


def test_a_tick_with_htmx_swaps_the_card_and_the_tray(client, job, address):
    answer = client.post(address, {"act": "done", "step": "undo_handle_screw"}, headers=HTMX)
    text = answer.content.decode()
    assert answer.status_code == 200 and "<html" not in text
    assert "Unscrew the handle nut" in text[: text.index('id="just-off"')]
    assert '<a href="#place-handle_screw">' in text[text.index('class="tray"') :]


def test_a_tick_taken_off(client, job, address):
    ticked(client, address, "done", step="undo_handle_screw")
    assert ticked(client, address, "undo", step="undo_handle_screw").status_code == 303
    assert not StepDone.objects.exists()
    assert not Piece.objects.exclude(where="reel").exists()


@pytest.mark.parametrize("act", ["done", "undo"])
@pytest.mark.parametrize("step", ["", "no_such_step", "<script>", "x" * 3000])
def test_an_unknown_step_is_refused_in_a_sentence(client, address, act, step):
    answer = ticked(client, address, act, step=step)
    assert answer.status_code == 422
    assert "<script>x" not in answer.content.decode()


def test_a_step_too_early_says_what_comes_off_first_beside_it(client, address):
    answer = ticked(client, address, "done", step="pull_handle")
    text = lines(answer)
    assert answer.status_code == 422 and "Take off first: handle nut." in text
    assert text.index("Pull the handle straight off") < text.index("Take off first: handle nut.")


def test_a_refused_undo_is_said_beside_its_step(client, job, address):
    take_apart(job)
    answer = ticked(client, address, "undo", step="lift_head_plate")
    assert answer.status_code == 422 and "Put back first:" in lines(answer)


@pytest.mark.parametrize("act", ["", "explode", "judge'"])
def test_an_unknown_button_is_refused_in_a_sentence(client, address, act):
    answer = ticked(client, address, act)
    assert answer.status_code == 422 and "not known here" in lines(answer)


@pytest.fixture
def pinion(job):
    take_apart(job)
    return job_work(job).here["pinion"]


def test_a_piece_is_judged_and_measured_without_javascript(client, job, address, pinion):
    posted = {"piece": pinion.pk, "state": "worn", "was-state": "", "length": "21,3 mm", "was-length": "", "note": "x"}
    answer = ticked(client, address, "judge", **posted)
    assert (answer.status_code, answer["Location"]) == (303, f"{address}#place-pinion")
    pinion.refresh_from_db()
    assert (pinion.state, pinion.measured_mm, pinion.note) == ("worn", {"length": 21.3}, "x")
    text = lines(client.get(address))
    assert text.index("To renew") < text.index("Pinion", text.index("To renew"))


def test_a_piece_saved_as_you_go_brings_its_word_the_tray_and_what_to_renew(client, job, address, pinion):
    answer = client.post(address, {"act": "judge", "piece": pinion.pk, "state": "broken"}, headers=HTMX)
    text = answer.content.decode()
    assert answer.status_code == 200
    for swapped in (
        f'id="head-{pinion.pk}"',
        f'id="acts-{pinion.pk}"',
        f'id="was-{pinion.pk}"',
        'id="tray"',
        'id="renew"',
        'id="saved"',
    ):
        assert swapped in text
    assert text.count("hx-swap-oob") == 6


def test_an_absurd_size_is_refused_and_the_rest_of_the_form_is_saved_and_kept(client, job, address, pinion):
    answer = ticked(
        client, address, "judge", piece=pinion.pk, state="worn", length="-4", note="chewed", **{"was-length": ""}
    )
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Length can be more than 0" in text and 'value="-4"' in text
    pinion.refresh_from_db()
    assert (pinion.state, pinion.note, pinion.measured_mm) == ("worn", "chewed", {})


@pytest.mark.parametrize("typed", ["abc", "1e999", "nan", "½", "9" * 400, "0"])
def test_a_size_that_is_no_size_is_refused_in_a_sentence(client, job, address, pinion, typed):
    answer = ticked(client, address, "judge", piece=pinion.pk, length=typed)
    assert answer.status_code == 422 and "can be" in lines(answer)


def test_two_people_at_one_piece_lose_nothing(client, job, address, pinion):
    ticked(client, address, "judge", piece=pinion.pk, state="worn", **{"was-state": ""})
    answer = ticked(client, address, "judge", piece=pinion.pk, state="good", note="mine", **{"was-state": ""})
    assert answer.status_code == 422 and "State: Somebody saved “worn” here while this page was open" in lines(answer)
    pinion.refresh_from_db()
    assert (pinion.state, pinion.note) == ("worn", "mine")


@pytest.mark.parametrize("piece", ["", "0", "nope", "9" * 30])
def test_a_piece_that_is_gone_is_said_in_a_sentence(client, address, piece):
    for act in ("judge", "scrap", "renew_undo"):
        answer = ticked(client, address, act, piece=piece)
        assert answer.status_code == 422 and "no longer in the book" in lines(answer)


def test_a_piece_of_another_job_is_not_touched_from_here(client, job, address, pinion):
    other = a_job(job.pattern, reach=("pinion",), tag="26-0002")
    ticked(client, reverse("apart", args=[other.tag]), "scrap", piece=pinion.pk)
    pinion.refresh_from_db()
    assert pinion.where == "cell"


def test_the_rest_is_judged_by_one_button(client, job, address, pinion):
    assert ticked(client, address, "rest_clean").status_code == 303
    assert not Piece.objects.filter(where="cell", state="").exists()
    assert "Mark the rest" not in lines(client.get(address))


def test_a_piece_still_in_the_reel_can_be_looked_at_and_said_to_be_missing(client, job, address):
    knob = job_work(job).here["handle_knob"]
    assert f'id="place-{knob.place}"' not in client.get(address).content.decode()
    page = client.get(address, {"also": "handle_knob"}).content.decode()
    assert f'id="place-{knob.place}" open' in " ".join(page.split())
    ticked(client, f"{address}?also=handle_knob", "judge", piece=knob.pk, state="missing")
    text = lines(client.get(address))
    assert "To renew Handle knob" in text
    assert client.get(address, {"also": "<no such place>"}).status_code == 200


def test_bagged_and_out_again(client, job, address, pinion):
    assert ticked(client, address, "scrap", piece=pinion.pk).status_code == 303
    assert "in the scrap bag" in lines(client.get(address))
    ticked(client, address, "unscrap", piece=pinion.pk)
    pinion.refresh_from_db()
    assert pinion.where == "cell"


def test_a_renewal_is_called_off_from_its_piece(client, job, address, pinion):
    new = piece_renew(piece=pinion)
    ticked(client, address, "renew_undo", piece=new.pk)
    pinion.refresh_from_db()
    assert pinion.where == "cell" and not Piece.objects.filter(pk=new.pk).exists()


def test_what_is_renewed_whenever_open_says_so_and_why(client):
    job = a_job(a_pattern(), reach=("friction_1",))
    take_apart(job)
    text = lines(client.get(reverse("apart", args=[job.tag])))
    assert "While it is open anyway First drag washer" in text or "While it is open anyway Third drag washer" in text
    assert "it costs less than opening the reel again" in text


def test_apart_as_far_as_needed_leads_on(client, job, address, pinion):
    text = lines(client.get(address))
    assert "Apart as far as needed" in text and "Parts Together" in text


def test_a_family_the_book_no_longer_has_is_said_in_a_sentence(client, job, address):
    Pattern.objects.update(family="steam_drag")
    answer = client.get(address)
    assert answer.status_code == 422 and "steam_drag" in lines(answer)


def test_the_guide_prints(client, job):
    answer = client.get(reverse("takedown_paper", args=[job.tag]))
    assert answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")


def test_the_guide_of_nothing_chosen_says_so(client):
    job = a_job(a_pattern())
    answer = client.get(reverse("takedown_paper", args=[job.tag]))
    assert answer.status_code == 422 and "Choose first what must be reached" in lines(answer)


def test_the_page_of_a_whole_reel_takes_a_bounded_number_of_queries(
    client, job, address, django_assert_max_num_queries
):
    ticked(client, address, "reach", whole="1", was="pinion")
    job.refresh_from_db()
    take_apart(job)
    for piece in list(job_work(job).here.values())[:6]:
        piece_judge(piece=piece, state="worn")
        piece_renew(piece=piece)
    with django_assert_max_num_queries(11):  # one for the latest note, one for the limits of wear
        client.get(address)


def test_no_such_job(client):
    assert client.get(reverse("apart", args=["nope"])).status_code == 404


def test_one_more_piece_gets_a_cell_and_a_changed_pattern_is_asked_about(client):
    job = a_job(a_pattern(), reach=("handle",))
    take_apart(job)
    address = reverse("apart", args=[job.tag])
    posted = {"name": "wave washer", "kind": "spring_washer", "found_in": "undo_handle_nut", "kept": "pattern"}
    answer = client.post(address, {"act": "one_more", **posted, "count": "two"}, headers=HTMX)
    assert answer.status_code == 422 and "can be a whole number" in lines(answer)
    answer = client.post(address, {"act": "one_more", **posted, "count": "2"}, headers=HTMX)
    assert "wave washer (2)" in lines(answer) and "The pattern has changed since" not in lines(answer)
    piece_one_more(
        job=a_job(job.pattern, tag="26-0002"), name="x", kind="pin", step="undo_handle_nut", for_pattern=True
    )
    assert "The pattern has changed since" in lines(client.get(address))
    answer = ticked(client, address, "lay_out_anew")
    assert answer.status_code == 303 and "The pattern has changed since" not in lines(client.get(address))
    assert Piece.objects.get(job=job, place="own_x").where == "cell"
