"""levelwind drag: the examples of the docs, one JSON object, and a refusal in one line for whatever is wrong."""

import json
import math
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from levelwind.cli.main import main
from tests.full_size import cases

EXAMPLES = Path(__file__).parents[2] / "docs/examples/drag"
NAMES = sorted(path.name for path in EXAMPLES.glob("*.toml"))


def told(capsys: pytest.CaptureFixture[str], path: Path, *more: str) -> tuple[int, str, str]:
    status = main(["drag", str(path), *more])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


SCREEN_LINES = 24
"""Of a terminal as it opens."""


def test_there_are_three_examples() -> None:
    assert len(NAMES) == 3


@pytest.mark.parametrize("name", NAMES)
def test_an_example_is_told_in_words_and_as_one_object(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = told(capsys, EXAMPLES / name)
    assert (status, err) == (0, "")
    assert "At the line:" in out
    assert "How it was worked out:" not in out and len(out.splitlines()) <= SCREEN_LINES
    assert "How it was worked out:\n  " in told(capsys, EXAMPLES / name, "--why")[1]
    status, out, err = told(capsys, EXAMPLES / name, "--json")
    plain = json.loads(out)
    assert (status, err, plain["kind"], plain["status"]) == (0, "", "drag", "ok")
    assert len(plain["line"]["fills"]) == 3


def test_star_drag_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    """The torque of the example from its own rings and coefficient, one surface at a time."""
    plain = json.loads(told(capsys, EXAMPLES / "star_drag.toml", "--json")[1])
    mu, clamp = (0.14 * 0.21) ** 0.5, plain["clamp_N"]["value"]
    radii_m = [(6.1 + 13) / 2000] + 3 * [(6.1 + 14) / 2000]
    assert plain["run_in_torque_Nm"]["value"] == pytest.approx(sum(mu * clamp * r for r in radii_m), rel=1e-9)
    assert plain["slip_surfaces"] == 4
    assert plain["idle"] == []
    full = plain["line"]["fills"][0]
    spool_torque = plain["run_in_torque_Nm"]["value"] / (4.0 * 0.97)
    guides = 2.718281828459045 ** (0.15 * 3.141592653589793 / 3)
    assert full["tension_N"]["value"] == pytest.approx(spool_torque / full["radius_m"] * guides, rel=1e-9)
    assert plain["clamp_against_turns"]["force_N"][0] == 0
    # The pull of 34 N is less than the table's middle gives, so the friction it tells of is lower in proportion.
    friction = plain["pull"]["friction"]
    assert friction["low"] < mu * 34 / full["tension_N"]["value"] < friction["high"]
    assert sum(plain["pull"]["by_condition"].values()) == pytest.approx(1.0)
    # By the middle of what each metal bears, the pinion of 12 stainless teeth (326 MPa, Y 0.245) gives before the brass
    # gear of 48 (219 MPa, Y 0.405): their teeth take one force.
    assert [part["name"] for part in plain["strength"]["parts"]][:2] == ["pinion teeth", "main gear teeth"]
    middles = [part["at_spool_Nm"]["value"] for part in plain["strength"]["parts"]]
    assert middles == sorted(middles)
    # What stands behind it bears more than the line's own setting: no two limits that contradict each other.
    assert plain["strength"]["gives_full_N"]["low"] > plain["setting"]["strike_N"][1]
    assert plain["strength"]["gives_full_N"]["value"] == plain["strength"]["most_full_N"]
    assert plain["height"]["shims"] == ["0.1 mm shim", "0.1 mm shim", "0.5 mm shim"]


def test_what_a_hand_usually_gives_is_asked_for_by_its_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """2.5 N m on the star (common practice, no source), by the same thread as a torque that is given."""
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8")
    head, _, rest = text.partition("[clamp.springs]")
    bare = head + rest[rest.index("[stack]") :]
    clamps = []
    for given in ("usual = true", "torque_Nm = { value = 2.5, low = 2, high = 3 }"):
        friction = "" if "usual" in given else "\nthread_friction = { value = 0.14, low = 0.08, high = 0.2 }"
        path = tmp_path / "drag.toml"
        path.write_text(bare.replace("turns = 1.5", given + friction), encoding="utf-8")
        clamps.append(json.loads(told(capsys, path, "--json")[1]))
    assert clamps[0]["clamp_N"] == pytest.approx(clamps[1]["clamp_N"])
    assert "common practice, no source" in clamps[0]["clamp_from"]


def test_without_teeth_the_old_stack_is_the_measure(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The old stack is one greased carbon washer between the gear and a plate: the new one has four such faces."""
    ring = "outer_diameter_mm = 28.5, inner_diameter_mm = 12.2, thickness_mm = 1, material = "
    bodies = (
        f'{{ name = "gear", kind = "gear", {ring}"brass" }}',
        f'{{ name = "washer", kind = "friction", {ring}"woven carbon lining" }}',
        f'{{ name = "plate", kind = "keyed", {ring}"steel" }}',
    )
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8")
    text = text[: text.index("[[strength]]")] + text[text.index("[height]") :]
    path = tmp_path / "drag.toml"
    path.write_text(f'{text}\n[old_stack]\ncondition = "greased"\nbodies = [{", ".join(bodies)}]\n', encoding="utf-8")
    plain = json.loads(told(capsys, path, "--json")[1])
    assert plain["times_old"]["value"] == pytest.approx((19.1 + 3 * 20.1) / (12.2 + 28.5) * 2, rel=0.01)
    said = " ".join(plain["sentences"])
    assert "times the torque of the old stack" in said and "No limit is named" in said and "strength" not in plain


def test_slanting_teeth_bear_more_than_straight_ones(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    slanting = tmp_path / "drag.toml"
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8")
    slanting.write_text(text.replace("teeth = 48", "teeth = 48\nhelix_deg = 20", 1), encoding="utf-8")
    parts = [
        {
            part["name"]: part["at_spool_Nm"]["value"]
            for part in json.loads(told(capsys, path, "--json")[1])["strength"]["parts"]
        }
        for path in (EXAMPLES / "star_drag.toml", slanting)
    ]
    assert parts[1]["main gear teeth"] > 1.2 * parts[0]["main gear teeth"]
    assert parts[1]["pinion teeth"] == parts[0]["pinion teeth"]


def test_the_same_file_gives_the_same_answer(capsys: pytest.CaptureFixture[str]) -> None:
    once = told(capsys, EXAMPLES / "lever_drag.toml", "--json")[1]
    assert told(capsys, EXAMPLES / "lever_drag.toml", "--json")[1] == once


def test_a_wrong_order_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8")
    wrong = text.replace('kind = "eared"', 'kind = "keyed"')
    path = tmp_path / "wrong.toml"
    path.write_text(wrong, encoding="utf-8")
    out = told(capsys, path)[1]
    assert "Idle, only taking up room:" in out


@pytest.mark.parametrize(
    "written",
    [
        'thread = "M10x1"',
        'thread = "m10 × 1.0"',
        'thread = { designation = "M10x1", collar_mm = 14 }',
        'thread = { designation = "M10x1", collar_mm = 0 }',
        "thread = { major_mm = 10, pitch_mm = 1, collar_mm = 0 }",
        "thread = { pitch_diameter_mm = 9.35, pitch_mm = 1 }",
    ],
)
def test_a_thread_is_given_by_designation_or_by_sizes(
    written: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Hand torque, by the screw formula of Jindal, Machine Design, example 16-4, for an M10x1 at friction 0.15.

    Where no collar is said, the star rubs on 1.45 times the thread (common practice, no source).
    """
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8").split("[clamp.springs]")
    hand = (
        text[0].replace("turns = 1.5", "torque_Nm = 1.0\nthread_friction = 0.15").replace('thread = "M10x1"', written)
    )
    path = tmp_path / "drag.toml"
    path.write_text(hand + "[stack]" + text[1].partition("[stack]")[2], encoding="utf-8")
    plain = json.loads(told(capsys, path, "--json")[1])
    slope, rub = 1.0 / (math.pi * 9.3505), 0.15 / math.cos(math.pi / 6)
    said = re.search(r"collar_mm = (\d+)", written)
    collar = 0.15 * (float(said.group(1)) if said else 14.5) / 2000
    per_N = 4.67525e-3 * (slope + rub) / (1 - slope * rub) + collar
    assert plain["clamp_N"]["value"] == pytest.approx(1 / per_N, rel=1e-4)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('thread = "M10x1"', 'thread = "M10x2"', "thread was 'M10x2'; allowed is a standard thread, such as M10x1"),
        ('thread = "M10x1"', "thread = 3", "thread was 3; allowed is a table"),
        ("inner_diameter_mm = 12.6", "inner_diameter_mm = 42", "inner diameter of eared washer was 42 mm; allowed is"),
        ("thickness_mm = 1.6", "thickness_mm = -1.6", "thickness of top keyed washer was -1.6 mm"),
        ("turns = 1.5", "turns = 2.5", "deflection of a disc spring was 0.83"),
        ("length_m = 150", "length_m = 1500", "length of line was 1500 m; allowed is up to"),
        ('condition = "greased"', 'condition = "frozen"', "condition was 'frozen'"),
        ('family = "star drag"', 'family = "moon drag"', "reel: family was 'moon drag'"),
        ("gear_ratio = 4.0", "gear_ratio = 0", "gear ratio was 0.0"),
        ('material = "brass"', 'material = "cheese"', "material was 'cheese'"),
        ("[clamp]\nturns = 1.5", "[clamp]", "without a force; allowed is one of force_N, torque_Nm, turns, lever_deg"),
        ("[height]", "[hieght]", "hieght"),
        ('kind = "tube"', 'kind = "pipe"', "kind was 'pipe'"),
        ('material = "woven carbon lining"\n\n[[strength]]', 'material = "cork"\n\n[[strength]]', "pull was cork"),
        ("teeth = 48", "teeth = 4", "number of teeth was 4"),
        ("[reel]", "[reel", "not readable as TOML"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(
    old: str, new: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "drag.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    status, out, err = told(capsys, path)
    assert (status, out) == (3, "")
    assert says in err
    assert err.count("\n") == 1
    status, out, err = told(capsys, path, "--json")
    assert status == 3
    assert json.loads(out)["status"] == "refused"


def test_no_friction_surface_at_all_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (EXAMPLES / "lever_drag.toml").read_text(encoding="utf-8").replace('kind = "keyed"', 'kind = "eared"')
    path = tmp_path / "drag.toml"
    path.write_text(text, encoding="utf-8")
    status, _, err = told(capsys, path)
    assert status == 3
    assert "stack was without any body held by the sleeve" in err


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"", b"x = 1\n", b"[stack]\nbodies = 3\n"])
def test_a_file_that_is_no_drag_is_refused(content: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "drag.toml"
    path.write_bytes(content)
    assert told(capsys, path)[0] == 3


def test_a_file_that_is_not_there_or_too_large_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, tmp_path / "none.toml")[0] == 3
    assert told(capsys, tmp_path)[0] == 3
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 1_000_001)
    assert "1000001 bytes" in told(capsys, large)[2]


def leaves(plain: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(plain, dict):
        return [leaf for key, value in plain.items() for leaf in leaves(value, (*path, key))]
    if isinstance(plain, list):
        return [leaf for key, value in enumerate(plain) for leaf in leaves(value, (*path, key))]
    return [path]


FLY = """
[reel]
family = "fly, disc drag"
[clamp]
force_N = 60
[stack]
bodies = [
  {name = "hub", kind = "gear", outer_diameter_mm = 22, inner_diameter_mm = 8, thickness_mm = 3, material = "steel"},
  {name = "pad", kind = "friction", outer_diameter_mm = 22, inner_diameter_mm = 8, thickness_mm = 2, material = "felt"},
  {name = "plate", kind = "keyed", outer_diameter_mm = 22, inner_diameter_mm = 8, thickness_mm = 2, material = "steel"},
]
[spool]
arbor_mm = 40
rim_mm = 80
width_mm = 20
[backing]
name = "20 lb backing"
diameter_mm = 0.4
strength_lb = 20
length_m = 60
[line]
name = "fly line"
diameter_mm = 1.1
strength_lb = 30
length_m = 27
packing = 0.65
"""


def test_a_fly_reel_is_set_to_its_tippet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """25 to 33 % of 6 lb: common practice, no source."""
    path = tmp_path / "fly.toml"
    path.write_text(FLY, encoding="utf-8")
    assert json.loads(told(capsys, path, "--json")[1])["setting"] is None
    words = told(capsys, path)[1]
    assert "A fly reel's drag is set to its tippet" in words and "at the strike" not in words
    path.write_text(FLY + "[tippet]\nstrength_lb = 6\n", encoding="utf-8")
    strike = json.loads(told(capsys, path, "--json")[1])["setting"]["strike_N"]
    assert strike == pytest.approx([0.25 * 6 * 4.4482216152605, 0.33 * 6 * 4.4482216152605])  # NIST SP 811 (2008), B.8
    assert "For this tippet set 7.7 N (6.6 to 8.9) at the strike" in told(capsys, path)[1]


def test_the_clamp_for_the_line_is_told_and_where_it_is_beyond_a_hand(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same core result as the page's: the strike over what the stack gives at the line for each newton of clamp."""
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8")
    path = tmp_path / "star.toml"
    path.write_text(text, encoding="utf-8")
    plain = json.loads(told(capsys, path, "--json")[1])
    per_N = plain["line"]["fills"][0]["tension_N"]["value"] / plain["clamp_N"]["value"]
    clamp = plain["setting"]["clamp_N"]
    assert [clamp["low"], clamp["high"]] == pytest.approx([end / per_N for end in plain["setting"]["strike_N"]])
    assert plain["setting"]["beyond_a_hand"] is False and clamp["low"] < plain["setting"]["most_clamp_N"]
    assert "This stack gives it at a clamp force of 410 N (350 to 480).\n" in told(capsys, path)[1]
    strong = text.replace("strength_lb = 30\n", "strength_lb = 300\n")
    for clamp_by in ('turns = 1.5\nthread = "M10x1"', "force_N = 400", "usual = true"):  # the last two name no thread
        by = strong.replace('turns = 1.5\nthread = "M10x1"', clamp_by)
        if "turns" not in clamp_by:
            by = by[: by.index("[clamp.springs]")] + by[by.index("[stack]") :]
        path.write_text(by, encoding="utf-8")
        said = json.loads(told(capsys, path, "--json")[1])["setting"]
        assert said["beyond_a_hand"] is True and 1400 < said["most_clamp_N"] < 2400
    path.write_text(strong, encoding="utf-8")
    wanted = json.loads(told(capsys, path, "--json")[1])["setting"]
    assert wanted["beyond_a_hand"] is True and wanted["clamp_N"]["low"] > wanted["most_clamp_N"]
    words = told(capsys, path, "--unit", "lbf")[1]
    assert "lbf that a hand and this thread give at most. More or wider washers" in words
    assert "For this line set 87 lbf (75 to 99) at the strike" in words
    assert "At the line: 8.2 lbf (6.6 to 11.2)" in words


def test_a_tippet_on_another_reel_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "star.toml"
    text = (EXAMPLES / "star_drag.toml").read_text(encoding="utf-8")
    path.write_text(text + "\n[tippet]\nstrength_lb = 6\n", encoding="utf-8")
    status, _, err = told(capsys, path)
    assert status == 3 and "tippet" in err


def as_toml(plain: Any) -> str:
    """Inline TOML, enough to write an example again with one value changed."""
    if isinstance(plain, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {as_toml(value)}" for key, value in plain.items()) + "}"
    if isinstance(plain, list):
        return "[" + ", ".join(as_toml(value) for value in plain) + "]"
    return json.dumps(plain) if isinstance(plain, str | bool) else str(plain)


@pytest.mark.sampled
@pytest.mark.parametrize("name", NAMES)
def test_any_one_value_gone_bad_never_ends_in_a_traceback(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (EXAMPLES / name).read_text(encoding="utf-8")
    path = tmp_path / "drag.toml"
    for leaf in list(leaves(tomllib.loads(text)))[:: cases(4, 1)]:
        for bad in (-1, 0, 1e-300, 1e308, ""):
            plain = tomllib.loads(text)
            holder = plain
            for key in leaf[:-1]:
                holder = holder[key]
            holder[leaf[-1]] = bad
            path.write_text("\n".join(f"{key} = {as_toml(value)}" for key, value in plain.items()), encoding="utf-8")
            status, out, err = told(capsys, path)
            assert status in (0, 3), (leaf, bad)
            assert status == 0 or (out == "" and err.count("\n") == 1), (leaf, bad, err)
            assert not re.search(r"\b(nan|inf)\b", out), (leaf, bad, out)
