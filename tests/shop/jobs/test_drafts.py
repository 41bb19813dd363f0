"""A booking begun: nothing typed is lost, whoever else types."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.drafts import draft_list, draft_owner, draft_reels
from levelwind.shop.jobs.services.drafts import (
    draft_begin,
    draft_owner_choose,
    draft_reel_add,
    draft_reel_put_back,
    draft_reel_take_away,
    draft_save,
    draft_throw_away,
)
from levelwind.shop.models import Draft, Owner


class WhatIsTyped(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(
        texts=st.dictionaries(st.sampled_from(["owner_name", "reel1_reel", "reel1_complaint"]), st.text(max_size=200))
    )
    def test_comes_back_letter_by_letter(self, texts: dict[str, str]) -> None:
        texts = {name: text.encode("utf-8", "replace").decode() for name, text in texts.items()}
        draft = draft_begin()
        draft_save(draft=draft, was=dict.fromkeys(texts, ""), now=texts)
        stored = Draft.objects.get(pk=draft.pk).data
        assert {name: stored.get(name, "") for name in texts} == {
            name: text.replace("\0", "") for name, text in texts.items()
        }

    @settings(max_examples=40, deadline=None)
    @given(moves=st.lists(st.tuples(st.sampled_from(["add", "copy", "away", "back"]), st.integers(0, 6)), max_size=12))
    def test_no_reel_is_ever_in_two_heaps_or_in_none(self, moves: list[tuple[str, int]]) -> None:
        draft, made = draft_begin(), {1}
        for move, key in moves:
            if move == "add":
                made.add(draft_reel_add(draft=draft))
            elif move == "copy":
                made.add(draft_reel_add(draft=draft, copy_of=key))
            elif move == "away":
                draft_reel_take_away(draft=draft, key=key)
            else:
                draft_reel_put_back(draft=draft, key=key)
        data = Draft.objects.get(pk=draft.pk).data
        assert sorted(data["reels"] + data["away"]) == sorted(made)


@pytest.mark.django_db
def test_a_letter_that_no_book_can_hold_is_left_out() -> None:
    """PostgreSQL holds every letter of Unicode but NUL (its manual, JSON types); no keyboard types it."""
    draft = draft_begin()
    for _ in range(2):
        draft_save(draft=draft, was={"reel1_complaint": ""}, now={"reel1_complaint": "sl\0ips"})
    assert Draft.objects.get(pk=draft.pk).data["reel1_complaint"] == "slips"


@pytest.mark.django_db
def test_a_field_somebody_else_saved_meanwhile_is_left_and_told() -> None:
    draft = draft_begin()
    draft_save(draft=draft, was={"owner_name": ""}, now={"owner_name": "theirs"})
    stale = Draft.objects.get(pk=draft.pk)
    saved = draft_save(
        draft=stale, was={"owner_name": "", "parcel_note": ""}, now={"owner_name": "ours", "parcel_note": "wet"}
    )
    assert saved.clashes == {"owner_name": "theirs"} and saved.fields == ("parcel_note",)
    assert Draft.objects.get().data | {"owner_name": "theirs", "parcel_note": "wet"} == Draft.objects.get().data


@pytest.mark.django_db
def test_two_who_typed_the_same_do_not_clash() -> None:
    draft = draft_begin()
    for _ in range(2):
        assert draft_save(draft=draft, was={"owner_name": ""}, now={"owner_name": "same"}).clashes == {}


@pytest.mark.django_db
def test_a_copy_stands_below_its_original_without_the_serial_number() -> None:
    draft = draft_begin()
    draft_reel_add(draft=draft)
    now = {"reel1_reel": "big one", "reel1_serial": "77", "reel11_reel": "not this"}
    draft_save(draft=draft, was=dict.fromkeys(now, ""), now=now)
    copy = draft_reel_add(draft=draft, copy_of=1)
    assert draft.data["reels"] == [1, copy, 2]
    assert draft.data[f"reel{copy}_reel"] == "big one"
    assert f"reel{copy}_serial" not in draft.data


@pytest.mark.django_db
def test_a_reel_put_back_still_holds_what_was_typed() -> None:
    draft = draft_begin()
    draft_save(draft=draft, was={"reel1_reel": ""}, now={"reel1_reel": "big one"})
    draft_reel_take_away(draft=draft, key=1)
    assert [reel.name for reel in draft_reels(draft, "away")] == ["big one"]
    draft_reel_put_back(draft=draft, key=1)
    assert [reel.name for reel in draft_reels(draft)] == ["big one"]


@pytest.mark.django_db
def test_the_chosen_owner_is_remembered_until_somebody_else_is_chosen() -> None:
    draft, owner = draft_begin(), Owner.objects.create(name="Ines Vasterholm")
    draft_owner_choose(draft=draft, owner=owner)
    assert draft_owner(Draft.objects.get()) == owner
    draft_owner_choose(draft=draft, owner=None)
    assert draft_owner(Draft.objects.get()) is None


@pytest.mark.django_db
def test_a_draft_thrown_away_takes_no_more_writing() -> None:
    draft = draft_begin()
    draft_throw_away(draft=draft)
    with pytest.raises(LevelwindError, match="finished or thrown away"):
        draft_save(draft=draft, was={"owner_name": ""}, now={"owner_name": "late"})


@pytest.mark.django_db
def test_the_list_names_owners_and_reels_in_two_queries(django_assert_num_queries) -> None:  # type: ignore[no-untyped-def]
    owner = Owner.objects.create(name="Ines Vasterholm")
    for number in range(5):
        draft = draft_begin(owner=owner if number % 2 else None)
        now = {"owner_name": f"typed {number}", "reel1_reel": f"reel {number}"}
        draft_save(draft=draft, was=dict.fromkeys(now, ""), now=now)
    draft_begin()
    with django_assert_num_queries(2):
        rows = draft_list()
    assert [(row.owner, row.reels) for row in rows] == [
        ("typed 4", ("reel 4",)),
        ("Ines Vasterholm", ("reel 3",)),
        ("typed 2", ("reel 2",)),
        ("Ines Vasterholm", ("reel 1",)),
        ("typed 0", ("reel 0",)),
    ]
