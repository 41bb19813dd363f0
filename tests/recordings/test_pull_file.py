"""A force log read and measured in its own process."""

from hashlib import sha256
from pathlib import Path
from threading import Event

import numpy as np
import pytest

from levelwind.core.errors import InputError
from levelwind.demo.simulation import PRESETS, Hand, Rig, Scale, simulate_log
from levelwind.recordings.limits import Stopped
from levelwind.recordings.pull_file import read_pull


@pytest.fixture(scope="module")
def log() -> bytes:
    simulated = simulate_log(PRESETS["dry leather"], np.random.default_rng(2), rig=Rig(), hand=Hand(), scale=Scale())
    return simulated.as_csv("kgf").encode()


def test_a_log_and_what_is_drawn_of_it(log: bytes, tmp_path: Path) -> None:
    told: list[str] = []
    read = read_pull(log, name="pull.csv", progress=lambda part, doing: told.append(doing))
    assert read.result is not None and read.refused == ""
    assert read.result.unit_found == "kgf" and len(read.result.pulls) == 1
    assert read.sha256 == sha256(log).hexdigest()
    assert read.figure and read.questions == ()
    assert told == ["reading the log", "finding the pulls"]
    path = tmp_path / "3f2a"
    path.write_bytes(log)
    assert read_pull(path, name="pull.csv") == read


def test_a_unit_that_is_not_written_is_asked_for_and_then_taken(log: bytes) -> None:
    bare = log.replace(b"(kgf)", b"").replace(b"kgf", b"")
    asked = read_pull(bare, name="pull.csv")
    assert asked.result is None and "unit of force" in asked.refused
    assert [question["about"] for question in asked.questions] == ["unit"]
    assert read_pull(bare, name="pull.csv", unit="kgf").result == read_pull(log, name="pull.csv").result


def test_a_log_in_which_nothing_is_pulled_is_shown_and_gives_no_number() -> None:
    data = b"Time (s),Force (N)\n" + b"".join(b"%.1f,5\n" % (i / 10) for i in range(40))
    read = read_pull(data, name="pull.csv")
    assert read.result is None
    assert "every force in the log is 5 N" in read.refused
    assert read.figure


def test_a_million_rows_are_all_read() -> None:
    t = np.arange(1_000_000) / 10_000
    pulled = np.where((t % 50 > 20) & (t % 50 < 25), 18 + np.sin(9 * t), 0.02 * np.sin(31 * t))
    rows = "".join(f"{a:.4f},{b:.2f}\n" for a, b in zip(t, pulled, strict=True))
    read = read_pull(("Time (s),Force (N)\n" + rows).encode(), name="pull.csv")
    assert read.result is not None
    assert read.result.sample_hz == pytest.approx(10_000)
    assert len(read.result.pulls) == 2


def test_it_can_be_stopped(log: bytes) -> None:
    stop = Event()
    stop.set()
    with pytest.raises(Stopped):
        read_pull(log, stop=stop)


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("a.csv", b"", "empty"),
        ("a.csv", b"\0\0\0\x18ftypmp42" + bytes(90), "not text"),
        ("a.csv", b"#EXTM3U\n/etc/passwd\n", "without a table of numbers"),
        ("a.csv", b"Force (N)\n1\n2\n3\n4\n", "a table with one column"),
        ("a.csv", b"Time (s),Force (N)\n3,1\n2,1\n1,1\n", "running backwards"),
        ("a.csv", b"Time (s),Force (N)\n1,nan\n2,nan\n3,nan\n", "missing"),
        ("a.csv", b"Time (s),Force (N)\nnan,1\nnan,2\nnan,3\n", "missing"),
        ("a.xlsx", b"PK\x03\x04" + bytes(90), "not a workbook"),
    ],
)
def test_what_is_no_log_is_refused_in_one_sentence(name: str, data: bytes, why: str) -> None:
    with pytest.raises(InputError, match=why) as refusal:
        read_pull(data, name=name, unit="N")
    assert name in str(refusal.value) and "\n" not in str(refusal.value)


def test_four_gigabytes_are_refused_unread(tmp_path: Path) -> None:
    large = tmp_path / "pull.csv"
    with large.open("wb") as file:
        file.truncate(4 * 2**30)
    with pytest.raises(InputError, match=r"pull\.csv was 4295 MB; allowed is a force log of at most 50 MB"):
        read_pull(large)
