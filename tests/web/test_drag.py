"""The drag page: laid out, moved, changed and kept, with a script and without."""

import re

import pytest
from django.test import Client

from levelwind.core.codec import as_stored
from levelwind.core.quantities import NEWTONS_PER, in_words
from levelwind.reference.families import families
from levelwind.shop.models import DragPlan, Job, Part
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.readings.services.readings import reading_type
from tests.jobs import a_job, a_pattern
from tests.web.drag_page import FIGURES, SPOOL, SPRINGS, URL, WORK, a_reel, end, typed_on_page

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    return a_reel()


def words(page: str) -> str:
    """What a person reads of it."""
    return " ".join(re.sub(r"<[^>]*>", "", page).split())


def _names(plan: DragPlan | None = None) -> list[str]:
    plan = plan or DragPlan.objects.get()
    return [body["name"] for body in plan.stack["bodies"]]


def test_a_reel_of_no_pattern_has_no_drag_to_lay_out(client: Client) -> None:
    a_job()
    assert "Name the pattern" in client.get(URL).content.decode()
    assert client.post(URL, {}).status_code == 200


def test_it_begins_with_the_patterns_stack_and_keeps_nothing_by_looking(client: Client, job: Job) -> None:
    shown = client.get(URL).content.decode()
    assert "washer under the main gear" in shown and "No other order of these washers holds more" in shown
    assert "Near empty" in shown and "25 to 33 %" in shown
    assert not DragPlan.objects.exists()


def test_the_clamp_for_a_line_stands_in_the_shops_unit_and_beyond_a_hand_is_said(client: Client, job: Job) -> None:
    """The clamp for a class is the strike over the stack's drag for each newton; this hand gives half a N m."""
    client.post(URL, typed_on_page(client, hand_Nm="0.5", do="work-out"))
    figures = client.get(URL).context["page"].figures
    line, most = figures.drag.result.line, figures.drag.result.most_clamp_N
    heaviest = figures.classes[-1]
    assert heaviest.clamp.clamp_N.low == pytest.approx(0.25 * heaviest.line.most_N / line.per_clamp_N)
    assert heaviest.clamp.beyond and heaviest.clamp.clamp_N.low > most and not figures.classes[0].clamp.beyond
    shown = " ".join(client.get(URL).content.decode().split())
    pounds = in_words(heaviest.clamp.clamp_N.scaled(1 / NEWTONS_PER["lbf"]), "lbf")
    assert pounds in words(shown) and "beyond a hand" in shown
    assert not figures.setting.clamp.beyond and "that a hand and this thread give at most" not in shown
    Job.objects.update(line_strength_N=20 * job.line_strength_N)
    shown = words(client.get(URL).content.decode())
    assert "lbf that a hand and this thread give at most" in shown


def test_a_fly_reels_page_asks_for_the_tippet_and_sets_to_it(client: Client) -> None:
    pattern = a_pattern(family="fly", spool_arbor_mm=40, spool_flange_mm=80, spool_width_mm=20)
    job = a_job(pattern=pattern, line_strength_N=89.0, line_diameter_mm=0.4, line_name="20 lb backing")
    answer = client.get(URL)
    assert "Setting for the tippet" in words(answer.content.decode()) and answer.context["page"].figures.setting is None
    assert "enter how strong it is" in words(answer.content.decode())
    assert answer.context["page"].figures.fills[0].share is None
    job.tippet_strength_N = 6 * NEWTONS_PER["lbf"]
    job.save()
    answer = client.get(URL)
    setting = answer.context["page"].figures.setting
    assert setting.strike_N.low == pytest.approx(0.25 * job.tippet_strength_N)
    assert "The tippet holds 6 lbf" in words(answer.content.decode())


def test_without_a_script_a_button_works_it_out_and_keeps_it(client: Client, job: Job) -> None:
    answer = client.post(URL, typed_on_page(client, clamp_N="250", do="work-out"))
    assert answer.status_code == 302 and answer["Location"] == URL
    assert DragPlan.objects.get().computed["clamp_N"]["value"] == 250.0


