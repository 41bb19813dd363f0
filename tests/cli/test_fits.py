import json

import pytest

from levelwind.cli.main import main

KEYS = {"kind", "status", "candidates", "none_probability", "next_measurement", "cautions"}


def answer(capsys, *words: str):
    assert main(["fits", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_json_is_one_object_to_the_letter(capsys) -> None:
    found = answer(capsys, "thread", "--diameter", "2.81mm", "--pitch", "40tpi", "--gauge", "0.02mm")
    assert set(found) == KEYS and (found["kind"], found["status"]) == ("fits", "ok")
    first = found["candidates"][0]
    assert set(first) == {"name", "standard", "probability", "hand", "variants", "why"}
    assert (first["name"], first["standard"], first["hand"]) == ("#4-40 UNC", "ASME B1.1", None)
    assert "2.81mm" in first["why"] and "40 tpi" in first["why"]
    assert first["probability"] > 0.9 > 0.05 > found["none_probability"] > 0
    assert found["next_measurement"] is None and any("hand" in each for each in found["cautions"])


def test_what_to_measure_next_says_how_well_and_what_it_tells(capsys) -> None:
    following = answer(capsys, "thread", "--diameter", "3.15", "--pitch", "0.59")["next_measurement"]
    assert set(following) == {"what", "accuracy_mm", "tells"}
    assert following["what"] == "measure over six threads" and 0 < following["accuracy_mm"] < 0.1
    assert "5BA" in following["tells"]
    assert answer(capsys, "bearing", "--od", "10")["next_measurement"]["what"] == "measure the bore"


def test_a_bearing_is_one_candidate_a_size_with_its_variants(capsys) -> None:
    found = answer(capsys, "bearing", "--bore", "3mm", "--od", "10mm", "--width", "4mm")
    assert [each["name"] for each in found["candidates"]] == ["623"]
    assert any("shielded" in each for each in found["candidates"][0]["variants"])
    assert any("flange" in each for each in found["candidates"][0]["variants"])


def test_the_other_pieces_and_what_may_be_said_of_them(capsys) -> None:
    assert answer(capsys, "oring", "--id", "9.2mm", "--section", "1.8mm")["candidates"][0]["name"] == "AS568-012"
    assert answer(capsys, "clip", "--shaft", "6mm", "--groove", "5mm")["candidates"][0]["name"] == "DIN 6799 5"
    assert answer(capsys, "clip", "--inside", "--shaft", "10mm")["candidates"][0]["name"] == "DIN 472 10"
    either = answer(capsys, "clip", "--groove", "10.4", "--thickness", "1.0")
    assert either["candidates"][0]["name"] == "DIN 472 10"
    assert answer(capsys, "spring", "--od", "8", "--thickness", "0.4")["candidates"][0]["name"].startswith("DIN 2093 A")
    nut = answer(
        capsys, "thread", "--inside", "--worn", "--hand", "left", "--diameter", "2.6", "--pitch", "0.5", "--any"
    )
    assert (nut["candidates"][0]["name"], nut["candidates"][0]["hand"]) == ("M3x0.5", "left")
    assert any("computed" in each for each in nut["cautions"])
    assert answer(capsys, "thread", "--diameter", "5", "--pitch", "3.6 over 6")["status"] == "none"


def test_for_a_person_it_says_what_comes_first_and_why(capsys) -> None:
    assert main(["fits", "thread", "--diameter", ".111", "--pitch", "0.6"]) == 0
    out = capsys.readouterr().out
    assert "%  #4-40 UNC (ASME B1.1)" in out and "none of these" in out and " in; " in out
    assert out.index("#4-40 UNC") < out.index("Caution: ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["thread", "--diameter", "0"], "more than 0"),
        (["thread", "--diameter", "-3mm"], "more than 0"),
        (["thread", "--diameter", "3 mm mm"], "allowed is a length such as"),
        (["thread", "--pitch", "400tpi"], "4 to 150 threads an inch"),
        (["bearing", "--bore", "12mm", "--od", "10mm"], "less than the outside diameter of 10mm"),
        (["oring"], "at least one of inside diameter, thickness of the ring"),
        (["clip", "--shaft", "6mm", "--gauge", "5mm"], "up to 1 mm"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(words: list[str], said: str, capsys) -> None:
    assert main(["fits", *words, "--json"]) == 3
    out, err = capsys.readouterr()
    assert said in err and err.count("\n") == 1 and json.loads(out)["status"] == "refused"
