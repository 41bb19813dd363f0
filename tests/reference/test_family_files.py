"""A family written as another one and its changes: what is laid over what, and what is refused by file and key."""

import copy
import shutil
from importlib import resources
from pathlib import Path

import pytest

from levelwind.core.errors import InputError
from levelwind.core.takedown import full
from levelwind.reference.families import Family, family, read_family
from levelwind.reference.family_files import family_files, laid_over

SHIPPED = resources.files("levelwind.reference").joinpath("families")
HEAD = 'key = "odd"\nname = "Odd"\nsentence = "An odd one."\nlike = "fly_click"\n'


def odd(folder: Path, **files: str) -> Family:
    """A family like a click and pawl, with these changes."""
    (folder / "odd").mkdir()
    for name, text in {"family": HEAD, **files}.items():
        (folder / "odd" / f"{name}.toml").write_text(text)
    return read_family(folder / "odd")


def test_with_no_change_it_is_the_other_one_under_its_own_name(tmp_path: Path) -> None:
    made, other = odd(tmp_path), family("fly_click")
    assert (made.key, made.name) == ("odd", "Odd")
    assert (made.places, made.rules, made.lubrication) == (other.places, other.rules, other.lubrication)
    assert (made.click, made.drag_family, made.assemblies) == (other.click, other.drag_family, other.assemblies)


WITHOUT_A_GUARD = {
    "places": 'drop.place = ["line_guard", "guard_screws"]\n[change.place.click_pawls]\ncount = 1\n'
    '[[place]]\nkey = "felt_pad"\nname = "felt pad"\ngroup = "click"\nkind = "ring"\nrenew = "if worn"\n'
    'clean = "dry wipe"\nbehind = "click_pawls"\n',
    "takedown": 'drop.step = ["undo_guard"]\n[[step]]\nkey = "lift_felt_pad"\ndo = "Lift the felt pad."\n'
    'frees = ["felt_pad"]\nminutes = 0.2\nafter = ["click_pawls"]\n',
}


def test_places_and_steps_are_dropped_changed_and_added_where_they_belong(tmp_path: Path) -> None:
    made, other = odd(tmp_path, **WITHOUT_A_GUARD), family("fly_click")
    keys = [place.key for place in made.places]
    assert "line_guard" not in keys and keys[keys.index("click_pawls") + 1] == "felt_pad"
    assert made.place("click_pawls").count == 1
    assert made.place("click_pawls").name == other.place("click_pawls").name
    assert {key for step in full(made.rules).steps for key in step.frees} == set(keys)
    assert not any({"line_guard", "guard_screws"} & (step.after | set(step.frees)) for step in made.rules.steps)


def test_a_family_may_be_like_one_that_is_like_another(tmp_path: Path) -> None:
    odd(tmp_path, places="[change.place.spool]\nname = 'drum'\n")
    (tmp_path / "odder").mkdir()
    (tmp_path / "odder" / "family.toml").write_text(HEAD.replace('"odd"', '"odder"').replace("fly_click", "odd"))
    with resources.as_file(SHIPPED.joinpath("fly_click")) as folder:
        shutil.copytree(folder, tmp_path / "fly_click")
    made = read_family(tmp_path / "odder", tmp_path)
    assert (made.key, made.place("spool").name) == ("odder", "drum")


@pytest.mark.parametrize(
    ("file", "text", "complaint"),
    [
        ("places", 'drop.place = ["regulater"]', r"odd/places\.toml: drop\.place was regulater; allowed .*regulator"),
        ("places", 'drop.place = "regulator"', r"odd/places\.toml: drop\.place was 'regulator'; allowed is a list"),
        ("places", "drop = 3", r"odd/places\.toml: drop was 3"),
        ("places", 'drop.piece = ["spool"]', r"odd/places\.toml: drop was piece; allowed is a table of"),
        ("places", "[change.place.spoool]\ncount = 2", r"places\.toml: change\.place was spoool; allowed .*spool"),
        ("places", "change.place = 3", r"places\.toml: change\.place was 3; allowed is tables headed \[change\.place"),
        ("places", "[change.place.spool]\ncuont = 2", r"odd/places\.toml, place spool was cuont"),
        ("places", '[[place]]\nkey = "spool"', r"places\.toml, place spool was there already; .*\[change\.place\]"),
        (
            "places",
            '[[place]]\nkey = "x"\nbehind = "y"',
            r"places\.toml, place x: behind was y; allowed is one of spool",
        ),
        ("places", "place = 3", r"odd/places\.toml: place was 3; allowed is tables headed \[\[place\]\]"),
        ("places", 'drop.place = ["line_guard"]', r"odd/takedown\.toml: places freed by \w+ was line_guard; allowed"),
        ("takedown", 'drop.step = ["lift_spool"]', r"odd/takedown\.toml: .*no step frees spool"),
        ("takedown", "[change.step.lift_spool.change.gate.nothing]\nask = 'x?'", r"change\.gate was nothing"),
        ("hunches", 'drop.fault = ["no_such"]', r"odd/hunches\.toml: drop\.fault was no_such; allowed"),
        ("family", HEAD.replace("fly_click", "fly_clik"), r"odd/family\.toml: like was 'fly_clik'; .*fly_click"),
        ("family", HEAD.replace('"fly_click"', "3"), r"odd/family\.toml: like was 3"),
        ("family", HEAD.replace('key = "odd"', ""), r"odd/family\.toml: key was 'fly_click'; allowed is one of odd"),
    ],
)
def test_a_change_that_cannot_be_is_refused_with_file_key_and_what_is_allowed(
    tmp_path: Path, file: str, text: str, complaint: str
) -> None:
    with pytest.raises(InputError, match=complaint):
        odd(tmp_path, **{file: text})