def test_a_washer_is_moved_by_its_buttons(client: Client, job: Job) -> None:
    client.post(URL, typed_on_page(client, do="down-5"))
    assert _names()[5:7] == ["eared washer", "second drag washer"]
    assert "of the drag is lost" in client.get(URL).content.decode()
    fields = typed_on_page(client)
    client.post(URL, {**fields, "do": f"up-{fields['row'][6]}"})  # type: ignore[index]
    assert _names()[5:7] == ["second drag washer", "eared washer"]


def test_the_order_of_the_rows_is_the_order_of_the_stack(client: Client, job: Job) -> None:
    fields = typed_on_page(client)
    rows = list(fields["row"])  # type: ignore[call-overload]
    rows.insert(7, rows.pop(3))
    answer = client.post(URL, {**fields, "row": rows}, headers=WORK)
    assert answer.status_code == 200 and 'id="drag-work"' in answer.content.decode()
    assert _names()[7] == "first drag washer"


def test_the_right_order_is_laid_at_a_button(client: Client, job: Job) -> None:
    before = client.get(URL).context["page"].kept.drag.result.torque
    client.post(URL, typed_on_page(client, do="down-5"))
    client.post(URL, typed_on_page(client, do="right"))
    assert client.get(URL).context["page"].kept.drag.result.torque.run_in_Nm == before.run_in_Nm


def test_two_linings_on_one_another_are_said(client: Client, job: Job) -> None:
    client.post(URL, typed_on_page(client, do="down-5"))
    shown = client.get(URL).content.decode()
    assert "Second drag washer and third drag washer lie between the same two plates" in shown
    assert "Right, from place 6 on: second drag washer, eared washer." in shown


def test_a_body_is_added_changed_and_taken_out(client: Client, job: Job) -> None:
    client.post(URL, typed_on_page(client, do="add", new_kind="friction"))
    assert _names()[8] == "friction washer" and len(_names()) == 13
    client.post(URL, typed_on_page(client, **{"name-8": "spare lining", "thickness-8": "0,5", "material-8": "felt"}))
    body = DragPlan.objects.get().stack["bodies"][8]
    assert (body["name"], body["thickness_mm"], body["material"]) == ("spare lining", 0.5, "felt")
    client.post(URL, typed_on_page(client, do="remove-8"))
    assert len(_names()) == 12


def test_a_washer_of_the_shelf_is_laid_in_with_its_sizes(client: Client, job: Job) -> None:
    part = part_add(number="F-28", name="felt washer", kind="friction_washer", count=2)
    Part.objects.filter(pk=part.pk).update(
        material="felt", sizes_mm={"outer diameter": 27.0, "inner diameter": 12.5, "thickness": 1.5}
    )
    client.post(URL, typed_on_page(client, **{"part-3": str(part.pk), "do": "lay-3"}))
    plan = DragPlan.objects.get()
    body = plan.stack["bodies"][3]
    assert (body["name"], body["outer_diameter_mm"], body["material"]) == ("felt washer", 27.0, "felt")
    assert plan.setup["parts"][3] == str(part.pk)


def test_a_change_answers_with_the_figures_alone(client: Client, job: Job) -> None:
    shown = client.post(URL, typed_on_page(client, hand_Nm="0.5"), headers=FIGURES).content.decode()
    assert "What it holds" in shown and 'id="drag-work"' not in shown
    assert 'id="says-3"' in shown and 'id="drawn-from"' in shown and "Kept" in shown


