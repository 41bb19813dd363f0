import json
import re
from pathlib import Path

import pytest

from levelwind.cli.main import main
from levelwind.reference.families import family

FILE = """
[[place]]
key = "lid"
name = "lid"
[[place]]
key = "click_spring"
name = "click spring"
[[step]]
key = "lift_lid"
do = "Lift the lid."
frees = ["lid"]
minutes = 0.5
[[step]]
key = "lift_spring"
do = "Lift the spring out."
frees = ["click_spring"]
minutes = 0.25
cautions = ["springs"]
after = ["lid"]
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "reel.toml"
    path.write_text(FILE)
    return str(path)


def test_the_caution_stands_before_its_step(file, capsys):
    assert main(["takedown", file, "--reach", "click spring"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("To reach the click spring: 2 steps, 0.8 minutes.")
    assert out.index("Lift the lid.") < out.index("CAUTION: Eye protection") < out.index("Lift the spring out.")


def test_json_is_one_object_with_steps_and_the_cautions_they_name(file, capsys):
    assert main(["takedown", file, "--reach", "click_spring", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["kind"], answer["status"], answer["minutes"]) == ("takedown", "ok", 0.75)
    assert (answer["proven"], answer["gap_minutes"]) == (True, 0.0)
    assert [step["key"] for step in answer["steps"]] == ["lift_lid", "lift_spring"]
    assert answer["steps"][1]["frees"] == [{"place": "click_spring", "name": "click spring", "count": 1, "cell": 2}]
    assert [caution["key"] for caution in answer["cautions"]] == answer["steps"][1]["cautions"] == ["springs"]
    assert answer["cautions"][0]["source"]


def test_a_family_goes_by_its_key_and_several_places_may_be_asked_for(capsys):
    assert main(["takedown", "star_drag", "--reach", "dog", "--reach", "tail bearing cap", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["reach"] == ["dog", "tail_cap"]
    assert {"dog", "tail_cap"} <= {piece["place"] for step in answer["steps"] for piece in step["frees"]}


def test_a_stack_is_spread_over_cells(capsys):
    assert main(["takedown", "fixed_spool", "--reach", "friction_1", "--why"]) == 0
    washers = len(next(s for s in family("fixed_spool").rules.steps if s.key == "lift_drag_washers").frees)
    assert f"tray cells 3 to {2 + washers}" in capsys.readouterr().out


def test_without_a_place_it_is_wrong_use(file, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(["takedown", file])
    assert stopped.value.code == 2
    assert "--reach" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (FILE.replace('after = ["lid"]', 'after = ["click_spring"]').encode(), "in a circle"),
        (FILE.replace("after =", "needs.all_of =").encode(), "needs.all_of is now called after"),
        (FILE.replace("0.25", "-1").encode(), "minutes of lift_spring was -1"),
        (b"\xff\xd8\xff\xe0 a picture", "not text"),
        (b"#" * 1_000_001, "1000001 bytes"),
        (b"", "without places"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(tmp_path, capsys, content, said):
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    assert main(["takedown", str(path), "--reach", "click_spring", "--json"]) == 3
    out, err = capsys.readouterr()
    assert said in err and err.count("\n") == 1
    assert json.loads(out)["status"] == "refused"


@pytest.mark.parametrize("reel", ["no_such_reel", "", ".", "x" * 5000, "a\0b"])
def test_what_is_neither_file_nor_family_is_refused(reel, capsys):
    assert main(["takedown", reel, "--reach", "dog"]) == 3
    err = capsys.readouterr().err
    assert "allowed is" in err and len(err) < 300


def test_an_unknown_place_is_refused_with_those_there_are(file, capsys):
    assert main(["takedown", file, "--reach", "sprocket"]) == 3
    assert "lid, click_spring" in capsys.readouterr().err


def test_the_example_on_the_physics_page_prints_what_the_page_says(tmp_path, capsys):
    page = (Path(__file__).parents[2] / "docs/physics/takedown.md").read_text()
    [file], [printed] = (re.findall(rf"```{kind}\n(.*?)```", page, re.DOTALL) for kind in ("toml", "text"))
    (tmp_path / "own.toml").write_text(file)
    assert main(["takedown", str(tmp_path / "own.toml"), "--reach", "click spring", "--why"]) == 0
    assert capsys.readouterr().out == printed
