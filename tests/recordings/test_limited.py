import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from itertools import count as count_from
from pathlib import Path
from select import select
from threading import Event

import pytest

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.recordings import limited, limited_bounds, limited_start
from levelwind.recordings.limited import Answer, Stopped, run_limited
from levelwind.recordings.limited_start import CAN_FORK, NURSERY, Server

ROOT_TOO = os.pathsep.join(filter(None, [str(Path(__file__).parents[2]), os.environ.get("PYTHONPATH", "")]))
LINUX = pytest.mark.skipif(not CAN_FORK, reason="readers are forked on Linux alone")


def backwards(data: bytes, *, word: str) -> Answer:
    return Answer({"word": word}, (data[::-1], b"\n{}\n"))


def threads(data: bytes) -> Answer:
    """Of linear algebra alone: one that waits for the caller's end is Python's own."""
    import threading

    import numpy as np

    np.linalg.lstsq(np.ones((9, 1)), np.ones(9))
    status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
    return Answer({"threads": int(status["Threads"]) - (threading.active_count() - 1)})


def calls_its_fact_refused(data: bytes) -> Answer:
    return Answer({"refused": "", "answer": 1})


def size_of(data: Path) -> Answer:
    return Answer({"size": data.stat().st_size, "name": data.name})


def count(data: bytes, *, tell: Callable[[float, str], None]) -> Answer:
    for i in range(1000):
        tell(i / 1000, "counting\nlines" if i < 500 else "still counting")
    return Answer({"counted": 1000})


def chatter(data: bytes) -> Answer:
    for _ in range(200):
        os.write(1, b"x" * 10_000)
        os.write(2, b"y" * 10_000)
    subprocess.run([sys.executable, "-c", "print('{}')"], check=True)
    return Answer({"read": len(data)}, (data,))


def leave_a_child(data: bytes) -> Answer:
    return Answer({"left": subprocess.Popen(["sleep", "600"]).pid})


def refuse(data: bytes) -> Answer:
    raise InputError("this", data.decode(), "that")


def refuse_a_number(data: bytes) -> Answer:
    raise InputError("this", (1.5, None, b"x"), "that")


def not_told(data: bytes) -> Answer:
    raise NotDeterminedError("cannot tell")


def sleep(data: bytes, *, begun: str = "", tell: Callable[[float, str], None] | None = None) -> Answer:
    if tell is not None:
        tell(0.0, str(os.getpid()))
    if begun:
        Path(begun).touch()
    time.sleep(600)
    return Answer()


class SlowToClose:
    """So slow that an alarm that is still set comes first. As Python closes, the module's names are gone already."""

    def __del__(self, timer: Callable[[int], tuple[float, float]] = signal.getitimer, nap=time.sleep) -> None:  # type: ignore[no-untyped-def]
        while timer(0)[0]:
            nap(0.1)


def close_slowly(data: bytes) -> Answer:
    globals()["open"] = SlowToClose()
    return Answer({"read": len(data)})


def sleep_without_pipes(data: bytes, *, begun: str) -> Answer:
    os.closerange(0, 20)
    return sleep(data, begun=begun)


def burn(data: bytes) -> Answer:
    while True:
        pass


def hoard(data: bytes) -> Answer:
    return Answer({"size": len(bytearray(10**9))})


def hoard_to_the_last_bit(data: bytes) -> Answer:
    """So that not even the words of a refusal have room beside it."""
    kept: list[bytes] = [b""] * 10**6
    at = 0
    for size in (10**6, 10**4, 10**3, *range(500, 0, -8)):
        try:
            while True:
                kept[at] = bytes(size)
                at += 1
        except MemoryError:
            continue
    raise MemoryError


def open_pipes(data: bytes) -> Answer:
    return Answer({"pipes": len(os.listdir("/proc/self/fd")) - 1})  # less the folder itself


def taint(data: bytes) -> Answer:
    """Leaves its mark on modules, on the environment, and in the folder it is in."""
    found = getattr(limited_bounds, "mark", os.environ.get("MARK", "clean"))
    limited_bounds.mark = os.environ["MARK"] = "tainted"  # type: ignore[attr-defined]
    os.chdir("/")
    return Answer({"found": found, "pid": os.getpid(), "parent": os.getppid()})


def kill_the_parent(data: bytes) -> Answer:
    """Unless that is whoever asked."""
    parent = os.getppid()
    if parent != int(data):
        os.kill(parent, signal.SIGKILL)
    return Answer({"parent": parent})


def crash(data: bytes) -> Answer:
    import ctypes

    ctypes.string_at(0)
    return Answer()


def taken_over(data: bytes) -> Answer:
    """Writes what it likes to every pipe it has, and ends as if all were well."""
    for number in range(1, 20):
        try:
            for _ in range(40):
                os.write(number, data)
        except OSError:
            continue
    os._exit(0)


def flood(data: bytes, *, tell: Callable[[float, str], None]) -> Answer:
    for i in range(70):
        tell(0.0, f"{i}" + "x" * 1_000_000)
    return Answer()


