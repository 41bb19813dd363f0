import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.takedown import (
    Piece,
    Rules,
    State,
    Whereabouts,
    full,
    open_questions,
    tray_cells,
    unaccounted,
)
from tests.core.takedown.reels import place, step


def piece(place="dog_spring", **more):
    return Piece(place=place, name=place.replace("_", " "), **more)


IN_REEL = {"where": Whereabouts.REEL}
SCRAPPED = piece(where=Whereabouts.SCRAP, state=State.BROKEN)
NEW = piece(where=Whereabouts.REEL, replacement=True)

STACK = Rules(
    (
        place("screws"),
        place("plate"),
        place("top", look_alikes=frozenset({"bottom"})),
        place("middle"),
        place("bottom"),
    ),
    (step("screws plate"), step("top middle bottom", after="plate")),
)


def test_cells_are_numbered_in_takedown_order_and_a_stack_lies_apart():
    cells = {"screws": 1, "plate": 1, "top": 2, "middle": 3, "bottom": 4}
    assert tray_cells(STACK, full(STACK).steps) == cells


def test_cells_given_out_before_keep_their_numbers():
    assert tray_cells(STACK, STACK.steps, {"screws": 7, "top": 3}) == {
        "screws": 7,
        "top": 3,
        "plate": 8,
        "middle": 9,
        "bottom": 10,
    }


@settings(deadline=None)
@given(st.data())
def test_look_alikes_never_share_a_cell(data):
    keys = list("abcdef")
    alike = data.draw(st.sets(st.tuples(st.sampled_from(keys), st.sampled_from(keys)).filter(lambda p: p[0] != p[1])))
    places = tuple(place(key, look_alikes=frozenset(b for a, b in alike if a == key)) for key in keys)
    cut = data.draw(st.integers(1, 5))
    rules = Rules(places, (step(" ".join(keys[:cut])), step(" ".join(keys[cut:]))))
    cells = tray_cells(rules, rules.steps)
    assert set(cells) == set(keys)
    assert all(cells[a] != cells[b] for a, b in alike)
    assert max(cells[key] for key in keys[:cut]) < min(cells[key] for key in keys[cut:])


@pytest.mark.parametrize(
    ("where", "cell", "lost"),
    [
        (None, None, True),
        (Whereabouts.TRAY, None, True),
        (Whereabouts.TRAY, 3, False),
        (Whereabouts.REEL, None, False),
        (Whereabouts.SCRAP, None, False),
        (Whereabouts.ORDER, None, False),
        (Whereabouts.OWNER, None, False),
    ],
)
def test_a_piece_is_somewhere_or_it_is_unaccounted_for(where, cell, lost):
    one = piece(where=where, cell=cell)
    assert unaccounted([one]) == ((one,) if lost else ())


def test_a_piece_stated_missing_is_accounted_for_but_its_place_is_open():
    gone = piece(state=State.MISSING)
    assert unaccounted([gone]) == ()
    assert open_questions([gone]) == ("dog spring: no new one is in the reel.",)
    assert open_questions([gone, NEW]) == ()


@pytest.mark.parametrize(
    ("pieces", "questions"),
    [
        ([piece(**IN_REEL)], ()),
        ([piece()], ("dog spring: nobody has said where it is.",)),
        ([piece(where=Whereabouts.TRAY)], ("dog spring: in the tray, but in no cell.",)),
        ([piece(where=Whereabouts.TRAY, cell=4)], ("dog spring: still in tray cell 4.",)),
        ([SCRAPPED], ("dog spring: no new one is in the reel.",)),
        ([SCRAPPED, NEW], ()),
        ([piece(where=Whereabouts.OWNER)], ("dog spring: no new one is in the reel.",)),
        (
            [SCRAPPED, piece(where=Whereabouts.ORDER, replacement=True)],
            ("dog spring: still on order.",),
        ),
        ([piece(**IN_REEL), NEW], ("dog spring: 2 are said to be in the reel where 1 belongs.",)),
        (
            [piece("screws", count=5, **IN_REEL), piece("screws", count=1, where=Whereabouts.SCRAP)],
            ("screws: 5 of 6 are in the reel.",),
        ),
        (
            [
                piece("screws", count=5, **IN_REEL),
                piece("screws", where=Whereabouts.SCRAP),
                piece("screws", replacement=True, **IN_REEL),
            ],
            (),
        ),
    ],
)
def test_what_stands_between_the_pieces_and_a_finished_reel(pieces, questions):
    assert open_questions(pieces) == questions


@settings(deadline=None)
@given(st.lists(st.builds(piece, st.sampled_from(["dog", "pinion"]), where=st.sampled_from([None, *Whereabouts]))))
def test_nothing_lost_or_lying_about_passes_as_finished(pieces):
    loose = {p.place for p in pieces if p.where is not Whereabouts.REEL}
    asked = {place for place in ("dog", "pinion") for q in open_questions(pieces) if q.startswith(f"{place}:")}
    assert loose == asked


def test_a_piece_counts_at_least_one():
    with pytest.raises(InputError, match="count"):
        piece(count=0)
