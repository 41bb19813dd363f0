import json
from pathlib import Path

import pytest

from levelwind.cli.main import main

EXAMPLE = Path(__file__).parents[2] / "docs/examples/supply/promise.toml"
HOURS = "today = 2026-03-02\n[hours]\nmonday = 6\n"
JOB = '[[job]]\ntag = "a"\nminutes = 60\n'
REFUSED = {
    HOURS + '[[job]]\ntag = "a"\n': "shop.toml, job a: minutes was absent; allowed is a value",
    HOURS + JOB + 'waits = ["w"]\n[[wait]]\nkey = "w"\n': "shop.toml, wait w: days was absent; allowed is a value",
    "today = 2026-03-02\n[hours]\nmonday = 0\n" + JOB: "hours was 0 on every weekday; allowed is hours of work",
    "[hours]\nmonday = -1\n" + JOB: "hours was (-1.0, 0.0,",
    HOURS + JOB.replace("60", "-5"): "job a: minutes was -5, -5, -5; allowed is low, likely, high in",
    HOURS + JOB.replace("60", "inf"): "job a: minutes was inf; allowed is a number",
    HOURS + JOB + "owner_asked = 2026-03-01\n": "job a: owner_days was absent; allowed is days, as",
    HOURS + JOB + "promised = 14\n": "job a: promised was 14; allowed is a day such as 2026-03-14",
    HOURS + JOB + "minuts = 6\n": "job a was minuts; allowed is one of",
    HOURS + '[[off]]\nfrom = 2026-03-05\nto = 2026-03-01\n' + JOB: "off 1: to was 2026-03-01; allowed is from",
    HOURS + JOB + "found_chance = 0.2\n": "job a: found_chance and found_days was one without the other",
    HOURS + JOB + "found_chance = 1.2\nfound_days = 5\n": "chance that a part is found broken was 1.2",
    HOURS: "jobs was 0; allowed is from 1 to",
}  # fmt: skip


def test_the_example_has_a_date_for_every_job(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["promise", str(EXAMPLE), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["kind"] == "promise"
    jobs = {job["tag"]: job for job in told["jobs"]}
    assert len(jobs) == 6
    assert all("2026-03-02" <= job["p50"] <= job["p80"] <= job["p90"] < "2026-04" for job in jobs.values())
    assert 0.8 < jobs["26-0108"]["chance"] < 0.95


def test_what_may_be_found_broken_makes_it_later(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, told = tmp_path / "shop.toml", []
    for more in ("", "found_chance = 0.3\nfound_days = { low = 3, likely = 5, high = 9 }\n"):
        path.write_text(HOURS + JOB + more)
        assert main(["promise", str(path), "--json"]) == 0
        told.append(json.loads(capsys.readouterr().out)["jobs"][0])
    assert told[0]["p90"] == told[1]["p50"] == "2026-03-02" and told[1]["p80"] > "2026-03-05"


@pytest.mark.parametrize("text", REFUSED)
def test_what_cannot_give_a_date_is_said(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(text)
    assert main(["promise", str(path), "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["status"] == "refused"
    assert REFUSED[text] in err