def refused(words: str, shown: str) -> bool:
    """Whether the page says what this field can be, and what it was."""
    field, _, was = words.rpartition(" was")
    return f"{field} can be" in shown and f". It was{was}" in shown


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"outer-3": "abc"}, "Outer diameter of first drag washer was"),
        ({"inner-3": "40"}, "Inner diameter of first drag washer was 40 mm"),
        ({"thickness-3": "-1"}, "Thickness of first drag washer was -1 mm"),
        ({"thickness-3": "nan"}, "Thickness of first drag washer was"),
        ({"outer-3": "1e400"}, "Outer diameter of first drag washer was"),
        ({"kind-3": "propeller"}, "Kind of first drag washer was"),
        ({"material-3": "cheese"}, "Material of first drag washer was"),
        ({"mu-3": "9"}, "Friction of first drag washer was 9"),
        ({"mu-3": "0.2", "mu_low-3": "0.3"}, "Friction of first drag washer was 0.2, 0.3 to 0.2"),
        ({"thickness-3": "9" * 20}, "Thickness of first drag washer was “9"),
        ({"clamp_N": "-4"}, "Clamp force was -4 N"),
        ({"hand_Nm": "a lot"}, "Turn of star or knob was"),
        ({"line_m": "90000"}, "Line on the spool was 90000 m"),
        ({"condition": "sandy"}, "Condition was"),
        ({"key_friction": "7"}, "Friction along keys and ears was 7"),
        ({"keys_at-4": "-2"}, "Key diameter of my own name was -2 mm"),
        ({"gear_teeth": "3"}, "Main gear, teeth was 3"),
        ({"shims": "0.1 thick"}, "Shims at hand was"),
        ({"dog_of": "cheese"}, "Material (dog_of) was"),
        ({"spool_of": "felt"}, "Material (spool_of) was"),
        ({"thread": "M6 by one"}, "Thread was"),
        ({"thread": "x" * 5000}, "Thread was"),
        ({"pinion_teeth": "3"}, "Pinion, teeth was 3"),
        ({"pinion_teeth": "12.5"}, "Pinion, teeth was 12.5"),
        ({"gear_g": "-1"}, "Main gear, weight was -1 g"),
        ({"spool_g": "1e9"}, "Spool, weight was"),
        ({"roller_deg": "9999"}, "Line roller, wrap was"),
        ({"roller_mu": "slippery"}, "Roller, friction was"),
        ({"found_fill": "brimful"}, "Spool at the pull as found was"),
        ({"found_unknown": "cheese"}, "Washer whose friction is read was"),
        ({"found_out_m": "-3"}, "Line out at the pull as found was -3 m"),
        ({"found_clamp_N": "0"}, "Clamp force at the pull as found was 0 N"),
        ({"left_turns": "inf"}, "Turns at the pull as left was"),
        (
            {
                "turns": "1",
                "spring_outer_mm": "5",
                "spring_inner_mm": "9",
                "spring_thick_mm": "1",
                "spring_cone_mm": "1",
            },
            "Inner diameter of the spring was 9 mm",
        ),
    ],
)
def test_an_absurd_value_is_named_and_what_was_typed_stays(
    client: Client, job: Job, typed: dict[str, str], words: str
) -> None:
    answer = client.post(URL, typed_on_page(client, **{"name-4": "my own name", **typed}))
    shown = answer.content.decode()
    assert answer.status_code == 422 and refused(words, shown) and "my own name" in shown
    assert not DragPlan.objects.exists()


@pytest.mark.parametrize("rows", [["1", "1"], ["x"], [str(n) for n in range(61)], ["99999"]])
def test_rows_no_page_sends_are_refused(client: Client, job: Job, rows: list[str]) -> None:
    answer = client.post(URL, {"row": rows, "condition": "dry"})
    assert answer.status_code == 422 and "Rows of the stack can be" in answer.content.decode()


@pytest.mark.parametrize("do", ["up-77", "remove-x", "lay-", "explode", "add"])
def test_strange_buttons_do_no_harm(client: Client, job: Job, do: str) -> None:
    assert client.post(URL, typed_on_page(client, do=do)).status_code in (302, 422)


def test_a_stack_of_two_bodies_that_cannot_slip_is_said(client: Client, job: Job) -> None:
    answer = client.post(URL, {"row": ["0"], "condition": "dry", "name-0": "lone", "kind-0": "gear"})
    assert answer.status_code == 422


def test_two_people_at_the_same_stack(client: Client, job: Job) -> None:
    mine, theirs = typed_on_page(client, clamp_N="100"), typed_on_page(client, clamp_N="200")
    client.post(URL, theirs, headers=FIGURES)
    shown = client.post(URL, mine, headers=FIGURES).content.decode()
    assert "Somebody else kept another stack" in shown and "Not kept" in shown
    assert [plan.setup["numbers"]["clamp_N"] for plan in DragPlan.objects.all()] == [200.0]
    client.post(URL, {**mine, "do": "mine"})
    assert [plan.setup["numbers"]["clamp_N"] for plan in DragPlan.objects.all()] == [200.0, 100.0]


