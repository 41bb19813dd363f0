"""`levelwind spin` as a person runs it."""

import json
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from levelwind.cli.main import main
from levelwind.core.spin.law import Law, speed_after
from tests.core.spin.films import Scene, shoot, stop_after
from tests.core.spin.films import encoded as film_of
from tests.core.spin.sounds import encoded, recording


def _csv(path: Path) -> Path:
    t = np.arange(0, 30, 0.5)
    rows = [f"{a},{b:.1f}" for a, b in zip(t, 60 * speed_after(Law(0.3, 0.05, 0.002), 25.0, t), strict=True)]
    path.write_text("\n".join(["time (s),speed (rpm)", *rows]))
    return path


def test_a_table_in_words_and_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = _csv(tmp_path / "spin.csv")
    assert main(["spin", str(file)]) == 0
    assert "spin time" in capsys.readouterr().out
    assert main(["spin", str(file), "--json"]) == 0
    out = capsys.readouterr().out
    assert out.count("\n") == 1
    assert "NaN" not in out and "Infinity" not in out
    said = json.loads(out)
    assert list(said) == ["kind", "status", "source", "cautions", "spins"]
    assert (said["kind"], said["status"], said["source"]) == ("spin", "ok", "table")
    (spin,) = said["spins"]
    assert list(spin) == [
        "start_s", "end_s", "initial_rev_s", "spin_time_s", "speed", "losses", "energy_share", "cautions",
    ]  # fmt: skip
    assert list(spin["speed"]) == ["t_s", "rev_s"]
    assert list(spin["losses"]) == ["dry_rev_s2", "oil_per_s", "air_per_rev", "oil_power"]
    assert list(spin["energy_share"]) == ["dry", "oil", "air"]
    assert all(list(each) == ["value", "low", "high"] for each in spin["losses"].values())


@pytest.mark.limited
def test_a_sound_with_its_progress_beside_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = recording(10, codec=None)
    file = tmp_path / "spin.wav"
    file.write_bytes(encoded(made.samples, "pcm_s16le", "wav"))
    assert main(["spin", str(file), "--marks", str(made.marks), "--json"]) == 0
    captured = capsys.readouterr()
    shape = json.loads(captured.out)
    assert shape["source"] == "sound"
    assert shape["spins"][0]["initial_rev_s"]["value"] == pytest.approx(made.rev_s[0], rel=0.05)
    assert "spin.wav: 30 % listening" in captured.err


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.mp4", b"hello"),
        ("a.mp4", b"#EXTM3U\nb.ts\n"),
        ("a.wav", b""),
        ("a.csv", b"time,rpm\n"),
        ("a.xlsx", b"PK\x03\x04"),
    ],
)
def test_refusals_are_one_line(name: str, data: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / name
    file.write_bytes(data)
    assert main(["spin", str(file), "--json"]) == 3
    captured = capsys.readouterr()
    assert json.loads(captured.out)["status"] == "refused"
    assert captured.err.count("levelwind: ") == 1
    assert "Traceback" not in captured.err


def test_a_missing_file_and_a_wrong_number_of_marks(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["spin", "nowhere.wav"]) == 3
    with pytest.raises(SystemExit) as end:
        main(["spin", "nowhere.wav", "--marks", "0"])
    assert end.value.code == 2
    capsys.readouterr()


def test_a_film_slowed_for_playback(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scene = stop_after(replace(Scene(), frames_per_s=30.0, shake=0.0, roll=0.0, lamp_depth=0.0), 3.0)
    full, t = shoot(scene, np.random.default_rng(5))
    file = tmp_path / "spin.mp4"
    file.write_bytes(film_of(full, 4 * t))
    assert main(["spin", str(file), "--slowed", "4", "--json"]) == 0
    captured = capsys.readouterr()
    shape = json.loads(captured.out)
    assert shape["source"] == "video"
    assert shape["spins"][0]["end_s"] < t[-1] + 0.1
    assert "spin.mp4: 0 % reading the film" in captured.err
    assert "spin.mp4: 100 % done" in captured.err
    assert len(captured.err.splitlines()) < 20


@pytest.mark.parametrize("words", ["0.5", "101", "nan", "fast"])
def test_slowed_without_sense_is_wrong_use(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main(["spin", "x.mp4", "--slowed", words])
    assert end.value.code == 2
    assert "allowed is a number from 1 to 100" in capsys.readouterr().err


def test_a_recording_that_cannot_tell_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.csv").write_text("time (s),speed (rpm)\n" + "".join(f"{t},0\n" for t in range(20)))
    assert main(["spin", str(tmp_path / "a.csv"), "--json"]) == 3
    assert "nothing turns" in json.loads(capsys.readouterr().out)["reason"]


def test_interrupted_it_stops_every_recording_of_a_folder(tmp_path: Path) -> None:
    scene = stop_after(replace(Scene(), frames_per_s=30.0), 3.0)
    data = film_of(*shoot(scene, np.random.default_rng(5)))
    for name in "abcd":
        (tmp_path / f"{name}.mp4").write_bytes(data)
    # Where the tests run in the background, interrupts are ignored, and what they start inherits that.
    heed = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
    code = f"{heed}; import sys; from levelwind.cli.main import main; sys.exit(main())"
    command = [sys.executable, "-c", code, "spin", str(tmp_path), "--json"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        running.stderr.readline()
        running.send_signal(signal.SIGINT)
        out, err = running.communicate()
    assert running.returncode == 3
    assert err.splitlines()[-1] == "levelwind: stopped by hand"
    assert out == ""


@pytest.mark.limited
def test_a_folder_at_one_go(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    _csv(tmp_path / "a.csv")
    (tmp_path / "b.csv").write_text("hello")
    (tmp_path / "notes.doc").write_text("not looked at")
    assert main(["spin", str(tmp_path), "--json"]) == 0
    lines = [json.loads(line) for line in capfd.readouterr().out.splitlines()]
    assert [(line["file"], line["status"]) for line in lines] == [("a.csv", "ok"), ("b.csv", "refused")]