def test_a_loop_is_named(tmp_path: Path) -> None:
    for key, like in (("a", "b"), ("b", "c"), ("c", "a")):
        (tmp_path / key).mkdir()
        (tmp_path / key / "family.toml").write_text(f'key = "{key}"\nlike = "{like}"\n')
    with pytest.raises(InputError, match=r"c/family\.toml: like was a is like b is like c is like a"):
        read_family(tmp_path / "a", tmp_path)


WHOLE = {
    "family": 'key = "whole"',
    "places": '[[place]]\nkey = "a"\nlook_alikes = ["b"]\n[[place]]\nkey = "b"\nlook_alikes = ["a"]\n',
    "takedown": '[[step]]\nkey = "s"\nafter = ["b"]\nfrees = ["a"]\n[[step]]\nkey = "t"\nfrees = ["b"]\n',
    "lubrication": '[[point]]\npoint = "A"\nplace = "a"\n[[point]]\npoint = "B"\nplace = "b"\n',
    "hunches": 'opening = ["a", "b"]\n[[fault]]\nkey = "f"\nplaces = ["a", "b"]\n'
    '[[fault]]\nkey = "g"\nplaces = ["b"]\n'
    '[[look]]\nkey = "l"\nreach = ["a"]\n[[look.finding]]\nkey = "x"\nlinks = { f = 0.9, g = 0.5 }\n'
    '[[look.finding]]\nkey = "y"\nlinks = { g = 0.5 }\n'
    '[[look]]\nkey = "m"\nreach = ["b"]\n[[look.finding]]\nkey = "z"\nlinks = { f = 0.9 }\n'
    '[[look]]\nkey = "n"\n[[look.finding]]\nkey = "w"\nlinks = { g = 0.9 }\n'
    '[[said]]\nkey = "said_w"\nlinks = { g = 0.9 }\n',
}
HALF = {"family": 'like = "whole"', "places": 'drop.place = ["b"]', "takedown": 'drop.step = ["t"]'}


def test_what_was_dropped_is_forgotten_where_it_was_only_spoken_of(tmp_path: Path) -> None:
    """A look-alike, a place before a step, oil, a fault with no place left, what only it shows."""
    for family_key, files in (("whole", WHOLE), ("half", HALF)):
        (tmp_path / family_key).mkdir()
        for name, text in files.items():
            (tmp_path / family_key / f"{name}.toml").write_text(text)
    made = family_files(tmp_path / "half", tmp_path)
    assert made["places.toml"]["place"] == [{"key": "a", "look_alikes": []}]
    assert made["takedown.toml"]["step"] == [{"key": "s", "after": [], "frees": ["a"]}]
    assert made["lubrication.toml"]["point"] == [{"point": "A", "place": "a"}]
    assert made["hunches.toml"] == {
        "opening": ["a"],
        "fault": [{"key": "f", "places": ["a"]}],
        "look": [{"key": "l", "reach": ["a"], "finding": [{"key": "x", "links": {"f": 0.9}}]}],
        "said": [],
    }


def test_a_row_s_tables_are_laid_over_key_by_key_and_nothing_is_touched() -> None:
    base = {"fault": [{"key": "f", "parts": {"low": 1, "high": 9}, "places": ["a", "b"]}], "clamp": {"kind": "lever"}}
    own = {"change": {"fault": {"f": {"parts": {"low": 2}, "places": ["a"]}}}, "clamp": {"note": "x"}}
    kept = copy.deepcopy((base, own))
    assert laid_over(base, own, "x") == {
        "fault": [{"key": "f", "parts": {"low": 2, "high": 9}, "places": ["a"]}],
        "clamp": {"note": "x"},
    }
    assert (base, own) == kept
