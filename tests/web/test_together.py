"""The Together page: gates and steps in order, refusals beside them, and calling it together."""

import re

import pytest
from django.urls import reverse

from levelwind.shop.models import Job, Stage, StepDone
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.pieces import piece_judge, piece_order, piece_renew
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_back_until, put_together, take_apart

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}


@pytest.fixture
def job():
    job = a_job(a_pattern(), reach=("friction_1", "pinion"))
    take_apart(job)
    return job


@pytest.fixture
def address(job):
    return reverse("together", args=[job.tag])


def lines(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def posted(client, address, act, **data):
    return client.post(address, {"act": act, **data})


def test_the_way_back_can_be_walked_by_its_buttons_alone(client, job, address):
    """No JavaScript: each page is loaded, its big button pressed, until the reel is together."""
    while Job.objects.get(pk=job.pk).stage == Stage.APART:
        page = client.get(address).content.decode()
        form = page[page.index('id="now"') :]
        fields = dict(
            re.findall(r'<input type="hidden" name="(act|step|gate)" value="([^"]+)">', form[: form.find("</form>")])
        )
        answer = client.post(address, fields)
        assert answer.status_code == 303
    assert (fields["act"], answer["Location"]) == ("finish", reverse("prove", args=[job.tag]))
    assert Job.objects.get(pk=job.pk).stage == Stage.TOGETHER


def test_the_last_gates_and_calling_it_together_are_one_press_or_none(client, job, address):
    put_back_until(job, "nothing")
    text = lines(client.get(address))
    assert "Yes to all of it: call it together" in text and text.count("call it together") == 1
    answer = posted(client, address, "finish", gate="end_float_felt,tray_empty")
    assert answer.status_code == 422 and "Not answered yet: Can some end float" in lines(answer)
    assert not job_work(job).passed.keys() & {"end_float_felt", "tray_empty"}
    gates = "end_float_felt,handle_play_felt,tray_empty"
    assert posted(client, address, "finish", gate=gates).status_code == 303
    posted(client, address, "ask", gate="tray_empty")
    assert Job.objects.get(pk=job.pk).stage == Stage.APART
    assert "Yes: call it together" in lines(client.get(address))


def test_a_gate_is_asked_in_words_with_its_reason(client, job, address):
    put_back_until(job, "lift_drag_washers")
    text = lines(client.get(address))
    assert "Are keyed and eared washers told apart" in text and "Swapped, they fit and the drag is halved" in text


def test_a_step_behind_a_gate_is_refused_by_its_words(client, job, address):
    put_back_until(job, "lift_drag_washers")
    answer = posted(client, address, "done", step="lift_drag_washers")
    assert answer.status_code == 422
    assert "A gate stands before this step. Answer it first: Are keyed and eared washers told apart" in lines(answer)


def test_each_step_says_what_goes_in_from_which_cell_with_what_oil(client, job, address):
    put_back_until(job, "lift_pinion")
    cell = job_work(job).here["pinion"].cell
    text = lines(client.get(address))
    assert "Put in the pinion, then the pinion yoke." in text
    assert f"{cell} Pinion not judged" in text
    assert "Light oil : one drop, spread." in text and "Reel grease : a thin film." in text


def test_look_alikes_are_told_apart_and_cautions_stand_ahead(client, job, address):
    put_back_until(job, "undo_bridge_screws")
    posted(client, address, "yes", gate="bridge_screws_told_apart")
    assert "Not the partly threaded bridge screws, the free-spool lever screw, the dog screw." in lines(
        client.get(address)
    )


def test_cautions_stand_ahead_of_what_to_do(client, job, address):
    put_back_until(job, "lift_bridge")
    now = client.get(address).content.decode()
    now = now[now.index('id="now"') :]
    assert now.index("Eye protection on") < now.index("Put in the yoke springs") < now.index(">In</button>")


def test_a_new_piece_is_named_as_the_one_that_goes_in(client, job, address):
    piece_renew(piece=job_work(job).here["pinion"])
    put_back_until(job, "lift_pinion")
    assert "Pinion the new one" in lines(client.get(address))


def test_the_asbestos_caution_stands_at_old_washers_and_not_at_new_ones(client, job, address):
    put_back_until(job, "lift_drag_washers")
    for gate in ("drag_washers_told_apart", "metal_faces_clean"):
        posted(client, address, "yes", gate=gate)
    assert "Old washers may hold asbestos" in lines(client.get(address))
    for place in ("friction_1", "friction_2", "friction_3"):
        assert "Old washers may hold asbestos" in lines(client.get(address))
        piece_renew(piece=job_work(job).here[place])
    assert "Old washers may hold asbestos" not in lines(client.get(address))


def test_a_worn_piece_is_not_ticked_silently_and_what_was_typed_is_kept(client, job, address):
    piece_judge(piece=job_work(job).here["pinion"], state="worn")
    put_back_until(job, "lift_pinion")
    page = client.get(address)
    assert "The pinion is worn, and no new one is here." in lines(page)
    assert posted(client, address, "done", step="lift_pinion").status_code == 422
    answer = posted(client, address, "done", step="lift_pinion", all_the_same="1", note="   ")
    assert answer.status_code == 422 and "Enter why" in lines(answer)
    answer = posted(client, address, "done", step="lift_pinion", all_the_same="1", note="will do a season")
    assert answer.status_code == 303
    assert StepDone.objects.get(step="lift_pinion", phase="together").note == "will do a season"


def test_a_piece_on_order_offers_no_way_round(client, job, address):
    piece_order(piece=job_work(job).here["pinion"])
    put_back_until(job, "lift_pinion")
    page = client.get(address).content.decode()
    now = page[page.index('id="now"') :]
    now = now[: now.index("</section>")]
    assert "is on order and not here" in now and "<form" not in now


def test_calling_it_together_too_early_names_what_is_left(client, job, address):
    answer = posted(client, address, "finish")
    text = lines(answer)
    assert answer.status_code == 422
    for piece in job_work(job).pieces:
        if piece.where == "cell":
            assert f"{piece.name[0].upper()}{piece.name[1:]}: still in tray cell {piece.cell}." in text
    assert Job.objects.get(pk=job.pk).stage == Stage.APART


def test_a_missing_piece_is_settled_with_a_reason(client, job, address):
    knob = job_work(job).here["handle_knob"]
    piece_judge(piece=knob, state="missing")
    put_together(job)
    assert "It goes home without the handle knob, because" in lines(client.get(address))
    answer = posted(client, address, "go_without", piece=knob.pk, note="")
    assert answer.status_code == 422 and "Enter why" in lines(answer)
    posted(client, address, "go_without", piece=knob.pk, note="the owner has it")
    posted(client, address, "ask", gate="tray_empty")
    text = lines(posted(client, address, "finish"))
    assert "Not answered yet: Is the tray empty?" in text and "because" not in text
    posted(client, address, "yes", gate="tray_empty")
    assert posted(client, address, "finish").status_code == 303


def test_undo_and_ask_again(client, job, address):
    put_together(job)
    assert posted(client, address, "ask", gate="tray_empty").status_code == 303
    assert posted(client, address, "undo", step="undo_handle_screw").status_code == 303
    work = job_work(job)
    assert "tray_empty" not in work.passed and work.here["handle_screw"].where == "cell"
    answer = posted(client, address, "undo", step="lift_pinion")
    assert answer.status_code == 422 and "Take off again first" in lines(answer)


@pytest.mark.parametrize(("act", "name"), [("done", "step"), ("undo", "step"), ("yes", "gate"), ("ask", "gate")])
@pytest.mark.parametrize("key", ["", "no_such_thing", "x" * 3000])
def test_unknown_keys_are_refused_in_a_sentence(client, address, act, name, key):
    answer = posted(client, address, act, **{name: key})
    assert answer.status_code == 422 and "can be" in lines(answer)


def test_an_unknown_button_is_refused_in_a_sentence(client, address):
    assert "not known here" in lines(posted(client, address, "explode"))


def test_htmx_gets_the_part_that_ticks_change(client, job, address):
    first = job_work(job).way_back.steps[0]
    answer = client.post(address, {"act": "done", "step": first.step.key}, headers=HTMX)
    text = answer.content.decode()
    assert answer.status_code == 200 and 'id="work"' in text and "<html" not in text


def test_a_reel_never_opened_is_asked_the_last_questions_only(client):
    job = a_job(a_pattern(), stage=Stage.APART)
    address = reverse("together", args=[job.tag])
    assert "Nothing was ticked on Apart" in lines(client.get(address))
    for gate in ("end_float_felt", "handle_play_felt", "tray_empty"):
        posted(client, address, "yes", gate=gate)
    assert posted(client, address, "finish").status_code == 303


def test_a_reel_of_no_pattern_is_called_together_by_hand(client):
    job = a_job(None, stage=Stage.APART)
    address = reverse("together", args=[job.tag])
    assert "only you can tell" in lines(client.get(address))
    assert posted(client, address, "finish").status_code == 303


def test_the_page_of_a_whole_reel_takes_a_bounded_number_of_queries(client, django_assert_max_num_queries):
    job = a_job(a_pattern())
    job.reach = [place.key for place in job_work(job).layout.places]
    job.save()
    take_apart(job)
    with django_assert_max_num_queries(8):
        client.get(reverse("together", args=[job.tag]))
