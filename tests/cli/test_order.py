import json
from pathlib import Path

import pytest

from levelwind.cli.main import main

EXAMPLE = Path(__file__).parents[2] / "docs/examples/supply/order.toml"
TOP = 'waiting_a_day = "1.50"\nholding_percent_a_year = 30\n'
SUPPLIER = '[[supplier]]\nkey = "a"\ndays = 4\npostage = "6.50"\n'
PART = '[[part]]\nkey = "p"\nsupplier = "a"\ncost = "2.40"\n'
REFUSED = {
    TOP + SUPPLIER.replace("days = 4\n", "") + PART: "shelf.toml, supplier a: days was absent; allowed is a value",
    TOP + SUPPLIER.replace("4", "-4") + PART: "supplier a: days was -4, -4, -4; allowed is low, likely, high",
    TOP + SUPPLIER + PART.replace('"2.40"', '"2.405"'): "part p: cost was '2.405'; allowed is money such as \"2.40\"",
    TOP + SUPPLIER + PART.replace('"2.40"', '"-2"'): "part p: cost was '-2'; allowed is money",
    TOP + SUPPLIER + PART.replace('"2.40"', "true"): "part p: cost was True; allowed is money",
    TOP + SUPPLIER + PART.replace('"2.40"', '"0"'): "cost of p was 0; allowed is more than 0",
    TOP + SUPPLIER + PART + 'price = "2.39"\n': "price that p is sold for was 239; allowed is at least its cost of 240",
    TOP + SUPPLIER + PART + "used = [1, -1]\n": "part p: used was -1; allowed is a whole number, 0 or more",
    TOP + SUPPLIER + PART + "used = [0.5]\n": "part p: used was 0.5; allowed is a whole number, 0 or more",
    TOP + SUPPLIER + PART.replace('"a"', '"b"'): "supplier of p was 'b'; allowed is one of a",
    TOP + SUPPLIER + PART + "pak = 4\n": "part p was pak; allowed is one of",
    TOP.replace("30", "0") + SUPPLIER + PART: "holding a year was 0.0; allowed is more than 0",
}


def answer(path: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, object]:
    assert main(["order", str(path), "--json"]) == 0
    told: dict[str, object] = json.loads(capsys.readouterr().out)
    return told


def test_the_example_is_ordered_and_proven(capsys: pytest.CaptureFixture[str]) -> None:
    told = answer(EXAMPLE, capsys)
    assert (told["kind"], told["proven"], told["gap"]) == ("order", True, 0.0)
    lines = {line["part"]: line["units"] for parcel in told["today"] for line in parcel["lines"]}  # type: ignore[attr-defined]
    assert lines["pawl"] >= 2
    assert lines["bearing"] % 4 == 0
    cost = told["cost"]
    assert cost["low"] < cost["value"] < cost["high"]  # type: ignore[index]


def test_sums_are_exact_and_waiting_is_dearer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """0.1 and 0.2 in cents add up to 0.3: no float comes near a price. Five jobs that wait are worth a parcel today."""
    path = tmp_path / "shelf.toml"
    second = PART.replace('"p"', '"q"').replace("2.40", "0.20") + "needed = 1\n"
    path.write_text(TOP + SUPPLIER + PART.replace("2.40", "0.10") + "needed = 4\n" + second)
    told = answer(path, capsys)
    (parcel,) = told["today"]  # type: ignore[misc]
    assert parcel["goods"] == sum(line["units"] * {"p": 10, "q": 20}[line["part"]] for line in parcel["lines"]) / 100
    assert told["if_all_waits"] > told["cost"]["value"]  # type: ignore[operator, index]


@pytest.mark.parametrize("text", REFUSED)
def test_what_cannot_be_ordered_from_is_said(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text(text)
    assert main(["order", str(path), "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["status"] == "refused"
    assert REFUSED[text] in err
