"""`levelwind compare` as a person and as a script meets it."""

import json
from pathlib import Path

import numpy as np
import pytest

from levelwind.cli import pull
from levelwind.cli.main import main
from levelwind.core.spin.law import Law, speed_after
from levelwind.demo.simulation import PRESETS, Hand, Rig, Scale, simulate_log


@pytest.fixture(autouse=True)
def never_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """A busy machine must not make these logs tell their progress."""
    monkeypatch.setattr(pull, "QUIET_S", 600.0)


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Two pulls in kgf, one without its unit, and two spins of one law at 12 and at 18 rev/s."""
    folder, paths = tmp_path_factory.mktemp("pairs"), {}
    for name, drag, unit in (("dry", "dry leather", "kgf"), ("greased", "greased woven", "kgf")):
        log = simulate_log(PRESETS[drag], np.random.default_rng(2), rig=Rig(), hand=Hand(), scale=Scale())
        paths[name] = folder / f"{name}.csv"
        paths[name].write_text(log.as_csv(unit))
    paths["unit"] = folder / "unit.csv"
    paths["unit"].write_text(paths["dry"].read_text().replace("Force (kgf)", "Force"))
    for name, start in (("slow", 12.0), ("fast", 18.0)):
        t = np.arange(0, 30, 0.25)
        rows = zip(t, 60 * speed_after(Law(0.3, 0.05, 0.002), start, t), strict=True)
        paths[name] = folder / f"{name}.csv"
        paths[name].write_text("\n".join(["time (s),speed (rpm)", *(f"{a},{b:.1f}" for a, b in rows)]))
    return paths


def answer(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, object]:
    assert main(["compare", *map(str, words), "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == "" and out.count("\n") == 1 and "NaN" not in out and "Infinity" not in out
    return dict(json.loads(out))


@pytest.mark.limited
def test_two_pulls(logs: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    said = answer(capsys, logs["dry"], logs["greased"])
    figures = ["running_N", "breakaway_N", "startup_ratio", "wobble_N"]
    assert list(said) == ["kind", "status", "of", *figures, "cautions"]
    assert (said["kind"], said["status"], said["of"]) == ("compare", "ok", "pull")
    assert list(said["running_N"]) == ["found", "left", "change", "real"]  # type: ignore[call-overload]
    assert said["running_N"]["real"] is True  # type: ignore[index]


def test_one_law_flicked_at_12_and_at_18_is_no_change(
    logs: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    said = answer(capsys, logs["slow"], logs["fast"])
    assert said["of"] == "spin" and said["from_rev_s"] == pytest.approx(12.0, abs=0.1)
    figures = [said["spin_time_s"], *said["energy_share"].values()]  # type: ignore[attr-defined]
    assert len(figures) == 4 and not any(each["real"] for each in figures)
    assert main(["compare", str(logs["slow"]), str(logs["fast"])]) == 0
    out = capsys.readouterr().out
    assert "free spin, from 12.0 rev/s," in out and "both are told from 12.0 rev/s" in out and ", real" not in out


def test_the_text_is_for_reading(logs: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(logs["dry"]), str(logs["greased"])]) == 0
    out = capsys.readouterr().out
    assert "running drag" in out and "kgf: " in out and "start-up ratio" in out and ", real" in out and "{" not in out


def test_a_unit_said_serves_both(logs: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    same = answer(capsys, logs["unit"], logs["dry"], "--unit", "kgf")
    assert same["running_N"]["change"]["value"] == pytest.approx(0.0)  # type: ignore[index]
    assert same["running_N"]["real"] is False  # type: ignore[index]


@pytest.mark.parametrize(
    ("found", "left", "reason"),
    [
        ("dry", "slow", "as found is a pull and as left is a spin: only two recordings of one kind can be compared"),
        ("slow", "dry", "as found is a spin and as left is a pull"),
        ("dry", "gone", "was not there"),
        ("unit", "dry", "It can be said with --unit"),
    ],
)
def test_a_refusal_is_one_line_and_status_three(
    found: str, left: str, reason: str, logs: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    paths = [str(logs.get(name, Path("gone.csv"))) for name in (found, left)]
    assert main(["compare", *paths, "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["status"] == "refused" and reason in json.loads(out)["reason"]
    assert err.count("\n") == 1 and "Traceback" not in err


def test_what_is_neither_says_why_it_is_not(
    logs: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "other.csv"
    other.write_text("Time (s),Temperature (C)\n0,20.1\n1,20.5\n2,19.8\n")
    assert main(["compare", str(other), str(logs["dry"])]) == 3
    err = capsys.readouterr().err
    assert "neither a pull (" in err and "without a force column" in err and "nor a spin (" in err


def test_one_recording_alone_and_a_unit_that_is_none_are_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["a.csv"], ["a.csv", "b.csv", "--unit", "stone"], ["a.csv", "b.csv", "--marks", "0"], ["a.csv", ""]):
        with pytest.raises(SystemExit) as wrong:
            main(["compare", *words])
        assert wrong.value.code == 2
    capsys.readouterr()
