import json
from pathlib import Path

import pytest

from levelwind.cli.main import main

EXAMPLE = Path(__file__).parents[2] / "docs/examples/supply/worth.toml"
PART = 'minute = "0.80"\n[[part]]\nname = "spool"\nprice = "20.00"\nminutes = 5\n'
REFUSED = {
    PART.replace("minutes = 5\n", ""): "reel.toml, part spool: minutes was absent; allowed is a value",
    PART.replace('"20.00"', '"-1"'): "part spool: price was '-1'; allowed is money such as",
    PART.replace(
        '"20.00"', '{ low = "9", likely = "8", high = "10" }'
    ): "part spool: price was 900, 800, 1000; allowed is low",
    PART + "good = 1.5\n": "good of spool was 1.5; allowed is a chance from 0 to 1",
    PART + "[mended]\nminutes = 60\n": "mended: price was absent; allowed is money such as",
    'minute = "0.80"\n': "reel was no parts and no mending",
}


def test_the_example_is_weighed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["worth", str(EXAMPLE), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["kind"], told["leave"]) == ("worth", ["side plate screws"])
    for way in ("parts", "mended", "shut"):
        assert told[way]["low"] <= told[way]["value"] <= told[way]["high"]
    assert told["advice"] == max(("parts", "mended", "shut"), key=lambda way: told[way]["value"])
    assert told["shut"]["value"] == pytest.approx(0.8 * (5 + 40 + 20) / 6 - 4, abs=0.01)


@pytest.mark.parametrize("text", REFUSED)
def test_what_cannot_be_weighed_is_said(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "reel.toml"
    path.write_text(text)
    assert main(["worth", str(path), "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["status"] == "refused"
    assert REFUSED[text] in err
