"""`levelwind pull` as a person and as a script meets it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from levelwind.cli import pull
from levelwind.cli.main import main, parser_for
from levelwind.demo.simulation import PRESETS, Hand, Rig, Scale, simulate_log


@pytest.fixture(autouse=True)
def never_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """A busy machine must not make these logs tell their progress."""
    monkeypatch.setattr(pull, "QUIET_S", 600.0)


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    simulated = simulate_log(PRESETS["dry leather"], np.random.default_rng(2), rig=Rig(), hand=Hand(), scale=Scale())
    path = tmp_path_factory.mktemp("logs") / "pull.csv"
    path.write_text(simulated.as_csv("kgf"))
    return path


@pytest.mark.limited
def test_json_is_one_object_of_the_designs_shape(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pull", str(log), "--json"]) == 0
    out, err = capsys.readouterr()
    said = json.loads(out)
    assert err == ""
    assert list(said) == ["kind", "status", "unit_found", "sample_hz", "cautions", "pulls"]
    assert (said["kind"], said["status"], said["unit_found"]) == ("pull", "ok", "kgf")
    assert said["sample_hz"] == pytest.approx(20.0, rel=0.02)
    (pull,) = said["pulls"]
    assert list(pull) == [
        "start_s", "end_s", "breakaway_N", "running_N", "startup_ratio", "wobble_N", "wobble_period_s", "stick_slip",
        "stick_slip_hz", "fade_percent", "cautions",
    ]  # fmt: skip
    assert "NaN" not in out and "Infinity" not in out
    assert pull["startup_ratio"]["low"] < pull["startup_ratio"]["value"] < pull["startup_ratio"]["high"]


def test_the_unit_can_be_said(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["pull", str(log), "--json"])
    as_kgf = json.loads(capsys.readouterr().out)["pulls"][0]["running_N"]["value"]
    main(["pull", str(log), "--json", "--unit", "lbf"])
    said = json.loads(capsys.readouterr().out)
    assert said["unit_found"] == "lbf"
    # one kgf is 1/0.45359237 lbf (NIST SP 811, 2008, B.8)
    assert said["pulls"][0]["running_N"]["value"] == pytest.approx(as_kgf * 0.45359237, rel=1e-9)
    assert "the header says kgf, read as lbf because you said so" in said["cautions"]


def test_the_text_is_for_reading(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pull", str(log)]) == 0
    out = capsys.readouterr().out
    assert "start-up ratio" in out and "kgf" in out and "{" not in out


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"Time (s),Temperature (C)\n0,1\n1,2\n2,3\n", "without a force column"),
        (b"Time (s),Force\n0,1\n1,2\n2,3\n", "--unit"),
        (b"Time (s),Force (N)\n", "a header without readings"),
        (b"", "empty"),
        (b"Time (s),Force (N)\n" + b"".join(b"%d.0,5\n" % i for i in range(30)), "every force in the log is 5 N"),
        (b"Time (s),Force (N)\n3,1\n2,1\n1,1\n", "running backwards"),
        (bytes(range(256)) * 20, "not text"),
    ],
)
def test_a_refusal_is_one_line_and_status_three(
    content: bytes, reason: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(content)
    assert main(["pull", str(path), "--json"]) == 3
    out, err = capsys.readouterr()
    said = json.loads(out)
    assert said["status"] == "refused" and reason in said["reason"]
    assert err.count("\n") == 1 and "Traceback" not in err
    assert main(["pull", str(path)]) == 3
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize(("level", "sentences"), [(5000, 2), (5, 1), (0, 1)])
def test_a_flat_log_is_refused_in_whole_sentences(
    level: int, sentences: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where another unit could help, a second sentence says how to name it; of no force at all it could not."""
    path = tmp_path / "flat.csv"
    path.write_bytes(b"Time (s),Force (N)\n" + b"".join(b"%d.0,%d\n" % (i, level) for i in range(30)))
    assert main(["pull", str(path), "--json"]) == 3
    said = json.loads(capsys.readouterr().out)["reason"].split(". ")
    assert len(said) == sentences and said[0].endswith("on hold")
    assert said[1:] == ["It can be said with --unit."] * (sentences - 1)


def test_a_file_that_is_not_there_and_a_unit_that_is_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pull", str(tmp_path / "gone.csv")]) == 3
    assert "gone.csv was not there" in capsys.readouterr().err
    with pytest.raises(SystemExit) as wrong:
        main(["pull", "x.csv", "--unit", "stone"])
    assert wrong.value.code == 2


