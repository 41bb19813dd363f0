"""`levelwind hunch`: what it prints, what it refuses, and that text and JSON say the same."""

import json
from pathlib import Path

import pytest

from levelwind.cli.main import main
from levelwind.core.hunches import posterior
from levelwind.reference.faults import load_net


def ask(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["hunch", *words])
    printed = capsys.readouterr()
    return status, printed.out, printed.err


def test_json_is_one_object_with_the_posterior_and_the_looks(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("star_drag", "--seen", "said_drag_slips,pull_weak", "--not-seen", "pull_locked", "--json")
    status, out, err = ask(capsys, *words)
    answer = json.loads(out)
    assert (status, err, answer["kind"], answer["status"], answer["family"]) == (0, "", "hunch", "ok", "star_drag")
    assert answer["seen"] == ["said_drag_slips", "pull_weak"] and answer["not_seen"] == ["pull_locked"]
    expected = posterior(load_net("star_drag"), {"said_drag_slips": True, "pull_weak": True, "pull_locked": False})
    assert answer["no_fault_probability"] == expected.none
    assert [row["fault"] for row in answer["hunches"]] == [hunch.fault.key for hunch in expected.ranked]
    assert answer["hunches"][0]["probability"] == expected.ranked[0].probability
    assert answer["hunches"][0]["interval"] is None
    assert answer["hunches"][0]["basis"] == "a judgement, no counts"
    assert answer["next_looks"][0]["look"] == "washers"
    assert answer["next_looks"][0]["caution"] == "Old washers may hold asbestos: wet, wipe, bag"
    assert answer["cautions"] == ["These probabilities rest on judgement, not on counts of closed jobs."]


def test_the_text_leads_from_the_complaint_to_the_look(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = ask(capsys, "star_drag", "--seen", "said_drag_slips", "--not-seen", "washers_wet", "--why")
    assert status == 0
    heading, hunches, looks, unseen, closing = out.strip().split("\n\n")
    assert heading.splitlines() == [
        "Star drag",
        "Seen: the owner says the drag slips",
        "Not seen: oil, or grease not meant for drags, on the faces",
    ]
    assert "worn or glazed drag washers" in hunches.splitlines()[1]
    assert "CAUTION: Old washers may hold asbestos" in looks and "washers_thin" in looks
    assert "washers_wet" not in looks
    assert "Renew the drag set" in unseen
    assert "judgement" in closing and "currency" in closing
    assert max(map(len, out.splitlines())) <= 100


def test_with_nothing_seen_it_lists_what_an_owner_may_say(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = ask(capsys, "fixed_spool", "--why")
    assert "said_bail" in out and "the owner says the bail does not work" in out


def test_costs_and_an_open_reel_change_what_a_look_costs(capsys: pytest.CaptureFixture[str]) -> None:
    looks = {}
    for words in ((), ("--open",), ("--minute", "2"), ("--comeback", "5")):
        answer = json.loads(ask(capsys, "star_drag", *words, "--json")[1])
        looks[words] = next(look for look in answer["next_looks"] if look["look"] == "washers")
    assert looks[()]["minutes"] - looks["--open",]["minutes"] == load_net("star_drag").opening_minutes
    assert looks["--minute", "2"]["cost"] == 2 * looks[()]["minutes"]
    assert looks["--comeback", "5"]["value"] < looks[()]["value"]


def test_a_file_of_one_s_own_is_read(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(
        'family = "mine"\nname = "mine"\nopening_minutes = 0\n[[fault]]\nkey = "worn"\nname = "worn"\nprior = 0.5\n'
        'mend = "Renew"\nminutes = 1\nparts = { low = 1, likely = 1, high = 1 }\nsource = "judgement"\n'
        '[[said]]\nkey = "slips"\nname = "slips"\nleak = 0.25\nlinks = { worn = 1.0 }\nsource = "judgement"\n'
    )
    answer = json.loads(ask(capsys, str(file), "--seen", " slips ,", "--json")[1])
    assert answer["hunches"][0]["probability"] == pytest.approx(0.8)  # 0.5 / (0.5 + 0.5 · 0.25)
    assert answer["next_looks"] == []
    assert "Every look is done." in ask(capsys, str(file))[1]


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("star_drag", "--seen", "drag_slips"), "said_drag_slips"),
        (("star_drag", "--seen", "said_grinds", "--not-seen", "said_grinds"), "not both"),
        (("star_drag", "--minute", "-1"), "price of a minute"),
        (("star_drag", "--comeback", "nan"), "comeback"),
        (("no_such_family",), "single_action, star_drag"),
        (("/",), "Is a directory"),
        ((__file__,), "TOML"),
    ],
)
def test_a_refusal_is_one_line_that_says_why(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], reason: str
) -> None:
    status, out, err = ask(capsys, *words, "--json")
    assert status == 3
    assert json.loads(out)["status"] == "refused" and reason in json.loads(out)["reason"]
    assert err.count("\n") == 1 and reason in err and "Traceback" not in err


