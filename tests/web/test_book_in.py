"""The Book in page: saves as you type, works without JavaScript, refuses beside the field and keeps the rest."""

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from levelwind.shop.jobs.services.drafts import draft_begin, draft_reel_add
from levelwind.shop.models import Draft, Job, Owner
from tests.pages import typed_into

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft(client: Client) -> Draft:
    client.post("/book-in/")
    return Draft.objects.get()


def address(draft: Draft) -> str:
    return f"/book-in/{draft.pk}/"


def booking(client: Client, draft: Draft, **changes: str) -> dict[str, str]:
    """All fields of the page as a browser sends them, some typed into."""
    return typed_into(client.get(address(draft)), **changes)


def test_a_booking_is_begun_and_found_again(client: Client) -> None:
    answer = client.post("/book-in/")
    draft = Draft.objects.get()
    assert answer["Location"] == address(draft)
    client.post(address(draft), booking(client, draft, owner_name="Tove Aldersund"))
    assert "Tove Aldersund" in client.get("/book-in/").content.decode()


def test_a_booking_without_a_word_in_it_is_not_listed(client: Client, draft: Draft) -> None:
    assert address(draft) not in client.get("/book-in/").content.decode()


def test_what_is_typed_is_kept_as_typed_right_or_wrong(client: Client, draft: Draft) -> None:
    client.post(
        address(draft),
        booking(client, draft, reel1_complaint="slips <when>\nhot", reel1_declared_minor="-5", owner_email="no mail"),
        headers={"HX-Request": "true"},
    )
    draft.refresh_from_db()
    assert draft.data["reel1_complaint"] == "slips <when>\nhot"
    page = client.get(address(draft)).content.decode()
    assert "slips &lt;when&gt;" in page
    assert 'value="-5"' in page
    assert "can be 0 or more" in page


def test_saving_as_you_type_answers_with_the_refusal_of_the_field(client: Client, draft: Draft) -> None:
    answer = client.post(
        address(draft), booking(client, draft, reel1_declared_minor="-5"), headers={"HX-Request": "true"}
    )
    assert "id_reel1_declared_minor_error" in answer.content.decode()
    assert "can be 0 or more" in answer.content.decode()


def test_unknown_fields_of_a_post_are_not_kept(client: Client, draft: Draft) -> None:
    extra = {"stage": "home", "was-stage": "", "reels": "[]", "was-reels": ""}
    client.post(address(draft), booking(client, draft) | extra)
    draft.refresh_from_db()
    assert "stage" not in draft.data
    assert draft.data["reels"] == [1]


def test_a_field_that_does_not_say_what_it_was_is_left_alone(client: Client, draft: Draft) -> None:
    assert client.post(address(draft), {"reel1_serial": "A 17"}).status_code == 302
    draft.refresh_from_db()
    assert "reel1_serial" not in draft.data


def test_two_pages_of_one_booking_do_not_undo_each_other(client: Client, draft: Draft) -> None:
    one, other = booking(client, draft), booking(client, draft)
    client.post(address(draft), one | {"reel1_serial": "A 17"})
    client.post(address(draft), other | {"parcel_carrier": "Coast Post"})
    draft.refresh_from_db()
    assert (draft.data["reel1_serial"], draft.data["parcel_carrier"]) == ("A 17", "Coast Post")


def test_two_who_type_into_one_field_are_told_and_neither_text_is_lost(client: Client, draft: Draft) -> None:
    one, other = booking(client, draft), booking(client, draft)
    client.post(address(draft), one | {"reel1_serial": "A 17"})
    answer = client.post(address(draft), other | {"reel1_serial": "B 99"})
    draft.refresh_from_db()
    assert draft.data["reel1_serial"] == "A 17"
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "Somebody saved “A 17” here" in page
    assert 'value="B 99"' in page


def test_without_javascript_find_lists_owners_and_choose_takes_one(client: Client, draft: Draft) -> None:
    owner = Owner.objects.create(name="Ines Vasterholm", phone="555 0117")
    answer = client.post(address(draft), booking(client, draft, owner_name="vaster", do="find"), follow=True)
    assert f'value="choose {owner.pk}"' in answer.content.decode()
    answer = client.post(address(draft), booking(client, draft, do=f"choose {owner.pk}"), follow=True)
    assert "555 0117" in answer.content.decode()
    assert "Somebody else" in answer.content.decode()


def test_owners_are_found_as_you_type(client: Client, draft: Draft) -> None:
    Owner.objects.create(name="Ines Vasterholm")
    Owner.objects.create(name="Bram Quillane")
    page = client.get(f"{address(draft)}owners/", {"owner_name": "vas"}).content.decode()
    assert "Ines Vasterholm" in page
    assert "Bram Quillane" not in page


def test_reels_are_added_copied_taken_away_and_put_back(client: Client, draft: Draft) -> None:
    client.post(address(draft), booking(client, draft, reel1_reel="big star drag", reel1_serial="77", do="copy 1"))
    client.post(address(draft), booking(client, draft, do="add"))
    draft.refresh_from_db()
    assert draft.data["reels"] == [1, 2, 3]
    assert draft.data["reel2_reel"] == "big star drag"
    assert "reel2_serial" not in draft.data
    client.post(address(draft), booking(client, draft, do="take_away 1"))
    assert "Put back: big star drag" in client.get(address(draft)).content.decode()
    client.post(address(draft), booking(client, draft, do="put_back 1"))
    assert 'id="reel1"' in client.get(address(draft)).content.decode()