def test_a_name_that_cannot_be_looked_at(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pull", "x" * 300 + ".csv", "--json"]) == 3
    out, err = capsys.readouterr()
    assert "File name too long" in json.loads(out)["reason"] and err.count("\n") == 1


def test_an_empty_name_is_not_the_folder_we_are_in(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as wrong:
        main(["pull", ""])
    assert wrong.value.code == 2
    assert "an empty name" in capsys.readouterr().err


COMMAND = [sys.executable, "-m", "levelwind.cli", "pull"]


def test_a_reader_that_goes_away_and_a_full_disk_end_it_quietly(log: Path) -> None:
    for arguments in ([str(log), "--json"], [str(log), str(log)]):
        with subprocess.Popen([*COMMAND, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
            assert running.stdout is not None and running.stderr is not None
            running.stdout.close()
            assert b"Traceback" not in running.stderr.read() and running.wait() == 0
        with Path("/dev/full").open("wb") as full:
            done = subprocess.run([*COMMAND, *arguments], stdout=full, stderr=subprocess.PIPE, check=False)
        assert done.returncode == 3
        assert done.stderr.splitlines()[-1] == b"levelwind: cannot print: No space left on device"
        assert b"Traceback" not in done.stderr


def test_without_standard_error_the_answer_is_the_same(log: Path) -> None:
    shell = ["sh", "-c", '"$@" 2>&-', "sh", *COMMAND, str(log), str(log), "--json"]
    done = subprocess.run(shell, stdout=subprocess.PIPE, check=False)
    assert done.returncode == 0
    assert [json.loads(line)["status"] for line in done.stdout.splitlines()] == ["ok", "ok"]


def test_a_reader_that_breaks_says_so_in_one_line(log: Path, tmp_path: Path) -> None:
    """What it muttered, a traceback mostly, is not for the screen."""
    broken = "import levelwind.recordings.force_log as f; f.read_force_log = None"
    (tmp_path / "sitecustomize.py").write_text(broken)
    env = {"PYTHONPATH": str(tmp_path), "PATH": ""}
    done = subprocess.run([*COMMAND, str(log), "--json"], capture_output=True, check=False, env=env, text=True)
    assert done.returncode == 3
    assert "brought its reader down" in json.loads(done.stdout)["reason"]
    sentences = [line for line in done.stderr.splitlines() if "%" not in line]  # a slow machine tells how far it is
    assert len(sentences) == 1


def test_a_name_that_cannot_be_spelt_is_told_on_one_line(log: Path, tmp_path: Path) -> None:
    for name in (b"a\nb.csv", b"\xff\xfe\x1b[2J.csv"):
        (tmp_path / os.fsdecode(name)).write_bytes(log.read_bytes())
    env = os.environ | {"PYTHONIOENCODING": "utf-8:strict"}
    done = subprocess.run([*COMMAND, str(tmp_path)], capture_output=True, check=False, env=env, text=True)
    assert done.returncode == 0
    assert (
        "\na b.csv:\n" in "\n" + done.stdout
        and "???[2J.csv:\n" in done.stdout
        and "\x1b" not in done.stdout + done.stderr
    )
    assert all("%" in line for line in done.stderr.splitlines())


def test_what_takes_long_tells_how_far_it_is(
    log: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(pull, "QUIET_S", 0.0)
    assert main(["pull", str(log), "--json"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["status"] == "ok"
    assert "pull.csv: 70 % finding the pulls\n" in err


def test_a_scale_at_its_limit_is_told(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["pull", str(log), "--json"])
    plain = json.loads(capsys.readouterr().out)
    assert not any("limit" in note for note in plain["cautions"])
    peak = plain["pulls"][0]["breakaway_N"]["value"]
    assert main(["pull", str(log), "--json", "--capacity", f"{0.9 * peak:.3f} N"]) == 0
    assert any("reached its limit" in note for note in json.loads(capsys.readouterr().out)["cautions"])


# N in one unit, exact: 0.45359237 kg in standard gravity of 9.80665 m/s² (NIST SP 811, 2008, B.8)
@pytest.mark.parametrize(("words", "newtons"), [("50kg", 490.3325), ("25 lb", 111.20554), ("200N", 200.0)])
def test_the_most_a_scale_can_read_has_its_unit(words: str, newtons: float) -> None:
    assert parser_for(["pull"]).parse_args(["pull", "x", "--capacity", words]).capacity == pytest.approx(newtons)


@pytest.mark.parametrize("words", ["50", "kg", "-5kg", "5 stone", "1e3N", "nan N"])
def test_a_capacity_without_sense_is_wrong_use(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as wrong:
        main(["pull", "x.csv", f"--capacity={words}"])
    assert wrong.value.code == 2
    assert "is not a force with its unit" in capsys.readouterr().err


@pytest.mark.limited
def test_a_folder_at_one_go(log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.csv").write_bytes(log.read_bytes())
    (tmp_path / "b.txt").write_text("hello")
    (tmp_path / "notes.doc").write_text("not looked at")
    assert main(["pull", str(tmp_path), "--json"]) == 0
    out, err = capsys.readouterr()
    lines = [json.loads(line) for line in out.splitlines()]
    assert [(line["file"], line["status"]) for line in lines] == [("a.csv", "ok"), ("b.txt", "refused")]
    assert "a.csv: 70 % finding the pulls\n" in err
    assert err.splitlines()[-1] == "levelwind: 1 of 2 refused: b.txt"
    assert main(["pull", str(tmp_path)]) == 0
    assert "b.txt:\n  refused: b.txt was without a table" in capsys.readouterr().out


def test_several_files_and_folders_by_name(log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.csv").write_bytes(log.read_bytes())
    (tmp_path / "sub.csv").mkdir()
    (tmp_path / "._a.csv").write_bytes(b"\0\5\x16\7")  # what some machines leave beside each file on a stick
    assert main(["pull", str(log), str(tmp_path), str(log), "--json"]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [(line["file"], line["status"]) for line in lines] == [(n, "ok") for n in ("pull.csv", "a.csv", "pull.csv")]


def test_a_folder_of_refused_logs_and_an_empty_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pull", str(tmp_path)]) == 3
    assert "a folder without recordings" in capsys.readouterr().err
    (tmp_path / "b.txt").write_text("hello")
    assert main(["pull", str(tmp_path)]) == 3
    capsys.readouterr()


def test_the_command_needs_neither_django_nor_scipy(log: Path) -> None:
    code = (
        "import sys; from levelwind.cli.main import main; main(['pull', sys.argv[1]]);"
        "sys.exit(bool({'django', 'scipy', 'PIL', 'openpyxl'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code, str(log)], capture_output=True, check=False).returncode == 0
