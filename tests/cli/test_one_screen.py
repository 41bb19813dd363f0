"""A command's answer fits a screen; `--why` adds how it was worked out."""

import shlex
import tomllib
from pathlib import Path
from textwrap import wrap

import pytest

from levelwind.cli.main import main

ROOT = Path(__file__).parents[2]
KEPT = ROOT / "tests/kept"
LINES, COLUMNS = 30, 100
CALLS = tomllib.loads((KEPT / "calls.toml").read_text())
QUICK = ("drag", "hunch", "takedown")
"""These are asked here, without `--why`; what the others print is kept."""
LONGEST = ("star_slips", "fixed_rear_slips")
"""Of the hunches' calls, those with most to say."""


def screen(printed: str) -> int:
    return sum(len(wrap(line, COLUMNS)) or 1 for line in printed.rstrip().split("\n"))


@pytest.mark.parametrize("command", QUICK)
def test_every_example_answers_on_one_screen(command, capsys, monkeypatch):
    monkeypatch.chdir(KEPT / "inputs")
    asked = [words for name, words in CALLS[command].items() if "refused" not in name and "wrong" not in name]
    if command == "hunch":
        asked = ["star_drag", *(CALLS["hunch"][name] for name in LONGEST)]
    if command == "drag":
        asked = [str(path) for path in (ROOT / "docs/examples/drag").iterdir()]
    long = {}
    for words in asked:
        assert main([command, *(word for word in shlex.split(words) if word != "--why")]) == 0
        if (height := screen(capsys.readouterr().out)) > LINES:
            long[words] = height
    assert not long


def test_a_log_of_two_pulls_too_in_the_unit_of_its_scale(capsys):
    assert main(["pull", str(KEPT / "inputs/pull_kgf_two.csv")]) == 0
    told = capsys.readouterr().out
    assert screen(told) < 24 and " N" not in told and "none seen" not in told
    assert "breakaway      4.10 kgf (3.99 to 4.28)" in told and "the highest reading at start-up was 3.99 kgf" in told


def test_and_so_do_those_whose_answers_are_kept():
    kept = [*(KEPT / "outputs").glob("spin_*.txt"), *(KEPT / "outputs").glob("promise_*.txt")]
    kept += [KEPT / "outputs/order_shelf.txt", KEPT / "outputs/worth_reel.txt"]
    assert len(kept) == 9
    assert {path.name: height for path in kept if (height := screen(path.read_text()) - 2) > LINES} == {}


def test_without_why_no_caution_before_a_step_is_lost(capsys):
    """The springs' caution stands before each step that needs it, as with `--why`."""
    told = {}
    for why in ([], ["--why"]):
        assert main(["takedown", "star_drag", "--reach", "dog", *why]) == 0
        told[bool(why)] = capsys.readouterr().out
    warned = "CAUTION: Eye protection on"
    assert told[True].count(warned) == told[False].count(warned) == 2
    assert "in the way of" in told[True] and "in the way of" not in told[False]
