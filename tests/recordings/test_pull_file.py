"""A force log read and measured in its own process says what the same log says when it is measured here."""

from hashlib import sha256
from pathlib import Path
from threading import Event

import numpy as np
import pytest

from levelwind.core.codec import as_shown
from levelwind.core.errors import InputError
from levelwind.core.pull import analyse
from levelwind.core.pull.options import PullOptions
from levelwind.recordings.force_log import read_force_log
from levelwind.recordings.limited import Stopped
from levelwind.recordings.pull_file import likely_units, read_pull

pytestmark = pytest.mark.limited

TIME = np.arange(0.0, 8.0, 0.05)
FORCE = np.where((TIME > 1) & (TIME < 6), np.where(TIME < 1.4, 60 * (TIME - 1), 18 + 0.2 * np.sin(9 * TIME)), 0.0)


def log(header: str = "time (s),force (N)", force: np.ndarray = FORCE) -> bytes:
    return "\n".join([header, *(f"{t:.2f},{f:.3f}" for t, f in zip(TIME, force, strict=True))]).encode()


def test_it_says_what_the_log_says_here(tmp_path: Path) -> None:
    path = tmp_path / "scale.csv"
    path.write_bytes(log())
    here = read_force_log(path)
    expected = analyse(here.time_s, here.force_N, unit_found=here.unit_found, cautions=here.cautions)
    told: list[str] = []
    read = read_pull(path, progress=lambda part, doing: told.append(doing))
    assert read.result is not None
    assert as_shown(read.result) == as_shown(expected)
    assert (read.refused, read.sha256, read.analysis.get("questions")) == ("", sha256(log()).hexdigest(), None)
    (pull,) = read.analysis["pulls"]
    assert pull["start_s"] < pull["breakaway_s"] < pull["steady_s"][0] < pull["steady_s"][1] < pull["end_s"]
    assert read.analysis["figure"]["points"]
    assert told[0] == "reading the log" and "finding the pulls" in told


def test_what_is_told_is_obeyed() -> None:
    read = read_pull(
        log("time,force"), name="scale.csv", options=PullOptions(unit="kgf", spans_s=((0.9, 3.0),), capacity_N=200.0)
    )
    assert read.result is not None
    (pull,) = read.result.pulls
    assert pull.end_s is not None and pull.end_s <= 3.1
    assert pull.running_N.value == pytest.approx(18 * 9.80665, rel=0.02)
    assert any("its limit of 200 N" in str(note) for note in read.result.cautions)


def test_a_log_that_can_be_read_and_tells_nothing_still_has_its_figure() -> None:
    read = read_pull(log(force=np.full(len(TIME), 5.0)), name="scale.csv")
    assert read.result is None
    assert "every force in the log is 5 N" in read.refused
    assert len(read.analysis["figure"]["points"]) == len(TIME)


def test_no_log_at_all_is_refused() -> None:
    with pytest.raises(InputError, match=r"scale\.csv was empty"):
        read_pull(b"", name="scale.csv")


def test_it_stops_when_told() -> None:
    stop = Event()
    stop.set()
    with pytest.raises(Stopped):
        read_pull(log(), name="scale.csv", stop=stop)


def test_the_units_a_scale_could_show_come_first() -> None:
    assert likely_units(0.2) == ["kgf", "lbf", "N", "ozf", "gf"]
    assert likely_units(4500.0)[0] == "gf"
    assert likely_units(100.0)[:2] == ["N", "lbf"]