@pytest.fixture(scope="module")
def forking() -> Iterator[Server]:
    """One that imports nothing beforehand, which is all that takes time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPATH", ROOT_TOO)
        patch.setattr(limited_start, "IMPORTED", ("numpy",))
        server = Server()
    assert server.ready(300)
    yield server
    server.close()


@pytest.fixture(autouse=True, params=["fresh", pytest.param("forked", marks=LINUX)])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Whatever holds of a reader holds of both kinds; both find the functions of this file."""
    monkeypatch.setenv("PYTHONPATH", ROOT_TOO)
    monkeypatch.setattr(NURSERY, "_server", None)
    if request.param == "forked":
        monkeypatch.setattr(NURSERY, "_server", request.getfixturevalue("forking"))
        monkeypatch.setattr(NURSERY, "renew", lambda: None)
    return str(request.param)


def run(function: object, data: bytes | Path = b"", *, seconds: float = 300, **options: object) -> Answer:
    """However slow the machine is just now, only a test of the limit on time comes near it."""
    return run_limited(function, data, name="file.bin", seconds=seconds, megabytes=300, **options)  # type: ignore[arg-type]


def test_facts_and_bytes_come_back_whole() -> None:
    assert run(backwards, b"abc\n", word="é") == Answer({"word": "é"}, (b"\ncba", b"\n{}\n"))


def test_facts_may_be_called_anything() -> None:
    assert run(calls_its_fact_refused).facts == {"refused": "", "answer": 1}


def test_numbers_are_worked_out_on_one_thread() -> None:
    assert run(threads).facts == {"threads": 1}


def test_a_path_is_handed_on_as_a_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    large = tmp_path / "película.mp4"
    with large.open("wb") as file:
        file.truncate(4 * 2**30)
    monkeypatch.chdir(tmp_path)
    assert run(size_of, Path("película.mp4")).facts == {"size": 4 * 2**30, "name": "película.mp4"}


def test_a_refusal_is_the_same_on_this_side() -> None:
    with pytest.raises(InputError, match="this was wörd; allowed is that"):
        run(refuse, "wörd".encode())
    with pytest.raises(InputError, match=r"this was .1.5, None, b'x'.; allowed is that"):
        run(refuse_a_number)
    with pytest.raises(NotDeterminedError, match="cannot tell"):
        run(not_told)


def test_progress_comes_while_it_works_and_not_more_than_can_be_read() -> None:
    told: list[tuple[float, str]] = []
    assert run(count, progress=lambda part, doing: told.append((part, doing))).facts == {"counted": 1000}
    assert told[0] == (0.0, "counting\nlines")
    assert (0.5, "still counting") in told
    assert told == sorted(told)
    assert len(told) < 100


def test_what_the_listener_raises_is_raised_here() -> None:
    def fail(part: float, doing: str) -> None:
        raise ValueError("the page is gone")

    with pytest.raises(ValueError, match="the page is gone"):
        run(count, progress=fail)


def gone(pid: int) -> bool:
    """Whether it has ended, or does so before long."""
    try:
        handle = os.pidfd_open(pid)
    except ProcessLookupError:
        return True
    with os.fdopen(handle):
        return bool(select([handle], [], [], 300)[0])


def test_stopped_by_hand_it_is_gone() -> None:
    stop, told = Event(), []

    def hear(part: float, doing: str) -> None:
        told.append(int(doing))
        stop.set()

    with pytest.raises(Stopped, match="stopped by hand"):
        run(sleep, stop=stop, progress=hear)
    assert not Path(f"/proc/{told[0]}").exists()


def test_it_ends_with_a_caller_that_was_killed() -> None:
    ask = (
        "from tests.recordings.test_limited import sleep; from levelwind.recordings.limited import run_limited;"
        "run_limited(sleep, b'', name='x', seconds=600, megabytes=300, progress=lambda _, pid: print(pid, flush=True))"
    )
    with subprocess.Popen([sys.executable, "-c", ask], stdout=subprocess.PIPE, text=True) as caller:
        assert caller.stdout is not None
        pid = int(caller.stdout.readline())
        caller.kill()
    assert gone(pid)


def test_one_that_closes_slowly_is_waited_for() -> None:
    assert run(close_slowly, b"ab").facts == {"read": 2}


def test_a_stop_set_before_is_heeded() -> None:
    stop = Event()
    stop.set()
    with pytest.raises(Stopped):
        run(sleep, stop=stop)


def test_a_stop_that_is_not_set_changes_nothing() -> None:
    assert run(backwards, b"ab", word="", stop=Event()).blobs[0] == b"ba"


def test_no_deadlock_however_much_is_said_beside_the_answer() -> None:
    data = os.urandom(3_000_000)
    assert run(chatter, data) == Answer({"read": len(data)}, (data,))


def test_a_child_left_behind_does_not_hold_the_answer_back() -> None:
    assert gone(run(leave_a_child).facts["left"])