def test_the_stack_as_found_stands_beside_the_new_one(client: Client, job: Job) -> None:
    client.post(URL, typed_on_page(client, do="found"))
    client.post(URL, typed_on_page(client, do="remove-7"))
    plan = DragPlan.objects.get()
    assert len(plan.found["bodies"]) == 12 and len(plan.stack["bodies"]) == 11
    assert "Old stack, run in" in client.get(URL).content.decode()


def test_a_stack_is_kept_as_the_patterns_standard_and_begun_again_from_it(client: Client, job: Job) -> None:
    client.post(URL, typed_on_page(client, do="remove-7"))
    client.post(URL, typed_on_page(client, do="book"))
    assert job.pattern is not None
    job.pattern.refresh_from_db()
    assert len(job.pattern.drag["bodies"]) == 11
    client.post(URL, typed_on_page(client, do="remove-1"))
    client.post(URL, typed_on_page(client, do="standard"))
    assert len(_names()) == 11


def test_a_reel_without_spool_sizes_or_line_is_told_what_is_missing(client: Client) -> None:
    a_job(pattern=a_pattern())
    shown = client.get(URL).content.decode()
    assert "only the torque can be told" in shown and "strength of the line on this reel is not known" in shown


def test_the_further_sections_follow_what_istyped_on_page(client: Client, job: Job) -> None:
    shown = client.get(URL).content.decode()
    assert "Measure one disc spring" in shown and "how much lower" in shown and "Drag through the run" in shown
    given = {**SPRINGS, "turns": "0.3", "lower_mm": "0.3", "higher_mm": "0.3", "dog_mm2": "6", "dog_radius_mm": "11"}
    shown = client.post(URL, typed_on_page(client, **given), headers=FIGURES).content.decode()
    assert "The springs lie flat after 0.45 turns" in shown
    assert "Of what is measured, dog gives first" in shown and "within what star or knob takes up" in shown
    assert "Chance that the drag passes it" in shown and "No limit is named" in shown
    gear = {"gear_teeth": "48", "gear_module_mm": "0.6", "gear_face_mm": "4"}
    assert (
        "No limit is named"
        in client.post(URL, typed_on_page(client, **given, **gear), headers=FIGURES).content.decode()
    )
    shown = client.post(URL, typed_on_page(client, **given, **gear, gear_of="brass"), headers=FIGURES).content.decode()
    assert "First to give: main gear teeth" in shown and "middle of what its metal bears" in shown
    assert "No limit is named" not in shown
    assert shown.count('id="told-') == 6
    assert DragPlan.objects.get().setup["numbers"]["turns"] == 0.3


def test_the_shelf_is_searched_and_a_choice_laid_in(client: Client, job: Job) -> None:
    part = part_add(number="C-28", name="thin washer", kind="friction_washer", count=9)
    sizes = {"outer diameter": 28.0, "inner diameter": 12.2, "thickness": 1.0}
    Part.objects.filter(pk=part.pk).update(material="leather", sizes_mm=sizes)
    answer = client.post(URL, typed_on_page(client, lower_mm="1", higher_mm="1", do="search"))
    assert answer.status_code == 200
    choices = answer.context["page"].choices.found
    keys = next(choice.keys for choice in choices if part in choice.parts)
    client.post(URL, typed_on_page(client, do=f"choose-{keys}"))
    assert str(part.pk) in DragPlan.objects.get().setup["parts"]


def test_a_search_says_what_it_lacks(client: Client, job: Job) -> None:
    assert "Enter first how much lower" in client.post(URL, typed_on_page(client, do="search")).content.decode()


@pytest.mark.parametrize("keys", ["99.1", "x", "3.", "3.1_-1.2", "1" * 4000])
def test_a_choice_no_page_offers_is_refused(client: Client, job: Job, keys: str) -> None:
    answer = client.post(URL, typed_on_page(client, do=f"choose-{keys}"))
    assert answer.status_code == 422 and "search again" in answer.content.decode()


