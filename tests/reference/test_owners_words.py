"""What owners write against what an expert would tick: `tests/core/hunches/corpus`, and its held-out third."""

import csv
import hashlib
from pathlib import Path

import pytest

from levelwind.core.hunches import understand
from levelwind.reference.faults import families_with_hunches, load_net
from tests.reference.kin import written_as

CORPUS = Path(__file__).parents[1] / "core" / "hunches" / "corpus"
Row = tuple[str, str, frozenset[str]]


def corpus() -> list[Row]:
    """Family, sentence, and the findings ticked."""
    rows = []
    for file in sorted(CORPUS.glob("*.csv")):
        with file.open(encoding="utf-8", newline="") as stream:
            rows += [(file.stem, row["says"], frozenset(row["expert"].split())) for row in csv.DictReader(stream)]
    return rows


def is_held_out(row: Row) -> bool:
    return int(hashlib.sha256(f"{row[0]}: {row[1]}".encode()).hexdigest(), 16) % 3 == 0


def read(row: Row) -> frozenset[str]:
    return frozenset(pointed.finding.key for pointed in understand(load_net(row[0]), row[1]).pointed)


def test_the_corpus_is_whole_and_its_ticks_are_findings_of_its_family() -> None:
    rows = corpus()
    assert len(rows) == 492 and len({row[:2] for row in rows}) == 492
    assert sum(map(is_held_out, rows)) == 156
    assert {row[0] for row in rows} == {key for key in families_with_hunches() if not written_as(key)}
    for family, says, expert in rows:
        assert expert <= {finding.key for finding in load_net(family).said}, says


@pytest.mark.parametrize("held_out", [False, True])
def test_nine_in_ten_are_read_exactly_right_and_under_three_in_a_hundred_wrong(held_out: bool) -> None:
    """Wrong is a finding ticked that an expert would not tick; what is missed only is not right, but not wrong."""
    rows = [row for row in corpus() if is_held_out(row) is held_out]
    right = sum(read(row) == row[2] for row in rows)
    wrong = sum(bool(read(row) - row[2]) for row in rows)
    assert right / len(rows) >= 0.90
    assert wrong / len(rows) < 0.03


@pytest.mark.parametrize(
    ("family", "says", "expert"),
    [
        ("fixed_spool", "The anti-reverse doesn't work", {"said_turns_back"}),
        ("star_drag", "It slips when I get a big fish on", {"said_drag_slips"}),
        ("star_drag", "gears are stripped", {"said_skips"}),
        ("star_drag", "Spool rubs on the side", {"said_rubs"}),
        ("star_drag", "handle knob broke off", {"said_handle_loose"}),
        ("star_drag", "won't come out of free spool", {"said_out_of_gear"}),
        ("star_drag", "no problem with the drag", set()),
        ("star_drag", "", set()),
    ],
)
def test_what_was_read_as_its_opposite_is_read_right(family: str, says: str, expert: set[str]) -> None:
    assert read((family, says, frozenset())) == expert


@pytest.mark.parametrize(
    ("family", "says", "expert"),
    [
        ("closed_face", "It does not pick up the line when I turn the handle", {"said_no_pickup"}),
        ("closed_face", "The button sticks down", {"said_no_pickup"}),
        ("closed_face", "Handle turns backwards", {"said_turns_back"}),
        ("closed_face", "the drag slips", {"said_drag_slips"}),
        ("electric", "The motor is dead", {"said_motor"}),
        ("electric", "Motor hums and smells of burning", {"said_motor"}),
        ("electric", "No power at the reel", {"said_motor"}),
        ("electric", "The display is blank", {"said_counter"}),
        ("electric", "counter is not right any more", {"said_counter"}),
        ("electric", "The drag slips on a big fish", {"said_drag_slips"}),
        ("fixed_spool_vintage", "The bail spring is broken", {"said_bail"}),
        ("lever_drag_two_speed", "It won't shift into low", {"said_shift"}),
        ("lever_drag_two_speed", "drops out of low gear under load", {"said_shift"}),
        ("lever_drag_two_speed", "The drag is jerky", {"said_drag_jerks"}),
        ("round_casting", "It backlashes on every cast", {"said_overruns"}),
        ("round_casting", "level wind sticks", {"said_level_wind"}),
        ("single_action", "the click is dead", {"said_click"}),
        ("centre_pin", "the spool runs slow", {"said_short_cast"}),
        ("side_cast", "The swivel is stiff", {"said_swivel"}),
        ("fixed_spool_free_run", "The free run is stuck", {"said_free_run"}),
        ("fixed_spool_free_run", "line twists badly", {"said_line_twist"}),
    ],
)
def test_a_family_written_as_another_knows_its_words_and_its_own(family: str, says: str, expert: set[str]) -> None:
    assert read((family, says, frozenset())) == expert


def test_what_is_not_understood_is_left_in_the_owner_s_words() -> None:
    understood = understand(load_net("star_drag"), "The drag slips. My neighbour's dog barks at it, thanks")
    assert [pointed.finding.key for pointed in understood.pointed] == ["said_drag_slips"]
    assert understood.left == ("my neighbours dog barks at it",)


def test_every_pattern_is_of_a_finding_that_some_family_has() -> None:
    from levelwind.reference.faults import owners_words

    said = {finding.key for family in families_with_hunches() for finding in load_net(family).said}
    assert set(owners_words()[1]) == said