@pytest.mark.parametrize(
    "said",
    [
        b"no line of ours\n",
        b"\n",
        b'{"part": 0.5}\n',
        b"[1]\n",
        b'{"facts": {}, "lengths": [5]}\n',
        b'{"facts": {}, "lengths": [-5, 5]}\n',
        b'{"facts": 3, "lengths": []}\n',
        b'{"facts": {}, "lengths": []}\n',
        b"x" * 1_000_000,
    ],
)
def test_a_decoder_that_was_taken_over_reaches_nobody(said: bytes) -> None:
    with pytest.raises(InputError, match="brought its reader down"):
        run(taken_over, said)


def test_more_than_may_come_back_is_not_kept() -> None:
    with pytest.raises(InputError, match="brought its reader down"):
        run_limited(flood, b"", name="file.bin", seconds=300, megabytes=60, progress=lambda part, doing: None)


@pytest.mark.parametrize(
    ("function", "sentence"),
    [
        (hoard, "more than 300 MB"),
        (hoard_to_the_last_bit, "more than 300 MB"),
        (crash, "brought its reader down"),
    ],
)
def test_what_goes_too_far_is_refused_in_a_sentence(function: object, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        run(function)
    nothing_is_left()


@pytest.mark.parametrize("function", [sleep, sleep_without_pipes])
def test_what_stands_still_is_ended(function: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From the moment that the function sleeps, the clock goes on by an hour each time that it is looked at."""
    begun, hours = tmp_path / "begun", count_from(0)
    monkeypatch.setattr(limited, "LOOK_S", 0.001)
    monkeypatch.setattr(limited_bounds, "monotonic", lambda: 3600.0 * next(hours) if begun.exists() else 0.0)
    with pytest.raises(InputError, match="its reader stood still"):
        run(function, begun=str(begun))
    assert next(hours) > limited_bounds.STILL_S, "an hour between two looks may be the caller's own"
    nothing_is_left()


def test_what_takes_too_long_of_the_processor_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """The caller does not look: it is the system that ends it."""
    monkeypatch.setattr(limited_bounds.Watch, "passed", lambda self: None)
    with pytest.raises(InputError, match="still not read after 1 s"):
        run(burn, seconds=1)
    nothing_is_left()


def test_the_clock_on_the_wall_ends_nothing_that_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine with much else to do reads as much as an idle one: a year passes at each look."""
    years = count_from(0)
    monkeypatch.setattr(limited_bounds, "monotonic", lambda: 3e7 * next(years))
    assert run(backwards, b"ab", word="", seconds=60).blobs[0] == b"ba"


def test_a_reader_holds_nothing_but_its_own_three_pipes() -> None:
    """No way to the process that it was forked from, nor to another reader; one more is the answer's."""
    assert run(open_pipes).facts == {"pipes": 4}


def test_what_one_reading_did_to_its_process_is_not_there_for_the_next(way: str) -> None:
    first, second = run(taint).facts, run(taint).facts
    assert first["found"] == second["found"] == "clean"
    assert first["pid"] != second["pid"]
    assert (first["parent"] == os.getpid()) == (way == "fresh")


@LINUX
@pytest.mark.parametrize("way", ["fresh"], indirect=True)
def test_readers_are_forked_from_one_process_until_one_is_brought_down(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first is fresh and does not wait; after a reading that went too far the process itself is made anew."""
    monkeypatch.undo()
    monkeypatch.setenv("PYTHONPATH", ROOT_TOO)
    monkeypatch.setattr(limited_start, "IMPORTED", ())
    monkeypatch.setattr(NURSERY, "kept", True)
    try:
        assert run(taint).facts["parent"] == os.getpid()
        assert NURSERY._server is not None and NURSERY._server.ready(300)
        parents = {run(taint).facts["parent"] for _ in range(3)}
        assert len(parents) == 1 and os.getpid() not in parents
        with pytest.raises(InputError, match="brought its reader down"):
            run(crash)
        assert gone(*parents)
        assert run(taint).facts["found"] == "clean"
    finally:
        NURSERY.renew()


@LINUX
@pytest.mark.parametrize("way", ["fresh"], indirect=True)
def test_a_reading_is_done_anew_where_the_process_it_was_forked_from_was_killed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.undo()
    monkeypatch.setenv("PYTHONPATH", ROOT_TOO)
    monkeypatch.setattr(limited_start, "IMPORTED", ())
    server = Server()
    assert server.ready(300)
    monkeypatch.setattr(NURSERY, "_server", server)
    assert run(kill_the_parent, str(os.getpid()).encode()).facts == {"parent": os.getpid()}
    assert run(backwards, b"ab", word="").blobs[0] == b"ba"
    assert NURSERY._server is None


def nothing_is_left() -> None:
    """Neither of this process nor of the one that readers are forked from."""
    server = NURSERY._server
    forked = ["-P", str(server._process.pid)] if server else ["-P", str(os.getpid()), "-f", "limited_child"]
    assert subprocess.run(["pgrep", *forked], capture_output=True, check=False).stdout == b""


def test_a_reader_that_ended_before_anybody_looked_has_passed_no_bound() -> None:
    """One that the server forked is waited for by it: a short file may be read before the first look."""
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    assert limited_bounds.Watch(gone.pid, seconds=1, megabytes=1).passed() is None