def test_every_line_class_has_its_setting(client: Client, job: Job) -> None:
    """The 30 lb class holds 147.1 N wet (published classes); a quarter to a third of it is 36.8 to 48.5 N."""
    rows = client.get(URL).context["page"].figures.classes
    thirty = next(row for row in rows if row.line.rating_lb == 30)
    assert (thirty.strike_N.low, thirty.strike_N.high) == pytest.approx((36.8, 48.5), abs=0.1)
    assert thirty.clamp.clamp_N.low < thirty.clamp.clamp_N.high


def test_a_lever_drag_is_set_by_its_lever_and_drawn_against_it(client: Client) -> None:
    """At the strike of the family's cam the drag is greater than half way there, and the springs give it."""
    a_job(pattern=a_pattern(family="lever_drag", **SPOOL), line_diameter_mm=0.55, line_strength_N=133.4)
    shown = client.get(URL)
    assert "Against the lever" in shown.content.decode() and "lever, degrees" in shown.content.decode()
    assert 'name="hand_Nm"' not in shown.content.decode()
    assert 'name="spool_g"' in shown.content.decode() and 'name="gear_g"' not in shown.content.decode()
    client.post(URL, typed_on_page(client, lever_deg="40"))
    half = client.get(URL).context["page"].figures
    assert "the lever at 40°" in half.clamp_words
    assert half.fills[0].at.run_in_N.value < shown.context["page"].figures.fills[0].at.run_in_N.value
    assert client.post(URL, typed_on_page(client, lever_deg="200")).status_code == 422
    nothing = client.post(URL, typed_on_page(client, lever_deg="0"), headers=FIGURES)
    assert nothing.status_code == 200 and "Nothing is pressed here" in nothing.content.decode()


def test_a_click_alone_is_told_and_has_no_stack(client: Client) -> None:
    a_job(pattern=a_pattern(family="fly_click", **SPOOL))
    shown = client.get(URL).content.decode()
    assert "there is no stack to lay out" in shown and "clicks a turn rises to" in shown and "At the line" in shown
    assert "Running drag" not in shown
    assert client.post(URL, {"row": ["0"], "do": "up-0"}).status_code == 200
    assert not DragPlan.objects.exists()


def test_a_click_stands_beside_the_pulls(client: Client) -> None:
    job = a_job(pattern=a_pattern(family="fly_click", **SPOOL))
    reading_type(job=job, kind="pull", moment="found", typed={"breakaway_N": 0.9, "running_N": 0.6})
    shown = client.get(URL).content.decode()
    assert "Running drag" in shown and "as found" in shown


@pytest.mark.parametrize("family", families())
def test_every_family_has_its_page(client: Client, family: str) -> None:
    a_job(pattern=a_pattern(family=family))
    assert client.get(URL).status_code == 200
    assert client.get("/patterns/").status_code == 200


def test_what_is_folded_away_is_not_worked_out_and_the_rest_is(client: Client, job: Job) -> None:
    """The script says which folds are open and which row was typed in; without it everything is drawn."""
    answer = client.post(URL, typed_on_page(client, opened="fill how", touched="3", hand_Nm="0.6"), headers=FIGURES)
    shown = answer.content.decode()
    assert 'id="told-fill"' in shown and 'id="told-run"' not in shown and "Each face that slips" in shown
    assert 'id="says-3"' in shown and 'id="says-4"' not in shown
    shut = client.post(URL, typed_on_page(client, opened="", touched="", hand_Nm="0.6"), headers=FIGURES)
    assert "told-" not in shut.content.decode() and "Each face that slips" not in shut.content.decode()
    few, many = (told.context["page"].figures.fills for told in (shut, answer))
    for one, other in zip(few, many, strict=True):
        assert as_stored(one.at.run_in_N) == pytest.approx(as_stored(other.at.run_in_N), rel=1e-12)


def test_the_old_stack_is_drawn_against_the_same_turns(client: Client, job: Job) -> None:
    """With two linings laid on one another a face is lost, and the new curve lies under the old."""
    client.post(URL, typed_on_page(client, do="found", **SPRINGS, turns="0.3"))
    client.post(URL, typed_on_page(client, do="down-5"))
    new, old = client.get(URL).context["page"].figures.charts.turns.lines[:2]
    assert (new.name, old.name) == ("this stack", "the old stack") and end(new)[1] < end(old)[1]