def test_no_more_reels_than_a_form_can_carry(client: Client, draft: Draft) -> None:
    for _ in range(39):
        draft_reel_add(draft=draft)
    answer = client.post(address(draft), booking(client, draft, do="add", reel40_reel="the fortieth"))
    assert answer.status_code == 422
    assert "at most 40" in answer.content.decode()
    draft.refresh_from_db()
    assert draft.data["reel40_reel"] == "the fortieth"


def test_a_crate_is_booked_in(client: Client, draft: Draft) -> None:
    client.post(
        address(draft),
        booking(client, draft, owner_name="Charter boat Merrow", reel1_reel="trolling reel", do="copy 1"),
    )
    answer = client.post(
        address(draft),
        booking(
            client,
            draft,
            reel2_serial="9",
            reel2_declared_minor="1,250.50",
            reel2_line_strength_N="30",
            reel2_line_diameter_mm="0.36",
            parcel_came_by="counter",
            do="book_in",
        ),
        follow=True,
    )
    first, second = Job.objects.order_by("tag")
    assert answer.redirect_chain == [(f"/parcels/{first.parcel_id}/", 302)]
    assert (second.owner.name, second.serial, second.declared_minor) == ("Charter boat Merrow", "9", 125050)
    # 30 lbf by the exact pound (1959) and standard gravity (3rd CGPM, 1901)
    assert second.line_strength_N == pytest.approx(30 * 0.45359237 * 9.80665, rel=1e-12)
    assert first.parcel == second.parcel
    assert first.parcel.came_by == "counter"
    assert not Draft.objects.exists()
    page = answer.content.decode()
    assert "Look it over" in page
    assert f"/parcels/{first.parcel_id}/tags.pdf" in page


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("reel1_reel", " ", "Name the reel"),
        ("owner_name", "", "Enter whose reel it is"),
        ("reel1_declared_minor", "-5", "can be 0 or more"),
        ("reel1_declared_minor", "a lot", "can be a number such as 12.50"),
        ("reel1_line_strength_N", "-3", "can be more than 0"),
        ("reel1_line_strength_N", "1e999", "can be a number such as"),
        ("reel1_line_diameter_mm", "nan", "Enter a number"),
        ("reel1_line_diameter_mm", "70", "can be 5 at most"),
        ("reel1_reel", "x" * 121, "can have 120 letters at most"),
        ("reel1_complaint", "x" * 4001, "can have 4000 letters at most"),
        ("reel1_pattern", "999", "Choose a pattern from the list"),
        ("owner_email", "at home", "valid email"),
    ],
)
def test_a_refusal_stands_beside_its_field_and_the_rest_is_kept(
    client: Client, draft: Draft, field: str, typed: str, said: str
) -> None:
    right = {"owner_name": "Tove Aldersund", "reel1_reel": "old star drag", "reel1_looked_like": "salt in the clamp"}
    answer = client.post(address(draft), booking(client, draft, **right | {field: typed}, do="book_in"))
    assert answer.status_code == 422
    assert not Job.objects.exists()
    page = answer.content.decode()
    beside = page.split(f'id="id_{field}_refusal"', 1)[1].split("</div>")[0]
    assert said in beside
    assert "salt in the clamp" in page


def test_no_reel_at_all_is_refused(client: Client, draft: Draft) -> None:
    client.post(address(draft), booking(client, draft, owner_name="Tove", do="take_away 1"))
    answer = client.post(address(draft), booking(client, draft, do="book_in"))
    assert answer.status_code == 422
    assert "There is no reel in this booking" in answer.content.decode()


def test_a_namesake_is_asked_about_and_then_believed(client: Client, draft: Draft) -> None:
    Owner.objects.create(name="Bram Quillane")
    answer = client.post(
        address(draft), booking(client, draft, owner_name="bram quillane ", reel1_reel="reel", do="book_in")
    )
    assert answer.status_code == 422
    assert "An owner of this name is in the book" in answer.content.decode()
    client.post(address(draft), booking(client, draft, do="book_in anyway"))
    assert Owner.objects.count() == 2


def test_a_chosen_owner_is_not_written_down_again(client: Client, draft: Draft) -> None:
    owner = Owner.objects.create(name="Bram Quillane")
    client.post(
        address(draft), booking(client, draft, owner_name="Bram", owner_email="nonsense", do=f"choose {owner.pk}")
    )
    client.post(address(draft), booking(client, draft, reel1_reel="reel", do="book_in"))
    assert Job.objects.get().owner == owner
    assert Owner.objects.count() == 1


def test_a_second_press_of_book_in_books_nothing_twice(client: Client, draft: Draft) -> None:
    press = booking(client, draft, owner_name="Bram", reel1_reel="reel", do="book_in")
    client.post(address(draft), press)
    answer = client.post(address(draft), press)
    assert answer.status_code == 404
    assert "on the bench" in answer.content.decode()
    assert Job.objects.count() == 1


def test_a_booking_is_thrown_away(client: Client, draft: Draft) -> None:
    client.post(address(draft), booking(client, draft, do="throw_away"))
    assert not Draft.objects.exists()


def test_an_owner_s_page_begins_a_booking_for_them(client: Client) -> None:
    owner = Owner.objects.create(name="Bram Quillane")
    answer = client.post("/book-in/", {"owner": owner.pk}, follow=True)
    assert "Bram Quillane" in answer.content.decode()
    assert client.post("/book-in/", {"owner": "9" * 40}).status_code == 302


def test_a_page_of_twelve_reels_asks_the_book_no_more_than_a_page_of_one(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    draft = draft_begin()
    for _ in range(11):
        draft_reel_add(draft=draft)
    with django_assert_max_num_queries(6):
        client.get(address(draft))