def test_every_finding_at_once_is_answered_or_refused_never_worse(capsys: pytest.CaptureFixture[str]) -> None:
    net = load_net("star_drag")
    status, _, err = ask(capsys, "star_drag", "--seen", ",".join(finding.key for finding in net.findings))
    assert status == 3 and "leave some findings as not looked at" in err


def test_what_the_owner_says_is_read_and_the_rest_is_left_in_his_words(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("star_drag", "--says", "The drag slips, it's my late aunt's piano", "--not-seen", "washers_thin")
    answer = json.loads(ask(capsys, *words, "--json")[1])
    assert answer["says"] == {"understood": ["said_drag_slips"], "left": ["its my late aunts piano"]}
    assert (answer["seen"], answer["not_seen"]) == (["said_drag_slips"], ["washers_thin"])
    text = ask(capsys, *words)[1]
    assert "Not understood: its my late aunts piano" in text and "Seen: the owner says the drag slips" in text


def test_a_person_s_word_overrules_what_was_read(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("star_drag", "--says", "The drag slips", "--not-seen", "said_drag_slips", "--json")
    answer = json.loads(ask(capsys, *words)[1])
    assert answer["says"]["understood"] == answer["not_seen"] == ["said_drag_slips"]


def test_what_explains_the_complaint_and_what_is_due_anyway_are_two_lists(capsys: pytest.CaptureFixture[str]) -> None:
    answer = json.loads(ask(capsys, "star_drag", "--seen", "said_drag_slips", "--json")[1])
    explaining, due = answer["explains_complaint"], answer["due_anyway"]
    assert explaining[0] == "washers_worn" and {"old_grease", "salt_corrosion"} <= set(due)
    assert explaining + due == [row["fault"] for row in answer["hunches"]]
    text = ask(capsys, "star_drag", "--seen", "said_drag_slips")[1]
    assert text.index("What explains the complaint") < text.index("What is due anyway") < text.index("old hardened")
    assert "What explains the complaint" not in ask(capsys, "star_drag")[1]


def test_a_look_made_already_comes_back_as_settled(capsys: pytest.CaptureFixture[str]) -> None:
    shown = [finding.key for finding in load_net("star_drag").shown_by("washers")]
    words = ("star_drag", "--seen", f"said_drag_slips,{shown[0]}", "--not-seen", ",".join(shown[1:]))
    answer = json.loads(ask(capsys, *words, "--json")[1])
    assert [(row["look"], row["seen"], row["not_seen"]) for row in answer["settled_looks"]] == [
        ("washers", shown[:1], shown[1:])
    ]
    assert "washers" not in [look["look"] for look in answer["next_looks"]]
    assert all(look["value"] > 0 for look in answer["next_looks"])
    assert "Settled: Take off the handle, the star" in ask(capsys, *words)[1]


def test_without_why_it_names_the_keys_and_says_where_more_is(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = ask(capsys, "fixed_spool")
    assert "For --seen, of what the owner says: said_" in out and "said_bail" in out and "More, and why: --why" in out
    _, out, _ = ask(capsys, "star_drag", "--seen", "said_drag_slips")
    assert "Look next: Take off the handle" in out and "washers_thin" in out and "explains it:" not in out
